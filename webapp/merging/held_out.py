"""Whether a difference in the room keeps a place out of the totals: a memory that was not loaded, a tape that says something else than the packet."""

from collections.abc import Iterable, Mapping
from typing import Any

from webapp.merging import origins
from webapp.merging.brought import CHANGES, Brought
from webapp.merging.origins import PlaceDesks
from webapp.office.questions import desk_questions
from webapp.office.questions.desk_questions import DeskAnswer, DeskQuestion
from webapp.office.received import receipt
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.precinct.day.day import Day
from webapp.record.entry import Entry


def answers(desk: Day) -> tuple[DeskAnswer, ...]:
    """What two parties signed as answers about a place."""
    kept = [k for k in desk.of("answered") if len({s.party for s in k.signers}) > 1 and not k.short]
    return desk_questions.of_entries(kept)


def differs(place: str, desks: PlaceDesks, core: Mapping[str, Any] | None) -> bool:
    """Whether a difference is open at any desk. `core`: what counts for the place, None while nothing does."""
    file = desks.places[place]
    asked: list[DeskQuestion] = []
    for origin, desk in desks.all(place):
        memory = desk.last("memory-in")
        asked += origins.at(origin, desk_questions.of_memory(memory.body if memory else None))
        for row in receipt.held_of(file, desk, core):
            two = desk_questions.of_two_figures(row.name, "Tape", row.words, row.found, row.said)
            asked += origins.at(origin, two)
    found = desk_questions.answered(asked, answers(desks[place]))
    return any(one.open and one.holds for one in found)


def folded(roster: Roster, entries: Iterable[tuple[Entry, Mapping[str, str]]]) -> PlaceDesks:
    """Each place's desk, folded out of the office's record as it is stored, each entry with its free words; what desks apart kept as what it is."""
    desks, brought, owner = PlaceDesks(roster.places), Brought(), dict[int, str]()
    for stored, texts in entries:
        entry = brought.read(stored)
        place = owner.get(entry.body["of"], "") if entry.kind in CHANGES else str(entry.body.get("place") or "")
        if place in desks and entry.kind != "record-opened":
            owner[entry.number] = place
            desks.add(place, brought.desk_of(entry.number), entry, texts)
    return desks


def weigh(tray: ReceivedPackets, desks: PlaceDesks) -> list[str]:
    """Hold every place that a difference keeps out, or stamp it, as the office file says; these places."""
    found = []
    for place in desks.places:
        counts = tray.counts(place)
        so = differs(place, desks, counts[1].core if counts else None)
        tray.differs(place, so)
        found += [place] if so else []
    return found
