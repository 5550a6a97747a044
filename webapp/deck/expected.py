"""What each tape must read: ballots, ballots by precinct, and the figures of each contest; and their sum over all tabulators."""

from collections.abc import Iterator, Mapping
from typing import Any

from webapp.deck.piles import Feed
from webapp.deck.positions import DeckContest, DeckPlan
from webapp.deck.tally import Vector

Tape = dict[str, Any]
Cell = tuple[str, str]  # (contest id, its cell), ("", "ballots"), ("", "sheets") or ("precinct", precinct id)
TOGETHER = "together"


def tape(feed: Feed) -> Tape:
    """The tape of one tabulator after the whole deck. `sheets` only where a ballot has more than one."""
    found: Tape = {"ballots": feed.ballots}
    if any(style.sheets > 1 for style in feed.plan.styles):
        found["sheets"] = feed.sheets
    found["precincts"] = feed.precincts
    found["contests"] = {
        contest.id: contest_figures(contest, feed.totals[contest.id]) for contest in feed.plan.contests
    }
    return found


def contest_figures(contest: DeckContest, vector: Vector) -> Tape:
    """The figures of one contest as the tape of the file has them."""
    cells = dict(zip(contest.cells[len(contest.choices) :], vector[len(contest.choices) :], strict=True))
    written = {"write_in": cells["write_in"]} if contest.lines else {}
    votes = dict(zip(contest.choices, vector, strict=False))
    return {"ballots": cells["ballots"], "votes": votes, **written, "under": cells["under"], "over": cells["over"]}


def together(tapes: Mapping[str, Tape]) -> Tape:
    """The sum of several tapes, cell by cell."""
    found: Any = None
    for one in tapes.values():
        found = _added(found, one)
    return found


def _added(a: Any, b: Any) -> Any:
    if isinstance(b, dict):
        return {key: _added(None if a is None else a[key], value) for key, value in b.items()}
    return b if a is None else a + b


def cells(plan: DeckPlan, one: Tape) -> Iterator[tuple[Cell, int]]:
    """Every figure of a tape with its address, in the order of the file; keys that are absent are left out."""
    for key in ("ballots", "sheets"):
        if key in one:
            yield ("", key), one[key]
    for precinct in plan.precincts:
        if precinct in one.get("precincts", {}):
            yield ("precinct", precinct), one["precincts"][precinct]
    for contest in plan.contests:
        figures = one.get("contests", {}).get(contest.id, {})
        for cell in contest.cells:
            source = figures.get("votes", {}) if cell in contest.choices else figures
            if cell in source:
                yield (contest.id, cell), source[cell]


def sum_is_off(contest: DeckContest, figures: Tape) -> int | None:
    """Votes, undervotes and overvotes less ballots x n; 0 where they agree, None where a figure is missing."""
    wanted = ("ballots", "under", "over", *(("write_in",) if contest.lines else ()))
    if any(key not in figures for key in wanted) or any(
        choice not in figures.get("votes", {}) for choice in contest.choices
    ):
        return None
    over = figures["over"] if contest.over_as_votes else figures["over"] * contest.n
    return (
        sum(figures["votes"][c] for c in contest.choices)
        + figures.get("write_in", 0)
        + figures["under"]
        + over
        - figures["ballots"] * contest.n
    )
