"""A place of several precincts at the canvass: what its book and tapes say by precinct; "not split" where they say it for the whole place only."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.canvass.atoms import APART
from webapp.canvass.edition import Edition
from webapp.office.received.received_packets import ReceivedPackets

NAME = "reconciliation-precincts.csv"
COLUMNS = ("place", "name", "precinct", "precinct_name", "registered", "check_ins", "ballots", "spoiled")


@dataclass(frozen=True, slots=True)
class PrecinctRow:
    """One precinct of a place; None: the paper says it for the whole place only."""

    precinct: str
    check_ins: int | None
    ballots: int | None
    spoiled: int | None


def places(tray: ReceivedPackets) -> list[tuple[str, list[PrecinctRow]]]:
    """(name of the place, its precincts) of each place of several precincts that is in; [] where no figure is split."""
    return [
        (packet.place.name, rows(packet.core, [one.id for one in packet.place.precincts]))
        for _, packet in tray.current()
        if len(packet.place.precincts) > 1 and packet.place.kind == "place"
    ]


def rows(core: Mapping[str, Any], precincts: list[str]) -> list[PrecinctRow]:
    """One row a precinct, in the place file's order."""
    book = next((one.get("n") for one in core["people"] if one["id"] == "poll_book"), None)
    tapes = [split(one.get("tape")) for one in core["tabulators"]]
    check_ins, spoiled = split(book), split(core["aside"].get("spoiled"))
    ballots: dict[str, int] | None = {}
    for one in tapes:
        if one is None or ballots is None:
            ballots = None
            break
        for precinct, n in one.items():
            ballots[precinct] = ballots.get(precinct, 0) + n
    if not tapes or not any((check_ins, ballots, spoiled)):
        return []
    return [
        PrecinctRow(one, *(part.get(one) if part else None for part in (check_ins, ballots, spoiled)))
        for one in precincts
    ]


def written(edition: Edition, tray: ReceivedPackets) -> bytes:
    """`reconciliation-precincts.csv`: a row for each precinct of a place whose tapes print votes by precinct; counts of ballots and people, no votes."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(COLUMNS)
    places = dict.fromkeys(one.id.partition(APART)[0] for one in edition.precincts)
    for place in places:
        found = tray.counts(place) if tray.in_totals(place) else None
        if found is None:
            continue
        file, core = found[1].place, found[1].core
        said = {row.precinct: row for row in rows(core, [one.id for one in file.precincts])}
        for one in file.precincts:
            row = said.get(one.id, PrecinctRow(one.id, None, None, None))
            figures = (one.registered, row.check_ins, row.ballots, row.spoiled)
            sheet.writerow([place, file.name, one.id, one.name, *("" if n is None else n for n in figures)])
    return out.getvalue().encode()


def split(figure: Any) -> dict[str, int] | None:
    """A figure of a core by precinct; None where it is of the whole place, or of something that no precinct is named for."""
    if not isinstance(figure, list):
        return None
    found: dict[str, int] = {}
    for row in figure:
        n = row.get("n")
        if "precinct" not in row or not isinstance(n, int):
            return None
        found[row["precinct"]] = found.get(row["precinct"], 0) + n
    return found
