"""Draws where every ballot went: lines run from the stock to each end, through the tabulators. Geometry only; the words are in the list of ends.

One line is so many ballots, and every end has at least one line. Widths are percent, heights units of 80 a row, so
that the picture stretches with the list next to it and words never do. Black lines on paper: no color, no filling.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.precinct.balance import ballot_flow_words
from webapp.precinct.balance.ballot_flow import GAP, OPEN, End, Flow

ROW = 80.0
MOST = 66  # lines in the whole picture
Bezier = tuple[tuple[float, float], ...]
CURVE: Bezier = (
    (0, 0),
    (40, 0),
    (55, 1),
    (100, 1),
)  # from the stock to an end: per cent of the width, share of the way down
GATE = (42, 54)  # per cent: the two bars of a tabulator
STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2500, 5000, 10_000, 100_000, 10**6, 10**9)


@dataclass(frozen=True, slots=True)
class Bundle:
    """The lines to one end: SVG path data. kind: "" | gone (broken: ballots that nobody has) | awaited (dotted: on tapes not typed yet)."""

    path: str
    kind: str


@dataclass(frozen=True, slots=True)
class FlowGate:
    """A tabulator on the way: two upright bars, `top` and `foot` in per cent of the height, its name below."""

    name: str
    top: float
    foot: float


@dataclass(frozen=True, slots=True)
class Ended:
    """One row of the list next to the picture."""

    n: int
    title: str
    small: str
    gap: bool


@dataclass(frozen=True, slots=True)
class TableRow:
    title: str
    came: int | None
    ended: int | None


@dataclass(frozen=True, slots=True)
class FlowPicture:
    """All that the template writes. `height` is in the units of the paths; `each` = ballots for one line."""

    heading: str
    bundles: tuple[Bundle, ...]
    gates: tuple[FlowGate, ...]
    ends: tuple[Ended, ...]
    height: int
    each: int
    table: tuple[TableRow, ...]
    came: int
    accounted: int
    gaps: tuple[tuple[int, str], ...]
    open: int
    said: str


def picture(flow: Flow, small: Mapping[tuple[str, str, str], str] | None = None) -> FlowPicture | None:
    """The drawing of a flow; None where it is not to be drawn. `small`: a line below an end, by (what, name, of)."""
    if flow.missing:
        return None
    small = small or {}
    ends = [Ended(e.n, ballot_flow_words.end(e), small.get((e.what, e.name, e.of), _at(e)), e.gap) for e in flow.ends]
    bundles, gates, each = _drawn(flow)
    said = f"{ballot_flow_words.heading(flow)} Lines run from the stock to each end; the figures are next to it and in the table below."
    return FlowPicture(
        ballot_flow_words.heading(flow),
        bundles,
        gates,
        tuple(ends),
        int(ROW * len(ends)),
        each,
        _table(flow),
        flow.came,
        flow.accounted,
        ballot_flow_words.gaps(flow),
        flow.open,
        said,
    )


def _at(end: End) -> str:
    return f"container {end.name}" if end.what == "emptied" and end.name else ""


def _table(flow: Flow) -> tuple[TableRow, ...]:
    """Every source with what came, every end with what is there; what passed a tabulator in one row, as its tape has it."""
    rows = [TableRow(ballot_flow_words.source(s), s.n, None) for s in flow.sources]
    told: set[str] = set()
    for end in flow.ends:
        if end.of and end.of not in told:
            told.add(end.of)
            rows.append(
                TableRow(ballot_flow_words.through(flow, end.of), None, sum(e.n for e in flow.ends if e.of == end.of))
            )
        elif not end.of and end.what not in (GAP, OPEN):
            rows.append(TableRow(ballot_flow_words.end(end), None, end.n))
    return tuple(rows)


def _drawn(flow: Flow) -> tuple[tuple[Bundle, ...], tuple[FlowGate, ...], int]:
    """Bundles and gates. Lines leave the stock in the order of the ends, so that none crosses another."""
    each = next(step for step in STEPS if sum(abs(e.n) for e in flow.ends) / step <= MOST)
    counts = [max(round(abs(e.n) / each), 1) for e in flow.ends]
    height = ROW * len(counts)
    apart = min(3.0, 0.55 * height / max(sum(counts), 1))
    start, begins = 2.0, []
    for n in counts:
        begins.append([start + i * apart for i in range(n)])
        start += n * apart
    goals = [_goal(row, n) for row, n in enumerate(counts)]
    middles, gates = _gates(flow.ends, begins, goals, height)
    bundles = [
        Bundle(
            "".join(_line(a, m, b) for a, m, b in zip(begins[i], middles[i], goals[i])),
            "gone" if end.gap else "awaited" if end.what == OPEN else "",
        )
        for i, end in enumerate(flow.ends)
    ]
    return tuple(bundles), tuple(gates), each


def _goal(row: int, n: int) -> list[float]:
    """Where the lines of a row end: in its middle, as far apart as there is room."""
    apart = min(2.0, (ROW - 12) / max(n - 1, 1))
    return [ROW * (row + 0.5) + (i - (n - 1) / 2) * apart for i in range(n)]


def _gates(
    ends: Sequence[End], begins: list[list[float]], goals: list[list[float]], height: float
) -> tuple[list[list[float | None]], list[FlowGate]]:
    """Where each line passes the tabulators (None: it passes none), and the tabulators."""
    middles: list[list[float | None]] = [[None] * len(lines) for lines in begins]
    gates = []
    for of in dict.fromkeys(end.of for end in ends if end.of):
        mine = [i for i, end in enumerate(ends) if end.of == of]
        n = sum(len(begins[i]) for i in mine)
        centre = (1 - AT_GATE) * _mean([y for i in mine for y in begins[i]]) + AT_GATE * _mean(
            [y for i in mine for y in goals[i]]
        )
        apart = min(1.5, 2 * (min(centre, height - centre) - 8) / max(n - 1, 1))
        ys = iter(centre + (k - (n - 1) / 2) * apart for k in range(n))
        for i in mine:
            middles[i] = [next(ys) for _ in begins[i]]
        reach = (n - 1) * apart / 2 + 7
        gates.append(
            FlowGate(
                of.partition("/")[0] if "/" in of else of,
                round(100 * (centre - reach) / height, 2),
                round(100 * (centre + reach) / height, 2),
            )
        )
    return middles, gates


def _mean(ys: Sequence[float]) -> float:
    return sum(ys) / len(ys)


def _line(a: float, through: float | None, b: float) -> str:
    """One line from the stock to its end. All bend alike, those through a tabulator too, so that no two of them cross."""
    if through is None:
        return _bend(a, b, CURVE)
    return (
        _bend(a, through, TO_GATE)
        + f"H{GATE[1]}"
        + _bend(through, b, FROM_GATE).replace(f"M{GATE[1]} {round(through, 1)}", "")
    )


def _bend(a: float, b: float, curve: Bezier) -> str:
    """A part of the common curve, stretched so that it runs from height a to height b."""
    (x, first), *rest, (_, last) = curve
    share = last - first

    def spot(x: float, y: float) -> str:
        return f"{round(x, 1):g} {round(a + (b - a) * (y - first) / share, 1)}"

    return f"M{round(x, 1):g} {round(a, 1)}C{' '.join(spot(x, y) for x, y in (*rest, curve[-1]))}"


def _split(curve: Bezier, x: float) -> tuple[Bezier, Bezier]:
    """The curve before and behind this x (de Casteljau)."""
    low, high = 0.0, 1.0
    for _ in range(40):
        t = (low + high) / 2
        rows = [list(curve)]
        while len(rows[-1]) > 1:
            rows.append(
                [((1 - t) * p[0] + t * q[0], (1 - t) * p[1] + t * q[1]) for p, q in zip(rows[-1], rows[-1][1:])]
            )
        low, high = (t, high) if rows[-1][0][0] < x else (low, t)
    return tuple(row[0] for row in rows), tuple(row[-1] for row in reversed(rows))


TO_GATE, FROM_GATE = _split(CURVE, GATE[0])[0], _split(CURVE, GATE[1])[1]
AT_GATE = TO_GATE[-1][1]
