"""Places to print: the school's, the story's, the stored one, and one that is large; and days told as text."""

from dataclasses import replace
from datetime import time
from pathlib import Path

import pytest

from tests.day.story import HARROW, Story
from tests.day.whole_day import DAY
from webapp.packet import cose
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Applied, Box, Container, Place, Tabulator

ROOT = Path(__file__).resolve().parents[2]


def large(place: Place) -> Place:
    """The school's place with ten tabulators, twenty containers, 480 seals, twelve styles' worth of long names, and a clock of twelve hours."""
    names = [f"T{n}" for n in range(1, 11)]
    return replace(
        place,
        name="Saint Anthony of the Upper Ferry Road Community Hall and Gymnasium",
        rules=replace(place.rules, clock=12),
        opens=time(6),
        closes=time(21),
        boxes=tuple(Box(f"B{n}") for n in range(1, 11)),
        tabulators=tuple(Tabulator(name, f"84-11{n:02d}-LONG", f"B{n}", 9000 + n) for n, name in enumerate(names, 1)),
        applied=tuple(
            Applied(f"{name}-{part}", f"03{n}{m}", f"{part} of {name}")
            for n, name in enumerate(names)
            for m, part in enumerate(("memory", "door", "emergency"))
        ),
        seals=tuple(f"{n:05d}" for n in range(40001, 40481)),
        containers=tuple(
            Container(f"C{n}", f"voted ballots, part {n} of twenty, in a blue box with a lid", n < 15)
            for n in range(1, 21)
        ),
        copies=("local clerk", "county", "canvassers", "party of the left bench", "party of the right bench"),
    )


@pytest.fixture(scope="session")
def school() -> Place:
    return place_file.read((ROOT / "demo_precinct" / "place.toml").read_bytes())


@pytest.fixture(scope="session")
def places(school) -> dict[str, Place]:
    stored = place_file.read(
        cose.taken_apart((ROOT / "tests" / "place" / "stored" / "place.cose").read_bytes()).payload
    )
    return {
        "demo": school,
        "story": HARROW,
        "stored": stored,
        "large": large(school),
        "results first": replace(school, rules=replace(school.rules, first="results")),
        "live": replace(HARROW, mode="live"),
    }


@pytest.fixture(scope="session")
def whole_day():
    """A function: more lines of the story, and words to be taken out -> (place, day)."""

    def told(more: str = "", instead: dict[str, str] | None = None):
        text = DAY
        for old, new in (instead or {}).items():
            assert old in text
            text = text.replace(old, new)
        return HARROW, fold(HARROW, Story(HARROW).entries(text + more))

    return told
