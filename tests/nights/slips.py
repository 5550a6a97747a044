"""Mistakes as people make them during the day: each changes what one or a few persons do, before the day is lived.

A slip takes the plan and answers with the `because` item that tells the truth, and the times at which check-ins and
counter drifted apart by it (empty where they did not). It answers None where this day offers no occasion for it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import Callable

from nights.costs import Item
from nights.place import CARD, PAPER
from nights.room import Delivery, Plan, Spoil, Style, Tabulator, Voter


@dataclass
class Slip:
    """What went wrong: the truth as an item, the style it touched, when it showed, and how to know its size afterwards."""

    item: Item
    style: Style | None = None
    moved: list[float] = field(default_factory=list)
    size: Callable[[], int] | None = None


def plain_voters(plan: Plan, rng: Random, n: int, tabulator: int | None = None) -> list[Voter]:
    """n people of one style who vote on paper and have no story yet; empty where there are not so many."""
    styles = list(plan.place.ballots)
    rng.shuffle(styles)
    for style in styles:
        some = [
            v
            for v in plan.voters
            if v.own == style
            and v.fate == "cast"
            and v.origin == PAPER
            and not v.spoils
            and not v.slipped
            and v.given == style
            and tabulator in (None, v.tabulator)
            and not plan.tabulators[v.tabulator].fed_again_on
        ]
        if len(some) >= n:
            chosen = rng.sample(some, n)
            for voter in chosen:
                voter.slipped = True
            return chosen
    return []


def _people(
    plan: Plan, rng: Random, item: Item, do: Callable[[Voter], float | None], same_box: bool = False
) -> Slip | None:
    """The same slip for `ballots` people; `do` changes one person's day and says when it showed."""
    box = rng.randrange(len(plan.tabulators)) if same_box else None
    people = plain_voters(plan, rng, item["ballots"], box)
    if not people:
        return None
    if same_box:
        item = item | {"tabulator": plan.tabulators[box].id}
    moved = [do(voter) for voter in people]
    return Slip(item, people[0].own, [at for at in moved if at is not None])


def not_checked_in(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> float:
        voter.marks_in_book = 0
        return voter.at

    return _people(plan, rng, item, do)


def checked_in_twice(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> float:
        voter.marks_in_book = 2
        return voter.at

    return _people(plan, rng, item, do)


def double_scan(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> float:
        voter.feeds = 2
        return voter.done

    return _people(plan, rng, item, do, same_box=True)


def uncounted_in_bin(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> float:
        voter.feeds = 0
        return voter.done

    return _people(plan, rng, item, do, same_box=True)


def _sets_aside(plan: Plan, rng: Random, item: Item, kind: str, notes: tuple[str, ...]) -> Slip | None:
    def do(voter: Voter) -> float | None:
        if kind == "spoiled":
            voter.spoils = [Spoil(voter.minutes / 2, notes)]
            return None
        voter.fate, voter.notes = kind, notes
        return None if kind == "provisional" and not plan.place.provisional_in_book else voter.done

    return _people(plan, rng, item, do)


def unrecorded(plan: Plan, rng: Random, item: Item) -> Slip | None:
    return _sets_aside(plan, rng, item, item["disposition"], ())


def recorded_twice(plan: Plan, rng: Random, item: Item) -> Slip | None:
    """The event itself is an everyday one; only its second note is wrong, and no paper moves by a note."""
    slip = _sets_aside(plan, rng, item, item["disposition"], (item["disposition"],) * 2)
    return slip and Slip(slip.item, slip.style)


def misfiled(plan: Plan, rng: Random, item: Item) -> Slip | None:
    slip = _sets_aside(plan, rng, item, item["from"], (item["to"],))
    return slip and Slip(slip.item, slip.style)


def spoiled_with_unused(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> None:
        voter.spoils = [Spoil(voter.minutes / 2, (), onto_unused=True)]

    return _people(plan, rng, item, do)


def emergency_scanned(plan: Plan, rng: Random, item: Item) -> Slip | None:
    """Some of the ballots waiting in the emergency bin are fed after all, and the list is not shortened."""
    people = plain_voters(plan, rng, item["ballots"] + rng.choice((0, 0, rng.randint(1, 5))))
    at = rng.choice((plan.place.closes + 0.5, rng.uniform(plan.place.opens + 2, plan.place.closes)))
    for i, voter in enumerate(people):
        voter.fate = "emergency"
        if i < item["ballots"]:
            voter.fed_at = at
    fed = people[: item["ballots"]]
    return Slip(item, fed[0].own, [max(at, v.done) for v in fed]) if fed else None


def provisional_scanned(plan: Plan, rng: Random, item: Item) -> Slip | None:
    def do(voter: Voter) -> float | None:
        voter.fate, voter.fed_at = "provisional", voter.done
        return None if plan.place.provisional_in_book else voter.done

    return _people(plan, rng, item, do)


def wrong_precinct(plan: Plan, rng: Random, item: Item) -> Slip | None:
    people = plain_voters(plan, rng, item["ballots"])
    if not people or plan.place.scope != "precinct":
        return None
    given = rng.choice([s for s in plan.place.ballots if s[0] != people[0].own[0]])
    for voter in people:
        voter.given = given
    return Slip(item | {"from": people[0].own[0], "to": given[0]})


def card_as_paper(plan: Plan, rng: Random, item: Item) -> Slip | None:
    cards = [v for v in plan.voters if v.origin == CARD and v.card_noted]
    cards = [v for v in cards if v.given == cards[0].given]
    if len(cards) < item["ballots"]:
        return None
    for voter in cards[: item["ballots"]]:
        voter.card_noted = False
    return Slip(item, cards[0].given)


def absentee_unmarked(plan: Plan, rng: Random, item: Item) -> Slip | None:
    marked = [a for a in plan.absentees if a.marks_in_book]
    marked = [a for a in marked if a.own == marked[0].own]
    if len(marked) < item["ballots"]:
        return None
    for absentee in marked[: item["ballots"]]:
        absentee.marks_in_book = 0
    return Slip(item, marked[0].own, [plan.place.closes + 1])


# Slips with a tabulator, its bins and its tape.


def _tabulator(plan: Plan, rng: Random) -> Tabulator:
    return rng.choice([t for t in plan.tabulators if not t.fed_again_on])


def _bin_owner(plan: Plan, tabulator: Tabulator) -> str:
    """Bins go by their tabulator, those of a shared box by the box."""
    shared = plan.place.on_first_box() == 2 and tabulator in plan.tabulators[:2]
    return "X1" if shared else tabulator.id


def left_in_bin(plan: Plan, rng: Random, item: Item) -> Slip | None:
    tabulator = _tabulator(plan, rng)
    tabulator.left_behind["main"] += item["ballots"]
    return Slip(item | {"tabulator": _bin_owner(plan, tabulator)})


def strays_in_bin(plan: Plan, rng: Random, item: Item) -> Slip | None:
    tabulator = _tabulator(plan, rng)
    tabulator.strays += item["ballots"]
    return Slip(item | {"tabulator": _bin_owner(plan, tabulator)})


def bin_fed_again(plan: Plan, rng: Random, item: Item) -> Slip | None:
    tabulator = _tabulator(plan, rng)
    styles = {v.given for v in plan.voters if v.write_in and plan.tabulators[v.tabulator] is tabulator}
    if (
        tabulator.write_in_bin_again
        or _bin_owner(plan, tabulator) != tabulator.id
        or (plan.place.scope and len(styles) != 1)
    ):
        return None
    tabulator.write_in_bin_again = True
    return Slip(
        item | {"tabulator": tabulator.id},
        min(styles, default=None),
        [plan.place.closes + 1],
        lambda: len(tabulator.write_in),
    )


def tape_missing(plan: Plan, rng: Random, item: Item) -> Slip | None:
    tabulator = _tabulator(plan, rng)
    styles = {v.given for v in plan.voters if plan.tabulators[v.tabulator] is tabulator}
    scattered = plan.place.scope and len(styles) != 1
    shares = _bin_owner(plan, tabulator) != tabulator.id
    if len(plan.tabulators) < 2 or tabulator.tape != "printed" or tabulator.subtract or scattered or shares:
        return None
    tabulator.tape = rng.choice(("blank", "unlisted"))
    listed = {"tabulator": tabulator.id} if tabulator.tape == "blank" else {}
    return Slip(
        item | listed, min(styles, default=None), [], lambda: tabulator.counter - tabulator.test_ballots
    )  # ballots that voters cast


def zero_not_zero(plan: Plan, rng: Random, item: Item) -> Slip | None:
    tabulator = _tabulator(plan, rng)
    if tabulator.test_ballots or tabulator.swapped_at:
        return None
    tabulator.test_ballots = item["ballots"]
    tabulator.zero_written = rng.choice((0, 0, item["ballots"]))
    return Slip(item | {"tabulator": tabulator.id}, plan.place.ballots[0], [plan.place.opens] * item["ballots"])


# Slips with the stock.


def _pack(plan: Plan, rng: Random, item: Item, sheets: int) -> Slip | None:
    pile = plan.piles[rng.choice(plan.place.ballots)]
    if pile.inside[0] + sheets < 0 or pile.counted[0] not in (None, pile.nominal[0]):
        return None
    pile.inside[0] += sheets
    return Slip(item, pile.style)


def short_pack(plan: Plan, rng: Random, item: Item) -> Slip | None:
    return _pack(plan, rng, item, -item["ballots"])


def over_pack(plan: Plan, rng: Random, item: Item) -> Slip | None:
    return _pack(plan, rng, item, item["ballots"])


def _delivery(plan: Plan, rng: Random, item: Item) -> Delivery:
    return Delivery(
        rng.uniform(plan.place.opens + 1, plan.place.closes - 1),
        rng.choice(plan.place.ballots),
        item["ballots"],
        logged=False,
    )


def resupply_unlogged(plan: Plan, rng: Random, item: Item) -> Slip | None:
    plan.resupply.append(_delivery(plan, rng, item))
    return Slip(item, plan.resupply[-1].style)


def sent_unlogged(plan: Plan, rng: Random, item: Item) -> Slip | None:
    plan.sent.append(_delivery(plan, rng, item))
    return Slip(item, plan.sent[-1].style)


SLIPS: dict[str, Callable[[Plan, Random, Item], Slip | None]] = {
    "not-checked-in": not_checked_in,
    "checked-in-twice": checked_in_twice,
    "double-scan": double_scan,
    "uncounted-in-bin": uncounted_in_bin,
    "unrecorded": unrecorded,
    "recorded-twice": recorded_twice,
    "misfiled": misfiled,
    "spoiled-with-unused": spoiled_with_unused,
    "emergency-scanned": emergency_scanned,
    "provisional-scanned": provisional_scanned,
    "wrong-precinct": wrong_precinct,
    "card-as-paper": card_as_paper,
    "absentee-unmarked": absentee_unmarked,
    "left-in-bin": left_in_bin,
    "strays-in-bin": strays_in_bin,
    "bin-fed-again": bin_fed_again,
    "tape-missing": tape_missing,
    "zero-not-zero": zero_not_zero,
    "short-pack": short_pack,
    "over-pack": over_pack,
    "resupply-unlogged": resupply_unlogged,
    "sent-unlogged": sent_unlogged,
}
