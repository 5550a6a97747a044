"""Votes by precinct of a count board at the desk: the file that its packet holds by digest, and what comes of it: a count of absentee ballots for each place.

Precincts of one place make one count of that place, part 1 of its absentee ballots; precincts of several places that are shown together stay with the board.
"""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.board import votes_file
from webapp.board.batch_table import UnreadableTable
from webapp.board.precinct_votes import PrecinctVotes, summed
from webapp.canvass.counts import Count
from webapp.office.setup.roster import Roster
from webapp.packet.envelope import PacketRefused
from webapp.packet.figures_from_core import cast
from webapp.precinct.place.place import Place

MOST = 16 * 1024 * 1024  # bytes of a file of votes
BOARD = "board"  # where a count came from: a board's packet, and no entry of this office


def path_of(folder: Path, digest: bytes) -> Path:
    return folder / "in" / f"{digest.hex()}-votes.csv"


def store(folder: Path, core: Mapping[str, Any], place: Place, data: bytes) -> None:
    """Stores the file with its packet. Raises `PacketRefused` for one that is not the packet's, or whose votes are not the packet's sums."""
    wanted = core.get("board", {}).get("votes")
    if wanted is None:
        raise PacketRefused("This packet names no votes by precinct: its board typed them as one sum.")
    if len(data) > MOST or hashlib.sha256(data).digest() != wanted:
        raise PacketRefused(
            "These are not the votes by precinct that were signed with this packet: the file was changed, or belongs to another packet. Take it from the stick again."
        )
    checked(read(data, place), core, place)
    plain_file.write(path_of(folder, wanted), data)


def read(data: bytes, place: Place) -> tuple[PrecinctVotes, ...]:
    """The parts of a file. Raises `PacketRefused`, one sentence."""
    try:
        return votes_file.read(data.decode("utf-8"), {contest.id: contest for contest in place.contests})
    except UnreadableTable as wrong:
        raise PacketRefused(str(wrong)) from None
    except UnicodeDecodeError:
        raise PacketRefused("This file is not text.") from None


def checked(parts: tuple[PrecinctVotes, ...], core: Mapping[str, Any], place: Place) -> None:
    """Raises `PacketRefused` unless all precincts together are the packet's own sums, line by line, and each precinct has one row."""
    precincts = [precinct for part in parts for precinct in part.precincts]
    if len(precincts) != len(set(precincts)) or not set(precincts) <= {precinct.id for precinct in place.precincts}:
        raise PacketRefused("The votes by precinct name a precinct twice, or one that this board does not have.")
    for contest in place.typed_contests():
        row = core["contests"].get(contest.id)
        rows = [part.contests[contest.id] for part in parts if contest.id in part.contests]
        mine = summed(rows) if rows else None
        if row is not None and (mine is None or any(n is not None and n != (m or 0) for n, m in zip(row, mine, strict=True))):  # fmt: skip
            raise PacketRefused(f"{contest.title}: the votes by precinct do not add up to the packet's own. Ask the board for the packet again.")  # fmt: skip


def votes_in_force(folder: Path, core: Mapping[str, Any], place: Place) -> tuple[PrecinctVotes, ...] | None:
    """The votes by precinct of the packet that counts; None while their file is not here, or is not what was signed."""
    wanted = core.get("board", {}).get("votes")
    path = path_of(folder, wanted) if wanted else None
    if path is None or not path.exists():
        return None
    data = plain_file.read(path, MOST)
    if hashlib.sha256(data).digest() != wanted:
        return None
    try:
        return read(data, place)
    except PacketRefused:
        return None  # a newer place file has other contests: the board's votes stay one sum


def counts(roster: Roster, board: Place, digest: bytes, parts: tuple[PrecinctVotes, ...]) -> list[Count]:
    """A count for each place whose precincts voted here; what cannot be told apart by place stays with the board itself."""
    home = homes(roster, board)
    found: dict[str, list[PrecinctVotes]] = {}
    for part in parts:
        places = {home.get(precinct, board.id) for precinct in part.precincts}
        found.setdefault(places.pop() if len(places) == 1 else board.id, []).append(part)
    way = way_of(roster)
    return [
        Count(unit, way, 1, BOARD, board.id, sum(part.ballots for part in mine), _rows(mine), (), 0, _id(digest, unit))
        for unit, mine in found.items()
        if unit != board.id
    ]


def homes(roster: Roster, board: Place) -> dict[str, str]:
    """The place of each precinct of the board, where it is a precinct of exactly one."""
    found: dict[str, str | None] = {}
    for id, place in roster.places.items():
        if place.kind == "place":
            for precinct in place.precincts:
                found[precinct.id] = None if precinct.id in found else id
    here = {precinct.id for precinct in board.precincts}
    return {precinct: place for precinct, place in found.items() if place is not None and precinct in here}


def way_of(roster: Roster) -> str:
    """The office's way of absentee ballots."""
    ways = roster.office.ways
    return next((way.id for way in ways if way.id == "absentee"), next((way.id for way in ways if way.type == "absentee"), "absentee"))  # fmt: skip


def _rows(parts: list[PrecinctVotes]) -> dict[str, tuple[int | None, ...]]:
    ids = dict.fromkeys(id for part in parts for id in part.contests)
    return {id: tuple(summed([part.contests[id] for part in parts if id in part.contests])) for id in ids}


def _id(digest: bytes, unit: str) -> bytes:
    return hashlib.sha256(digest + unit.encode()).digest()[:16]


def rest(core: Mapping[str, Any], moved: list[Count]) -> tuple[int, dict[str, list[int | None]]]:
    """(ballots, rows by contest) of a board's packet that no count of a place holds."""
    rows: dict[str, list[int | None]] = {}
    for id, row in core["contests"].items():
        mine = [count.contests[id] for count in moved if id in count.contests]
        away = summed([list(one) for one in mine]) if mine else [0] * len(row)
        rows[id] = [None if n is None else n - (away[i] or 0) for i, n in enumerate(row)]
    return cast(core) - sum(count.ballots for count in moved), rows
