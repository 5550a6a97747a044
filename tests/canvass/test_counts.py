"""Envelopes that add up, counts that stand, and the lines that are held of them."""

import random

from webapp.canvass import counts, envelopes
from webapp.canvass.atoms import Atom
from webapp.canvass.counts import Count, in_force
from webapp.precinct.place.place import Choice, Contest

GOV = Contest("GOV", "Governor", 1, (Choice("A", "Ada Marsh"), Choice("B", "Ben Orrin")), "", True)
TOWN = Contest("TOWN", "Town council", 2, (Choice("K", "Kay"), Choice("L", "Lee"), Choice("M", "May")))


def decided(**figures):
    """The envelopes of the worked example: 15 issued and received, 12 accepted, 3 rejected, none open."""
    body = {"unit": "W3", "way": "provisional", "issued": 15, "received": 15, "accepted": 12, "partly": 0}
    return envelopes.of_body(body | {"rejected": {"not-registered": 2, "no-document": 1}, "open": 0} | figures)


def test_fifteen_envelopes_of_which_twelve_were_accepted_add_up():
    one = decided()
    assert envelopes.mistakes(one) == {} and one.to_count == 12 and one.not_counted == 3 and one.decided == 15


def test_more_accepted_than_received_says_both_figures_the_difference_and_which_way():
    said = envelopes.mistakes(decided(accepted=16))["received"]
    assert "15 received, 19 accounted for" in said and "4 more accounted for than received" in said
    assert "1 more received than accounted for" in envelopes.mistakes(decided(accepted=11))["received"]


def test_of_two_decisions_the_later_stands_then_the_higher_id():
    rows = [
        envelopes.of_body(
            {"unit": "W3", "way": "provisional", "received": n, "accepted": n, "issued": n}, kept, bytes([id])
        )
        for n, kept, id in ((1, 5, 1), (2, 9, 1), (3, 9, 2))
    ]
    random.Random(1).shuffle(rows)
    assert envelopes.newest(rows)["W3", "provisional"].received == 3


def count(id: int, ballots=12, amends=(), row=(7, 4, 0, 1, 0, 12), part=1) -> Count:
    return Count(
        "W3",
        "provisional",
        part,
        "tape",
        "A1",
        ballots,
        {"GOV": row},
        tuple(bytes([n]) for n in amends),
        id,
        bytes([id]),
    )


def test_a_count_that_amends_takes_the_place_of_the_one_before():
    assert in_force([count(1), count(2, amends=(1,))])[Atom("W3", "provisional")].count.id == b"\2"


def test_r36_two_counts_of_the_same_ballots_stand_against_each_other_until_one_takes_the_place_of_both():
    two = in_force([count(1), count(2)])[Atom("W3", "provisional")]
    assert two.count is None and len(two.tips) == 2
    assert in_force([count(1), count(2), count(3, amends=(1, 2))])[Atom("W3", "provisional")].count.id == b"\3"
    assert in_force([count(1), count(2, part=2)])[Atom("W3", "provisional", 2)].count.id == b"\2"


def test_what_stands_is_a_function_of_the_set_of_counts():
    rows = [count(1), count(2, amends=(1,)), count(3, amends=(1,)), count(4, part=2), count(5, part=2, amends=(4,))]
    told = in_force(rows)
    for seed in range(20):
        random.Random(seed).shuffle(rows)
        assert in_force(rows) == told


def test_envelopes_and_contests_are_lines_with_both_figures():
    found = list(counts.lines(count(1), [GOV], "votes", 12))
    assert [(line.name, line.gap) for line in found] == [("envelopes", 0), ("Governor", 0)]
    found = list(counts.lines(count(1, ballots=14), [GOV], "votes", 12))
    assert found[0].gap == 2 and found[0].says == "14 ballots counted, 12 envelopes accepted"
    assert [line.name for line in counts.lines(count(1, row=(7, 4, 0, None, None, 12)), [GOV], "votes", None)] == []


def test_both_conventions_of_overvotes_where_two_may_be_chosen():
    """Ballots x 2 = votes + under + overvotes: one overvoted ballot is two lost votes, or one ballot."""
    as_votes, as_ballots = (
        Count("W3", "absentee", 1, "hand", "", 5, {"TOWN": (4, 2, 1, None, 1, o, 5)}) for o in (2, 1)
    )
    for held, way in ((as_votes, "votes"), (as_ballots, "ballots")):
        assert [line.gap for line in counts.lines(held, [TOWN], way, None)] == [0]


def test_votes_that_the_ballots_cannot_hold_are_asked_about():
    assert "hold 12 at most" in next(iter(counts.impossible(count(1, row=(9, 4, 0, 0, 0, 12)), [GOV]).values()))
    assert "13 ballots, and the count has 12" in next(
        iter(counts.impossible(count(1, row=(7, 4, 0, 1, 0, 13)), [GOV]).values())
    )
    assert counts.impossible(count(1), [GOV]) == {}


def test_ballots_that_carried_a_contest_are_those_of_the_paper_or_the_least_that_its_figures_tell():
    assert counts.carried((7, 4, 0, 1, 0, 9), GOV, 12) == 9
    assert (
        counts.carried((7, 4, 0, 0, 0, None), GOV, 12) == 11
        and counts.carried((0, 0, None, None, None, None), GOV, 12) == 12
    )
    assert counts.carried((3, 2, 2, None, None, None, None), TOWN, 12) == 4
