"""`reconciliation.csv`: ballots and people of each place, envelopes, stock, what is off and which of book, tape and paper agree; one row of the county.

Counts of ballots, people and envelopes: no votes, so places of few ballots have rows of their own. A figure that
nobody has is empty, never 0.
"""

import csv
import io
from collections.abc import Mapping

from webapp.canvass.atoms import column
from webapp.canvass.edition import Edition, Way, used_ways
from webapp.canvass.reconciled import WORDS
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.questions.canvass_board import NAMES, PlaceComparison
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.packet.print_content import total

NAME = "reconciliation.csv"
COLUMNS = ("place", "name", "state", "check_ins", "ballots")
BEHIND = (
    "spoiled",
    "provisional_issued",
    "provisional_accepted",
    "provisional_rejected",
    "provisional_open",
    "credited",
    "received",
    "unused",
    "gap_poll_book",
    "gap_stock",
    "gap_credited",
    "agree",
    "remarked",
    "restored",
    "packet",
    "corrected",
)
OF_CREDITED = {"credited", "gap_credited"}
Row = dict[str, int | str]


def written(
    edition: Edition,
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    board: Mapping[str, PlaceComparison],
) -> bytes:
    """The file: a row a place in the office's order, awaited ones too, then the pools, then the county."""
    ways = used_ways(edition)
    columns = [*COLUMNS, *(column(way.id) for way in ways), *BEHIND]
    rows = [_of_place(place, edition, ways, roster, tray, added, board.get(place)) for place in _awaited(roster)]
    rows += [_of_pool(unit.id, unit.name, unit.ballots) for unit in edition.units if unit.of]
    if not added.credited:  # an office that types none has no column of them
        columns = [name for name in columns if name not in OF_CREDITED]
    out = io.StringIO()
    sheet = csv.DictWriter(out, columns, restval="", lineterminator="\n")
    sheet.writeheader()
    sheet.writerows([*rows, _county(rows, columns, edition)])
    return out.getvalue().encode()


def _awaited(roster: Roster) -> list[str]:
    return list(dict.fromkeys([*(place.id for place in roster.office.places), *roster.places]))


def state(place: str, roster: Roster, tray: ReceivedPackets) -> str:
    """in, paper, unproven, held, awaited, or none where no place file was issued."""
    outcome = tray.outcome(place)
    if tray.in_totals(place):
        return "paper" if outcome.paper else "in" if outcome.proven else "unproven"
    if outcome.states:
        return "held"
    return "awaited" if place in roster.places else "none"


def _of_place(
    place: str,
    edition: Edition,
    ways: tuple[Way, ...],
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    standing: PlaceComparison | None,
) -> Row:
    unit = next((unit for unit in edition.units if unit.id == place), None)
    row: Row = {"place": place, "name": added.place_name(place), "state": state(place, roster, tray)}
    if unit is not None:
        row |= {"ballots": sum(unit.ballots.values())}
        row |= {column(way.id): unit.ballots[way.id] for way in ways if way.id in unit.ballots}
        row |= _said({"check_ins": unit.check_ins})
    row |= _envelopes(place, added)
    if (credited := added.credited.get(place)) is not None:
        row |= {"credited": credited} | ({"gap_credited": credited - sum(unit.ballots.values())} if unit else {})
    if (found := tray.counts(place)) is None or not tray.in_totals(place):
        return row
    core = found[1].core
    issued = total(core["aside"].get("provisional"))
    row |= _said(
        {
            "spoiled": total(core["aside"].get("spoiled")),
            "received": total(core["stock"].get("received")),
            "unused": total(core["stock"].get("unused")),
        }
    )
    row |= {} if "provisional_issued" in row else _said({"provisional_issued": issued})
    row |= {
        "restored": "yes" if core.get("restored") else "",
        "packet": "paper" if tray.outcome(place).paper else found[0].hex()[:16],
        "corrected": _corrected(place, tray),
    }
    return row | (_off(standing) if standing else {})


def _corrected(place: str, tray: ReceivedPackets) -> str:
    """yes: figures that the desk found otherwise are in; withdrawn: a finding was withdrawn; both with a space; "" where there was none."""
    return " ".join(
        word for word, so in (("yes", tray.corrected(place)), ("withdrawn", bool(tray.withdrawals.get(place)))) if so
    )


def _off(standing: PlaceComparison) -> Row:
    """Gaps of the poll book and the stock, left less right; who agrees; whether every gap has a remark."""
    counts = {name: n for name in NAMES if (n := getattr(standing, name)) is not None}
    alike = [name for name, n in counts.items() if sum(other == n for other in counts.values()) > 1]
    return {
        "gap_poll_book": standing.gap("poll-book"),
        "gap_stock": standing.gap("stock"),
        "agree": "-".join(alike),
        "remarked": "yes" if standing.off and not standing.silent else "",
    }


def _envelopes(unit: str, added: AddedBallots) -> Row:
    """Envelopes of the provisional ways that are decided."""
    found = [one for way in added.ways if way.type == "provisional" and (one := added.decided(unit, way.id))]
    if not found:
        return {}
    row: Row = {
        "provisional_accepted": sum(one.to_count for one in found),
        "provisional_rejected": sum(one.not_counted for one in found),
        "provisional_open": sum(one.open for one in found),
    }
    issued = [one.issued for one in found if one.issued is not None]
    return row | ({"provisional_issued": sum(issued)} if issued else {})


def _of_pool(id: str, name: str, ballots: Mapping[str, int]) -> Row:
    row: Row = {"place": id, "name": name, "state": "in", "ballots": sum(ballots.values())}
    return row | {column(way): n for way, n in ballots.items()}


def _county(rows: list[Row], columns: list[str], edition: Edition) -> Row:
    """Sums of what is there; gaps net. A column that no place fills stays empty."""
    row: Row = {"place": "county", "name": edition.office, "state": ""}
    for name in columns:
        figures = [value for one in rows if isinstance(value := one.get(name, ""), int)]
        if name not in WORDS and figures:
            row[name] = sum(figures)
    return row


def _said(figures: Mapping[str, int | None]) -> Row:
    return {name: n for name, n in figures.items() if n is not None}
