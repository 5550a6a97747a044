"""What goes into which car, and what stays: the last page of the night, read at the open trunk with a flashlight.

Everything on it comes from the carry slip, so the two can never differ. A seal is compared by reading the number off the thing itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place
from webapp.precinct.reports.carry_slip import CASE, Carry, carry

CAUTIONS = (
    "Two people lift each container: 1,500 to 2,000 ballots at most in one. Bend your knees, keep it close, say when you lift.",
    "Read each seal aloud, off the thing itself, before it goes in. Another number: stop, do not open it, and call the office.",
    "Both carriers ride in one car, of different parties. Straight to the office, by the way that was written down.",
    "Never leave the car alone while anything is in it, not even at a pump. Lock it while you drive.",
    "Local law and the office’s instructions come before this page.",
)


@dataclass(frozen=True, slots=True)
class Load:
    """One thing at the car's trunk: `name` large, `what` it is, `seal` to compare ("" where it has none of its own), `more` in small print."""

    name: str
    what: str
    seal: str = ""
    more: str = ""


@dataclass(frozen=True, slots=True)
class Boot:
    """`goes` with the carriers, sealed things first; `papers` in the carriers' hands; `asks` whose way only the office knows; `stays` here."""

    goes: tuple[Load, ...]
    papers: tuple[Load, ...]
    asks: tuple[Load, ...]
    stays: tuple[Load, ...]
    carriers: tuple[str, ...]
    route: str
    left: str


def boot(place: Place, day: BalancedDay) -> Boot:
    """The page, from the day so far. The caller asks `carry_slip.why_not` first."""
    slip = carry(place, day)
    return Boot(
        (*_containers(slip), *_memory(slip, True)),
        tuple(_papers(slip)),
        tuple(Load(one.id, one.holds, one.seal, "Stays, or travels: as the office said") for one in slip.cases),
        (*_memory(slip, False), *_copies(slip, False)),
        tuple(f"{one.name}, {one.role}, {one.party}" for one in slip.carriers if one.name),
        slip.route,
        slip.left,
    )


def _containers(slip: Carry) -> Iterator[Load]:
    for one in slip.containers:
        name = "Case" if one.id == CASE else one.id
        more = f"{few(one.ballots, 'ballot')} counted in it" if one.counts and one.ballots is not None else ""
        yield Load(name, one.holds, one.seal, more or ("" if one.seal else "No seal of its own: inside the case"))


def _memory(slip: Carry, goes: bool) -> Iterator[Load]:
    for one in slip.memory:
        if one.goes is goes:
            bag = f"bag {one.bag}" if one.bag else ""
            yield Load(f"Memory {one.at}", "in its bag" if goes else "stays in the tabulator, sealed", one.seal, bag)
        elif one.goes is None and goes:
            yield Load(f"Memory {one.at}", "nobody has said yet whether it goes", one.seal)


def _papers(slip: Carry) -> Iterator[Load]:
    yield Load("Carry slip", "printed, signed by both carriers")
    yield Load(
        "Summary packet",
        f"packet {slip.packet}, on paper" if slip.packet else "not made: the paper statement travels alone",
    )
    yield Load("Statement and tapes", "signed in ink")
    yield from _copies(slip, True)
    for words, who in slip.keys:
        yield Load("Keys", words, "", f"last with {who}" if who else "")
    yield Load("Poll book", "with its paper pages")
    yield Load("Laptop", "closed, in its bag")


def _copies(slip: Carry, travels: bool) -> Iterator[Load]:
    for one in slip.copies:
        if (one.given is not True) is travels:
            said = "given here" if one.given else "not given here: it travels"
            yield Load("Copy of the tapes", f"for {one.receiver}", "", said)
