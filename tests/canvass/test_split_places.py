"""Places whose tapes print votes by precinct, over the editions: what is told apart, what stays whole, and that no precinct of few ballots is given away.

The checker knows nothing of blocks: it eliminates over the rationals everything that three editions published, a place and its precincts as one paper.
"""

import csv
import io
import json
import random
from pathlib import Path

import jsonschema
import pytest

from canvass.county import GOV, PROVISIONAL, SITE, drawn, figures
from canvass.everything_published import Known, of_csv, of_json, of_page
from canvass.what_can_be_worked_out import finer, given_away, published
from webapp.canvass import nist_results, posting_page, results_csv
from webapp.canvass.atoms import Atom, together
from webapp.canvass.blocks import Neighbors
from webapp.canvass.edition import WAYS, Edition, Unit, public, whole_blocks
from webapp.canvass.published import OneContest, next_edition

PRECINCTS = {"W3": ("P1", "P2", "P3"), "HM4": (), "HM5": ("P6", "P7")}
UNITS = [unit for place, mine in PRECINCTS.items() for unit in (place, *(f"{place}:{one}" for one in mine))]
LISTS = Neighbors(
    {unit: i for i, unit in enumerate(UNITS)},
    {way.id: i for i, way in enumerate(WAYS)},
    {"W3": "HM4", "HM4": "HM5", "HM5": "HM4"},
)
WHOLE = {f"{place}/election_day": [f"{place}:{p}/election_day" for p in mine] for place, mine in PRECINCTS.items() if mine}  # fmt: skip
P1, P2, P3, W3 = (Atom(unit, SITE) for unit in ("W3:P1", "W3:P2", "W3:P3", "W3"))


def following(before, *rows):
    """Editions one after another, each of what is kept then."""
    for kept in rows:
        before = next_edition(before, kept, LISTS)
    return before


def blocks(one):
    return [[atom.cell for atom, _ in block] for block in one.blocks]


def edition(number, one):
    units = tuple(Unit(place, f"Place {place}", {SITE: 1}) for place in PRECINCTS)
    apart = tuple(
        Unit(f"{place}:{p}", f"Place {place}, Ward {p[1:]}") for place, mine in PRECINCTS.items() for p in mine
    )
    made = (number, "unofficial-partial", 0, number, "Sable County", "General election", 3, 3)
    return Edition(*made, (GOV,), {"GOV": one}, units, WAYS, precincts=apart)


def rows(one):
    return list(csv.DictReader(io.StringIO(results_csv.written(edition(1, one)).decode())))


def test_each_precinct_of_enough_ballots_stands_alone():
    one = following(OneContest(), {P1: figures(20, 10), P2: figures(30, 40)})

    assert blocks(one) == [["W3:P1/election_day"], ["W3:P2/election_day"]]
    found = [(row["precinct"], row["cell"], row["votes"]) for row in rows(one) if row["choice"] == "Ada Marsh"]
    assert found == [("Place W3, Ward 1", "W3:P1/election_day", "20"), ("Place W3, Ward 2", "W3:P2/election_day", "30")]


def test_a_small_precinct_is_shown_with_another_of_its_own_place():
    hm4 = Atom("HM4", SITE)
    one = following(OneContest(), {P1: figures(2, 4), P2: figures(30, 40), P3: figures(20, 20), hm4: figures(50, 50)})

    assert blocks(one)[0] == ["W3:P1/election_day", "W3:P2/election_day"]
    assert {row["precinct"] for row in rows(one) if row["cell"]} >= {"Place W3, Ward 1 + Place W3, Ward 2"}


def test_a_place_of_few_ballots_goes_to_its_neighbor_with_all_its_precincts():
    hm4 = Atom("HM4", SITE)
    one = following(OneContest(), {P1: figures(2, 1), P2: figures(1, 2), hm4: figures(50, 50)})

    assert blocks(one) == [["W3:P1/election_day", "W3:P2/election_day", "HM4/election_day"]]


def test_what_was_published_whole_is_never_told_apart_later():
    """Else the whole and one precinct give the other."""
    one = following(OneContest(), {W3: figures(32, 44)}, {P1: figures(2, 4), P2: figures(30, 40)})
    assert blocks(one) == [["W3/election_day"]] and one.blocks[0][0][1].votes["A"] == 32

    moved = following(one, {P1: figures(3, 3), P2: figures(30, 40)})
    assert blocks(moved) == [["W3/election_day"]] and moved.blocks[0][0][1].votes["A"] == 33


def test_votes_that_move_over_the_whole_place_are_shown_of_the_whole_place():
    """A recount says what W3 has, not in which precinct: over the same ballots, so at once."""
    first = following(OneContest(), {P1: figures(20, 10), P2: figures(30, 40)})
    second = following(first, {W3: figures(51, 49)})

    assert blocks(second) == [*blocks(first), ["W3/election_day+1"]] and not second.waiting
    assert together(one for block in second.blocks for _, one in block).votes["A"] == 51
    third = following(second, {W3: figures(51, 49)})
    assert third == second
    again = following(second, {P1: figures(20, 10), P2: figures(30, 40)})
    assert together(one for block in again.blocks for _, one in block).votes["A"] == 50


def test_a_ballot_more_of_the_whole_place_waits_for_company():
    first = following(OneContest(), {P1: figures(20, 10), P2: figures(30, 40)})
    second = following(first, {W3: figures(51, 50)})

    assert blocks(second) == blocks(first) and [atom.cell for atom, _ in second.waiting] == ["W3/election_day+1"]
    assert second.ballots_waiting == 1


def test_a_precinct_corrected_over_its_own_ballots_is_corrected_at_once():
    first = following(OneContest(), {P1: figures(20, 10), P2: figures(30, 40)})
    second = following(first, {P1: figures(19, 11), P2: figures(30, 40)})

    assert blocks(second) == blocks(first) and second.blocks[0][0][1].votes["A"] == 19


def story(dice):
    """What is kept at three times: places come in, each time whole or by precinct as it happens, some votes move, some ballots come later."""
    true = {
        Atom(unit, SITE): drawn(dice, dice.choice((0, 1, 4, 9, 10, 15, 60)))
        for unit in UNITS
        if ":" in unit or not PRECINCTS[unit]
    }
    later = {Atom(place, PROVISIONAL): drawn(dice, dice.choice((0, 3, 12))) for place in PRECINCTS}
    times, inn = [], set()
    for number in range(3):
        inn |= {place for place in PRECINCTS if dice.random() < 0.5} if number < 2 else set(PRECINCTS)
        kept = {}
        for place in (one for one in PRECINCTS if one in inn):
            mine = {atom: one for atom, one in true.items() if atom.place == place}
            if dice.random() < 0.4:
                mine = {Atom(place, SITE): together(mine.values())}
            kept |= mine
        kept |= {atom: one for atom, one in later.items() if number and atom.unit in inn}
        times.append(kept)
        if dice.random() < 0.3:  # one vote was read wrong
            atom = dice.choice(sorted(true))
            one = true[atom]
            if one.votes["A"]:
                true[atom] = one.plus(figures(-1, 1))
    return times, {atom.cell: one.carried for atom, one in (true | later).items()}


def shown_atoms(one):
    return [row for block in one.blocks for row in block]


def test_no_precinct_of_few_ballots_is_given_back_by_all_editions_together():
    apart, kept_apart = 0, 0
    for seed in range(300):
        dice = random.Random(seed)
        times, sizes = story(dice)
        before, files = OneContest(), []
        for number, kept in enumerate(times, 1):
            now = next_edition(before, kept, LISTS)
            assert whole_blocks({"GOV": before}, edition(number, now)) is not None, seed
            shown = [one for block in now.blocks for _, one in block] + [one for _, one in now.waiting]
            assert together(shown).carried == together(kept.values()).carried, seed
            assert {k: n for k, n in together(shown).votes.items() if n} == {k: n for k, n in together(kept.values()).votes.items() if n}, seed  # fmt: skip
            files.append(results_csv.written(edition(number, now)))
            before = now
            for atom, one in shown_atoms(now):  # what a place has more than its precincts
                sizes.setdefault(atom.cell, one.carried)
        for vectors in published(files, WHOLE).values():
            known = {cell for vector in vectors for cell in vector}
            assert given_away(vectors, {cell: sizes.get(cell, 0) for cell in known}, 10) == [], seed
            apart += sum(len(vector) == 1 and ":" in next(iter(vector)) for vector in vectors)
        kept_apart += any(":" in atom.unit for kept in times for atom in kept)
    assert apart > 200 and kept_apart > 200, "stories in which nothing is by precinct show nothing"


def numbers(edition, before):
    """Every number with votes in the files and on the page of an edition, read apart from the product."""
    files, shown = [results_csv.written(edition)], posting_page.written(edition, "12 November", ()).decode()
    told = {"office": "sable", "made": "2026-11-12T16:05:00-06:00", "version": "1.2.0", "date": "2026-11-03"}
    report = nist_results.document(edition, **told, kind="general", overvotes="ballots")
    known = Known(json.loads(json.dumps(public(edition, told["made"], {}))), edition.names)
    types = {"election-day": ["election_day"], "provisional": ["provisional"]}
    return [*of_csv(files[0], known), *of_json(report, known, types), *of_page(shown, known, before)], known


def test_files_and_pages_of_an_edition_say_true_sums_and_give_no_precinct_away():
    """CSV, the standard's JSON and the page for the public: each number is the sum of the ballots that it names, and all together give back nobody."""
    for seed in range(40):
        times, sizes = story(random.Random(seed))
        before, known, vectors = OneContest(), None, []
        for number, kept in enumerate(times, 1):
            now = next_edition(before, kept, LISTS)
            votes = {atom.cell: one.votes for atom, one in shown_atoms(now)}
            said, known = numbers(edition(number, now), known)
            for one in said:
                line = {"Ada Marsh": "A", "Ben Orrin": "B"}.get(one.line, one.line)
                assert line not in ("A", "B") or sum(votes[cell].get(line, 0) for cell in one.of) == one.value, (
                    seed,
                    one,
                )
            vectors += [finer(one.of, WHOLE) for one in said]
            for atom, one in shown_atoms(now):
                sizes.setdefault(atom.cell, one.carried)
            before = now
        cells = {cell for vector in vectors for cell in vector}
        assert given_away(vectors, {cell: sizes.get(cell, 0) for cell in cells}, 10) == [], seed


def test_the_checker_finds_a_precinct_that_a_careless_office_gives_away():
    """The whole place in edition 1, its larger precinct alone in edition 2."""
    first = following(OneContest(), {W3: figures(32, 44)})
    second = following(OneContest(), {P2: figures(30, 40)})
    files = [results_csv.written(edition(1, first)), results_csv.written(edition(2, second))]
    (vectors,) = published(files, {"W3/election_day": ["W3:P1/election_day", "W3:P2/election_day"]}).values()

    assert given_away(vectors, {"W3:P1/election_day": 6, "W3:P2/election_day": 70}, 10) == [{"W3:P1/election_day"}]


STORED = Path(__file__).parent / "stored"


def stored_edition():
    """W3 by precinct, one of them of 6 ballots, with ballots counted after the night; HM4 as a whole."""
    one = following(
        OneContest(),
        {P1: figures(2, 3, 0, 1), P2: figures(30, 40, 1, 2, 1), P3: figures(12, 9), Atom("HM4", SITE): figures(50, 51)},
        {
            P1: figures(2, 3, 0, 1),
            P2: figures(30, 40, 1, 2, 1),
            P3: figures(12, 9),
            Atom("HM4", SITE): figures(50, 51),
            Atom("W3", PROVISIONAL): figures(7, 4, 0, 1),
        },
    )
    return edition(2, one)


@pytest.mark.parametrize("name", ["by-precinct.csv", "by-precinct-1500-100.json"])
def test_a_stored_edition_by_precinct_is_written_the_same(name):
    """Units and cells of files are names for good: `W3:P3/election_day`, `precinct-W3-P3`, `cell-W3-P1-W3-P2`."""
    told = {"office": "sable", "made": "2026-11-12T16:05:00-06:00", "version": "1.2.0", "date": "2026-11-03"}
    report = nist_results.document(stored_edition(), **told, kind="general", overvotes="ballots")
    made = {
        "by-precinct.csv": results_csv.written(stored_edition()).decode(),
        "by-precinct-1500-100.json": json.dumps(report, indent=1) + "\n",
    }
    assert made[name] == (STORED / name).read_text(encoding="utf-8")


def test_the_stored_edition_is_valid_and_adds_up(shared):
    """The schema is NIST SP 1500-100 version 2, JSON Schema draft-04; the sums are those of any reader: type total over all units but the county."""
    report = json.loads((STORED / "by-precinct-1500-100.json").read_text(encoding="utf-8"))
    schema = json.loads(shared("standards/nist/NIST_V2_election_results_reporting.json").read_text(encoding="utf-8"))
    assert list(jsonschema.Draft4Validator(schema, format_checker=jsonschema.FormatChecker()).iter_errors(report)) == []
    (contest,) = report["Election"][0]["Contest"]
    for one in contest["ContestSelection"]:
        rows = [(row["GpUnitId"], row["Count"]) for row in one["VoteCounts"] if row["Type"] == "total"]
        assert sum(n for unit, n in rows if not unit.startswith("county-")) == dict(rows)["county-sable"]
    with (STORED / "by-precinct.csv").open(encoding="utf-8", newline="") as file:
        assert (
            sum(int(row["votes"]) for row in csv.DictReader(file) if row["choice"] == "Ada Marsh")
            == 2 + 30 + 12 + 50 + 7
        )
