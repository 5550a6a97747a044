"""Two keyings of one tape side by side: every figure in the order in which the tape prints it (950 CMR 54.06(5): one reads, another records)."""

from day.story import HARROW
from webapp.precinct.day import tape_comparison

FIRST = {
    "public": 432,
    "lifetime": 9432,
    "ballots": {"P4": 432},
    "contests": {"GOV": {"votes": {"B": 287, "A": 318}, "write_in": 9, "under": 69, "over": 4, "ballots": 432}},
}


def with_(path, value):
    """The first set with one figure otherwise."""
    import copy

    second = copy.deepcopy(FIRST)
    spot = second
    for part in path[:-1]:
        spot = spot[part]
    spot[path[-1]] = value
    return second


def differing(second):
    return tuple(figure for figure in tape_comparison.compared(FIRST, second, HARROW) if figure.differs)


def test_equal_sets_differ_nowhere():
    assert () == differing(FIRST)


def test_one_figure_that_differs_is_named_with_both_readings():
    (figure,) = differing(with_(("contests", "GOV", "votes", "A"), 381))

    assert ("Governor", "Ada Arden", 318, 381) == (figure.section, figure.label, figure.first, figure.second)
    assert "contests.GOV.votes.A" == figure.name


def test_a_figure_that_one_left_out_differs():
    (figure,) = differing(with_(("lifetime",), None))

    assert (9432, None) == (figure.first, figure.second)


def test_missing_in_both_is_no_difference():
    figures = {figure.name: figure for figure in tape_comparison.compared(FIRST, FIRST, HARROW)}

    assert not figures["contests.CLERK.votes.C"].differs


def test_rows_stand_in_ballot_order_not_in_that_of_the_record():
    """A record sorts the keys of a map; the tape does not."""
    governor = [
        figure.label for figure in tape_comparison.compared(FIRST, FIRST, HARROW) if figure.section == "Governor"
    ]

    assert ["Ada Arden", "Bo Birch", "Write-ins", "Undervotes", "Overvotes", "Ballots"] == governor


def test_a_contest_without_write_ins_has_no_line_for_them():
    clerk = [figure.label for figure in tape_comparison.compared(FIRST, FIRST, HARROW) if figure.section == "Clerk"]

    assert "Write-ins" not in clerk


def test_the_keying_form_asks_what_is_compared():
    asked = [name for _, rows in tape_comparison.sections(HARROW) for name, _ in rows]

    assert [figure.name for figure in tape_comparison.compared({}, {}, HARROW)] == asked
