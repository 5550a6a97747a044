"""What is ready before the day and what is missing, each with the next step: at a place, and at the office's desk.

Pure: the pages look (disk, power, clock, slips, tablets) and hand in `Looked`; this module says what it means. Nothing here stops anybody: voting
never waits for the program.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from webapp.precinct.day.hours import wall
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Official, Place

MB, GB = 10**6, 10**9
SCARCE, LOW = 200 * MB, 1 * GB
"""Bytes free: below the first a full day of records, packets and printed PDFs may not fit; our judgement, a record of 10,000 entries takes under 20 MB."""
STATES = {
    "done": "ready",
    "listed": "listed by the office, not looked at yet",
    "look": "needs a look",
    "todo": "still to do",
    "expected": "not asked for",
}


@dataclass(frozen=True, slots=True)
class Ready:
    """One line of the page: `state` of `STATES`; `next` = (words, address) of the next step, None where there is none."""

    name: str
    state: str
    says: str
    next: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """What a page saw. `free` bytes on the disk; `power` mains | battery | "" (cannot be read), `charge` percent; `slips`: person -> used, False, or None where none
    was made; `tablets` = (admitted, waiting)."""

    now: int
    free: int | None
    power: str = ""
    charge: int | None = None
    scripted: bool = False
    signed: bool = True
    slips: Mapping[str, bool | None] = field(default_factory=dict)
    pins: frozenset[str] = frozenset()
    present: frozenset[str] = frozenset()
    sworn: frozenset[str] = frozenset()
    tablets: tuple[int, int] = (0, 0)
    entries: int = 0
    stick: tuple[bool, str] | None = (
        None  # whether the copy is up to date, and what its line says; None where no stick was asked for
    )


def at_place(place: Place, looked: Looked) -> tuple[Ready, ...]:
    """Every line for a polling place: what the laptop must have first, then what people bring."""
    return (
        _file(place, looked),
        _mode(place),
        _clock(place, looked),
        _disk(looked),
        _power(looked),
        _slips(place.officials, looked),
        _arrived(place, looked),
        _tablets(looked),
        _seals(place),
        _tabulators(place),
        _ballots(place),
        _copies(place),
        *_paper(),
        _second_copy(looked.stick, "The witness’s card and the paper keep the day as well."),
    )


def counted(lines: Sequence[Ready]) -> str:
    """The count in words: "5 of 13 ready, 4 listed by the office, 2 need a look". What is only listed nobody here has seen."""
    ready, listed, look = (sum(line.state == state for line in lines) for state in ("done", "listed", "look"))
    all_ = sum(line.state != "expected" for line in lines)
    parts = [f"{ready} of {all_} ready", f"{listed} listed by the office" if listed else ""]
    return ", ".join(filter(None, [*parts, f"{look} need{'s' if look == 1 else ''} a look" if look else ""]))


def _file(place: Place, looked: Looked) -> Ready:
    what = f"{place.name} ({place.id}), edition {place.edition}"
    if not looked.signed:
        return Ready(
            "Place file",
            "look",
            f"{what}. Nobody signed it: it is for practice only. For the election, ask the office for the signed folder.",
        )
    return Ready("Place file", "done", f"{what}: signed by the office.")


def _mode(place: Place) -> Ready:
    if place.mode == "practice":
        return Ready(
            "Mode",
            "look",
            "Practice: nothing that is kept here counts, and every page is stamped. For the election, start the live folder.",
        )
    return Ready("Mode", "done", "Live: what is kept here is the record of the day.")


def _clock(place: Place, looked: Looked, room: str = "place") -> Ready:
    """The laptop's clock, in the place's zone, compared with election day. An office works on for weeks after it."""
    moment = datetime.fromtimestamp(looked.now / 1000, place.tz)
    said = f"{moment:%A}, {moment.day} {moment:%B %Y}, {wall(place, looked.now)}"
    scripted = " The clock is moved by hand, for practice." if looked.scripted else ""
    days = (place.date - moment.date()).days
    if days == 0:
        return Ready(
            "Clock", "done", f"{said}: election day. Polls open at {wall(place, place.at(place.opens))}.{scripted}"
        )
    way = f"{few(days, 'day')} before election day" if days > 0 else f"{few(-days, 'day')} after election day"
    day = f"{place.date.day} {place.date:%B %Y}"
    if place.mode == "practice":
        return Ready("Clock", "done", f"{said}: {way}, {day}. Practice runs on any day.{scripted}")
    if room == "office" and days < 0:
        return Ready("Clock", "done", f"{said}: {way}, {day}. The canvass goes on after it.{scripted}")
    return Ready(
        "Clock",
        "look",
        f"{said}: {way}, {day}. If today is election day, set the laptop’s clock and start the program again.",
    )


def _disk(looked: Looked) -> Ready:
    if looked.free is None:
        return Ready("Room on the disk", "look", "It cannot be read. Check that the disk is in and not full.")
    said = f"{looked.free / GB:,.1f} GB free" if looked.free >= GB else f"{looked.free / MB:,.0f} MB free"
    if looked.free < SCARCE:
        return Ready("Room on the disk", "look", f"{said}: too little for a day. Make room before the first voter.")
    return Ready(
        "Room on the disk",
        "done" if looked.free >= LOW else "look",
        said + ("." if looked.free >= LOW else ": enough for a day, and little more. Make room."),
    )


def _power(looked: Looked) -> Ready:
    charge = f", battery at {looked.charge} %" if looked.charge is not None else ""
    if looked.power == "mains":
        return Ready("Power", "done", f"On mains{charge}.")
    if looked.power == "battery":
        return Ready("Power", "look", f"On battery{charge}. Plug the laptop in, and tape the cord flat.")
    return Ready("Power", "todo", f"This laptop does not say{charge}. Look at the plug, and tape the cord flat.")


def _slips(officials: Sequence[Official], looked: Looked) -> Ready:
    """Who has a slip from the office, and who has set a PIN with it."""
    without = [o.name for o in officials if looked.slips.get(o.id) is None]
    pins = sum(o.id in looked.pins for o in officials)
    said = f"{few(len(officials), 'official')}, {few(sum(value is not None for value in looked.slips.values()), 'slip')} from the office, {few(pins, 'PIN')} set."
    if without:
        return Ready(
            "Slips and PINs",
            "look",
            f"{said} No slip for {', '.join(without)}: two officials of different parties vouch instead.",
            ("People", "/people"),
        )
    if pins == len(officials):
        return Ready("Slips and PINs", "done", said)
    return Ready(
        "Slips and PINs", "todo", f"{said} Each sets a PIN with their own slip, after the oath.", ("People", "/people")
    )


def _arrived(place: Place, looked: Looked) -> Ready:
    here = [o for o in place.officials if o.id in looked.present]
    if not here:
        return Ready("Officials here", "todo", "Nobody is written down yet.", ("Begin roll call", "/step/arrivals"))
    parties = {o.party for o in here}
    said = f"{len(here)} of {len(place.officials)} here, {few(len(looked.sworn & {o.id for o in here}), 'sworn', 'sworn')}."
    if len(parties) < 2:
        return Ready(
            "Officials here",
            "look",
            f"{said} All of one party: no seal is cut before another party is here. Call the office.",
            ("People", "/people"),
        )
    return Ready("Officials here", "done" if len(looked.sworn) >= len(here) else "todo", said, ("People", "/people"))


def _tablets(looked: Looked) -> Ready:
    admitted, waiting = looked.tablets
    if waiting:
        return Ready(
            "Tablets",
            "todo",
            f"{admitted} admitted, {waiting} waiting to be admitted on this laptop.",
            ("Tablets", "/tablets"),
        )
    if not admitted:
        return Ready(
            "Tablets",
            "done",
            "None: the laptop alone does it all, in as many windows as there are hands.",
            ("Pair a tablet", "/tablets"),
        )
    return Ready("Tablets", "done", f"{few(admitted, 'tablet')} admitted.", ("Tablets", "/tablets"))


def _seals(place: Place) -> Ready:
    on = f"{few(len(place.applied), 'seal')} on the equipment when it left the office"
    if not place.seals:
        return Ready(
            "Seals",
            "look",
            f"The place file lists no seals for the day; {on}. A seal from elsewhere would not be noticed. Ask the office for the list.",
        )
    first, last = place.seals[0], place.seals[-1]
    says = f"{len(place.seals)} for the day, {first} to {last}; {on}."
    return Ready(
        "Seals",
        "listed" if place.applied else "look",
        says if place.applied else f"{says} Without those numbers nothing can be compared at dawn: ask the office.",
    )


def _tabulators(place: Place) -> Ready:
    if not place.tabulators:
        return Ready("Tabulators", "done", "None: every ballot is counted by hand.")
    listed = ", ".join(f"{t.id} (serial {t.serial})" for t in place.tabulators)
    missing = [t.id for t in place.tabulators if t.lifetime is None]
    return Ready(
        "Tabulators",
        "listed",
        f"{listed}, {few(len(place.boxes), 'box', 'boxes')}."
        + (f" No protective counter was written for {', '.join(missing)}." if missing else ""),
    )


def _ballots(place: Place) -> Ready:
    listed = ", ".join(f"{s.style} {s.received:,}" for s in place.stock)
    total = sum(s.received for s in place.stock)
    if not total:
        return Ready(
            "Ballots",
            "look",
            "The place file lists none. Ask the office how many were sent, and write it at the step of the packs.",
        )
    return Ready("Ballots", "listed", f"{total:,} received: {listed}.")


def _copies(place: Place) -> Ready:
    boxes = f"{few(len(place.containers), 'container')} for the hand-over"
    if not place.containers:
        return Ready(
            "Containers and copies",
            "look",
            "The place file lists no containers: write on the carry slip what goes in which.",
        )
    return Ready(
        "Containers and copies",
        "listed",
        f"{boxes}; signed tapes for {', '.join(place.copies)}."
        if place.copies
        else f"{boxes}; no copies of the tapes are asked for.",
    )


def _paper() -> Iterator[Ready]:
    yield Ready(
        "Paper for when all else fails",
        "todo",
        "The forms, the guide of two pages, and the witness’s card, which the other party takes now.",
        ("Print them", "/papers"),
    )


def _second_copy(stick: tuple[bool, str] | None, beside: str) -> Ready:
    name = "Second copy while it runs"
    if stick:
        return Ready(name, "done" if stick[0] else "look", f"{stick[1]}.")
    return Ready(
        name,
        "expected",
        f"The record lies on this laptop alone: no stick was asked for when the program was started (--stick). {beside}",
    )
