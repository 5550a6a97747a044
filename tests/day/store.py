"""Writes `stored/whole_day.json` anew: only ever for a further version of the format, beside the one that is stored.

python tests/day/store.py FILE.json
"""

import json
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[n]) for n in (1, 2)]

from day.story import HARROW, Story  # noqa: E402
from day.whole_day import DAY  # noqa: E402
from webapp.packet import contents  # noqa: E402
from webapp.precinct.account.balanced_day import fold  # noqa: E402
from webapp.record import cbor, chain  # noqa: E402


def whole_day() -> dict:
    """The entries of the day as they are kept, their words, and the two parts of packet 1 made from them."""
    told = Story().entries(DAY)
    day = fold(HARROW, told)
    day.head = chain.first_head(told[0][0].record_id)
    for entry, _ in told:
        day.head = chain.next_head(day.head, entry.number, chain.leaf(entry.pack()))
    made = HARROW.at(HARROW.closes) + 95 * 60_000
    return {
        "about": "A whole day at an invented place, entry by entry (deterministic CBOR, hex), and packet 1 made from it.",
        "made": made,
        "entries": [entry.pack().hex() for entry, _ in told],
        "texts": {str(entry.number): texts for entry, texts in told if texts},
        "core": cbor.encode(contents.core(HARROW, day, 1, None, made)).hex(),
        "remarks": cbor.encode(contents.remarks(HARROW, day)).hex(),
    }


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(json.dumps(whole_day(), indent=1) + "\n")
