"""What Now says at a board: the hour in force, how many envelopes are through, what stops. Pure: a day in, words and alerts out."""

from collections.abc import Iterator

from webapp.board.board_account import BoardAccount
from webapp.board.board_day import BoardDay
from webapp.board.board_sheet import wall_time
from webapp.board.hours_in_force import on
from webapp.board.stops import batch_stops, stopping, tabulator_stops
from webapp.precinct.numbers import few
from webapp.precinct.place.board_place import BoardRoom
from webapp.precinct.place.place import Place
from webapp.precinct.reports.alerts import Alert

COMES = (
    ("open_from", "Envelopes may be opened"),
    ("unfold_from", "Sleeves may be opened"),
    ("count_from", "Counting opens"),
)


def board_words(place: Place, day: BoardAccount, now: int) -> tuple[str, str, str, tuple[str, ...]]:
    """(kind, heading, the line above, sentences below) while no step is to be signed."""
    board = day.board
    through, all_of_them = envelopes_through(board), sum(board.received().values())
    heading = (
        f"{through:,} of {few(all_of_them, 'envelope')} are through" if all_of_them else "No carrier was taken in yet"
    )
    said = [*coming(board, place, now), *still(board)]
    return "between", heading, f"Day {board.day} of the board", tuple(said)


def envelopes_through(board: BoardDay) -> int:
    """Envelopes whose batch was fed, and those that a tray rejected or holds."""
    fed = sum(batch.envelopes or 0 for batch in board.batches.values() if batch.fed)
    return fed + sum(sum(tray.rejected.values()) + sum(tray.held.values()) for tray in board.trays.values())


def coming(board: BoardDay, place: Place, now: int) -> Iterator[str]:
    """The next hour that the law sets: "Counting opens Tuesday 3 November, 07:00."."""
    there = [(words, hour) for name, words in COMES if (hour := getattr(board.rules.hours, name)) is not None]
    later = [(words, hour) for words, hour in there if hour > wall_time(place, now)]
    if later:
        words, hour = min(later, key=lambda pair: pair[1])
        yield f"{words} {on(hour)}."


def still(board: BoardDay) -> Iterator[str]:
    """What is begun and not done, in numbers."""
    carriers = [carrier.id for carrier in board.carriers.values() if not carrier.empty]
    trays = [tray.id for tray in board.trays.values() if tray.ballots is None and tray.sleeves]
    unfed = sum(batch.fed is None for batch in board.batches.values())
    waiting = sum(one.outcome == "waiting" for one in board.problems.values())
    if carriers:
        yield f"Not shown empty yet: {few(len(carriers), 'carrier')} ({listed(carriers)})."
    if trays:
        yield f"Sleeves still shut in {few(len(trays), 'tray')} ({listed(trays)})."
    if unfed:
        yield f"{few(unfed, 'batch', 'batches')} made and not fed."
    if waiting:
        yield f"{few(waiting, 'ballot')} set aside and not settled."


def listed(ids: list[str]) -> str:
    return ", ".join(ids[:5]) + (" ..." if len(ids) > 5 else "")


def stops_as_alerts(day: BoardAccount) -> tuple[Alert, ...]:
    """Each tabulator and batch that stops, tabulators first: they come before the next step."""
    board = day.board
    found = []
    for at in dict.fromkeys((*board.rules.tabulators, *board.fed_on)):
        if says := tabulator_stops(board, at):
            found.append(stop(f"stop:{at}", says, f"/batches/{stopping(board, at)}", urgent=True))
    for batch in board.batches.values():
        if batch.fed is None and (says := batch_stops(board, batch)):
            found.append(stop(f"stop:{batch.id}", says, f"/batches/{batch.id}"))
    return tuple(found)


def stop(id: str, says: str, href: str, urgent: bool = False) -> Alert:
    first, _, rest = says.partition(". ")
    return Alert(id, first.removesuffix("."), (rest,) if rest else (), href=href, button="Look at it", urgent=urgent)


def last_on(board: BoardDay, at: str) -> str:
    """The batch that a tabulator was fed last, on whatever day."""
    return board.fed_on[at][-1] if board.fed_on.get(at) else ""


TWO_IN_ONE = {
    "ask": "Two ballots in one envelope: they wait until the board decides.",
    "count-all": "Two ballots in one envelope: all of them count.",
    "count-none": "Two ballots in one envelope: none of them counts. Set them aside, “two in one envelope”, not counted.",
}
OVERVOTE = {
    "as-is": "An overvote is fed as it is; it is no ballot to set aside.",
    "look": "An overvote is set aside and looked at by two.",
}
BLANK = {
    "look": "Read as blank: two of different parties look. Truly blank, it is fed as it is; else it is counted by hand.",
    "as-is": "Read as blank: it is fed as it is.",
}
HEADER = {
    "ours": "Our header sheet lies on each batch, and is never fed.",
    "fed-2": "Two header cards, alike, are fed before each batch. No counter counts them. Our header sheet is never fed.",
}
CHECKED = {
    "all": "Another pair compares each duplicate with its original.",
    "none": "By the place file no other pair compares duplicates here.",
}


def rules_here(room: BoardRoom) -> tuple[str, ...]:
    """The place file's rules for ballots set aside, a sentence each."""
    return (
        TWO_IN_ONE[room.two_in_one],
        OVERVOTE[room.overvote],
        BLANK[room.blank_read],
        HEADER[room.header],
        CHECKED[room.duplicates_checked],
    )


def received_until(room: BoardRoom) -> str:
    """Until when envelopes are received; "" where the place file does not say."""
    return f"Envelopes are received until {on(room.receive_until)}." if room.receive_until else ""
