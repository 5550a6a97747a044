"""What the test's entries say of a tape that was compared: how many figures, which of them differ, which were not typed."""

from collections.abc import Iterable, Mapping
from typing import Any

from webapp.precinct.place.place import Place

FIELDS = frozenset({"edition", "cells", "differ", "missing"})
LINES = {"write_in": "write-ins", "under": "undervotes", "over": "overvotes", "ballots": "ballots"}
ENTRIES = {"deck": "Deck of this test", "rows-ticked": "Ballots of the deck ticked"}
TICKED = {"marked": "marked", "checked": "checked", "again": "to be marked anew on a new ballot"}
TOLD = 12  # differences in full; the rest are counted


def entry(kind: str, body: Mapping[str, Any]) -> str:
    """What such an entry says behind its title."""
    if kind == "deck":
        return f"digest {bytes(body['deck_digest']).hex()[:16]}"
    return f"{TICKED[body['what']]}: {', '.join(body['rows'])}"


def field_parts(name: str, value: Any, place: Place) -> list[str]:
    """The parts that tell one of these fields."""
    if name == "edition":
        return [f"Edition {value}"]
    if name == "cells":
        return [f"{value} figure{'s'[: value != 1]} compared"]
    if name == "missing":
        return [f"Not typed, so not compared: {_listed(named(place, one) for one in value)}"] if value else []
    if not value:
        return ["Every one of them is as expected"]
    rows = [f"{named(place, one)} {one['typed']:,}, expected {one['expected']:,}" for one in value]
    return [f"{len(rows)} differ{'s'[: len(rows) == 1]}: {_listed(rows)}"]


def named(place: Place, cell: Mapping[str, Any]) -> str:
    """A cell of the tape as people say it: "Mayor, Ada Lowe"."""
    if "precinct" in cell:
        found = next((p.name for p in place.precincts if p.id == cell["precinct"]), cell["precinct"])
        return f"ballots of {found}"
    contest = place.contest(cell.get("contest", ""))
    if contest is None:
        return f"{cell['cell']} in all"
    label = next((c.label for c in contest.choices if c.id == cell["cell"]), LINES.get(cell["cell"], cell["cell"]))
    return f"{contest.title}, {label}"


def _listed(rows: Iterable[str]) -> str:
    found = list(rows)
    more = f"; and {len(found) - TOLD} more" if len(found) > TOLD else ""
    return "; ".join(found[:TOLD]) + more
