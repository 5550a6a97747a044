"""The files of an edition that need more than its figures: the reconciliation by place, results and event log in the standards' forms."""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from webapp.canvass import event_log, nist_results
from webapp.canvass.edition import Edition
from webapp.canvass.event_log import LoggedDevice
from webapp.office.canvassing import precinct_rows, reconciliation
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.questions.canvass_board import PlaceComparison
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.version import VERSION


def more(
    edition: Edition,
    made: str,
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    board: Mapping[str, PlaceComparison],
    logged: Sequence[LoggedDevice] = (),
) -> dict[str, bytes | Iterator[bytes]]:
    """Files by name, the long one in pieces. `made`: date and time with zone, whole seconds; `logged`: what the event log holds."""
    found: dict[str, bytes | Iterator[bytes]] = {
        reconciliation.NAME: reconciliation.written(edition, roster, tray, added, board)
    }
    if edition.precincts:
        found[precinct_rows.NAME] = precinct_rows.written(edition, tray)
    first = next(iter(roster.places.values()), None)
    if first is not None:
        report = nist_results.written(
            edition,
            roster.office.id,
            made,
            VERSION,
            first.date.isoformat(),
            roster.office.election_type,
            first.rules.overvotes,
            roster.office.measures,
        )
        found[nist_results.NAME] = (piece.encode() for piece in report)
    if logged:
        day = first.date.isoformat() if first else made[:10]
        election = f"{roster.office.id}-{day}"
        found[event_log.LOG] = _json(event_log.log(logged, election, made, VERSION))
        found[event_log.DOCUMENTATION] = _json(event_log.documentation(logged, roster.office.name, made[:10], VERSION))
    return found


def _json(document: Mapping[str, Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()
