"""What the list of late places and the wall ask of the office's server: which places are still out, and the voters registered at one."""

from dataclasses import dataclass
from typing import Any

from webapp.office.received import late_places
from webapp.office.received.late_places import LatePlace


def of_place(site: Any, place: str) -> LatePlace:
    """One place: what of it is out, when it is due, whom to call, who was called."""
    awaited, file = site.roster.office.place(place), site.roster.places.get(place)
    phones = awaited.phones if awaited else ()
    if file is None:
        return LatePlace(
            place, awaited.name if awaited else place, None, (late_places.PACKET, late_places.GOODS), phones
        )
    desk = site.desks[place]
    out = late_places.out_of(site.tray.counts(place) is not None, desk, len(file.tabulators))
    due = late_places.due(file, awaited.due if awaited else None)
    return LatePlace(place, file.name, due, out, phones, late_places.calls(desk.of("late-call")))


def every(site: Any) -> list[LatePlace]:
    """Every place of which something is out, in the office's order."""
    listed = dict.fromkeys([*(one.id for one in site.roster.office.places), *site.roster.places])
    rows = (of_place(site, place) for place in listed)
    return [one for one in rows if one.out]


def registered(site: Any, place: str) -> int | None:
    """Registered voters of a place: by the office file, else by the precincts of its place file; None where one of them is not said."""
    awaited, file = site.roster.office.place(place), site.roster.places.get(place)
    if awaited and awaited.registered is not None:
        return awaited.registered
    said = [precinct.registered for precinct in file.precincts] if file else []
    return sum(said) if said and None not in said else None


@dataclass(frozen=True, slots=True)
class TurnoutSoFar:
    """Ballots and registered voters of the places that are in and whose registered voters are known: `places` of them."""

    ballots: int
    registered: int
    places: int

    @property
    def percent(self) -> str:
        """Ballots in a hundred registered, to one place: "61.4"."""
        return f"{100 * self.ballots / self.registered:.1f}"


def turnout(site: Any) -> TurnoutSoFar | None:
    """The turnout of what is in; None while nobody knows how many are registered there."""
    inn = site.board.places
    known = [(place, n) for place in inn if (n := registered(site, place)) is not None]
    voters = sum(n for _, n in known)
    return TurnoutSoFar(sum(inn[place].ballots for place, _ in known), voters, len(known)) if voters else None
