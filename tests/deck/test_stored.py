"""A stored place file gives, byte for byte, the stored decks of both dealings: on every machine, in every later version."""

import tomllib
from dataclasses import replace
from pathlib import Path

from deck.fault_player import Reader, as_counter, count, faults, programmed
from webapp.deck.deck import build
from webapp.deck.plan import plan
from webapp.deck.playing import play
from webapp.precinct.place import place_file

STORED = Path(__file__).with_name("stored")
PLACE = (STORED / "place.toml").read_bytes()


def test_the_stored_place_gives_the_stored_deck():
    deck = build(plan(place_file.read(PLACE)))

    assert deck.json_bytes == (STORED / "deck-2.json").read_bytes()
    assert deck.csv_bytes == (STORED / "expected-2.csv").read_bytes()


def test_a_deck_that_the_first_dealing_made_is_made_again():
    newest = plan(place_file.read(PLACE))
    older = build(replace(newest, dealing=1))

    assert older.json_bytes == (STORED / "deck.json").read_bytes()
    assert older.csv_bytes == (STORED / "expected.csv").read_bytes()
    assert len(older.rows) > len(build(newest).rows)
    without = replace(newest, straight="", styles=tuple(_without_straight(style) for style in newest.styles))
    assert build(without).json_bytes == build(replace(without, dealing=1)).json_bytes


def _without_straight(style):
    contests = tuple(c for c in style.contests if c.id != "SP")
    sheets = tuple(sheet for c, sheet in zip(style.contests, style.sheet_of, strict=True) if c.id != "SP")
    return replace(style, contests=contests, sheet_of=sheets, printed=tuple(p for p in style.printed if p[0] != "SP"))


def test_what_the_test_adds_is_written_and_read_back():
    place = place_file.read(PLACE)

    assert place_file.read(place_file.write(place).encode()) == place
    assert place.test.retain_days == 60 and place.styles[0].breaks == ("COUNCIL",)


def test_every_fault_shows_on_the_stored_deck_in_both_players():
    deck = build(plan(place_file.read(PLACE)))
    program, shown = programmed(tomllib.loads(PLACE.decode())), deck.as_json()
    rows = [row for row in shown["rows"] if row["kind"] not in ("refuse", "one-sheet")]
    right = count(program, rows, "T1", Reader())

    assert play(deck).hidden == ()
    assert [name for name, faulty in faults(program, rows) if faulty(rows, right) == right] == []
    assert right["votes", "GOV", "A"] == as_counter(shown["expected"]["T1"])["votes", "GOV", "A"]
