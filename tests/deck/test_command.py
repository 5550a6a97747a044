"""The command: the files of a deck, tapes compared, and every refusal in one sentence with its exit code."""

import csv
import hashlib
import json
from dataclasses import replace

import pytest

from deck.cast import contest, deck_of, typed
from deck.test_stored import PLACE, STORED
from webapp import commands
from webapp.commands import deck as deck_command
from webapp.deck.deck import Deck, build
from webapp.deck.oval_faults import fault
from webapp.deck.plan import plan
from webapp.deck.playing import Played, play
from webapp.precinct.place import place_file

DECK = build(plan(place_file.read(PLACE)))


@pytest.fixture
def place(tmp_path):
    file = tmp_path / "place.toml"
    file.write_bytes(PLACE)
    return file


@pytest.fixture
def no_papers(monkeypatch):
    """The sheets of a deck are not drawn, for tests of its other files and of what is said."""
    for name in ("marking_pdf", "tallies_pdf", "certificate_pdf"):
        monkeypatch.setattr(deck_command, name, lambda *given: b"%PDF")


def tapeseal(*words) -> int:
    return commands.main(["deck", *map(str, words)])


def tape_file(tmp_path, tabulator="T1", more=None, name="tape.json"):
    file = tmp_path / name
    file.write_text(json.dumps(typed(DECK, tabulator, more)))
    return file


def test_a_deck_is_written_and_twice_the_same(place, tmp_path, capsys):
    assert tapeseal(place, "--out", tmp_path / "one", "--json") == 0
    said = json.loads(capsys.readouterr().out)
    assert tapeseal(place, "--out", tmp_path / "two") == 0

    names = sorted(file.name for file in (tmp_path / "one").iterdir())
    assert names == ["certificate.pdf", "deck.json", "expected.csv", "marking.pdf", "tallies.pdf"]
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name
    assert (tmp_path / "one" / "deck.json").read_bytes() == (STORED / "deck-2.json").read_bytes()
    assert (
        said["hidden"] == []
        and said["faults"] > 300
        and said["fed"] == json.loads((STORED / "deck-2.json").read_bytes())["fed"]
    )


def test_the_table_of_expected_figures_is_that_of_the_deck(place, tmp_path, no_papers):
    tapeseal(place, "--out", tmp_path / "d")
    rows = list(csv.DictReader((tmp_path / "d" / "expected.csv").open()))

    gov = next(row for row in rows if (row["tabulator"], row["contest"], row["cell"]) == ("T1", "GOV", "A"))
    assert int(gov["expected"]) == DECK.expected["T1"]["contests"]["GOV"]["votes"]["A"]
    assert len(rows) == 3 * len(DECK.cells["T1"])


def test_equal_tapes_end_with_0_and_say_how_many_figures_agree(place, tmp_path, capsys):
    assert tapeseal("compare", place, tape_file(tmp_path), tape_file(tmp_path, "together", name="all.json")) == 0
    assert f"All {len(DECK.cells['T1'])} figures of T1 agree." in capsys.readouterr().out


def test_a_differing_tape_ends_with_1_and_names_the_cause(place, tmp_path, capsys):
    votes = DECK.expected["T1"]["contests"]["BOND"]["votes"]
    swapped = {("BOND", "YES"): votes["NO"] - votes["YES"], ("BOND", "NO"): votes["YES"] - votes["NO"]}
    assert tapeseal("compare", place, tape_file(tmp_path, more=swapped), "--json") == 1
    said = json.loads(capsys.readouterr().out)

    assert [one["cell"] for one in said["differ"]] == ["YES", "NO"] and said["tabulator"] == "T1"
    assert "labels" in [one["fault"] for one in said["explanations"]]
    assert tapeseal("compare", place, tape_file(tmp_path, more=swapped)) == 1
    words = capsys.readouterr().out
    assert f"Bonds for the bridge, Yes: tape {votes['NO']}, expected {votes['YES']}" in words
    assert "begin the whole test again" in words


def test_a_tape_of_a_deck_of_the_first_dealing_is_told_and_compared(place, tmp_path, capsys, no_papers):
    older = build(replace(plan(place_file.read(PLACE)), dealing=1))
    (tmp_path / "older.json").write_text(json.dumps(typed(older, "T1")))

    assert tapeseal("compare", place, tmp_path / "older.json") == 1
    assert "compare again with --dealing 1" in capsys.readouterr().out
    assert tapeseal("compare", place, tmp_path / "older.json", "--dealing", "1") == 0
    assert tapeseal(place, "--out", tmp_path / "d", "--dealing", "1") == 0
    assert (tmp_path / "d" / "deck.json").read_bytes() == (STORED / "deck.json").read_bytes()


def test_a_deck_folder_changed_by_hand_misleads_nobody(place, tmp_path, capsys, no_papers):
    """Tapes are held against the deck of the place file; the folder's own files are not read, and never written over."""
    folder = tmp_path / "d"
    tapeseal(place, "--out", folder)
    changed = (folder / "deck.json").read_text().replace('"votes":{"A":8', '"votes":{"A":9')
    assert changed != (folder / "deck.json").read_text()
    (folder / "deck.json").write_text(changed)

    assert tapeseal("compare", place, tape_file(tmp_path)) == 0
    assert tapeseal("compare", place, tape_file(tmp_path, more={("GOV", "A"): 1})) == 1
    assert tapeseal(place, "--out", folder) == 2
    assert (folder / "deck.json").read_text() == changed
    capsys.readouterr()
    tapeseal(place, "--out", tmp_path / "e", "--json")
    digest = json.loads(capsys.readouterr().out)["deck_digest"]
    assert digest == DECK.digest != hashlib.sha256(changed.encode()).hexdigest(), "the digest on every sheet tells"


def test_a_tape_with_figures_missing_says_which(place, tmp_path, capsys):
    tape = typed(DECK, "T1")
    del tape["contests"]["SEN"]
    (tmp_path / "t.json").write_text(json.dumps(tape))

    assert tapeseal("compare", place, tmp_path / "t.json") == 0
    said = capsys.readouterr().out
    assert (
        "figures typed of T1 agree" in said and "Not typed, so not compared: 5 figures (Senator, Rufus Oakhurst" in said
    )


def test_a_hidden_fault_ends_with_1_and_is_named(place, tmp_path, capsys, monkeypatch):
    hidden = Played({"exchange": 2}, (fault("exchange", style="1", positions=(("SEN", "A"), ("BOND", "YES"))),))
    monkeypatch.setattr(deck_command, "play", lambda deck, before: hidden)

    assert tapeseal(place, "--out", tmp_path / "d") == 1
    assert (
        "HIDDEN: Consistent with two ovals exchanged on style 1: Rufus Oakhurst in Senator and Yes in Bonds"
        in capsys.readouterr().out
    )
    assert tapeseal(place, "--out", tmp_path / "e", "--json") == 1
    assert json.loads(capsys.readouterr().out)["hidden"][0]["fault"] == "exchange"


def test_playing_finds_what_a_worse_deck_would_hide():
    """Two measures marked alike on every ballot: their ovals, and the measures themselves, could be exchanged unseen."""
    deck = deck_of(contest("ONE", "YES NO"), contest("TWO", "YES NO"))
    rows = tuple(
        replace(row, marks={c: row.marks["ONE"] for c in ("ONE", "TWO")})
        if "ONE" in row.marks
        else replace(row, marks={})
        for row in deck.rows
    )
    named = [one.as_json() for one in play(Deck(deck.plan, rows, deck.pattern)).hidden]

    assert {"fault": "exchange", "style": "1", "positions": [["ONE", "YES"], ["TWO", "YES"]]} in named
    assert {"fault": "contests-exchanged", "style": "1", "contests": ["ONE", "TWO"]} in named
    assert {"fault": "report-contests", "contests": ["ONE", "TWO"]} in named


@pytest.mark.parametrize(
    "words, says",
    [
        (("{place}",), "Say which folder the deck goes into: --out DIR."),
        (("{place}", "{place}", "--out", "{tmp}/x"), "deck takes one place file"),
        (("{tmp}/none.toml", "--out", "{tmp}/x"), "cannot be read"),
        (("compare", "{place}"), "Give a place file and at least one typed tape"),
        (("compare", "{place}", "{tmp}/tape.json", "--out", "{tmp}/x"), "leave --out away"),
        (("{place}", "--out", "{tmp}"), "is there already, and nothing is written over"),
        (("{place}", "--out", "{tmp}/tape.json/x"), "cannot be written"),
        (("{place}", "--out", "{tmp}/x", "--before", "{tmp}/other.toml"), "give the edition before of the same place"),
    ],
)
def test_a_command_that_cannot_go_on_says_so_and_ends_with_2(place, tmp_path, capsys, words, says):
    tape_file(tmp_path)
    (tmp_path / "deck.json").write_text("{}")
    (tmp_path / "other.toml").write_bytes(PLACE.replace(b'id = "D1"', b'id = "D2"'))

    assert tapeseal(*(word.format(place=place, tmp=tmp_path) for word in words)) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    "text, says",
    [("[", "not JSON"), ("[]", "The tape is a list"), ('{"tabulator": "T7"}', "write one of T1, T2, together")],
)
def test_a_tape_that_cannot_be_read_ends_with_2_and_the_others_are_compared(place, tmp_path, capsys, text, says):
    (tmp_path / "bad.json").write_text(text)

    assert tapeseal("compare", place, tmp_path / "bad.json", tape_file(tmp_path), "--json") == 2
    told = capsys.readouterr()
    assert says in told.err
    first, second = map(json.loads, told.out.splitlines())
    assert says in first["error"] and second["equal"] is True
