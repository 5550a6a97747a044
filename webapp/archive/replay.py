"""An office's packets, counts and findings up to one entry of its record, folded again from stored bytes: what counted at that time."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from webapp.canvass.atoms import Atom
from webapp.office.canvassing import added_ballots, board_votes
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.checking.what_counts import Aside, Ruling
from webapp.office.keying import from_paper
from webapp.office.questions import withdrawn
from webapp.office.questions.findings import Finding
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.packet.envelope import Opened
from webapp.record.entry import Entry

Opening = Mapping[bytes, Opened]


def replayed(
    folder: Path, roster: Roster, entries: Iterable[Entry], opened: Opening
) -> tuple[ReceivedPackets, AddedBallots]:
    """(packets, counts) after these entries. `opened`: packets by digest; `folder`: its `in/` holds the votes by precinct of count boards.

    Places that the desk held out of the totals by a difference in the room are not held out here.
    """
    tray, added = ReceivedPackets(folder, roster), AddedBallots(roster)
    for entry in entries:
        _fold(entry, roster, tray, added, opened)
    for id, place in roster.places.items():
        tray.recount(id, added.recounts.rows(Atom(id, added.way_of_return(id))))
        found = tray.counts(id) if place.kind == "board" else None
        parts = board_votes.votes_in_force(folder, found[1].core, place) if found else None
        if found and parts:
            added.from_board(id, board_votes.counts(roster, place, found[0], parts))
    return tray, added


def _fold(entry: Entry, roster: Roster, tray: ReceivedPackets, added: AddedBallots, opened: Opening) -> None:
    body, place = entry.body, str(entry.body.get("place", ""))
    two = len({signer.party for signer in entry.signers}) > 1 and not body.get("short")
    if entry.kind in added_ballots.KINDS and two:
        added.add(entry)
    elif place not in roster.places:
        return
    elif entry.kind == "packet-received" and bytes(body["digest"]) in opened:
        tray.count_in(place, bytes(body["digest"]), opened[bytes(body["digest"])])
    elif entry.kind == "desk-finding":
        tray.find(place, Finding(entry.number, body["figure"], body.get("was"), body["is"], "", entry.kept, entry.id))
    elif entry.kind == withdrawn.KIND and two:
        tray.withdraw(place, withdrawn.of_entry(entry))
    elif entry.kind == "place-counts" and two:
        against = tuple(bytes(one) for one in body.get("against", ()))
        tray.rule(place, Ruling(entry.kept, entry.id, bytes(body["digest"]), against, bool(body.get("tape"))))
    elif entry.kind == "packet-set-aside" and two:
        tray.set_aside(place, Aside(entry.kept, entry.id, bytes(body["digest"]), bool(body["aside"])))
    elif entry.kind == "place-keyed" and two:
        file = roster.issued.get(bytes(body["place_digest"]), roster.places[place])
        tray.key(place, from_paper.of_entry(entry, {}, file))
