"""A recount: what was ordered, how the container was found, whether the ballots may be recounted, and which recounted rows are in force.

Whole contests replace whole rows; a contest that was not recounted keeps its own. The return or the count is kept as
it was.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.changed_line import ChangedLine
from webapp.canvass.counts import Row, line_names
from webapp.precinct.place.place import Contest

BY = {"law": "The law, by the margin", "petition": "A petition", "court": "A court", "board": "The canvass board"}
HOW = {"hand": "By hand", "machine": "On a tabulator"}
PAPERS = {"book": "The poll book", "certificate": "The container certificate", "statement": "The statement of votes"}


@dataclass(frozen=True, slots=True)
class RecountOrder:
    """`recount-ordered`: contests of units and ways, ordered `by` law, petition, court or board under the number `order`."""

    units: tuple[str, ...]
    ways: tuple[str, ...]
    contests: tuple[str, ...]
    by: str
    order: str
    how: str
    number: int = 0


@dataclass(frozen=True, slots=True)
class Opening:
    """`recount-opened`: `seal_right` whether the seal was whole and bore its number; `number_in`: papers with that number; `ballots`: each count
    of the ballots in the container before the recount."""

    unit: str
    container: str
    seal: str
    seal_right: bool
    number_in: tuple[str, ...]
    ballots: tuple[int, ...]
    number: int = 0


@dataclass(frozen=True, slots=True)
class Recounted:
    """`recounted`: rows by contest as a core has them; `was` the digest of the return, or the id of the count, that it takes the place of."""

    unit: str
    way: str
    part: int
    contests: Mapping[str, Row]
    ballots: int
    was: bytes = b""
    set_aside: Mapping[str, int] = field(default_factory=dict)
    amends: tuple[bytes, ...] = ()
    kept: int = 0
    id: bytes = b""
    number: int = 0

    @property
    def atom(self) -> Atom:
        return Atom(self.unit, self.way, self.part)


def order_of(body: Mapping[str, Any], number: int = 0) -> RecountOrder:
    """Returns an order to recount as its entry's body holds it. number: of the entry; 0 while it is not recorded."""
    units, ways, contests = (tuple(body[name]) for name in ("units", "ways", "contests"))
    return RecountOrder(units, ways, contests, body["by"], body["order"], body["how"], number)


def opening_of(body: Mapping[str, Any], number: int = 0) -> Opening:
    """Returns the opening of a container as its entry's body holds it. number: of the entry; 0 while it is not recorded."""
    return Opening(
        body["unit"],
        body["container"],
        body["seal"],
        body["seal_right"],
        tuple(body["number_in"]),
        tuple(body["ballots"]["counts"]),
        number,
    )


def recounted_of(body: Mapping[str, Any], kept: int = 0, id: bytes = b"", number: int = 0) -> Recounted:
    """Returns one recounted part as its entry's body holds it.

    kept: ms UTC at which it was recorded. id: the entry's id. number: of the entry. All three are empty while it is
    not recorded.
    """
    return Recounted(
        body["unit"],
        body["way"],
        body["part"],
        {contest: tuple(row) for contest, row in body["contests"].items()},
        body["ballots"],
        bytes(body.get("was") or b""),
        dict(body.get("set_aside") or {}),
        tuple(bytes(one) for one in body.get("amends") or ()),
        kept,
        id,
        number,
    )


def in_force(recounts: Iterable[Recounted]) -> dict[tuple[Atom, str], tuple[Recounted, ...]]:
    """What is in force for each contest of an atom: one recount, or several that contradict each other, of which none counts until one amends them.

    A function of the set: a recount is out as soon as another one of these ballots amends it, for the contests that
    this one has.
    """
    known = {one.id: one for one in recounts}
    found: dict[tuple[Atom, str], list[Recounted]] = {}
    for one in sorted(known.values(), key=lambda one: (one.kept, one.id)):
        for contest in one.contests:
            out = any(one.id in other.amends and contest in other.contests for other in known.values())
            if not out:
                found.setdefault((one.atom, contest), []).append(one)
    return {key: tuple(tips) for key, tips in found.items()}


def rows_of(standing: Mapping[tuple[Atom, str], Sequence[Recounted]], atom: Atom) -> dict[str, Row]:
    """The recounted rows of an atom that count: those that no other recount contradicts."""
    return {
        contest: tips[0].contests[contest]
        for (base, contest), tips in standing.items()
        if base == atom and len(tips) == 1
    }


def figures(row: Row, contest: Contest, ballots: int) -> Figures:
    """A recounted row for the editions. Its ballots are its own: they may differ from those of the return by what the recount found."""
    named = {line: n for line, n in zip(line_names(contest), row, strict=True) if n is not None}
    return Figures(ballots if row[-1] is None else row[-1], named)


# --- may it be recounted


@dataclass(frozen=True, slots=True)
class Condition:
    """One reason for a recount or against it; `holds` None: it cannot be known."""

    says: str
    holds: bool | None


def conditions(
    opening: Opening | None, known: Mapping[str, int | None], frozen: int | None, now: int | None
) -> Iterator[Condition]:
    """What is asked before a recount: the seal and its number, then the ballots. Shown, never decided: local law decides.

    `known`: ballots by book, tape and canvass; `frozen`: by how many ballots the place was certified out of balance, `now`: by how many it is out,
    None where nobody knows. Mich. Comp. Laws 168.871 and Rule 168.910, as amended 2025.
    """
    if opening is None:
        yield Condition("The container was not opened for this recount yet.", None)
        return
    where = ", ".join(PAPERS[one].lower() for one in PAPERS if one in opening.number_in)
    whole = "was whole and bore its number" if opening.seal_right else "was broken, or bore another number"
    yield Condition(f"Seal {opening.seal} of container {opening.container} {whole}.", opening.seal_right)
    yield Condition(
        f"Its number is in {where}." if where else "Its number is in no paper that was looked at.", bool(where)
    )
    yield _ballots(opening, known, frozen, now)


def _ballots(opening: Opening, known: Mapping[str, int | None], frozen: int | None, now: int | None) -> Condition:
    counts = set(opening.ballots)
    if len(counts) != 1:
        many = " and ".join(f"{n:,}" for n in opening.ballots)
        return Condition(f"The ballots in the container were counted as {many}: count until two counts agree.", None)
    (n,) = counts
    told = ", ".join(f"{name} {m:,}" for name, m in known.items() if m is not None)
    if any(m == n for m in known.values()):
        return Condition(f"{n:,} ballots in the container; {told}: it agrees with one of them.", True)
    if frozen is None or now is None:
        return Condition(
            f"{n:,} ballots in the container; {told or 'no figure to hold it against'}.", False if told else None
        )
    fits = abs(now) <= abs(frozen)
    more = "no more than" if fits else "more than"
    return Condition(
        f"{n:,} ballots in the container; {told}: none agrees. Out by {abs(now):,}, {more} the {abs(frozen):,} that were certified.",
        fits,
    )


def compared(before: Row | None, after: Row, contest: Contest) -> list[ChangedLine]:
    """Before, after and the difference, line by line. `before` None: the return has no figures of this contest."""
    words = [*(choice.label for choice in contest.choices), "Write-ins", "Undervotes", "Overvotes", "Ballots"]
    old = before if before is not None else (None,) * len(after)
    return [
        ChangedLine(name, was, is_)
        for name, was, is_ in zip(words, old, after, strict=True)
        if was is not None or is_ is not None
    ]
