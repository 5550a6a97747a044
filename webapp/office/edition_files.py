"""The files of an edition that need more than its figures: the reconciliation by place, and the results in the standard's form."""

import json
from collections.abc import Mapping

from webapp.canvass import nist_results
from webapp.canvass.edition import Edition
from webapp.office import reconciliation
from webapp.office.added_ballots import AddedBallots
from webapp.office.canvass_board import PlaceComparison
from webapp.office.received_packets import ReceivedPackets
from webapp.office.roster import Roster
from webapp.version import VERSION


def more(
    edition: Edition,
    made: str,
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    board: Mapping[str, PlaceComparison],
) -> dict[str, bytes]:
    """Files by name. `made`: date and time with zone, whole seconds."""
    found = {reconciliation.NAME: reconciliation.written(edition, roster, tray, added, board)}
    first = next(iter(roster.places.values()), None)
    if first is not None:
        report = nist_results.document(
            edition,
            roster.office.id,
            made,
            VERSION,
            first.date.isoformat(),
            roster.office.election_type,
            first.rules.overvotes,
            roster.office.measures,
        )
        found[nist_results.NAME] = (json.dumps(report, ensure_ascii=False, indent=1) + "\n").encode()
    return found
