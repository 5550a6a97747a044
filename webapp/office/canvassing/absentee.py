"""Absentee ballots of count boards, shown with the places whose precincts they are of: for Totals and Canvass. Counts of ballots, and votes only where none can be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.canvassing.board_votes import BOARD, homes
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.packet import board_words


@dataclass(frozen=True, slots=True)
class OneBoard:
    """A count board that is in the totals. by_place: whether its votes are shown with their places too."""

    id: str
    name: str
    ballots: int
    by_place: bool


def boards(roster: Roster, tray: ReceivedPackets, added: AddedBallots) -> list[OneBoard]:
    """The count boards that are in the totals."""
    return [
        OneBoard(place.id, place.name, totals.ballots(found[1].core), bool(added.of_boards.get(place.id)))
        for place in roster.places.values()
        if place.kind == "board" and tray.in_totals(place.id) and (found := tray.counts(place.id))
    ]


def of_contest(added: AddedBallots, contest: str, small: int) -> Sequence[tuple[str, Mapping[str, int]]]:
    """(units, votes by line) of one contest among the absentee ballots of boards; units of few ballots together with the next."""
    found: list[tuple[list[str], int, dict[str, int]]] = []
    for count, rows in added.figures():
        one = rows.get(contest)
        if count.source != BOARD or one is None:
            continue
        units, ballots, votes = [added.name(count.unit)], one.carried, dict(one.votes)
        if found and (0 < ballots < small or 0 < found[-1][1] < small):
            before = found.pop()
            votes = {line: votes.get(line, 0) + before[2].get(line, 0) for line in {**before[2], **votes}}
            units, ballots = before[0] + units, ballots + before[1]
        found.append((units, ballots, votes))
    return [(" with ".join(units), votes) for units, ballots, votes in found if not 0 < ballots < small]


@dataclass(frozen=True, slots=True)
class Beside:
    """A place's ballots by its own return (None: not in), and of its precincts at a board: envelopes received, ballots out of them."""

    name: str
    own: int | None
    envelopes: int
    ballots: int


def beside_places(roster: Roster, tray: ReceivedPackets, added: AddedBallots) -> list[tuple[OneBoard, list[Beside]]]:
    """Each board with a row a place; precincts that are shown together and are of several places stay with the board."""
    return [(one, of_board(one, roster, tray)) for one in boards(roster, tray, added)]


def of_board(one: OneBoard, roster: Roster, tray: ReceivedPackets) -> list[Beside]:
    counted, home = tray.counts(one.id), homes(roster, roster.places[one.id])
    sums: dict[str, tuple[int, int]] = {}
    for row in board_words.rows(counted[1].core, roster.office.small) if counted else ():
        places = {home.get(precinct, "") for precinct in row.precincts}
        place = places.pop() if len(places) == 1 else ""
        envelopes, ballots = sums.get(place, (0, 0))
        sums[place] = envelopes + row.figures[0], ballots + row.figures[board_words.BALLOTS]
    return [Beside(_name(place, one, roster), _own(place, tray), *figures) for place, figures in sums.items()]


def _name(place: str, one: OneBoard, roster: Roster) -> str:
    return roster.places[place].name if place else f"{one.name}, of no one place"


def _own(place: str, tray: ReceivedPackets) -> int | None:
    found = tray.counts(place) if place and tray.in_totals(place) else None
    return totals.ballots(found[1].core) if found else None
