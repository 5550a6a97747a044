"""The list of batches as a file, `batches.csv`: too large for a packet's codes, it travels with the packet, which holds its digest.

UTF-8, commas, LF, one row a batch in the order of feeding, those not fed last. `precincts` is an id, or `W3:13 W4:12`
for a batch of several; `remark` is the number of the entry about it. An empty cell is a figure that is missing.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from webapp.board.board_day import BoardDay
from webapp.board.board_figures import batch_row, in_order

COLUMNS = (
    "batch", "kind", "tabulator", "day", "precincts", "envelopes", "empty", "extra", "ballots", "aside", "before", "after", "remark",
)  # fmt: skip
MOST = 20_000  # rows of a file that is read


class UnreadableTable(ValueError):
    """A file that is no list of batches: one sentence."""


def written(day: BoardDay, remarks: Mapping[str, int]) -> str:
    """The whole file. `remarks`: batch -> number of the entry of its remark."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(COLUMNS)
    for batch in in_order(day):
        row = batch_row(batch)
        split = row["ballots"] if isinstance(row["ballots"], list) else []
        precincts = " ".join(f"{one['precinct']}:{one['n']}" for one in split) or row.get("precinct", "")
        before, after = row.get("counter", ("", ""))
        cells = (batch.id, batch.kind, row.get("tabulator", ""), row.get("day", ""), precincts)
        figures = (row.get("envelopes", ""), row.get("empty", ""), row.get("extra", ""), batch.ballots)
        rows.writerow((*cells, *figures, row.get("aside", ""), before, after, remarks.get(batch.id, "")))
    return out.getvalue()


def read(text: str) -> list[dict[str, Any]]:
    """The batches of a file in the shapes of the balance. Raises `UnreadableTable` with the row that is wrong."""
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(rows[0]) != COLUMNS:
        raise UnreadableTable(
            "This is not a board's list of batches: its first row names other columns. Choose the file that ends in batches.csv."
        )
    if len(rows) > MOST:
        raise UnreadableTable(f"This list has {len(rows):,} rows, more than any board makes.")
    return [batch(number, row) for number, row in enumerate(rows[1:], 2)]


def batch(number: int, row: Sequence[str]) -> dict[str, Any]:
    """One row as a batch."""
    if len(row) != len(COLUMNS):
        raise UnreadableTable(f"Row {number} of the list of batches has {len(row)} cells instead of {len(COLUMNS)}.")
    cell = dict(zip(COLUMNS, row, strict=True))
    try:
        found: dict[str, Any] = {"id": cell["batch"], "kind": cell["kind"], "ballots": int(cell["ballots"])}
        if ":" in cell["precincts"]:
            pairs = [part.rpartition(":") for part in cell["precincts"].split(" ")]
            found["ballots"] = [{"precinct": precinct, "n": int(n)} for precinct, _, n in pairs]
        elif cell["precincts"]:
            found["precinct"] = cell["precincts"]
        for name in ("envelopes", "empty", "extra", "aside"):
            if cell[name]:
                found[name] = int(cell[name])
        if cell["tabulator"]:
            found |= {
                "tabulator": cell["tabulator"],
                "day": cell["day"],
                "counter": [int(cell["before"]), int(cell["after"])],
            }
    except ValueError:
        raise UnreadableTable(f"Row {number} of the list of batches holds something else than a figure.") from None
    return found
