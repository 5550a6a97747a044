"""What any fault of a tabulator's program, of its report or of the feeding does to a tape.

`effect` gives the figures that change, as (contest, cell) -> difference from the expected tape; nothing is left out, so that {} means
that the fault is hidden. The kinds and their keys are a format: README.md of this folder lists them.
"""

from collections.abc import Callable

from webapp.deck.oval_faults import EDITS, Effect, Fault, add_difference, edited_effect, edits, note
from webapp.deck.piles import Feed, Pile, less, pile
from webapp.deck.positions import DeckPlan, DeckStyle
from webapp.deck.rows import Row
from webapp.deck.tally import straight_rows, straight_votes, tally


def effect(feed: Feed, one: Fault, before: DeckPlan | None = None) -> Effect:
    """What this fault changes on the tape of this feed; {} where every figure stays. `before`: the plan of the edition before."""
    if one.kind == "edition":
        return _edition(feed, before)
    return EFFECTS[one.kind](feed, one)


def _ovals(feed: Feed, one: Fault) -> Effect:
    found = feed.by_style[one["style"]]
    return edited_effect(found, edits(found, one))


# Faults of a style's contests, and of the report.


def _wrong_n(feed: Feed, one: Fault) -> Effect:
    found: Effect = {}
    pile_ = feed.by_style[one["style"]]
    i = pile_.style.index[one["contest"]]
    note(found, pile_, i, pile_.count_with_n(i, one["n"]))
    return found


def _contest_missing(feed: Feed, one: Fault) -> Effect:
    found: Effect = {}
    pile_ = feed.by_style[one["style"]]
    i = pile_.style.index[one["contest"]]
    note(found, pile_, i, (0,) * len(pile_.counts[i]))
    return found


def _contests_exchanged(feed: Feed, one: Fault) -> Effect:
    found: Effect = {}
    pile_ = feed.by_style[one["style"]]
    a, b = (pile_.style.index[contest] for contest in one["contests"])
    note(found, pile_, a, pile_.counts[b])
    note(found, pile_, b, pile_.counts[a])
    return found


def _labels(feed: Feed, one: Fault) -> Effect:
    contest = feed.plan.contest[one["contest"]]
    a, b = (contest.cells.index(cell) for cell in one["cells"])
    vector = feed.totals[contest.id]
    swapped = list(vector)
    swapped[a], swapped[b] = vector[b], vector[a]
    found: Effect = {}
    add_difference(found, contest.id, contest.cells, less(tuple(swapped), vector))
    return found


def _report_contests(feed: Feed, one: Fault) -> Effect:
    a, b = (feed.plan.contest[contest] for contest in one["contests"])
    found: Effect = {}
    add_difference(found, a.id, a.cells, less(feed.totals[b.id], feed.totals[a.id]))
    add_difference(found, b.id, b.cells, less(feed.totals[a.id], feed.totals[b.id]))
    return found


# Ballots counted by other ovals, place by place on the paper.


def _style(feed: Feed, one: Fault) -> Effect:
    return _read_by(feed.by_style[one["style"]], feed.by_style[one["as"]].style, feed.plan.straight)


def _edition(feed: Feed, before: DeckPlan | None) -> Effect:
    found: Effect = {}
    if before is None:
        return found
    old = {style.id: style for style in before.styles}
    for one in feed.piles:
        if one.style.id in old:
            for (contest, cell), more in _read_by(one, old[one.style.id], before.straight).items():
                add_difference(found, contest, (cell,), (more,))
        else:
            for row in one.order:  # a style that the old program does not know is handed back
                for (where, cell), more in row_effect(feed, row, -1).items():
                    add_difference(found, where, (cell,), (more,))
    return found


def _read_by(one: Pile, program: DeckStyle, straight: str) -> Effect:
    """The ballots of one pile counted by another style's ovals: the k-th printed oval is read as that style's k-th."""
    columns = [[0] * len(contest.positions) for contest in program.contests]
    for (i, p), (j, q) in zip(program.printed_index, one.style.printed_index, strict=False):
        columns[i][p] = one.columns[j][q]
    fed = [
        sum(1 << bit for bit, row in enumerate(one.order) if not row.sheets or sheet < row.sheets)
        for sheet in program.sheet_of
    ]
    parties = program.contests[program.index[straight]].parties if straight in program.index else ()
    alone = straight_rows(columns[program.index[straight]]) if parties else []
    found: Effect = {}
    for i, contest in enumerate(one.style.contests):
        add_difference(found, contest.id, contest.cells, tuple(-figure for figure in one.counts[i]))
    for i, contest in enumerate(program.contests):
        votes = straight_votes(contest, parties if contest.id != straight else (), alone)
        add_difference(found, contest.id, contest.cells, tally(contest, columns[i], fed[i], votes))
    return found


# Ballots and precincts.


def row_effect(feed: Feed, row: Row, times: int) -> Effect:
    """How the figures change when this ballot is counted `times` times more (-1: not at all)."""
    one = pile(feed.plan, feed.by_style[row.style].style, [row])
    found: Effect = {("", "ballots"): times, ("precinct", row.precinct): times}
    if any(style.sheets > 1 for style in feed.plan.styles):
        found["", "sheets"] = times * (row.sheets or one.style.sheets)
    for contest, vector in zip(one.style.contests, one.counts, strict=True):
        add_difference(found, contest.id, contest.cells, tuple(times * figure for figure in vector))
    return found


def _row(times: int) -> Callable[[Feed, Fault], Effect]:
    def changed(feed: Feed, one: Fault) -> Effect:
        return next(row_effect(feed, row, times) for pile_ in feed.piles for row in pile_.order if row.id == one["row"])

    return changed


def _precinct(feed: Feed, one: Fault) -> Effect:
    found: Effect = {}
    moved = feed.precincts[one["precinct"]]
    add_difference(found, "precinct", (one["precinct"], one["as"]), (-moved, moved))
    return found


def _precincts_exchanged(feed: Feed, one: Fault) -> Effect:
    a, b = one["precincts"]
    more = feed.precincts[b] - feed.precincts[a]
    found: Effect = {}
    add_difference(found, "precinct", (a, b), (more, -more))
    return found


EFFECTS: dict[str, Callable[[Feed, Fault], Effect]] = {
    **dict.fromkeys(EDITS, _ovals),
    "wrong-n": _wrong_n,
    "contest-missing": _contest_missing,
    "contests-exchanged": _contests_exchanged,
    "labels": _labels,
    "report-contests": _report_contests,
    "style": _style,
    "row-missed": _row(-1),
    "row-twice": _row(1),
    "precinct": _precinct,
    "precincts-exchanged": _precincts_exchanged,
}
