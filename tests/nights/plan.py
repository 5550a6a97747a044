"""What is going to happen on one day: who comes when, what they do, which packs lie ready, when a tabulator stands still.

Rates of the everyday events are our own judgement, set near the worked cards of the trade (a spoiled ballot per fifty
voters, a provisional per sixty); they only have to fill every list now and then.
"""

from __future__ import annotations

from random import Random

from nights.place import CARD, COPY, PAPER, Place
from nights.room import Absentee, Delivery, Pile, Plan, Spoil, Style, Tabulator, Voter

RARE_FATES = {
    "provisional": 0.016,
    "left": 0.003,
    "taken": 0.002,
    "found": 0.002,
    "spoiled-not-reissued": 0.002,
    "set-apart": 0.001,
}
SPARE_SHEETS = 130  # beyond the day's need: room for what the mistakes draw


def _arrival(rng: Random, place: Place) -> float:
    """Before work, at lunch or after work, or any time; nobody after the doors close."""
    peak = rng.choices((None, 7.8, 12.3, 17.3), (55, 18, 9, 18))[0]
    at = rng.uniform(place.opens, place.closes) if peak is None else rng.gauss(peak, 0.8)
    return at if place.opens <= at < place.closes else rng.uniform(place.opens, place.closes)


def _fate(rng: Random, place: Place) -> str:
    roll = rng.random()
    for fate, share in RARE_FATES.items():
        if fate in place.kinds:
            if roll < share:
                return fate
            roll -= share
    return "cast"


def a_voter(rng: Random, place: Place) -> Voter:
    own: Style = rng.choice(place.ballots)
    voter = Voter(
        at=_arrival(rng, place),
        minutes=rng.uniform(4, 18),
        own=own,
        given=own,
        fate=_fate(rng, place),
        tabulator=rng.randrange(len(place.tabulators)),
        write_in=rng.random() < 0.05,
    )
    if voter.fate == "cast" and rng.random() < place.cards:
        voter.origin = CARD
    if voter.fate != "left" and rng.random() < 0.02:
        voter.spoils = [Spoil(voter.minutes / 2)]
    return voter


def _stands_still(rng: Random, place: Place, voters: list[Voter]) -> None:
    """One tabulator is down for a while: paper ballots go to its emergency bin, and stay there or are fed at the close."""
    down, start = rng.randrange(len(place.tabulators)), rng.uniform(place.opens, place.closes - 0.7)
    end = start + rng.uniform(0.1, 0.9)
    for voter in voters:
        if voter.tabulator == down and voter.fate == "cast" and voter.origin != CARD and start <= voter.done < end:
            voter.fate = "emergency"
            if place.asks_for("emergency fed"):
                voter.fed_at, voter.notes = place.closes + 0.5, ()


def _copies(rng: Random, place: Place, voters: list[Voter]) -> int:
    """Late voters vote on photocopies, counted by hand in the room; gives the number of copies made."""
    late = [v for v in sorted(voters, key=lambda v: v.at)[-rng.randint(5, 60) :] if v.fate == "cast" and not v.spoils]
    for voter in late:
        voter.fate, voter.origin = "hand-counted", COPY
    return len(late) + rng.randint(0, 9)


def _pile(rng: Random, place: Place, style: Style, need: int) -> Pile:
    packs = -(-int(need * rng.choice((1.05, 1.2, 1.6)) + SPARE_SHEETS) // place.pack)
    nominal, inside, counted = [place.pack] * packs, [place.pack] * packs, [None] * packs
    if place.asks_for("packs counted"):
        for i in range(packs):
            inside[i] += rng.choices((0, -1, 1, 2), (85, 8, 4, 3))[0]
            counted[i] = inside[i]
    first = rng.choice((1, 1, 1, rng.randint(2, 4000)))
    pile = Pile(style, nominal, inside, counted, first, first)
    if rng.random() < 0.06:  # the printer left a number out
        pile.gone, pile.next = [first], first + 1
    return pile


def _deliveries(rng: Random, place: Place, share: float) -> list[Delivery]:
    if rng.random() >= share:
        return []
    return [
        Delivery(
            rng.uniform(place.opens + 1, place.closes - 1),
            rng.choice(place.ballots),
            rng.choice((25, 50, 100, place.pack)),
        )
    ]


def _reading_times(rng: Random, place: Place) -> tuple[float, ...]:
    if not place.asks_for("readings"):
        return ()
    every, kept = rng.choices((1, 2, 3), (75, 15, 10))[0], rng.choice((1.0, 1.0, 0.9, 0.7))
    hours = range(int(place.opens) + 1, int(place.closes) + 1, every)
    return tuple(float(h) for h in hours if rng.random() < kept)


def _machines(rng: Random, place: Place, voters: list[Voter]) -> list[Tabulator]:
    """The tabulators, with the troubles that are lawful: a memory moved, a jam allowed for, a tape fed again elsewhere."""
    tabulators = [Tabulator(id, rng.choice((0, rng.randint(50, 60000)))) for id in place.tabulators]
    first = tabulators[0]
    if place.asks_for("swapped"):
        first.swapped_at, first.spare_lifetime = rng.uniform(place.opens + 1, place.closes - 1), rng.randint(0, 9000)
    if place.asks_for("subtract"):
        jammed = [v for v in voters if v.tabulator == 0 and v.fate == "cast" and v.origin == PAPER][: rng.randint(1, 3)]
        for voter in jammed:
            voter.feeds, voter.slipped = 2, True
        first.subtract = len(jammed)
    if place.asks_for("fed again"):
        tabulators[-1].fed_again_on = first.id
    return tabulators


def a_plan(place: Place, rng: Random) -> Plan:
    """Draw a day without mistakes."""
    voters = [a_voter(rng, place) for _ in range(place.voters)]
    if "emergency" in place.kinds and rng.random() < 0.3:
        _stands_still(rng, place, voters)
    copies = _copies(rng, place, voters) if place.asks_for("copies") else 0
    sent = _deliveries(rng, place, 0.6) if place.asks_for("sent") else []
    piles = {}
    for style in place.ballots:
        need = sum((1 + len(v.spoils)) for v in voters if v.given == style and v.fate != "left")
        piles[style] = _pile(rng, place, style, need + sum(d.sheets for d in sent if d.style == style))
    return Plan(
        place=place,
        voters=voters,
        piles=piles,
        tabulators=_machines(rng, place, voters),
        absentees=[Absentee(rng.choice(place.ballots), int(place.absentee_in_book)) for _ in range(place.absentees)],
        resupply=_deliveries(rng, place, 0.12),
        sent=sent,
        copies=copies,
        reading_times=_reading_times(rng, place),
        emptied_at=rng.uniform(10, 15) if place.on_first_box() and place.asks_for("emptied") else None,
    )
