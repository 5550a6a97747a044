"""What a summary packet says: the core (figures, steps, seals, gaps) and the remarks, out of one day; and the figures back out of a core.

No names, no free words but the remarks, no times of single ballots: kinds of ballots are counts. The figure parts have the shapes of the balance
JSON, so the office draws every line again from what it was sent.
"""

import hashlib
from collections.abc import Mapping
from typing import Any

from webapp.packet import account as paper
from webapp.precinct import checklist, counts
from webapp.precinct.balance import balance
from webapp.precinct.ballots import BALLOT_KINDS
from webapp.precinct.day import Day, line_name
from webapp.precinct.kept import Kept
from webapp.precinct.place import Contest, Place
from webapp.precinct.statement import contest_lines

VERSION = 1
NOT_SO, SHORT, CORRECTED, COUNTERSIGNED = 1, 2, 4, 8
ROW = ("write_in", "under", "over", "ballots")
SAID_ONCE = ("stock", "other_stock", "stubs", "cast_from", "boxes", "rules", "dispositions", "seal_stock")


def core(place: Place, day: Day, number: int, amends: bytes | None, made: int) -> dict[str, Any]:
    """Part 0 of packet `number`; `amends` is the digest of the one it replaces; `made` ms UTC. Run, length and head are the record's now."""
    night = counts.figures(place, day)
    many = sum("tape" in t for t in night.get("tabulators", [])) > 1
    return {
        "v": VERSION, "place": place.id, "place_digest": place.digest, "mode": place.mode, "number": number, "amends": amends, "made": made,
        "hours": [day.opened, day.closed, day.last_ballot], "run": day.run, "length": day.length, "head": day.head, "marks": [list(mark) for mark in day.marks],
        "steps": _steps(place, day), "readings": night.get("readings", []), "stock": night.get("stock", {}), "aside": night["set_aside"],
        "emergency": [{"id": b["id"], **b["emergency"]} for b in night.get("boxes", []) if "emergency" in b], "people": night.get("voters", []),
        "tabulators": [t | ({"contests": _tape_rows(place, night, t["id"])} if many and "tape" in t else {}) for t in night.get("tabulators", [])],
        "contests": {c.id: row for c in place.typed_contests() if (row := _room_row(c, night))}, "seals": night.get("seals", []),
        "containers": _containers(day, night), "gaps": [[line_name(line), line.gap] for line in day.balance.gaps],
        "remarks": [_remark_digest(k) for k in day.remarks if k.body.get("lines")],
        "more": {name: night[name] for name in SAID_ONCE if name in night and name != "stock"} | {"write_ins": _write_ins(night)},
        "handed_back": sum(n for k in day.of("handed-back") for row in k.body.get("tally", {}).values() for n in row.values()),
    }


def _containers(day: Day, night: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every sealed container with its number, and the ballots in those that hold any."""
    sealed = day.last("containers-sealed")
    ballots = {c["id"]: c["ballots"] for c in night.get("containers", [])}
    seals = dict(sealed.body.get("seals", {})) if sealed else {}
    return [{"id": name, "seal": seals.get(name, ""), "ballots": ballots.get(name)} for name in sorted({*seals, *ballots})]


def _steps(place: Place, day: Day) -> list[list[Any]]:
    """Every step kept, in order: [id, at, time, [[role, party, how] ...], flags]. Kinds of ballots are no steps."""
    listed = {s.id for s in checklist.steps(place) if not s.note}
    return [[k.kind, k.at or None, k.time, [[s.role, s.party, _admitted(day, s)] for s in k.signers], _flags(k)]
            for k in day.entries if k.kind in listed and k.taken_back is None and k.kind not in BALLOT_KINDS]


def _admitted(day: Day, signer: Any) -> str:
    """How the signature was given and, where two others had to vouch, that too."""
    return f"{signer.how}, vouched" if day.people.admitted.get(signer.person) == "vouched" else signer.how


def _flags(kept: Kept) -> int:
    return NOT_SO * kept.not_so + SHORT * bool(kept.short) + CORRECTED * bool(kept.corrected_by) + COUNTERSIGNED * bool(kept.later)


def _row(contest: Contest, tape: Mapping[str, Any]) -> list[int | None]:
    """[votes in ballot order ..., write_in, under, over, ballots]; None where the tape prints nothing."""
    votes = tape.get("votes", {})
    return [votes.get(c.id) for c in contest.choices] + [tape.get(key) for key in ROW]


def _tape_rows(place: Place, night: Mapping[str, Any], at: str) -> dict[str, list[int | None]]:
    tapes = {c["id"]: c["tapes"] for c in night.get("contests", [])}
    return {c.id: _row(c, tapes[c.id][at]) for c in place.typed_contests() if at in tapes.get(c.id, {})}


def _room_row(contest: Contest, night: Mapping[str, Any]) -> list[int | None] | None:
    """The same over all tapes; a figure that one tape lacks is missing."""
    tapes = next((c["tapes"] for c in night.get("contests", []) if c["id"] == contest.id), {})
    rows = [_row(contest, tape) for tape in tapes.values()]
    return [None if None in column else sum(column) for column in zip(*rows, strict=True)] if rows else None


def _write_ins(night: Mapping[str, Any]) -> dict[str, Any]:
    return {c["id"]: c["write_in_tally"] for c in night.get("contests", []) if "write_in_tally" in c}


def _remark_digest(kept: Kept) -> bytes:
    return hashlib.sha256(f"{kept.number}\0{kept.word('remark')}".encode()).digest()


def remarks(place: Place, day: Day) -> dict[str, Any]:
    """Part 1: the remarks in full with the lines they speak of, separate statements, why steps were short-signed; roles and parties, no names."""
    def signers(kept: Kept) -> list[list[str]]:
        return [[s.role, s.party] for s in kept.signers]

    return {"remarks": [[k.number, list(k.body["lines"]), list(k.body["gaps"]), k.word("remark"), k.time, signers(k)] for k in day.remarks if k.body.get("lines")],
            "statements": [[k.number, k.word("statement"), k.time, signers(k)] for k in day.of("dissent")],
            "short": [[k.number, k.kind, k.at or None, [[s["seat"], s["why"], s.get("told_at")] for s in k.short], k.word("told"), signers(k)]
                      for k in day.entries if k.short and k.taken_back is None],
            "not_so": [[k.number, k.kind, k.at or None, k.word("found"), k.word("done")] for k in day.entries if k.not_so and k.taken_back is None and k.kind not in BALLOT_KINDS]}


def figures(core: Mapping[str, Any], place: Place) -> dict[str, Any]:
    """The balance JSON back out of a core."""
    more = dict(core.get("more", {}))
    tallies = more.pop("write_ins", {})
    tabulators = [{k: v for k, v in t.items() if k != "contests"} for t in core["tabulators"]]
    night = {**more, "readings": core["readings"], "stock": core["stock"], "set_aside": core["aside"], "voters": core["people"], "tabulators": tabulators,
             "seals": core["seals"], "containers": [c for c in core["containers"] if c["ballots"] is not None], "contests": _contests(core, place, tallies)}
    return {name: part for name, part in night.items() if part or name == "set_aside"}


def _contests(core: Mapping[str, Any], place: Place, tallies: Mapping[str, Any]) -> list[dict[str, Any]]:
    own = {t["id"]: t["contests"] for t in core["tabulators"] if "contests" in t}
    with_tape = [t["id"] for t in core["tabulators"] if "tape" in t]
    rows = own or ({with_tape[0]: core["contests"]} if len(with_tape) == 1 else {})
    found = []
    for contest in place.typed_contests():
        tapes = {at: _tape(contest, mine[contest.id]) for at, mine in rows.items() if contest.id in mine}
        if tapes:
            found.append({"id": contest.id, "title": contest.title, "n": contest.n, "tapes": tapes} | ({"write_in_tally": tallies[contest.id]} if contest.id in tallies else {}))
    return found


def _tape(contest: Contest, row: list[int | None]) -> dict[str, Any]:
    """A row as on the tape. A row of another length than the ballot's is not of this contest."""
    if len(row) != len(contest.choices) + len(ROW):
        raise ValueError(f"contest {contest.id} has {len(contest.choices)} choices; the packet's row has {len(row)} figures")
    votes = {c.id: v for c, v in zip(contest.choices, row, strict=False) if v is not None}
    return {"votes": votes} | {key: v for key, v in zip(ROW, row[len(contest.choices):], strict=True) if v is not None}


def account(core: Mapping[str, Any], notes: Mapping[str, Any], place: Place, digest: bytes) -> paper.Account:
    """The packet as it is printed: the ballot account, gaps with their remarks, check words, rows for ink, contests."""
    said = balance(figures(core, place))
    texts = {line: text for _, lines, _, text, _, _ in notes.get("remarks", []) for line in lines}
    party = {p.id: p.name for p in place.parties}
    return paper.Account(
        place.name, place.county, place.election, place.date.isoformat(), core["number"], core["mode"], digest.hex(), _moment(core["made"], place), _rows(core, said),
        tuple(paper.Gap(line.says, texts.get(line_name(line), "")) for line in said.gaps), tuple(paper.Mark(n, words, when) for (n, words), when in zip(core["marks"], _whens(core, place), strict=False)),
        tuple(paper.Signer(o.role, party.get(o.party, "")) for o in place.officials), tuple(_short_words(row, place) for row in notes.get("short", [])),
        tuple(paper.Remark(", ".join(lines), text, _signed(signers, when, place)) for _, lines, _, text, when, signers in notes.get("remarks", [])) +
        tuple(paper.Remark("Separate statement", text, _signed(signers, when, place)) for _, text, when, signers in notes.get("statements", [])),
        tuple(_contest_figures(c, core["contests"][c.id]) for c in place.typed_contests() if c.id in core["contests"]), core["amends"].hex() if core["amends"] else "")


def _whens(core: Mapping[str, Any], place: Place) -> list[str]:
    """Where in the day each pair of check words was made, by the entry that followed it."""
    return ["zero tape"] * sum(s[0] == "zero-signed" for s in core["steps"]) + ["noon"] * any(s[0] == "noon-look" for s in core["steps"]) + ["close"] + ["hand-over"] * 9


def _moment(ms: int, place: Place) -> str:
    from webapp.precinct.tasks import clock

    return clock(place, ms)


def _signed(signers: list, when: int, place: Place) -> str:
    party = {p.id: p.name for p in place.parties}
    return ", ".join(f"{role}, {party.get(p, 'no party')}" for role, p in signers) + f", {_moment(when, place)}"


def _short_words(row: list, place: Place) -> str:
    _, kind, at, seats, told, signers = row
    whys = {"absent": "absent", "declined": "declined to sign", "pin-lost": "PIN lost", "none-here": "nobody of that seat here"}
    title = checklist.title(kind, at or "", place)
    return f"{title}: signed by {' and '.join(role for role, _ in signers)}; {', '.join(f'seat {s} empty, {whys.get(w, w)}' for s, w, _ in seats)}; office told: {told}."


def _rows(core: Mapping[str, Any], said: Any) -> tuple[paper.Row, ...]:
    """The ballot account: what came, what is left, what was set aside, what the tapes and the book say."""
    stock = core["stock"]

    def total(part: Any) -> int | None:
        from webapp.precinct.figure_rows import figure

        return None if part is None else figure(part, "figure").total

    lines = {line.id: line for line in said.lines if not line.scope}
    rows = [paper.Row("Ballots received", total(stock.get("received"))), paper.Row("Resupply", sum(r["n"] for r in stock.get("resupply", [])) or None),
            paper.Row("Sent to other places", sum(r["n"] for r in stock.get("sent", [])) or None), paper.Row("Unused", total(stock.get("unused")))]
    rows = [r for r in rows if r.figure is not None or r.label in ("Ballots received", "Unused")]
    rows += [paper.Row(label, total(core["aside"].get(kind))) for kind, label in
             (("spoiled", "Spoiled"), ("spoiled-not-reissued", "Spoiled, no other given"), ("provisional", "Provisional"), ("emergency", "Left in emergency bins"),
              ("hand-counted", "Counted by hand"), ("taken", "Carried off"), ("left", "Left without a ballot"), ("set-apart", "Set apart")) if total(core["aside"].get(kind)) or kind in ("spoiled", "provisional")]
    rows += [paper.Row(f"Ballots on the tape of {t['id']}", total(t.get("tape"))) for t in core["tabulators"]]
    rows.append(paper.Row("Ballots on the tapes", sum(total(t["tape"]) for t in core["tabulators"] if "tape" in t), True))
    book = lines.get("poll-book")
    rows.append(paper.Row("Check-ins in the poll book", book.left if book else None, True))
    return tuple(rows)


def _contest_figures(contest: Contest, row: list[int | None]) -> paper.ContestFigures:
    return paper.ContestFigures(contest.title, contest.n, tuple(paper.Row(label, n, label == "Ballots") for label, n in contest_lines(contest, _tape(contest, row))))
