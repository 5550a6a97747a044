"""What the desk finds that differs from the packet: ballots in the warehouse, a signed tape that was typed wrong. It overlays, and both stay.

A finding names one figure of the packet, what the packet has there and what was found. The packet's bytes never
change; its figures are drawn again with the findings in them. A finding whose packet was replaced by one that says
something else there is shown and not applied.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from webapp.packet.contents import ROW
from webapp.packet.figures_from_core import PRECINCTS
from webapp.packet.print_content import total
from webapp.precinct.place.place import Place

Path = tuple[Any, ...]
GROUPS = ("Tapes and counters", "Poll book", "Stock", "Set aside", "Bins and containers", "Contest figures")
ASIDE = {
    "spoiled": "Spoiled ballots",
    "spoiled-not-reissued": "Spoiled ballots that were not replaced",
    "provisional": "Provisional envelopes",
    "hand-counted": "Ballots counted by hand",
    "taken": "Ballots taken from the room",
    "left": "Voters who left without a ballot",
    "set-apart": "Ballots set apart",
    "emergency": "Ballots waiting in the emergency bin",
}
LINES = {"write_in": "write-ins", "under": "undervotes", "over": "overvotes", "ballots": "ballots"}


@dataclass(frozen=True, slots=True)
class FigureAddress:
    """One figure that may be found otherwise. `id` is kept for good: tape/T1, unused/3A, votes/GOV/A; `value` None: the packet has none there."""

    id: str
    words: str
    group: str
    value: int | None
    path: Path


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found: entry `number` of the office's record, the figure, what the packet had there and what it is; `words` as written.

    Of two about one figure the later `kept` (ms UTC) counts, then the higher `id`, whatever order they came in.
    """

    number: int
    figure: str
    was: int | None
    is_: int
    words: str = ""
    kept: int = 0
    id: bytes = b""


def spots(core: Mapping[str, Any], place: Place) -> tuple[FigureAddress, ...]:
    """Every figure of this packet that a finding may name, in the order of the groups."""
    return (
        *_tabulators(core),
        *_people(core),
        *_stock(core),
        *_aside(core),
        *_boxes(core),
        *_votes(core, place),
        *_apart(core, place),
    )


def spot(core: Mapping[str, Any], place: Place, id: str) -> FigureAddress | None:
    """Returns the figure of this packet with this id; None if the packet has none."""
    return next((one for one in spots(core, place) if one.id == id), None)


def overlaid(core: Mapping[str, Any], place: Place, findings: Sequence[Finding]) -> Mapping[str, Any]:
    """The core with these findings on it, the last of each figure; the core itself where none fits."""
    fitting = {one.figure: one for one in findings if fits(core, place, one)}
    if not fitting:
        return core
    found, here = deepcopy(dict(core)), {one.id: one for one in spots(core, place)}
    for figure, finding in sorted(fitting.items(), key=lambda row: row[0].startswith("votes/")):
        _put(found, here[figure], finding.is_)
    return found


def fits(core: Mapping[str, Any], place: Place, finding: Finding) -> bool:
    """Whether the packet still has there what it had when the finding was written."""
    here = spot(core, place, finding.figure)
    return here is not None and here.value == finding.was


def _put(core: dict[str, Any], spot: FigureAddress, n: int) -> None:
    """Puts the figure in its place, in the shape that is there; sums over it move along. Figures of precincts come before those of the tape."""
    by, (*way, last), at = n - (spot.value or 0), spot.path, core
    for step in way:
        at = at[step]
    was = at[last]
    at[last] = {**was, "counts": [n]} if isinstance(was, Mapping) and "logged" in was else n
    if spot.id.startswith("emergency/"):
        at["found"] = at.get("found", 0) + by
        waiting = core["aside"].get("emergency")
        core["aside"]["emergency"] = (waiting or 0) + by if waiting is None or isinstance(waiting, int) else waiting
    if spot.path[0] == "tabulators" and "contests" in spot.path:
        row = core["contests"][spot.path[3]]
        row[last] = max((row[last] or 0) + n - (was or 0), 0)
    if PRECINCTS in spot.path:
        precinct, contest = spot.path[-3:-1]
        sums = [core["contests"][contest]]
        if spot.path[0] == "tabulators":
            sums += [core[PRECINCTS][precinct][contest], core["tabulators"][spot.path[1]]["contests"][contest]]
        for row in sums:
            row[last] = max((row[last] or 0) + by, 0)


def _rows(figure: Any, path: Path, key: str, words: str, group: str) -> Iterator[FigureAddress]:
    """The spots of a figure in any of its shapes: one, or one a row, named by what the row is of."""
    if figure is None:
        return
    if not isinstance(figure, list):
        yield FigureAddress(key, words, group, total(figure), path)
        return
    for i, row in enumerate(figure):
        about = [str(row[name]) for name in ("precinct", "style", "origin", "sheet", "day") if name in row]
        yield FigureAddress(
            "/".join([key, *(about or [str(i)])]),
            f"{words}, {', '.join(about)}" if about else words,
            group,
            total(row["n"]),
            (*path, i, "n"),
        )


def _tabulators(core: Mapping[str, Any]) -> Iterator[FigureAddress]:
    for i, one in enumerate(core["tabulators"]):
        yield from _rows(
            one.get("tape"),
            ("tabulators", i, "tape"),
            f"tape/{one['id']}",
            f"Ballots on the tape of {one['id']}",
            GROUPS[0],
        )
        for what, words in (("counter", "Public counter"), ("lifetime", "Protective counter")):
            runs = one.get("runs") or []
            ends = runs[-1].get(what) if runs else None
            if ends and ends[1] is not None:
                yield FigureAddress(
                    f"{what}/{one['id']}",
                    f"{words} of {one['id']} at the close",
                    GROUPS[0],
                    ends[1],
                    ("tabulators", i, "runs", len(runs) - 1, what, 1),
                )


def _people(core: Mapping[str, Any]) -> Iterator[FigureAddress]:
    for i, one in enumerate(core["people"]):
        words = "Check-ins" if one["id"] == "poll_book" else f"People by {one['id']}"
        yield from _rows(one.get("n"), ("people", i, "n"), f"people/{one['id']}", words, GROUPS[1])


def _stock(core: Mapping[str, Any]) -> Iterator[FigureAddress]:
    for name, words in (("received", "Ballots received"), ("unused", "Unused ballots")):
        yield from _rows(core["stock"].get(name), ("stock", name), name, words, GROUPS[2])


def _aside(core: Mapping[str, Any]) -> Iterator[FigureAddress]:
    for kind, figure in core["aside"].items():
        if kind != "emergency" or not core["emergency"]:
            yield from _rows(figure, ("aside", kind), f"aside/{kind}", ASIDE.get(kind, f"Set aside: {kind}"), GROUPS[3])


def _boxes(core: Mapping[str, Any]) -> Iterator[FigureAddress]:
    for i, row in enumerate(core["emergency"]):
        if row.get("left") is not None:
            yield FigureAddress(
                f"emergency/{row['id']}",
                f"Ballots left in the emergency bin of box {row['id']}",
                GROUPS[4],
                row["left"],
                ("emergency", i, "left"),
            )
    for i, box in enumerate(core.get("boxes", ())):
        for name in box.get("bins") or ():
            yield from _rows(
                box["bins"][name],
                ("boxes", i, "bins", name),
                f"bins/{box['id']}/{name}",
                f"Ballots out of the {name} bin of box {box['id']}",
                GROUPS[4],
            )
    for i, row in enumerate(core["containers"]):
        yield from _rows(
            row.get("ballots"),
            ("containers", i, "ballots"),
            f"containers/{row['id']}",
            f"Ballots in the container {row['id']}",
            GROUPS[4],
        )


def _votes(core: Mapping[str, Any], place: Place) -> Iterator[FigureAddress]:
    """Each line of each contest, tape by tape where there are several."""
    titles = {
        contest.id: (contest.title, [(c.id, c.label) for c in contest.choices] + [(k, LINES[k]) for k in ROW])
        for contest in place.contests
    }
    own: list[tuple[tuple[str | int, ...], str, str, Mapping[str, Any]]] = [
        (("tabulators", i, "contests"), f"votes/{t['id']}", f"{t['id']}: ", t["contests"])
        for i, t in enumerate(core["tabulators"])
        if "contests" in t
    ]
    for path, key, before, rows in own or [(("contests",), "votes", "", core["contests"])]:
        for contest, row in rows.items():
            if contest not in core["contests"]:  # a tape's own row of a contest that the packet does not add up
                continue
            title, lines = titles[contest]
            for i, (line, words) in enumerate(lines):
                if row[i] is not None:
                    yield FigureAddress(
                        f"{key}/{contest}/{line}", f"{before}{title}, {words}", GROUPS[5], row[i], (*path, contest, i)
                    )


def _apart(core: Mapping[str, Any], place: Place) -> Iterator[FigureAddress]:
    """Each line of each row by precinct, tape by tape where there are several: apart/PA/GOV/A."""
    own: list[tuple[Path, str, str, Mapping[str, Any]]] = [
        (("tabulators", i, PRECINCTS), f"apart/{t['id']}", f"{t['id']}: ", t[PRECINCTS])
        for i, t in enumerate(core["tabulators"])
        if PRECINCTS in t
    ]
    for path, key, before, rows in own or [((PRECINCTS,), "apart", "", core.get(PRECINCTS, {}))]:
        for precinct in place.split():
            for contest in place.contests_of(precinct.id):
                row, sums = rows.get(precinct.id, {}).get(contest.id), core["contests"].get(contest.id)
                lines = [(c.id, c.label) for c in contest.choices] + [(k, LINES[k]) for k in ROW]
                for i, (line, words) in enumerate(lines if row and sums else ()):
                    if row[i] is not None and sums[i] is not None:
                        yield FigureAddress(
                            f"{key}/{precinct.id}/{contest.id}/{line}",
                            f"{before}{contest.title}, {precinct.name}, {words}",
                            GROUPS[5],
                            row[i],
                            (*path, precinct.id, contest.id, i),
                        )


def of_entries(kept: Iterable[Any], id: bytes = b"") -> tuple[Finding, ...]:
    """The findings that entries of the office's record tell of one place, in order; `id` of the entry where it is one."""
    return tuple(
        Finding(k.number, k.body["figure"], k.body.get("was"), k.body["is"], k.word("what"), k.kept, id) for k in kept
    )
