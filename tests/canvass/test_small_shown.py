"""Ballots of few that two parties show: nobody is left out of a certified edition, and the rule holds for everything else."""

from dataclasses import replace

from tests.canvass.county import PROVISIONAL, SITE, County, figures
from webapp.canvass.atoms import Atom
from webapp.canvass.edition import total, whole_blocks
from webapp.canvass.published import next_edition


def test_ballots_that_two_parties_show_come_in_as_a_block_of_their_own_and_stay_one():
    county = County(("W3", "W5"), {"W3": "W5", "W5": "W3"})
    kept = {Atom("W3", SITE): figures(60, 40), Atom("W5", SITE): figures(30, 20)}
    first = next_edition(county.post({"GOV": {}}).figures["GOV"], kept, county.lists)
    late = kept | {Atom("W5", PROVISIONAL): figures(2, 1)}
    waits = next_edition(first, late, county.lists)
    assert waits.ballots_waiting == 3 and total(waits).votes["A"] == 90
    shown = next_edition(first, late, county.lists, (), {"W5/provisional"})
    assert shown.ballots_waiting == 0 and total(shown).votes["A"] == 92
    assert [[atom.cell for atom, _ in block] for block in shown.blocks][-1] == ["W5/provisional"]
    again = next_edition(shown, late | {Atom("W3", PROVISIONAL): figures(3, 1)}, county.lists, (), {"W5/provisional"})
    assert again.ballots_waiting == 4 and again.blocks == shown.blocks


def test_an_edition_says_that_it_holds_the_rule_but_for_what_was_signed():
    county = County(("W3", "W5"), {"W3": "W5", "W5": "W3"})
    edition = county.post({"GOV": {Atom("W3", SITE): figures(60, 40)}})
    late = {Atom("W3", SITE): figures(60, 40), Atom("W5", PROVISIONAL): figures(2, 1)}
    now = next_edition(edition.figures["GOV"], late, county.lists, (), {"W5/provisional"})
    made = replace(edition, figures={"GOV": now})
    assert whole_blocks(edition.figures, made) is None
    assert whole_blocks(edition.figures, replace(made, allowed={"GOV": frozenset({"W5/provisional"})})) == 100
