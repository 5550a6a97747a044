"""The lines of each tabulator and its box: paper against tape, counter against tape, protective counter against public counter.

Also what the boxes and containers hold. A box shared by two tabulators has one line, under its own id.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from webapp.precinct.balance.cast_ballots import HAND_COUNTED, carried, cast, cast_on, printed, tape_missing
from webapp.precinct.balance.figure_rows import NamedFigure
from webapp.precinct.balance.figure_tabulators import BoxFigures, Emptying, Run, TabulatorFigures
from webapp.precinct.balance.line import Drawn, Line, LineEntry, Unchecked, draw, entries, hand_counts
from webapp.precinct.balance.night_figures import NightFigures


@dataclass(frozen=True)
class Hold:
    """One box with the tabulators that feed it, and its hand counts by compartment."""

    id: str
    tabulators: tuple[TabulatorFigures, ...]
    bins: Mapping[str, NamedFigure]
    emptied: tuple[Emptying, ...] = ()


def holds(night: NightFigures) -> list[Hold]:
    """Every box: one a tabulator, or the one that several share."""
    boxes = {box.id: box for box in night.boxes}
    by_box: dict[str, list[TabulatorFigures]] = {}
    for tabulator in night.tabulators:
        by_box.setdefault(tabulator.box or f"\0{tabulator.id}", []).append(tabulator)
    for box in boxes:
        by_box.setdefault(box, [])
    found = []
    for key, users in by_box.items():
        figures = boxes.get(key, BoxFigures(key))
        bins = {bin: figure for user in users for bin, figure in user.bins.items()} | dict(figures.bins)
        found.append(Hold(users[0].id if len(users) == 1 else key, tuple(users), bins, figures.emptied))
    return found


def taken_out(night: NightFigures, hold: Hold) -> Iterator[tuple[Emptying, int | None]]:
    """Each emptying with its number of ballots: counted, else by the counter since the emptying before; None when neither is known."""
    before = sum(tabulator.at_zero or 0 for tabulator in hold.tabulators if carried(night, tabulator))
    for emptying in hold.emptied:
        if emptying.n is not None:
            yield emptying, emptying.n.total
        elif emptying.counter is None:
            yield emptying, None
        else:
            # a fresh start put the counter back to zero in between
            yield emptying, emptying.counter - (before if emptying.counter >= before else 0)
        before = before if emptying.counter is None else emptying.counter


def bins(night: NightFigures) -> Drawn:
    """Hand count of the bins, emptyings included = the tapes of that box less fed again and subtracted."""
    if night.rules.bins_counted == "never":
        return
    for hold in holds(night):
        emptied = list(taken_out(night, hold))
        missing = [] if hold.bins else ["bins"]
        missing += ["counter" for _, n in emptied if n is None]
        missing += ["tape" for tabulator in hold.tabulators if tabulator.tape is None] or (
            [] if hold.tabulators else ["tape"]
        )
        left = [entry for bin, figure in hold.bins.items() for entry in entries(bin, figure)]
        left += [LineEntry("emptied", n or 0) for _, n in emptied]
        right = [entry for tabulator in hold.tabulators for entry in cast_on(night, tabulator)]
        yield from draw(f"bins:{hold.id}", left, right, missing, hand_counts(hold.bins.items()))


def counter(night: NightFigures) -> Drawn:
    """Public counter at close less at zero, over its runs = ballots on the tape as printed."""
    for tabulator in night.tabulators:
        missing = [key for run in tabulator.runs for key in run_missing(tabulator, run, "counter")] or (
            [] if tabulator.runs else ["counter"]
        )
        missing += [] if tabulator.tape is not None else ["tape"]
        left = [entry for n, run in enumerate(tabulator.runs) for entry in run_entries(tabulator, n, run)]
        yield from draw(f"counter:{tabulator.id}", left, printed(night, tabulator), missing)


def run_entries(tabulator: TabulatorFigures, n: int, run: Run) -> list[LineEntry]:
    """Ballots by the public counter: both readings where there is one run, else what each unit counted."""
    zero, close = run.zero or 0, run.close or 0
    scope = run_scope(tabulator, n)
    return (
        [LineEntry("close", close), LineEntry("zero", -zero)]
        if scope is None
        else [LineEntry(" ".join(next(iter(scope.items()))), close - zero)]
    )


def run_missing(tabulator: TabulatorFigures, run: Run, which: str) -> list[str]:
    """The keys of the readings of one counter that are not there."""
    values = (run.zero, run.close) if which == "counter" else (run.lifetime_zero, run.lifetime_close)
    keys = (f"{which}_at_zero", f"{which}_at_close") if tabulator.flat else (which, which)
    return [key for key, value in zip(keys, values) if value is None]


def lifetime(night: NightFigures) -> Drawn:
    """Protective counter at close less at zero = public counter at close less at zero, run by run."""
    for tabulator in night.tabulators:
        for n, run in enumerate(tabulator.runs):
            missing = run_missing(tabulator, run, "lifetime") + run_missing(tabulator, run, "counter")
            left = [
                LineEntry("lifetime close", run.lifetime_close or 0),
                LineEntry("lifetime zero", -(run.lifetime_zero or 0)),
            ]
            right = [LineEntry("close", run.close or 0), LineEntry("zero", -(run.zero or 0))]
            yield from draw(f"lifetime:{tabulator.id}", left, right, missing, (), run_scope(tabulator, n))


def run_scope(tabulator: TabulatorFigures, n: int) -> dict[str, str] | None:
    """The scope of a run ({"unit": ...}); None where there is only one."""
    if len(tabulator.runs) < 2:
        return None
    unit = tabulator.runs[n].unit
    if unit is not None and sum(run.unit == unit for run in tabulator.runs) == 1:
        return {"unit": unit}
    return {"run": str(n + 1)}


def emergency(night: NightFigures) -> Drawn:
    """Found in the emergency bin = fed + counted by hand + left there; with several boxes, each by itself."""
    found = [(box, box.emergency) for box in night.boxes if box.emergency]
    for box, bin in found:
        missing = [key for key in ("found", "fed", "hand_counted", "left") if getattr(bin, key) is None]
        right = [
            LineEntry("fed", bin.fed or 0),
            LineEntry("hand-counted", bin.hand_counted or 0),
            LineEntry("left", bin.left or 0),
        ]
        yield from draw(
            "emergency",
            [LineEntry("found", bin.found or 0)],
            right,
            missing,
            (),
            {"box": box.id} if len(found) > 1 else None,
        )


def containers(night: NightFigures) -> Drawn:
    """Ballots in sealed containers = counted + hand-counted; a container without a number holds what was emptied into it."""
    if not night.containers:
        yield Unchecked("containers", ("containers",))
        return
    emptied: dict[str | None, list[int | None]] = {}
    for hold in holds(night):
        for emptying, n in taken_out(night, hold):
            emptied.setdefault(emptying.container, []).append(n)
    left, missing = [], tape_missing(night)
    for container in night.containers:
        inside = emptied.get(container.id, [None])
        if container.ballots is None and None in inside:
            missing = ["ballots"] + missing
        n = sum(some or 0 for some in inside) if container.ballots is None and None not in inside else 0
        left += entries(container.id, container.ballots) or [LineEntry(container.id, n)]
    by_hand = entries(HAND_COUNTED, night.aside.get(HAND_COUNTED))
    yield from draw(
        "containers", left, cast(night) + by_hand, missing, hand_counts((c.id, c.ballots) for c in night.containers)
    )


def each_counter_is_there(night: NightFigures, lines: tuple[Line | Unchecked, ...]) -> bool:
    """Whether each tabulator has a counter line: one condition of `complete`."""
    drawn = {line.id for line in lines if isinstance(line, Line)}
    return all(f"counter:{tabulator.id}" in drawn for tabulator in night.tabulators)
