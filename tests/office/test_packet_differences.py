"""Two packets of one place: only what differs, what follows from each, who signed each."""

import copy

from webapp.office.checking.packet_differences import compared, lines, signers
from webapp.packet import contents
from webapp.precinct.balance.balance import balance


def changed(core):
    """A packet with one more check-in in W3 and 100 votes moved."""
    other = copy.deepcopy(dict(core))
    other["people"][0]["n"][0]["n"] += 1
    other["contests"]["GOV"][0] -= 100
    other["contests"]["GOV"][1] += 100
    for one in other["tabulators"][:1]:
        one["contests"]["GOV"][0] -= 100
        one["contests"]["GOV"][1] += 100
    return other


def test_equal_packets_differ_in_nothing(desk):
    place, core = desk.roster.places["W3"], desk.opened.core
    found = compared(core, copy.deepcopy(dict(core)), place, place)
    assert found.differences == () and found.count == 0 and found.figures > 100


def test_only_the_figures_that_differ_are_listed_with_both_sides(desk):
    place, core = desk.roster.places["W3"], desk.opened.core
    found = compared(core, changed(core), place, place)
    assert [(d.id, d.one, d.other, d.apart) for d in found.differences] == [
        ("people/poll_book/W3", 279, 280, 1),
        ("votes/T1/GOV/A", 134, 34, 100),
        ("votes/T1/GOV/B", 53, 153, 100),
    ]


def test_votes_of_few_ballots_are_counted_and_not_shown(desk):
    place, core = desk.roster.places["W3"], desk.opened.core
    found = compared(core, changed(core), place, place, alone=frozenset())
    assert [d.id for d in found.differences] == ["people/poll_book/W3"] and found.hidden == 2 and found.count == 3


def test_a_figure_that_one_packet_lacks_differs(desk):
    place, core = desk.roster.places["W3"], desk.opened.core
    other = {**core, "people": []}
    assert [(d.id, d.one, d.other) for d in compared(core, other, place, place).differences] == [
        ("people/poll_book/W3", 279, None),
        ("people/poll_book/W4", 243, None),
    ]


def test_the_lines_that_follow_from_each_packet(desk):
    place, core = desk.roster.places["W3"], desk.opened.core
    drawn = [balance(contents.figures(one, place)) for one in (core, changed(core))]
    assert ("poll-book", 1, 2) in lines(*drawn) and ("poll-book@W3", 1, 2) in lines(*drawn)


def test_who_signed_at_the_close_by_party(desk):
    found = signers(desk.opened.core)
    assert set(found) >= {"M", "P"} and "chair" in found["M"]
    assert signers({"steps": []}) == {}
