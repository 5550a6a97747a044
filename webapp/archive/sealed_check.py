"""Whether the figures of every edition in a sealed archive follow from packets, counts and findings, folded again from their stored bytes."""

import json
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp.archive import replay
from webapp.archive.contents import PACKET_LIMIT, received
from webapp.archive.findings import Findings
from webapp.archive.folder_check import WholeArchive
from webapp.archive.results_check import check_rows
from webapp.canvass import edition
from webapp.canvass.atoms import Atom, Figures, together
from webapp.canvass.edition import Edition, Unit
from webapp.canvass.published import OneContest
from webapp.gate import signed_place_file
from webapp.gate.keys import Enrolment
from webapp.gate.refusals import GateRefused
from webapp.office.canvassing import edition_figures
from webapp.office.canvassing.edition_figures import KeptFigures
from webapp.office.canvassing.editions import Posted
from webapp.office.setup import office_file
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.packet.cose import key_id
from webapp.packet.envelope import Opened, PacketRefused, open_packet
from webapp.precinct.place.place import Contest, Place
from webapp.record.entry import Entry


def check_sealed(
    archive: WholeArchive, entries: Sequence[Entry], posted: Mapping[int, Posted], found: Findings
) -> None:
    """Place files, packets, then edition by edition: figures, blocks, rows."""
    roster = _roster(archive, found)
    opened = _packets(archive, entries, roster, found)
    before: Mapping[str, OneContest] = {}
    for number, one in posted.items() if found.ok else ():
        name = f"data/editions-sealed/{number}.json"
        data = archive.read(name)
        if sha256(data).digest() != one.sealed:
            found.wrong(name, f"is not what edition {number} was made of")
        figures, small = edition.figures_of(json.loads(data)), _small(archive, number)
        kept, wrong, held = _best(archive, roster, entries, opened, one, figures)
        for words in wrong:
            found.wrong(f"data/editions/{number}", words)
        made = _made_again(roster, kept, figures, one, small, _allowed(entries, one.cut))
        if edition.whole_blocks(before, made) is None:
            found.wrong(name, f"splits or grows a block, or has one of fewer than {small} ballots")
        check_rows(archive, number, made, found)
        before = figures
        if held:
            found.unchecked.append(f"edition {number} leaves out, held by the office at that time: {', '.join(held)}")
    if found.ok and posted:
        found.agrees.append("the figures of every edition follow from packets, counts and findings up to its cut")


def _small(archive: WholeArchive, number: int) -> int:
    return int(json.loads(archive.read(f"data/editions/{number}/edition.json"))["small"])


def _made_again(
    roster: Roster,
    kept: KeptFigures,
    figures: Mapping[str, OneContest],
    one: Posted,
    small: int,
    allowed: Mapping[str, frozenset[str]],
) -> Edition:
    """The edition with these figures, as far as its rows and blocks go."""
    contests: dict[str, Contest] = {}
    for contest in (contest for place in roster.issued.values() for contest in place.contests):
        contests[contest.id] = totals.with_choices(contests.get(contest.id, contest), contest)
    units = {place.id: Unit(place.id, place.name) for place in roster.places.values()}
    units |= {unit.id: unit for unit in kept.units if unit.of}
    return Edition(
        one.number,
        one.status,
        one.kept,
        one.cut,
        roster.office.name,
        "",
        one.inn,
        one.of,
        tuple(contests[id] for id in figures),
        figures,
        tuple(units.values()),
        roster.office.ways,
        small,
        allowed=allowed,
        precincts=edition_figures.precincts(roster.places.values()),
    )


def _allowed(entries: Iterable[Entry], cut: int) -> dict[str, frozenset[str]]:
    """Contest -> cells of few ballots that two parties signed to be shown, so that nobody is left out of the certified figures."""
    found: dict[str, frozenset[str]] = {}
    for entry in entries:
        if entry.kind == "small-shown" and entry.number <= cut and len({signer.party for signer in entry.signers}) > 1:
            contest = entry.body["contest"]
            found[contest] = found.get(contest, frozenset()) | set(entry.body["atoms"])
    return found


def _roster(archive: WholeArchive, found: Findings) -> Roster:
    """The office's places and keys as the archive has them."""
    office = office_file.read(archive.read("data/office/office.toml"))
    issued: dict[bytes, Place] = {}
    before = archive.keys["office"].get("before")
    others = [Ed25519PublicKey.from_public_bytes(bytes.fromhex(before))] if before else []
    for place, digests in archive.facts.issued.items():
        for digest in digests:
            name = f"data/places/{place}/place-{digest[:16]}.cose"
            try:
                data = archive.read(name)
                kid = signed_place_file.kid_of(data)
                key = next((key for key in others if key_id(key) == kid), archive.office)
                issued[bytes.fromhex(digest)] = signed_place_file.opened(data, key)
            except (OSError, GateRefused) as wrong:
                found.wrong(name, str(wrong))
    newest = {place.id: place for place in issued.values()}
    order = [p.id for p in office.places] + [p for p in newest if office.place(p) is None]
    rows = [_enrolment(row) for row in archive.keys["places"]]
    return Roster(
        office,
        {p: newest[p] for p in order if p in newest},
        issued,
        {row.kid: Ed25519PublicKey.from_public_bytes(row.public) for row in rows},
        {row.kid: row for row in rows},
    )


def _enrolment(row: Mapping[str, Any]) -> Enrolment:
    kid, public = bytes.fromhex(row["kid"]), bytes.fromhex(row["public"])
    return Enrolment(kid, row["place"], row["mode"], public, row["from"], row["to"], None, row["lost"])


def _packets(archive: WholeArchive, entries: Sequence[Entry], roster: Roster, found: Findings) -> dict[bytes, Opened]:
    """Every packet that the record names; one that is not there, is another, or that no entry names is wrong."""
    named, opened = received(tuple(entries)), {}
    there = {path.relative_to(archive.folder).as_posix() for path in archive.folder.glob("data/places/*/packet-*.cose")}
    for name in sorted(named.keys() | there):
        if name not in named:
            found.wrong(name, "is not a packet that the office's record names")
        elif name not in there:
            found.wrong(name, "is not there, and the office's record names it")
        else:
            try:
                one = open_packet(archive.read(name, PACKET_LIMIT), roster.keys, None)
            except PacketRefused as wrong:
                found.wrong(name, str(wrong))
                continue
            if one.digest != named[name]:
                found.wrong(name, "is not the packet that was taken in")
            opened[one.digest] = one
    if found.ok:
        found.agrees.append(f"{len(roster.issued):,} place files and {len(opened):,} packets, each with its signature")
    return opened


def _best(
    archive: WholeArchive,
    roster: Roster,
    entries: Sequence[Entry],
    opened: Mapping[bytes, Opened],
    one: Posted,
    figures: Mapping[str, OneContest],
) -> tuple[KeptFigures, list[str], list[str]]:
    """(what was kept, what differs, what was held out). No entry says when the votes by precinct of a count board came: with them, or as one sum."""
    tries = []
    for votes in (True, False) if any(archive.folder.glob("data/boards/*-votes.csv")) else (False,):
        kept = _kept(archive, roster, entries, opened, one, votes)
        wrong, held = _compare(kept, figures)
        tries.append((kept, wrong, held))
    return next((one for one in tries if not one[1]), tries[0])


def _kept(
    archive: WholeArchive,
    roster: Roster,
    entries: Iterable[Entry],
    opened: Mapping[bytes, Opened],
    one: Posted,
    votes: bool,
) -> KeptFigures:
    """All that was kept up to an edition's cut; keys as they were then, not as they were marked later. `votes`: with those by precinct."""
    then = {
        kid: replace(row, lost_at=None) if row.lost_at is not None and row.lost_at > one.kept else row
        for kid, row in roster.enrolments.items()
    }
    now = replace(roster, enrolments=then)
    with tempfile.TemporaryDirectory(prefix="archive-") as folder:
        (Path(folder) / "in").mkdir()
        for path in archive.folder.glob("data/boards/*-votes.csv") if votes else ():
            shutil.copyfile(path, Path(folder) / "in" / path.name)
        tray, added = replay.replayed(Path(folder), now, [e for e in entries if e.number <= one.cut], opened)
    return edition_figures.figures_now(now, tray, added)


def _compare(kept: KeptFigures, posted: Mapping[str, OneContest]) -> tuple[list[str], list[str]]:
    """(what differs in words, ballots that are kept and in no figure): ballots by ballots, what was posted and what waits against what is kept."""
    held, wrong = set(), []
    for contest in {**kept.figures, **posted}:
        sums: dict[Atom, list[Figures]] = {}
        one = posted.get(contest, OneContest())
        for atom, figures in [row for block in (*one.blocks, one.waiting) for row in block]:
            sums.setdefault(atom.base, []).append(figures)
        now = kept.figures.get(contest, {})
        sums, now = _alike(sums, now)
        for atom in {**sums, **now}:
            votes = {line: n for line, n in together(sums.get(atom, ())).votes.items() if n}
            theirs = {line: n for line, n in now[atom].votes.items() if n} if atom in now else {}
            if theirs and not votes:
                held.add(atom.cell)
            elif votes != theirs:
                wrong.append(f"has other figures for {atom.cell} in {contest} than its packet or count")
    return wrong, sorted(held)


def _alike(
    posted: Mapping[Atom, list[Figures]], kept: Mapping[Atom, Figures]
) -> tuple[dict[Atom, list[Figures]], dict[Atom, Figures]]:
    """Both in the same units: a return of which either has figures of the whole place is compared as a whole, any other precinct by precinct."""
    apart = [{atom.whole for atom in atoms if atom.unit != atom.place} for atoms in (posted, kept)]
    whole = [{atom for atom in atoms if atom.unit == atom.place} for atoms in (posted, kept)]
    mixed = (apart[0] | apart[1]) & (whole[0] | whole[1])
    sums: dict[Atom, list[Figures]] = {}
    for atom, figures in posted.items():
        sums.setdefault(atom.whole if atom.whole in mixed else atom, []).extend(figures)
    mine: dict[Atom, list[Figures]] = {}
    for atom, one in kept.items():
        mine.setdefault(atom.whole if atom.whole in mixed else atom, []).append(one)
    return sums, {atom: together(rows) for atom, rows in mine.items()}
