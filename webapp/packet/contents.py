"""Fills core and remarks of a summary packet from one day.

The core (figures, steps, seals, gaps) names nobody, has no free words, and has single ballots as counts only, without time or counter
value. Its figures have the shapes of the balance, so the office draws every line again from them (`figures`).
"""

from collections.abc import Mapping
from typing import Any

from webapp.packet import board_core
from webapp.packet.figures_from_core import OWN_NAMES, PRECINCTS, RENAMED, figures, sole_tape
from webapp.packet.print_content import account
from webapp.precinct.account import figures_of_day
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.account.contest_rows import TOTALS, added, by_precinct, of_tape, over_tapes
from webapp.precinct.balance.balance import balance
from webapp.precinct.checklist import checklist
from webapp.precinct.day import restores
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.place import Place
from webapp.record.entry import Signer

__all__ = ["CORRECTED", "COUNTERSIGNED", "NOT_SO", "ROW", "SHORT", "VERSION", "account", "core", "figures", "remarks"]

VERSION = 1
NOT_SO, SHORT, CORRECTED, COUNTERSIGNED = 1, 2, 4, 8
BY_THE_HUNDRED = frozenset(
    {"tray-open", "envelopes-away", "unfold", "batch-made", "batch-fed", "seat"}
)  # of a count board: told in sums, and in the file of its batches
ROW = TOTALS  # what follows the votes in a contest's row


def core(place: Place, day: BalancedDay, number: int, amends: bytes | None, made: int) -> dict[str, Any]:
    """Part 0 of packet `number`, as a map for CBOR. Run, length and head are the record's now.

    `amends` is the digest of the packet it replaces, or None; `made` is ms UTC. Raises ValueError for a day without its head.
    """
    if len(day.head) != 32:
        raise ValueError("a packet names the head of its record: whoever folds the day sets Day.head")
    night = day.figures
    parts = {ours: night.get(name, empty) for name, ours, empty in RENAMED} | {
        name: night[name] for name in OWN_NAMES if name in night
    }
    found = parts | {
        "v": VERSION,
        "place": place.id,
        "place_digest": place.digest,
        "mode": place.mode,
        "number": number,
        "amends": amends,
        "made": made,
        "hours": [day.opened, day.closed, day.last_ballot],
        "run": day.run,
        "length": day.length,
        "head": day.head,
        "marks": [list(mark) for mark in day.marks],
        "steps": _steps(place, day),
        "emergency": _emergency(night),
        "seals": [{"at": s["at"], "applied": s.get("applied"), "found": s["found"]} for s in night.get("seals", [])],
        **_boxes(night),
        **_contests(place, day, night),
        "containers": _containers(place, day, night),
        "gaps": [[line.name, line.gap] for line in day.balance.gaps],
        "remarks": [k.body["words"]["remark"] for k in day.remarks if "remark" in k.body.get("words", {})],
        **_envelopes(day),
        **_restored(day),
    }
    return _with_board(found, place, day)


def _with_board(found: dict[str, Any], place: Place, day: BalancedDay) -> dict[str, Any]:
    """With the part of a count board, whose gaps are those of the lines that its sums give: the desk draws these again."""
    remarked = {line.partition("@")[0]: kept.number for kept in day.remarks for line in kept.body.get("lines", ())}
    open_batches: dict[str, list[list[Any]]] = {}
    for line in day.balance.gaps if "board" in day.figures else ():
        kind, _, batch = line.id.partition(":")
        if kind in ("batch", "batch-envelopes"):
            open_batches.setdefault(batch, []).append([line.name, line.gap])
    rows = [
        (
            batch,
            lines,
            next((remarked[name.partition("@")[0]] for name, _ in lines if name.partition("@")[0] in remarked), None),
        )
        for batch, lines in open_batches.items()
    ]
    part = board_core.part(day.figures, rows)
    if not part:
        return found
    found |= part
    return found | {"gaps": [[line.name, line.gap] for line in balance(figures(found, place)).gaps]}


def _restored(day: BalancedDay) -> dict[str, Any]:
    """Runs, the lost numbers of each, what was given back (how many, how many of them two parties signed for), kit and moment; nothing without a restore."""
    every = restores.restores(day)
    if not every:
        return {}
    found, given = every[-1], every[0].given
    return {
        "runs": restores.runs(day),
        "lost": restores.ranges([number for one in every for number in one.lost]),
        "given_back": [len(given), len(given) - len(every[0].unsigned)],
        "kit": found.kit,
        "restored": found.when,
    }


def _steps(place: Place, day: BalancedDay) -> list[list[Any]]:
    """Every step, every note but those about one ballot, and second counts: [id, at, time, [[role, party, how] ...], flags]."""
    listed = {s.id for s in checklist.steps(place) if not s.ballot and s.form != "tally"} | {"counted-again"}
    listed -= BY_THE_HUNDRED
    return [
        [k.kind, k.at or None, k.time, _signers(day, k), flags(k)]
        for k in day.entries
        if k.kind in listed and k.taken_back is None
    ]


def _signers(day: BalancedDay, kept: CurrentEntry) -> list[list[str]]:
    now = [[s.role, s.party, _how(day, s, kept.corrected_by or kept.number)] for s in kept.signers]
    return now + [[s.role, s.party, f"{_how(day, s, day.length)}/later"] for s, _ in kept.later]


def _how(day: BalancedDay, signer: Signer, number: int) -> str:
    """How a person signed: pin, desk or ink; then /walk-in or /lost-pin where two others vouched before that signature."""
    whys = [v.why for v in day.people.vouches if v.person == signer.person and v.entry < number and v.why != "reset"]
    return f"{signer.how}/{whys[-1]}" if whys else signer.how


def flags(kept: CurrentEntry) -> int:
    """The sum of 1 not so, 2 short-signed, 4 corrected, 8 countersigned later."""
    return (
        NOT_SO * kept.not_so
        + SHORT * bool(kept.short)
        + CORRECTED * (kept.corrected_by is not None)
        + COUNTERSIGNED * bool(kept.later)
    )


def _emergency(night: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [{"id": box["id"], **box["emergency"]} for box in night.get("boxes", []) if "emergency" in box]


def _boxes(night: Mapping[str, Any]) -> dict[str, Any]:
    """Bins counted and bins emptied, by box; {} where there were none."""
    rows = [{name: part for name, part in box.items() if name != "emergency"} for box in night.get("boxes", [])]
    rows = [row for row in rows if len(row) > 1]
    return {"boxes": rows} if rows else {}


def _contests(place: Place, day: BalancedDay, night: Mapping[str, Any]) -> dict[str, Any]:
    """Each contest's row over all tapes; each tape's own rows too where there are several; the write-ins tallied by hand."""
    own = {at: typed for at, kept in day.tapes.items() if (typed := _typed(place, kept))}
    apart = {at: split for at, kept in day.tapes.items() if (split := by_precinct(place, kept.body))}
    tabulators = night.get("tabulators", [])
    room = {
        c.id: added(rows)
        for c in place.typed_contests()
        if (rows := [mine[c.id] for mine in own.values() if c.id in mine])
    }
    alone = [sole_tape(tabulators)]
    if own and list(own) != alone:
        tabulators = [t | ({"contests": own[t["id"]]} if t["id"] in own else {}) for t in tabulators]
    if apart and list(apart) != alone:
        tabulators = [t | ({PRECINCTS: apart[t["id"]]} if t["id"] in apart else {}) for t in tabulators]
    tallied = {c["id"]: c["write_in_tally"] for c in night.get("contests", []) if "write_in_tally" in c}
    return {
        "tabulators": tabulators,
        "contests": room,
        **({PRECINCTS: over_tapes(place, apart)} if apart else {}),
        **({"write_ins": tallied} if tallied else {}),
    }


def _typed(place: Place, kept: CurrentEntry) -> dict[str, list[int | None]]:
    """The rows of one tape, in ballot order. A contest of which nothing was keyed has none."""
    rows = of_tape(place, kept.body)
    return {contest: figures for contest, figures in rows.items() if any(n is not None for n in figures)}


def _containers(place: Place, day: BalancedDay, night: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every container of the place, and case and bags sealed today: each with its seal, and its ballots where it holds any."""
    found = {c["id"]: c for c in night.get("containers", [])}
    seals, ours = day.seals, {c.id for c in place.containers}
    bags = {"case", *(f"{t.id}-{part}" for t in place.tabulators for part in ("bag", "case"))}
    sealed = [point for point, number in seals.on.items() if point in ours or (point in bags and number in seals.used)]
    return [
        {"id": point, "seal": seals.on.get(point), "ballots": found.get(point, {}).get("ballots")}
        for point in sorted({*found, *sealed})
    ]


def _envelopes(day: BalancedDay) -> dict[str, Any]:
    """Envelopes that travel unopened, as counted at the close: absentee ones dropped off."""
    closing = day.last("aside-counts")
    dropped = closing.body.get("drop_off") if closing else None
    return {} if dropped is None else {"drop_off": figures_of_day.plain(dropped)}


def remarks(place: Place, day: BalancedDay) -> dict[str, Any]:
    """Part 1: remarks with their lines, separate statements, reasons of short-signed steps and exceptions. Roles and parties, no names."""
    here = [
        k
        for k in day.entries
        if k.taken_back is None and k.kind in {s.id for s in checklist.steps(place) if not s.ballot}
    ]
    return {
        "v": VERSION,
        "remarks": [
            [k.number, list(k.body["lines"]), list(k.body.get("gaps", [])), k.word("remark"), k.time, _signers(day, k)]
            for k in day.remarks
            if k.body.get("lines")
        ],
        "statements": [[k.number, k.word("statement"), k.time, _signers(day, k)] for k in day.of("dissent")],
        "short": [
            [
                k.number,
                k.kind,
                k.at or None,
                [[s["seat"], s["why"], s.get("told_at"), *([s["able"]] if s.get("able") else [])] for s in k.short],
                k.word("told"),
                _signers(day, k),
            ]
            for k in here
            if k.short
        ],
        "not_so": [[k.number, k.kind, k.at or None, k.word("found"), k.word("done")] for k in here if k.not_so],
    }
