"""The examples of the room's page are what the room makes."""

import json
import re
from pathlib import Path

from deck.cast import BOND, MAYOR, deck_of, typed
from webapp.commands.deck import compared
from webapp.deck import comparison, diagnosis, fault_words
from webapp.deck.faults import effect
from webapp.deck.oval_faults import fault

PAGE = (Path(__file__).resolve().parents[2] / "webapp" / "deck" / "README.md").read_text(encoding="utf-8")
SHOWN, ANSWER = (json.loads(text) for text in re.findall(r"^```json\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE))
DECK = deck_of(MAYOR, BOND)


def test_the_deck_shown_is_the_deck_made():
    made = DECK.as_json()

    assert list(SHOWN) == list(made)
    assert SHOWN["styles"] == made["styles"]
    assert [row for row in made["rows"] if row["id"] in {shown["id"] for shown in SHOWN["rows"]}] == SHOWN["rows"]
    assert SHOWN["expected"]["T1"] == made["expected"]["T1"]
    assert (SHOWN["ballots"], SHOWN["fed"]) == (made["ballots"], made["fed"])


def test_the_answer_shown_is_the_answer_given():
    swapped = fault("exchange", style="1", positions=(("MAYOR", "A"), ("MAYOR", "B")))
    found = comparison.compare(DECK, typed(DECK, "T1", effect(DECK.feeds["T1"], swapped)))
    given = json.loads(json.dumps(compared(DECK, found, diagnosis.explain(DECK, found))))

    (first, *_) = given["explanations"]
    assert [first | {"says": "...", "look": "..."}] == ANSWER["explanations"]
    assert {key: ANSWER[key] for key in ("equal", "cells", "differ", "tabulator")} == {
        key: given[key] for key in ("equal", "cells", "differ", "tabulator")
    }


def test_every_kind_of_fault_is_named():
    assert [kind for kind in fault_words.WORDS_OF if f"`{kind}`" not in PAGE] == []
    assert set(fault_words.WORDS_OF) == set(fault_words.LOOK)
