"""A contest by precinct over the county: two places of one precinct added up, small ones together, a place that is not by precinct named."""

from canvass.county import GOV, PROVISIONAL, SITE, figures
from canvass.test_split_places import LISTS, following
from webapp.canvass.atoms import Atom
from webapp.canvass.edition import WAYS, Edition, Unit
from webapp.canvass.precinct_totals import Ward, table
from webapp.canvass.published import OneContest

ONE, TWO, NINE = Ward("1", "Ward 1"), Ward("2", "Ward 2"), Ward("9", "Ward 9")
WARDS = {
    "W3": frozenset({ONE, TWO}),
    "W3:P1": frozenset({ONE}),
    "W3:P2": frozenset({TWO}),
    "HM4": frozenset({NINE}),
    "HM5": frozenset({ONE}),
}


def drawn(kept):
    units = tuple(Unit(id, id, {SITE: 1}) for id in ("W3", "HM4", "HM5"))
    apart = (Unit("W3:P1", "W3, Ward 1"), Unit("W3:P2", "W3, Ward 2"))
    one = following(OneContest(), kept)
    return Edition(1, "unofficial-partial", 0, 1, "", "", 3, 3, (GOV,), {"GOV": one}, units, WAYS, precincts=apart)


def said(found):
    rows = [([ward.name for ward in row.precincts], row.figures.votes["A"], row.whole) for row in found.rows]
    return rows, [(row.name, row.figures.votes["A"]) for row in found.left]


def test_a_precinct_that_votes_at_two_places_is_one_sum():
    kept = {
        Atom("W3:P1", SITE): figures(20, 10),
        Atom("W3:P2", SITE): figures(30, 40),
        Atom("HM4", SITE): figures(11, 12),
        Atom("HM5", SITE): figures(7, 8),
    }
    assert said(table(drawn(kept), "GOV", WARDS)) == (
        [(["Ward 1"], 27, True), (["Ward 2"], 30, True), (["Ward 9"], 11, True)],
        [],
    )


def test_a_place_for_the_whole_only_and_a_count_after_the_night_are_not_by_precinct():
    kept = {Atom("W3", SITE): figures(50, 50), Atom("HM5", SITE): figures(7, 8), Atom("HM4", SITE): figures(11, 12)}
    assert said(table(drawn(kept), "GOV", WARDS)) == (
        [(["Ward 9"], 11, True), (["Ward 1"], 7, False)],
        [("W3", 50)],
    )
    late = {Atom("W3:P1", SITE): figures(20, 10), Atom("W3:P2", SITE): figures(30, 40), Atom("W3", PROVISIONAL): figures(9, 9)}  # fmt: skip
    assert said(table(drawn(late), "GOV", WARDS)) == ([(["Ward 1"], 20, False), (["Ward 2"], 30, False)], [("W3", 9)])


def test_a_small_precinct_is_shown_with_another_and_neither_is_whole():
    kept = {Atom("W3:P1", SITE): figures(2, 3), Atom("W3:P2", SITE): figures(30, 40), Atom("HM5", SITE): figures(7, 8)}
    assert said(table(drawn(kept), "GOV", WARDS)) == (
        [(["Ward 1", "Ward 2"], 32, False), (["Ward 1"], 7, False)],
        [],
    )
    assert LISTS.small == 10
