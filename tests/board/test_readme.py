"""The example on the board's page is what the balance says, and each line and code is named there."""

import json
import re
from pathlib import Path

import pytest

from webapp.board.answer import answer
from webapp.board.batch_mistakes import CODES

PAGE = (Path(__file__).resolve().parents[2] / "webapp" / "board" / "README.md").read_text(encoding="utf-8")
GIVEN, SHOWN = (json.loads(text) for text in re.findall(r"^```json\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE))


def test_the_board_shown_is_drawn_as_shown():
    found = answer(GIVEN).as_json()
    assert {line["id"] for line in found["lines"] if line["gap"]} == {"batch-envelopes:B002", "envelopes"}
    (group,), (shown,) = found["batches"], SHOWN["batches"]
    assert group["ids"] == shown["ids"] and group["gaps"] == shown["gaps"]
    assert all(answer in group["explanations"] for answer in shown["explanations"] if answer != "...")


@pytest.mark.parametrize(
    "name",
    [*CODES, "list", "batch-envelopes", "batches", "problems", "duplicates", "again", "duplicate-serials", "board"],
)
def test_each_line_and_each_code_is_named(name):
    assert re.search(rf"`{name}[:`]", PAGE)
