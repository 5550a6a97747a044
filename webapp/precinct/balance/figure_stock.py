"""The paper of the account: ballots received and unused, packs, stubs, other piles; and the people of the poll book."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct.balance.ballot_table import BallotTable
from webapp.precinct.balance.figure_rows import (
    DIMENSIONS,
    NOTHING,
    NamedFigure,
    Unreadable,
    Where,
    figure,
    items,
    label,
    maybe,
    name,
    once,
    part,
    whole,
)

POLL_BOOK = "poll_book"


@dataclass(frozen=True)
class Pack:
    """A pack counted when it was opened; `nominal` is what its cover says."""

    nominal: int
    counted: int
    where: Where = Where()


@dataclass(frozen=True)
class StockFigures:
    """One pile of ballots; None where a figure is not in yet. sent: None where the file says nothing of ballots sent away."""

    received: NamedFigure | None = None
    unused: NamedFigure | None = None
    resupply: NamedFigure = NOTHING
    sent: NamedFigure | None = None
    packs: tuple[Pack, ...] = ()
    held_back: int | None = None


@dataclass(frozen=True)
class Stub:
    """The numbers of one open pack: the first, the next still in it, and those found missing between."""

    first: int | None
    next: int | None
    missing: tuple[int, ...] = ()
    where: Where = Where()


@dataclass(frozen=True)
class PeopleFigures:
    """A count of people: check-ins of the poll book, or another (slips, signatures) with the kinds it includes beyond the book."""

    id: str
    n: NamedFigure | None
    cancelled: NamedFigure = NOTHING
    includes: tuple[str, ...] = ()


def read_stock(value: Any, at: str) -> StockFigures:
    """The part `stock`, or one pile of `other_stock`."""
    keys = part(value, at, ("received", "unused", "resupply", "sent", "packs", "held_back"))
    stock = StockFigures(
        figure(keys.get("received"), f"{at}.received"),
        figure(keys.get("unused"), f"{at}.unused"),
        figure(keys.get("resupply"), f"{at}.resupply", ("at",)) or NOTHING,
        figure(keys.get("sent"), f"{at}.sent", ("at", "to")),
        tuple(read_pack(member, where) for member, where in items(keys.get("packs"), f"{at}.packs")),
        maybe(keys.get("held_back"), f"{at}.held_back"),
    )
    refuse_more_than_was_there(stock, at)
    return stock


def refuse_more_than_was_there(stock: StockFigures, at: str) -> None:
    """Unused ballots, and the ones held back among them, cannot be more than there were."""
    if stock.unused is None:
        return
    unused = stock.unused.total
    if stock.received is not None:
        there = stock.received.total + stock.resupply.total - (stock.sent or NOTHING).total
        if unused > there:
            raise Unreadable(
                f"{at}.unused",
                f"{unused} unused is more than the {there} that were there (received + resupply - sent); count again.",
            )
    if stock.held_back is not None and stock.held_back > unused:
        raise Unreadable(
            f"{at}.held_back", f"{stock.held_back} held back is more than the {unused} unused they are among."
        )


def scope(keys: Mapping[str, Any], at: str) -> Where:
    """Precinct, style and day of a part that is no plain row."""
    return Where(*(None if keys.get(d) is None else label(keys[d], f"{at}.{d}") for d in DIMENSIONS))


def read_pack(value: Any, at: str) -> Pack:
    keys = part(value, at, DIMENSIONS + ("nominal", "counted"))
    for needed in ("nominal", "counted"):
        if keys.get(needed) is None:
            raise Unreadable(f"{at}.{needed}", "a pack needs both figures, nominal and counted.")
    return Pack(whole(keys["nominal"], f"{at}.nominal"), whole(keys["counted"], f"{at}.counted"), scope(keys, at))


def read_stubs(value: Any, at: str) -> tuple[Stub, ...] | None:
    """One object for one row of numbers, or a list with one object for each style and open pack."""
    if value is None:
        return None
    return tuple(
        read_stub(member, where)
        for member, where in (items(value, at) if isinstance(value, (list, tuple)) else [(value, at)])
    )


def read_stub(value: Any, at: str) -> Stub:
    keys = part(value, at, DIMENSIONS + ("first", "next", "missing"))
    first, following = maybe(keys.get("first"), f"{at}.first"), maybe(keys.get("next"), f"{at}.next")
    missing = tuple(whole(member, where) for member, where in items(keys.get("missing"), f"{at}.missing"))
    once(missing, f"{at}.missing")
    if first is not None and following is not None:
        if following < first:
            raise Unreadable(f"{at}.next", f"{following} is below the first number {first}; numbers run upward.")
        for number in missing:
            if not first <= number < following:
                raise Unreadable(
                    f"{at}.missing", f"{number} is not between {first} and {following - 1}, the numbers used."
                )
    return Stub(first, following, missing, scope(keys, at))


def read_people(book: Any, voters: Any, table: BallotTable) -> tuple[PeopleFigures, ...]:
    """`poll_book` as a figure of its own, and the list `voters`; the poll book first."""
    counts = [read_voters(member, where, table) for member, where in items(voters, "voters")]
    if book is not None:
        counts.insert(0, PeopleFigures(POLL_BOOK, figure(book, POLL_BOOK)))
    once((count.id for count in counts), "voters" if book is None else "poll_book and voters")
    return tuple(sorted(counts, key=lambda count: count.id != POLL_BOOK))


def read_voters(value: Any, at: str, table: BallotTable) -> PeopleFigures:
    keys = part(value, at, ("id", "n", "cancelled", "includes"))
    includes = tuple(name(member, where) for member, where in items(keys.get("includes"), f"{at}.includes"))
    for member in includes:
        if member not in table.fates and member not in table.origins:
            raise Unreadable(
                f"{at}.includes", f"{member} is not a known kind; name it in dispositions with all four flags."
            )
    people = PeopleFigures(
        name(keys.get("id"), f"{at}.id"),
        figure(keys.get("n"), f"{at}.n"),
        figure(keys.get("cancelled"), f"{at}.cancelled") or NOTHING,
        includes,
    )
    if people.n is not None and people.cancelled.total > people.n.total:
        raise Unreadable(
            f"{at}.cancelled", f"{people.cancelled.total} cancelled is more than the {people.n.total} checked in."
        )
    return people
