"""All that is kept now, as the canvass wants it: every contest's figures by atom, every unit's ballots by way, which places wait for whom."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from webapp.canvass import counts as rules
from webapp.canvass.atoms import APART, Atom, Figures, precinct_unit
from webapp.canvass.blocks import Neighbors
from webapp.canvass.edition import Edition, Unit
from webapp.canvass.envelopes import COUNTY
from webapp.canvass.published import OneContest, held_back, next_edition
from webapp.office.canvassing import board_votes
from webapp.office.canvassing.added_ballots import RETURNS, AddedBallots
from webapp.office.checking import split_returns
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.office.totals.totals import KINDS, PacketFigures
from webapp.packet.print_content import total
from webapp.precinct.place.place import Contest, Place


@dataclass(frozen=True)
class KeptFigures:
    """`figures` by contest and atom; `units` in the office's order, pools behind the places; `inn`: the places that are in the totals."""

    contests: tuple[Contest, ...]
    figures: Mapping[str, Mapping[Atom, Figures]]
    units: tuple[Unit, ...]
    inn: tuple[str, ...]
    precincts: tuple[Unit, ...] = ()  # of places whose returns are by precinct


def figures_now(roster: Roster, tray: ReceivedPackets, added: AddedBallots) -> KeptFigures:
    """What is in the totals now: the returns that count, and every count in force."""
    contests: dict[str, Contest] = {}
    figures: dict[str, dict[Atom, Figures]] = {}
    ballots: dict[str, dict[str, int]] = {}
    groups: dict[str, dict[str, int]] = {}
    returns = {packet.place.id: packet for _, packet in tray.current()}
    for place, packet in returns.items():
        way, whole, returned = _of_return(packet, roster, added)
        ballots[place] = {way: whole} if whole else {} if packet.place.kind == "board" else {RETURNS: 0}
        for contest in packet.place.contests:
            row = returned.get(contest.id)
            if row is None or (packet.place.kind == "board" and not any(row)):
                continue
            contests[contest.id] = totals.with_choices(contests.get(contest.id, contest), contest)
            here = _atoms(packet, contest, row, way, whole)
            figures.setdefault(contest.id, {}).update(here)
            if contest.group:
                mine, carried = groups.setdefault(place, {}), sum(one.carried for one in here.values())
                mine[contest.group] = max(mine.get(contest.group, 0), carried)
    for count, rows in added.figures():
        by_way = ballots.setdefault(count.unit, {})
        by_way[count.way] = by_way.get(count.way, 0) + count.ballots
        for contest in added.contests(count.unit):
            if contest.id in rows:
                contests[contest.id] = totals.with_choices(contests.get(contest.id, contest), contest)
                figures.setdefault(contest.id, {})[count.atom] = rows[contest.id]
    units = [*roster.places, *added.pools]
    return KeptFigures(
        tuple(contests.values()),
        figures,
        tuple(
            _unit(unit, roster, added, returns.get(unit), ballots[unit], groups.get(unit, {}))
            for unit in units
            if unit in ballots
        ),
        tuple(returns),
        precincts(packet.place for packet in returns.values()),
    )


def precincts(places: Iterable[Place]) -> tuple[Unit, ...]:
    """The precincts of places whose tapes print votes so: "Lantern Street School, Ward 1"."""
    return tuple(
        Unit(precinct_unit(place.id, one.id), f"{place.name}, {one.name}", registered=one.registered)
        for place in places
        for one in place.split()
    )


def _atoms(packet: PacketFigures, contest: Contest, row: list[int | None], way: str, whole: int) -> dict[Atom, Figures]:
    """One contest of a return: an atom for each precinct where the return has it so, else one of the whole place."""
    place, carried = packet.place, _carried(packet, contest, row, whole)
    apart, _ = split_returns.by_precinct(packet.core, place, contest)
    if not apart or row[-1] != carried:
        return {Atom(place.id, way): Figures(carried, _named(contest, row))}
    return {
        Atom(precinct_unit(place.id, one), way): Figures(mine[-1] or 0, _named(contest, mine))
        for one, mine in apart.items()
    }


def of_return(packet: PacketFigures, contest: str, roster: Roster, added: AddedBallots) -> dict[Atom, Figures]:
    """The atom of one contest that a return gives, with its figures; {} where it has none of it."""
    way, whole, rows = _of_return(packet, roster, added)
    file = next((one for one in packet.place.contests if one.id == contest), None)
    row = rows.get(contest)
    if file is None or row is None:
        return {}
    return _atoms(packet, file, row, way, whole)


def _of_return(
    packet: PacketFigures, roster: Roster, added: AddedBallots
) -> tuple[str, int, Mapping[str, list[int | None]]]:
    """(way, ballots, rows by contest) of a return. A count board's are absentee ballots, less those that are shown with their own places."""
    if packet.place.kind != "board":
        return RETURNS, totals.ballots(packet.core), packet.core["contests"]
    left, rows = board_votes.rest(packet.core, added.of_boards.get(packet.place.id, []))
    return board_votes.way_of(roster), left, rows


def _carried(packet: PacketFigures, contest: Contest, row: list[int | None], whole: int) -> int:
    """Ballots that carried the contest. Those of a recounted row are its own, even where they are more than the return's."""
    if packet.place.kind != "board":
        return totals.carried(packet, contest.id)
    return rules.carried(row, contest, whole)


def _named(contest: Contest, row: list[int | None]) -> dict[str, int]:
    names = [*(choice.id for choice in contest.choices), *KINDS]
    return {line: votes for line, votes in zip(names, row, strict=True) if votes is not None}


def _unit(
    unit: str,
    roster: Roster,
    added: AddedBallots,
    packet: PacketFigures | None,
    ballots: Mapping[str, int],
    groups: Mapping[str, int],
) -> Unit:
    decided = next((d for way in added.ways if way.type == "provisional" and (d := added.decided(unit, way.id))), None)
    awaited = roster.office.place(unit)
    order = {way.id: i for i, way in enumerate(roster.office.ways)}
    return Unit(
        unit,
        added.name(unit),
        dict(sorted(ballots.items(), key=lambda row: order.get(row[0], len(order)))),
        groups,
        awaited.registered if awaited else None,
        _check_ins(packet) if packet else None,
        added.pools[unit].places if unit in added.pools else (),
        decided.open if decided else None,
        decided.not_counted if decided else None,
    )


def _check_ins(packet: PacketFigures) -> int | None:
    book = next((one for one in packet.core["people"] if one["id"] == "poll_book"), None)
    return total(book.get("n")) if book else None


def lists(roster: Roster, added: AddedBallots) -> Neighbors:
    """The office's order of units and ways, and who is shown with whom."""
    apart = {id: [unit.id for unit in precincts([place])] for id, place in roster.places.items()}
    units = [*(unit for place, mine in apart.items() for unit in (place, *mine)), *added.pools]
    return Neighbors(
        {unit: i for i, unit in enumerate(units)},
        {way.id: i for i, way in enumerate(roster.office.ways)},
        {place.id: place.beside for place in roster.office.places if place.beside},
        roster.office.small,
    )


def issued(roster: Roster) -> dict[str, int]:
    """Ballots each place got, by its newest place file; 0 where the file does not say."""
    return {id: sum(row.received for row in place.stock) for id, place in roster.places.items()}


def waits_for(roster: Roster, added: AddedBallots, inn: Collection[str]) -> dict[str, str]:
    """Places among those `inn` that wait for a small neighbor that is still out: place -> the neighbor."""
    here = lists(roster, added)
    back = held_back(here, inn, issued(roster), added.waived)
    out = {beside: place for place, beside in here.beside.items() if place not in inn and beside in back}
    return {place: out[place] for place in inn if place in out}


def drawn_up(
    roster: Roster,
    added: AddedBallots,
    now: KeptFigures,
    before: Mapping[str, OneContest],
    number: int,
    made: int,
    cut: int,
    status: str,
    because: str,
    allowed: Mapping[str, Collection[str]] | None = None,
) -> Edition:
    """The next edition of what is kept now, after the figures of the edition before. `allowed`: contest -> cells of few ballots that two parties show."""
    here, back = lists(roster, added), set(waits_for(roster, added, dict.fromkeys(now.inn)))
    ids = list(dict.fromkeys([*(contest.id for contest in now.contests), *before]))
    known = {
        contest.id: contest for place in roster.places.values() for contest in place.contests if contest.id in before
    } | {contest.id: contest for contest in now.contests}
    newest = next(iter(roster.places.values()), None)
    may = {id: frozenset(cells) for id, cells in (allowed or {}).items()}
    return Edition(
        number,
        status,
        made,
        cut,
        roster.office.name,
        newest.election if newest else "",
        len(now.inn),
        roster.awaited,
        tuple(known[id] for id in ids),
        {
            id: next_edition(
                before.get(id, OneContest()), now.figures.get(id, {}), here, back, may.get(id, frozenset())
            )
            for id in ids
        },
        _with_published(now.units, before, roster, added),
        roster.office.ways,
        roster.office.small,
        because,
        number - 1 or None,
        roster.practice,
        may,
        _precincts_published(now, before, roster),
    )


def _precincts_published(now: KeptFigures, before: Mapping[str, OneContest], roster: Roster) -> tuple[Unit, ...]:
    """The precincts of the returns that are in, and those that an edition before named."""
    named = {atom.unit for one in before.values() for block in one.blocks for atom, _ in block if APART in atom.unit}
    have = {unit.id for unit in now.precincts} | named
    known = {
        unit.id: unit
        for unit in (*now.precincts, *precincts(roster.issued.values()), *precincts(roster.places.values()))
    }
    return tuple(unit for id, unit in known.items() if id in have)


def _with_published(
    units: tuple[Unit, ...], before: Mapping[str, OneContest], roster: Roster, added: AddedBallots
) -> tuple[Unit, ...]:
    """The units that have ballots now, and those that an edition before named and that have none any more."""
    named = {atom.place for one in before.values() for block in one.blocks for atom, _ in block}
    have = {unit.id: unit for unit in units}
    order = [*roster.places, *added.pools]
    return tuple(have.get(unit) or Unit(unit, added.name(unit), {}) for unit in order if unit in have or unit in named)


def open_things(roster: Roster, tray: ReceivedPackets, added: AddedBallots) -> list[str]:
    """Why an edition is not complete yet, a sentence each; empty where nothing is out and nothing open."""
    found = []
    if out := roster.awaited - len(tray.current()):
        found.append(f"{out:,} of {roster.awaited:,} places {'is' if out == 1 else 'are'} not in the totals.")
    if still := added.open_envelopes():
        found.append(f"{still:,} {'envelope is' if still == 1 else 'envelopes are'} not decided.")
    if against := added.against():
        found.append(
            f"{len(against):,} {'pair' if len(against) == 1 else 'pairs'} of counts of the same ballots disagree{'s' if len(against) == 1 else ''}."
        )
    if short := _not_counted(roster, added):
        names = ", ".join(short[:3]) + (" and others" if len(short) > 3 else "")
        found.append(f"Envelopes are accepted, and fewer ballots counted: {names}.")
    return found


def _not_counted(roster: Roster, added: AddedBallots) -> list[str]:
    """Units with accepted envelopes whose ballots are not all counted."""
    return [
        added.name(unit)
        for unit in (*roster.places, *added.pools, COUNTY)
        if any(
            (one := added.decided(unit, way.id))
            and one.to_count > (added.counted(unit, way.id) if unit != COUNTY else added.counted_loose(way.id))
            for way in added.ways
        )
    ]
