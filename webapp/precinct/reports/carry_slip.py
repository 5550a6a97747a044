"""The carry slip: what leaves the room, in which container, under which seal, with whom. It travels with the summary packet.

Everything on it comes from the day: figures nobody has signed stay blank, to be written in ink. Copies, the room left
and the departure are on this slip only; the packet was made before them.
"""

from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.account.figures_of_day import plain
from webapp.precinct.checklist import field_options
from webapp.precinct.checklist.field_words import by_number
from webapp.precinct.day import seal_log
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import wall
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import last
from webapp.precinct.reports.open_questions import Question, questions

CASE = "case"


@dataclass(frozen=True, slots=True)
class CarriedContainer:
    """One thing that is carried: `ballots` counted in it, None where none were counted; `seal` "" where it has none of its own."""

    id: str
    holds: str
    ballots: int | None
    seal: str
    counts: bool = False  # whether counted ballots belong in it


@dataclass(frozen=True, slots=True)
class Memory:
    """The memory device of a tabulator: `goes` None while nobody has said."""

    at: str
    bag: str
    seal: str
    goes: bool | None


@dataclass(frozen=True, slots=True)
class CarryLine:
    """A thing with its number, None where it was not counted: envelopes by kind, seals going back, prints that were torn."""

    words: str
    n: int | None


@dataclass(frozen=True, slots=True)
class Copy:
    """Signed tapes for one receiver: set aside from which tabulators, handed over or not (None: not said yet)."""

    receiver: str
    tapes: tuple[str, ...]
    given: bool | None


@dataclass(frozen=True, slots=True)
class Carrier:
    """Who carries; all "" where it is still to be written in ink."""

    name: str = ""
    role: str = ""
    party: str = ""


@dataclass(frozen=True, slots=True)
class Carry:
    """All that the slip says. `packet` = number of the newest packet, 0 for none; `digest` its first 16 hex digits; times are words of the place's clock."""

    questions: tuple[Question, ...] = ()
    packet: int = 0
    digest: str = ""
    words: str = ""  # the newest check words, and
    words_to: int = 0  # the entry up to which they speak
    containers: tuple[CarriedContainer, ...] = ()
    cases: tuple[CarriedContainer, ...] = ()
    memory: tuple[Memory, ...] = ()
    envelopes: tuple[CarryLine, ...] = ()
    seals: tuple[CarryLine, ...] = ()
    keys: tuple[tuple[str, str], ...] = ()
    things: tuple[tuple[str, bool | None], ...] = ()
    copies: tuple[Copy, ...] = ()
    torn: int | None = None
    carriers: tuple[Carrier, Carrier] = (Carrier(), Carrier())
    left: str = ""
    route: str = ""

    @property
    def ballots(self) -> int | None:
        """Counted ballots in all containers; None until the first was counted."""
        known = [c.ballots for c in self.containers if c.ballots is not None]
        return sum(known) if known else None

    @property
    def sealed(self) -> int:
        """How many seals are on what is carried."""
        return sum(bool(c.seal) for c in (*self.containers, *self.cases)) + sum(
            bool(m.seal) and m.goes is not False for m in self.memory
        )


def why_not(place: Place, day: Day) -> str:
    """The sentence while it is too early for the slip; "" once the containers are sealed, or the packet is made without that step."""
    if day.folded_away:
        return "The closing counts come first. The carry slip opens when the containers are sealed."
    known = {step.id for step in steps(place)}
    wanted = next((name for name in ("containers-sealed", "containers-filled", "statement") if name in known), "")
    if day.packets or not wanted or day.last(wanted):
        return ""
    return "The carry slip opens when the containers are sealed: their numbers are on it."


def carry(place: Place, day: BalancedDay) -> Carry:
    """The contents of the slip, from the day so far."""
    packet = day.packets[-1] if day.packets else None
    depart, (number, words) = day.last("depart"), day.marks[-1] if day.marks else (0, "")
    return Carry(
        questions(place, day),
        packet.body["number"] if packet else 0,
        bytes(packet.body["digest"]).hex()[:16] if packet else "",
        words,
        number,
        _containers(place, day),
        _cases(place, day),
        memory(place, day),
        _envelopes(place, day),
        _seals(place, day),
        keys(place, day),
        _things(day),
        _copies(place, day),
        _torn(place, day),
        _carriers(place, day, depart),
        wall(place, depart.body["time"]) if depart and "time" in depart.body else "",
        depart.word("route") if depart else "",
    )


def blank(place: Place, nothing_yet: BalancedDay) -> Carry:
    """The slip before the day, for the paper forms: what the place file names, and no question."""
    return replace(carry(place, nothing_yet), questions=())


def _containers(place: Place, day: Day) -> tuple[CarriedContainer, ...]:
    """Every container of the place file, then the transfer case: the seal that is on it now."""
    filled, on = day.last("containers-filled"), seal_log.on_now(place, day)
    ballots = filled.body.get("ballots", {}) if filled else {}
    rows = [
        CarriedContainer(c.id, c.holds, plain(ballots[c.id]) if c.id in ballots else None, on.get(c.id, ""), c.ballots)
        for c in place.containers
    ]
    sealed = seal_log.used(place, day)
    if any(seal.at == CASE for seal in place.applied) or CASE in on:
        rows.append(CarriedContainer(CASE, "transfer case", None, on.get(CASE, "") if on.get(CASE) in sealed else ""))
    return tuple(rows)


def _cases(place: Place, day: Day) -> tuple[CarriedContainer, ...]:
    """Each tabulator in its carrying case; whether it travels tonight or stays, the office says."""
    found = []
    for tabulator in place.tabulators:
        kept = last(day, "tabulator-away", tabulator.id)
        found.append(
            CarriedContainer(
                tabulator.id,
                f"tabulator {tabulator.id}, serial {tabulator.serial}",
                None,
                kept.body.get("case_seal", "") if kept else "",
            )
        )
    return tuple(found)


def memory(place: Place, day: Day) -> tuple[Memory, ...]:
    """The memory device of each tabulator."""
    found = []
    for tabulator in place.tabulators:
        kept = last(day, "memory", tabulator.id)
        body = kept.body if kept else {}
        found.append(
            Memory(
                tabulator.id,
                body.get("bag", ""),
                body.get("seal", ""),
                {"goes": True, "stays": False}.get(body.get("goes", "")),
            )
        )
    return tuple(found)


def _envelopes(place: Place, day: Day) -> tuple[CarryLine, ...]:
    """As counted at the close, from the envelopes: spoiled by style, provisional by kind, what was dropped off or set apart, the place's own kinds."""
    kept = day.last("aside-counts")
    said = kept.body if kept else {}
    spoiled, provisional = said.get("spoiled", {}), said.get("provisional", {})
    rows = [
        CarryLine(f"Spoiled, {words}", _plain(spoiled.get(style)))
        for style, words in field_options.things("style", place, day)
    ]
    rows += [
        CarryLine(f"Provisional: {words[:1].lower()}{words[1:]}", _plain(provisional.get(kind)))
        for kind, words in field_options.things("provisional-kind", place, day)
    ]
    rows.append(CarryLine("Absentee, dropped off", _plain(said.get("drop_off"))))
    if "set_apart" in said or place.rules.found == "set-apart":
        rows.append(CarryLine("Set apart", _plain(said.get("set_apart"))))
    rows += [
        CarryLine(words.capitalize(), _plain(said.get("others", {}).get(kind)))
        for kind, words in field_options.things("place-kind", place, day)
    ]
    return tuple(rows)


def _plain(count: Any) -> int | None:
    return None if count is None else plain(count)


def _seals(place: Place, day: Day) -> tuple[CarryLine, ...]:
    kept = day.last("seals-accounted")
    body = kept.body if kept else {}
    return (
        CarryLine("Seals going back unused", body.get("returned")),
        CarryLine("Seals damaged, in their envelope", body.get("damaged")),
        CarryLine(
            "Seals cut today, in their envelope",
            seal_log.taken_off(place, day) if kept else None,
        ),
    )


def keys(place: Place, day: Day) -> tuple[tuple[str, str], ...]:
    """(what it opens, who had it last): keys of the boxes and security keys of the tabulators."""
    names = {o.id: f"{o.name}, {o.role}" for o in day.people.everybody}
    handed = max((k for k in day.of("relief") if k.body.get("keys_with")), key=lambda k: k.number, default=None)
    holders: dict[str, list[str]] = {}
    for box in place.boxes:
        locked = day.last(f"bins-locked:{box.id}")
        newest = handed if handed and (locked is None or handed.number > locked.number) else locked
        holders.setdefault(names.get(newest.body.get("keys_with", ""), "") if newest else "", []).append(box.id)
    rows = [(f"Keys of box {', '.join(boxes)}", who) for who, boxes in holders.items()]
    return (
        *rows,
        *([(f"Security key of {', '.join(t.id for t in place.tabulators)}", "")] if place.tabulators else []),
    )


def _things(day: Day) -> tuple[tuple[str, bool | None], ...]:
    kept = day.last("room-left")
    body = kept.body if kept else {}
    return tuple(
        (words, body.get(name))
        for name, words in (
            ("keys", "All keys"),
            ("book", "Poll book"),
            ("laptop", "Laptop"),
            ("stick", "Backup stick"),
        )
    )


def _copies(place: Place, day: Day) -> tuple[Copy, ...]:
    given = day.last("copies")
    aside = {t.id: kept.body.get("given", {}) for t in place.tabulators if (kept := day.last(f"tape-signed:{t.id}"))}
    return tuple(
        Copy(
            copy,
            tuple(at for at, rows in aside.items() if rows.get(copy)),
            given.body.get("given", {}).get(copy) if given else None,
        )
        for copy in place.copies
    )


def _torn(place: Place, day: Day) -> int | None:
    kept = [k for t in place.tabulators if (k := day.last(f"tape-prints:{t.id}"))]
    return sum(list(k.body.get("prints", {}).values()).count("torn") for k in kept) if kept else None


def _carriers(place: Place, day: Day, depart: CurrentEntry | None) -> tuple[Carrier, Carrier]:
    people = {o.id: o for o in day.people.everybody}
    pair = [people.get(depart.body.get(key, "")) if depart else None for key in ("first_carrier", "second_carrier")]
    first, second = (
        Carrier(o.name, o.role, p.name if (p := place.party(o.party)) else "no party") if o else Carrier() for o in pair
    )
    return first, second


def torn_words(torn: int | None) -> str:
    """Torn prints in words; "" where there are none."""
    return by_number("{} torn print{|s} kept, in the envelope", torn, f"{torn}") if torn else ""
