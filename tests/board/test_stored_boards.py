"""Stored boards and their answers, key for key and in their order but for the time it took; and every entry shown on the page of entries is read. Formats are for good."""

import json
import re
from datetime import datetime
from pathlib import Path

import pytest

from board.board_cast import STORED
from webapp.board.answer import answer
from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import FOLDS, board_day
from webapp.board.board_figures import figures
from webapp.board.board_rules import BoardRules

ENTRIES = (Path(__file__).resolve().parents[2] / "webapp" / "board" / "ENTRIES.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["ferry-2", "open-batches"])
def test_a_stored_board_has_its_stored_answer(name):
    given, kept = (
        json.loads((STORED / f"{name}{end}").read_text(encoding="utf-8")) for end in (".json", ".answer.json")
    )
    found = json.loads(json.dumps(answer(given).as_json()))
    del found["ms"]
    assert found == kept and json.dumps(found) == json.dumps(kept)


def shown() -> list[tuple[str, dict]]:
    """Kinds and bodies in the block of the page of entries; one body may stand behind several kinds."""
    block = ENTRIES.split("```")[1]
    pairs = re.findall(r"([a-z][a-z-]+(?:, [a-z-]+)*)  +(\{.*?\})(?=\s\s|\n)", block)
    return [(kind, json.loads(body)) for kinds, body in pairs for kind in kinds.split(", ")]


def test_every_entry_shown_is_one_that_is_read_and_none_is_left_out():
    assert {kind for kind, _ in shown()} == set(FOLDS)


def test_the_entries_shown_fold_into_one_day():
    told = [BoardEntry(kind, body, datetime(2026, 11, 3, 8, n)) for n, (kind, body) in enumerate(shown())]
    day = board_day(BoardRules(), told)
    (batch, rest) = day.batches.values()
    assert (batch.id, batch.ballots, rest.id, rest.ballots) == ("B014", 14, "B093", 11)
    assert (
        day.problems["B014", 9].serial == "D-0007"
        and day.duplicates["D-0007"].checked
        and day.duplicates["D-0008"].void
    )
    assert day.remarked == {"batch:B014"} and day.carriers["K3"].empty and day.trays["12"].ballots == 104
    assert answer(figures(day)).lines
