"""Real ballots as decks: precincts of two counties' published results (OpenElections; Ottawa County, Michigan, general election of 5 November 2024;
Pinal County, Arizona, primary of 30 July 2024).

Some places of each file here; `python tests/benchmarks/deck.py results FILE.csv` makes every one.
"""

import tomllib

import pytest

from deck.fault_player import Reader, as_counter, count, programmed
from demo_precinct import results_file
from webapp.deck.deck import build, minimum
from webapp.deck.plan import plan
from webapp.deck.playing import play
from webapp.precinct.place import place_file

EXTRA = ("precinct", "tabulator", "refuse")
FILES = {"ottawa-mi-2024-general.csv": (126, (0, 60), 1.25), "pinal-az-2024-primary.csv": (109, (0, 54), 2.5)}
"""Places of the file, those taken here, and ballots over the least. The primary has contests of three votes with one candidate and three lines: their
rows have room, so that an exchange shows only by totals that no other contest has."""


@pytest.mark.parametrize("file", FILES)
def test_places_of_a_county_have_decks_that_show_every_fault(shared, file):
    read = results_file.read(shared(f"data/open-precinct-results/{file}").read_bytes())
    places, chosen, most = FILES[file]
    assert len(read.precincts) == places
    for index in chosen:
        place = results_file.place(read, index)
        deck = build(plan(place))
        rows = deck.as_json()["rows"]

        played = play(deck)
        assert played.hidden == () and played.total > 1000
        program = programmed(tomllib.loads(place_file.write(place)))
        assert count(program, rows, "T1", Reader()) == as_counter(deck.expected["T1"])
        ballots = sum(row["kind"] not in EXTRA for row in rows)
        assert ballots <= most * sum(minimum(deck.plan, style) for style in deck.plan.styles)
        print(f"{file} {place.id}: {ballots} ballots, {played.total} faults played")
