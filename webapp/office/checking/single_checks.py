"""Each single check of a packet at the desk: its signature, record, number, balances, stock, seals, seats."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from webapp.office.checking import packet_lacks, packet_schema
from webapp.office.checking.packet_lacks import Lack
from webapp.office.questions.canvass_board import line_title
from webapp.office.setup.roster import Roster
from webapp.packet import board_words, contents
from webapp.packet.envelope import Opened
from webapp.packet.figures_from_core import PRECINCTS
from webapp.packet.print_content import restored_words
from webapp.precinct import numbers
from webapp.precinct.balance.balance import Balance
from webapp.precinct.balance.figure_rows import figure
from webapp.precinct.balance.line_sentences import way
from webapp.precinct.checklist import checklist
from webapp.precinct.day.hours import clock
from webapp.precinct.place.place import Place

WANTED = tuple(packet_schema.CORE)


class Known(NamedTuple):
    """A packet of this place that the desk accepted before: number, digest, digest of the one it replaces, whether it is proven, and when the
    laptop was replaced (ms UTC), where it says so."""

    number: int
    digest: bytes
    amends: bytes | None
    proven: bool = True
    restored: int | None = None


@dataclass(frozen=True, slots=True)
class Check:
    """One check: `state` = agrees | look, in words what was compared, and what it says."""

    name: str
    state: str
    says: str


def is_proven(opened: Opened, roster: Roster) -> bool:
    """Whether its signature proves a packet: by a key enrolled here, in force when the packet was made, and never lost."""
    row = roster.enrolments.get(opened.kid)
    in_force = row is None or (row.lost_at is None and (row.to_ms is None or opened.core["made"] <= row.to_ms))
    return bool(opened.verified) and in_force


def of_sums(drawn: Balance, core: Mapping[str, Any]) -> Balance:
    """Without the rows of a board's batches that agree: a core holds sums of them, and each batch is drawn out of its own list."""
    if "board" not in core:
        return drawn
    return replace(drawn, lines=tuple(line for line in drawn.lines if line.gap or not line.id.startswith("batch:")))


def _belongs(core: Mapping[str, Any], place: Place) -> None:
    """Contests, rows and tabulators are those of the place file. Raises ValueError."""
    rows = {contest.id: len(contest.choices) + len(contents.ROW) for contest in place.typed_contests()}
    titles = {contest.id: contest.title for contest in place.typed_contests()}
    machines = {t.id for t in place.tabulators}
    apart = _apart(core, place)
    for found in (core["contests"], *(t["contests"] for t in core["tabulators"] if "contests" in t), *apart):
        if not packet_schema.by_id(packet_schema.VOTES)(found):
            raise ValueError("the contests of a tape are not rows of figures")
        for contest, row in found.items():
            if contest not in rows:
                raise ValueError(f"{contest[:40]} is no contest of this place")
            if len(row) != rows[contest]:
                raise ValueError(f"{titles[contest]} has {len(row)} figures, and its ballot {rows[contest]}")
    if foreign := [t["id"] for t in core["tabulators"] if t["id"].partition("/")[0] not in machines]:
        raise ValueError(f"{foreign[0][:40]} is not a tabulator of this place")


def _apart(core: Mapping[str, Any], place: Place) -> list[Mapping[str, Any]]:
    """The contests of each precinct, of the place and of each tape. Raises ValueError for a precinct, or a contest there, that is not of the place file."""
    carried = {precinct.id: {contest.id for contest in place.contests_of(precinct.id)} for precinct in place.split()}
    found = []
    for one in (core, *core["tabulators"]):
        for precinct, rows in one.get(PRECINCTS, {}).items():
            if precinct not in carried:
                raise ValueError(f"{precinct[:40]} is no precinct whose votes this place's tapes print apart")
            if foreign := [contest for contest in rows if contest not in carried[precinct]]:
                raise ValueError(f"{foreign[0][:40]} is not on the ballots of precinct {precinct}")
            found.append(rows)
    return found


def _signature(opened: Opened, place: Place, roster: Roster) -> Check:
    """Proven by a key in force, by one that was replaced (until when counts, and whether it was lost), or not proven."""
    name = "Signature of the place"
    if not opened.verified:
        return Check(
            name,
            "look",
            "the key is not enrolled here: not proven. It counts only once two parties compared its tape and signed that it does",
        )
    row = roster.enrolments.get(opened.kid)
    if opened.kid in roster.spares and opened.core.get("kit") != "spare":
        return Check(
            name,
            "look",
            "signed by the key of the spare laptop's kit, and it does not say that the laptop was replaced",
        )
    if row is None or row.to_ms is None:
        whose = "of the spare laptop's kit, made for" if opened.kid in roster.spares else "enrolled for"
        return Check(name, "agrees", f"signed by the key {whose} this place")
    until = f"the key that was replaced at {clock(place, row.to_ms)}"
    held = "It counts only once two parties compared its tape and signed that it does"
    if row.lost_at is not None:
        return Check(name, "look", f"signed by {until} because it may be in other hands: not proven. {held}")
    if opened.core["made"] > row.to_ms:
        return Check(name, "look", f"signed at {clock(place, opened.core['made'])} by {until}: not proven. {held}")
    return Check(name, "agrees", f"signed by {until}, before that")


def _record(opened: Opened, place: Place, known: Sequence[Known]) -> tuple[Check, ...]:
    """What the packet says of a replaced laptop, or what other packets of the place say of the one that made it; nothing where there was one laptop all night."""
    core = opened.core
    if said := restored_words(core, place):
        return (Check("Record", "look", said),)
    replaced = [one.restored for one in known if one.proven and one.restored and one.digest != opened.digest]
    if not replaced or core["made"] <= min(replaced):
        return ()
    return (
        Check(
            "Record",
            "look",
            f"made at {clock(place, core['made'])} on the old laptop, which another packet of this place says was replaced at {clock(place, min(replaced))}. "
            "Ask the place why it was switched on again; the packet of the spare laptop goes on from what was kept",
        ),
    )


def _number(opened: Opened, known: Sequence[Known], proven: bool) -> Check:
    """How this packet compares with those of the place that were read before, in any order. One that is not proven replaces nothing."""
    core, digest = opened.core, opened.digest
    others = [k for k in known if k.digest != digest and k.proven]
    number = f"number {core['number']}" + (
        ", already accepted: the same packet" if any(k.digest == digest for k in known) else ""
    )
    before = next((f"number {k.number}" for k in known if k.digest == core["amends"]), "")
    if not proven:
        said = f"; it says that it replaces {before or 'one that was not read here'}, and replaces nothing"
        return Check("Packet", "look", f"{number}, not proven{said if core['amends'] else ''}")
    if later := next((k for k in others if k.amends == digest), None):
        return Check("Packet", "agrees", f"{number}, replaced by number {later.number}")
    replaced = {k.amends for k in others} | {core["amends"]}
    if against := [k for k in others if k.digest not in replaced]:
        return Check("Packet", "look", f"{number} and number {against[0].number} disagree: neither replaces the other")
    if core["amends"] is None:
        return Check(
            "Packet", "agrees", number if digest in {k.digest for k in known} else f"{number}, not seen before"
        )
    if not before:
        return Check("Packet", "look", f"{number}, replaces one that was not read here: ask the place for that one too")
    return Check("Packet", "agrees", f"{number}, replaces {before}")


def _whole(lacking: Sequence[Lack], place: Place) -> Check:
    """What the place file promises is all here; a line that cannot be drawn does not agree."""
    if lacking:
        return Check("What the place file promises", "look", packet_lacks.as_sentence(lacking, place))
    return Check(
        "What the place file promises",
        "agrees",
        "steps, readings, figures, contests, containers and seals are all here",
    )


def _balances(opened: Opened, place: Place, drawn: Balance, lacking: Sequence[Lack]) -> Check:
    name, said = "Balances, drawn again here", {(line, gap) for line, gap in opened.core["gaps"]}
    own = {(line.name, line.gap) for line in drawn.gaps}
    if said != own:
        more = ", ".join(
            sorted(
                f"{_line_words(line, gap, place)} ({'said by the packet only' if (line, gap) in said else 'seen by this desk only'})"
                for line, gap in said ^ own
            )
        )
        return Check(name, "look", f"the packet and this desk differ on {more}")
    without = any(one.kind in ("figure", "contest") for one in lacking)
    after = "; lines without their figures are not drawn" if without else ""
    if not own:
        agree = f"{numbers.few(len(drawn.lines), 'line')}, each agrees{after}"
        return Check(name, "look" if without else "agrees", agree)
    remarked = {pair for row in opened.remarks["remarks"] for pair in zip(row[1], row[2], strict=False)}
    told = {
        line for line, _ in own if "board" in opened.core and line.startswith("batch:")
    }  # said of each batch by itself
    silent = sorted(line for line, gap in own if (line, gap) not in remarked and line not in told)
    return Check(
        name,
        "look" if silent or without else "agrees",
        f"{numbers.few(len(own), 'gap')} in {len(drawn.lines)} lines, "
        + (
            f"without a remark on {'; '.join(line_title(line, place) for line in silent)}"
            if silent
            else "each with a signed remark"
        )
        + after,
    )


def _line_words(line: str, gap: int, place: Place) -> str:
    """A line and its gap in words; one that no balance has by the name that the packet gives it."""
    try:
        return f"{line_title(line, place)}: {way(line.partition('@')[0], gap)}"
    except (LookupError, ValueError):
        return f"a line called {line[:40]}"


def _board(core: Mapping[str, Any]) -> Check:
    """What a count board's packet says of its batches."""
    well, says = board_words.batches_words(core)
    return Check("Batches", "agrees" if well else "look", says)


def _stock(core: Mapping[str, Any], place: Place) -> Check:
    received = figure(core["stock"].get("received") or None, "stock.received")
    said = received.total if received else 0
    issued = sum(s.received for s in place.stock)
    if said == issued:
        return Check("Stock", "agrees", f"{issued:,} ballots issued and received")
    return Check(
        "Stock",
        "look",
        f"{issued:,} ballots were issued, the place says {said:,} came: {numbers.few(abs(said - issued), 'ballot')} {'more' if said > issued else 'fewer'}",
    )


def _seals(core: Mapping[str, Any], place: Place, lacking: Sequence[Lack]) -> Check:
    """Containers by name only: a number shown here would be the answer to what the desk is still to read."""
    foreign = [c["id"] for c in core["containers"] if c["seal"] and place.seals and c["seal"] not in place.seals]
    bare = [c["id"] for c in core["containers"] if not c["seal"]]
    doors = {seal.at: seal.door for seal in place.applied if seal.door}
    differ = [doors.get(s["at"], s["at"]) for s in core["seals"] if s["found"] != s["applied"]]
    words = [f"a number that was never issued on {', '.join(foreign)}"] if foreign else []
    words += [f"no seal on {', '.join(bare)}"] if bare else []
    gone = [one.words for one in lacking if one.kind in ("container", "seal")]
    words += [f"not in this packet: {', '.join(gone)}"] if gone else []
    words += [f"another seal found than applied at {', '.join(differ)}"] if differ else []
    return (
        Check("Seals", "look", "; ".join(words))
        if words
        else Check(
            "Seals",
            "agrees",
            f"{numbers.few(len(core['containers']), 'container')} sealed with numbers of the issued list",
        )
    )


def _short(core: Mapping[str, Any], place: Place, lacking: Sequence[Lack]) -> Check:
    """Steps that were short-signed or signed as not so, by their names; a step that is not in the packet does not agree."""
    said = [(checklist.title(step[0], step[1] or "", place), step[4]) for step in core["steps"]]
    short = [f"“{name}”" for name, flag in said if flag & contents.SHORT]
    odd = [f"“{name}”" for name, flag in said if flag & contents.NOT_SO]
    gone = sum(one.kind == "step" for one in lacking)
    words = [f"{what}: {', '.join(names)}" for what, names in (("short-signed", short), ("not so", odd)) if names]
    words += [f"{numbers.few(gone, 'step')} not in this packet"] if gone else []
    if words:
        return Check("Steps", "look", "; ".join(words))
    return Check("Steps", "agrees", f"{numbers.few(len(said), 'step')} kept, none short-signed, no exception")
