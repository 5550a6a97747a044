"""The rule of small places over time: whole blocks, and nothing of fewer than ten ballots by any sum or difference of all editions."""

import random

import pytest

from tests.canvass.county import ABSENTEE, PROVISIONAL, SITE, County, drawn, figures, sizes_of
from tests.canvass.what_can_be_worked_out import eliminated, given_away, published, rank
from tests.matrix import some
from webapp.canvass.atoms import Atom, atom_of
from webapp.canvass.blocks import Neighbors, grouped
from webapp.canvass.edition import total
from webapp.canvass.published import OneContest, held_back, next_edition
from webapp.canvass.results_csv import written

THREE = County(("HM4", "HM5", "W3"), {"HM4": "HM5", "HM5": "HM4", "W3": "HM4"})


def lists(*places: str, beside=()) -> Neighbors:
    return Neighbors({p: i for i, p in enumerate(places)}, {SITE: 0, ABSENTEE: 1, PROVISIONAL: 2}, dict(beside))


def test_three_editions_of_three_places_never_show_the_place_of_six_ballots():
    """W3 alone is in edition 1, all three in edition 2, provisional ballots of W3 in edition 3; HM5 has 6 ballots."""
    county = County(THREE.places, THREE.beside)
    w3, hm4, hm5 = Atom("W3", SITE), Atom("HM4", SITE), Atom("HM5", SITE)
    kept = {w3: figures(101, 98, 4, 8, 1)}
    assert total(county.post({"GOV": kept}).figures["GOV"]).votes["A"] == 101
    kept |= {hm4: figures(200, 190, 12, 27, 2), hm5: figures(4, 2)}
    second = county.post({"GOV": kept})
    assert [[atom.cell for atom, _ in block] for block in second.figures["GOV"].blocks] == [
        ["W3/election_day"],
        ["HM4/election_day", "HM5/election_day"],
    ]
    third = county.post({"GOV": kept | {Atom("W3", PROVISIONAL): figures(7, 4, 0, 1)}})
    assert [total(one.figures["GOV"]).votes["A"] for one in county.editions] == [101, 305, 312]
    sums = published(map(written, county.editions))[("Governor", "")]
    assert given_away(sums, sizes_of(county.editions, "GOV"), 10) == []
    assert "HM5/election_day\n" not in written(third).decode().replace(",\n", "\n")


def test_what_stays_small_is_in_no_figure_until_more_comes():
    county = County(THREE.places, THREE.beside)
    hm4 = {Atom("HM4", SITE): figures(200, 190)}
    county.post({"GOV": hm4})
    late = hm4 | {Atom("HM5", SITE): figures(4, 2)}
    waits = county.post({"GOV": late}).figures["GOV"]
    assert total(waits).votes["A"] == 200 and waits.ballots_waiting == 6
    found = county.post({"GOV": late | {Atom("W3", SITE): figures(90, 80)}}).figures["GOV"]
    assert found.waiting == () and total(found).votes["A"] == 294
    assert [atom.cell for atom, _ in found.blocks[-1]] == ["HM5/election_day", "W3/election_day"]


def test_a_running_total_without_blocks_gives_the_small_place_away_and_the_checker_finds_it():
    sizes = {"HM4": 431, "HM5": 6, "W3": 212}
    before, after = {"HM4": 1, "W3": 1}, {"HM4": 1, "HM5": 1, "W3": 1}
    assert given_away([before, after], sizes, 10) == [{"HM5"}]
    assert given_away([after], sizes, 10) == []


def test_the_checker_finds_a_group_that_only_three_sums_together_give_away():
    """Two overlapping sums and a third: a + b, b + c, a + c give each of the three."""
    sizes = {"a": 4, "b": 400, "c": 400}
    sums = [{"a": 1, "b": 1}, {"b": 1, "c": 1}, {"a": 1, "c": 1}]
    assert given_away(sums[:2], sizes, 10) == [] and given_away(sums, sizes, 10) == [{"a"}]
    assert rank(sums, list(sizes)) == 3 and rank([*sums, {"a": 2, "b": 1, "c": 1}], list(sizes)) == 3


def test_a_small_atom_joins_its_own_place_then_its_neighbor_then_the_smallest_of_its_way():
    here = lists("P", "Q", "R", "S", beside={"P": "Q"})
    blocks = grouped({Atom("P", SITE): 200, Atom("P", PROVISIONAL): 3, Atom("Q", SITE): 90}, here)[0]
    assert (Atom("P", SITE), Atom("P", PROVISIONAL)) in blocks and len(blocks) == 2
    blocks = grouped(
        {Atom("P", PROVISIONAL): 3, Atom("Q", SITE): 90, Atom("Q", PROVISIONAL): 12, Atom("R", SITE): 9}, here
    )[0]
    assert (Atom("P", PROVISIONAL), Atom("Q", PROVISIONAL)) in blocks
    blocks = grouped(
        {Atom("P", PROVISIONAL): 3, Atom("R", PROVISIONAL): 40, Atom("S", PROVISIONAL): 30, Atom("S", SITE): 11}, here
    )[0]
    assert (Atom("P", PROVISIONAL), Atom("S", PROVISIONAL)) in blocks
    assert grouped({Atom("P", PROVISIONAL): 3, Atom("R", SITE): 5}, here) == (
        [],
        [(Atom("P", PROVISIONAL), Atom("R", SITE))],
    )


def test_a_place_whose_small_neighbor_is_still_out_waits_until_it_is_in_or_two_parties_waive_it():
    here, issued = lists("HM4", "HM5", "W3", beside=THREE.beside), {"HM5": 150, "HM4": 900, "W3": 800}
    assert held_back(here, {"HM4", "W3"}, issued, ()) == {"HM4"}
    assert held_back(here, {"HM4", "W3"}, issued, ("HM5",)) == set()
    assert held_back(here, {"HM4", "HM5"}, issued, ()) == set()
    one = next_edition(OneContest(), {Atom("HM4", SITE): figures(200, 190)}, here, {"HM4"})
    assert one.blocks == () and one.ballots_waiting == 390


def test_votes_moved_over_the_same_ballots_are_shown_at_once():
    here, w3 = lists("W3"), Atom("W3", SITE)
    first = next_edition(OneContest(), {w3: figures(101, 98)}, here)
    second = next_edition(first, {w3: figures(98, 101)}, here)
    assert len(second.blocks) == 1 and total(second).votes["A"] == 98 and second.waiting == ()


def test_a_return_with_other_ballots_keeps_what_was_published_and_the_difference_is_an_atom_of_its_own():
    here, w3, hm4 = lists("W3", "HM4"), Atom("W3", SITE), Atom("HM4", SITE)
    first = next_edition(OneContest(), {w3: figures(101, 98)}, here)
    second = next_edition(first, {w3: figures(102, 98)}, here)
    assert total(second).votes["A"] == 101 and [atom.cell for atom, _ in second.waiting] == ["W3/election_day+1"]
    third = next_edition(second, {w3: figures(102, 98), hm4: figures(40, 50)}, here)
    assert total(third).votes["A"] == 142 and third.waiting == ()
    fourth = next_edition(third, {w3: figures(101, 98), hm4: figures(40, 50)}, here)
    assert [atom.cell for atom, _ in fourth.waiting] == ["W3/election_day+2"] and total(fourth).votes["A"] == 142
    gone = next_edition(first, {}, here)
    assert total(gone).votes["A"] == 0 and total(gone).carried == 0, "a whole return taken out is 199 ballots fewer"


def test_cells_of_files_are_read_back():
    for atom in (Atom("W3", SITE), Atom("W3", PROVISIONAL, 2), Atom("HM-4", SITE, 1, 3), Atom("x", ABSENTEE, 4, 1)):
        assert atom_of(atom.cell) == atom


def story(dice: random.Random):
    """A county drawn: who is in at which of four times, with ways, late counts, corrections and returns that change."""
    count = dice.randint(3, 9)
    places = tuple(f"P{i}" for i in range(count))
    county = County(places, {p: dice.choice([q for q in places if q != p]) for p in places})
    kept: dict[Atom, object] = {}
    for _ in range(4):
        for place in places:
            for way in (SITE, ABSENTEE, PROVISIONAL):
                if Atom(place, way) not in kept and dice.random() < 0.4:
                    kept[Atom(place, way)] = drawn(dice, dice.choice((0, 1, 2, 4, 7, 9, 10, 14, 60)))
        for atom in sorted(kept):
            if dice.random() < 0.15:
                more = dice.choice((0, 0, 1, 3, 12))
                kept[atom] = kept[atom].plus(drawn(dice, more)) if more else drawn(dice, kept[atom].carried)
        yield county, dict(kept)


@pytest.mark.parametrize("seed", some(range(40), range(2000)))
def test_drawn_counties_over_four_editions_give_nobody_away(seed):
    """By the rank of everything published, and the last figures plus what waits are all that is counted."""
    for county, kept in story(random.Random(seed)):
        edition = county.post({"GOV": kept})
        one = edition.figures["GOV"]
        counted = sum(figures.carried for figures in kept.values())
        assert total(one).carried + sum(figures.carried for _, figures in one.waiting) == counted
    sizes = sizes_of(county.editions, "GOV")
    sums = published(map(written, county.editions)).get(("Governor", ""), [])
    assert given_away(sums, sizes, 10) == []
    for before, after in zip(county.editions, county.editions[1:], strict=False):
        old, new = before.figures["GOV"].blocks, after.figures["GOV"].blocks
        assert [[a for a, _ in b] for b in old] == [[a for a, _ in b] for b in new[: len(old)]], "a block never moves"


@pytest.mark.parametrize("seed", some(range(5), range(100)))
def test_the_blocks_are_those_of_the_set_whatever_came_first(seed):
    dice = random.Random(seed)
    here = lists(*(f"P{i}" for i in range(8)), beside={f"P{i}": f"P{(i + 3) % 8}" for i in range(8)})
    sizes = {Atom(f"P{i}", way): dice.choice((0, 1, 5, 9, 10, 80)) for i in range(8) for way in (SITE, ABSENTEE)}
    told = grouped(sizes, here)
    for _ in range(5):
        rows = list(sizes.items())
        dice.shuffle(rows)
        assert grouped(dict(rows), here) == told


def test_elimination_by_a_worked_example():
    """Two equations in three unknowns, solved by hand: x + y + z = 1, x + y = 2 give z, and x + y."""
    rows = eliminated([{"x": 1, "y": 1, "z": 1}, {"x": 1, "y": 1}], ["x", "y", "z"])
    assert rows == [("x", {"x": 1, "y": 1}), ("z", {"z": 1})]
