"""Two packets of one place side by side: the figures that differ, the lines that follow from each, and who signed each."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.questions.findings import spots
from webapp.precinct.balance.balance import Balance
from webapp.precinct.place.place import Place

SIGNED_AT = (
    "statement",
    "tape-signed",
    "polls-closed",
)  # the step whose signers stand for the packet, the first that was kept


@dataclass(frozen=True, slots=True)
class Difference:
    """One figure that differs: `id` as findings name it, in words; None where a packet has none."""

    id: str
    words: str
    one: int | None
    other: int | None

    @property
    def apart(self) -> int | None:
        return None if self.one is None or self.other is None else abs(self.one - self.other)


@dataclass(frozen=True, slots=True)
class Compared:
    """`figures`: how many were compared; `hidden`: how many of those that differ are votes of few ballots, which are not shown alone."""

    figures: int
    differences: tuple[Difference, ...]
    hidden: int = 0

    @property
    def count(self) -> int:
        return len(self.differences) + self.hidden


def compared(
    one: Mapping[str, Any],
    other: Mapping[str, Any],
    place: Place,
    other_place: Place,
    alone: Collection[str] | None = None,
) -> Compared:
    """Figure by figure. `alone`: contests whose votes may be shown for this place by itself; None: all."""
    left, right = (_figures(core, file) for core, file in ((one, place), (other, other_place)))
    ids = [*left, *(id for id in right if id not in left)]
    nothing = "", None
    found = [
        Difference(id, (left.get(id) or right[id])[0], left.get(id, nothing)[1], right.get(id, nothing)[1])
        for id in ids
    ]
    differ = [d for d in found if d.one != d.other]
    shown = [
        d
        for d in differ
        if alone is None
        or not d.id.startswith(("votes/", "apart/"))
        or (d.id.startswith("votes/") and any(part in alone for part in d.id.split("/")))
    ]
    return Compared(len(ids), tuple(shown), len(differ) - len(shown))


def _figures(core: Mapping[str, Any], place: Place) -> dict[str, tuple[str, int | None]]:
    """(words, figure) of every figure that a finding may name."""
    return {spot.id: (spot.words, spot.value) for spot in spots(core, place)}


def lines(one: Balance, other: Balance) -> list[tuple[str, int | None, int | None]]:
    """Lines of the balance whose gap differs: (name, gap in the one, gap in the other); None where a line is not drawn, which differs from a gap alone."""
    gaps = [{line.name: line.gap for line in balance.lines} for balance in (one, other)]
    names = dict.fromkeys([*gaps[0], *gaps[1]])
    found = [(name, gaps[0].get(name), gaps[1].get(name)) for name in names]
    return [row for row in found if (row[1] or 0) != (row[2] or 0)]


def signers(core: Mapping[str, Any]) -> dict[str, list[str]]:
    """Party -> roles of those who signed at the close: the statement, else the tape, else the closing of the polls."""
    for wanted in SIGNED_AT:
        rows: Sequence[Any] = [step for step in core["steps"] if step[0] == wanted]
        if rows:
            found: dict[str, list[str]] = {}
            for row in rows:
                for role, party, *_ in row[3]:
                    if role not in found.setdefault(party, []):
                        found[party].append(role)
            return found
    return {}
