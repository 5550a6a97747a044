"""Recounts as the office's record has them: orders, containers opened, what was counted again, and which rows of it are in force."""

from collections.abc import Mapping
from typing import Any

from webapp.canvass import recounts as rules
from webapp.canvass.atoms import Atom
from webapp.canvass.counts import Row
from webapp.canvass.recounts import Opening, Recounted, RecountOrder

KINDS = frozenset({"recount-ordered", "recount-opened", "recounted"})


def laid_on(core: Mapping[str, Any], rows: Mapping[str, Row]) -> Mapping[str, Any]:
    """The core with whole contests replaced by recounted rows, named under `recounted`; the core itself where none is."""
    mine = {contest: list(row) for contest, row in rows.items() if contest in core["contests"]}
    return {**core, "contests": {**core["contests"], **mine}, "recounted": tuple(sorted(mine))} if mine else core


class Recounts:
    """Kept up entry by entry. Only what two parties signed is in it."""

    def __init__(self) -> None:
        self.orders: list[RecountOrder] = []
        self.openings: list[Opening] = []
        self._kept: list[Recounted] = []
        self._standing: Mapping[tuple[Atom, str], tuple[Recounted, ...]] | None = None

    def add(self, entry: Any) -> None:
        """One entry of the office's record; of any other kind it moves nothing."""
        if entry.kind == "recount-ordered":
            self.orders.append(rules.order_of(entry.body, entry.number))
        elif entry.kind == "recount-opened":
            self.openings.append(rules.opening_of(entry.body, entry.number))
        elif entry.kind == "recounted":
            self._kept.append(rules.recounted_of(entry.body, entry.kept, entry.id, entry.number))
            self._standing = None

    @property
    def standing(self) -> Mapping[tuple[Atom, str], tuple[Recounted, ...]]:
        """By atom and contest: one recount, or several against each other."""
        if self._standing is None:
            self._standing = rules.in_force(self._kept)
        return self._standing

    def rows(self, atom: Atom) -> dict[str, Row]:
        """The recounted rows of these ballots that count."""
        return rules.rows_of(self.standing, atom)

    def of(self, atom: Atom) -> list[Recounted]:
        """Every recount of these ballots, in the order in which they were kept."""
        return [one for one in self._kept if one.atom == atom]

    def tips(self, atom: Atom) -> tuple[Recounted, ...]:
        """Every recount of these ballots that is in force for some contest."""
        found = {one.id: one for (base, _), tips in self.standing.items() if base == atom for one in tips}
        return tuple(sorted(found.values(), key=lambda one: one.number))

    def against(self) -> list[tuple[Atom, str]]:
        """Contests recounted twice with neither amending the other: none of these rows counts."""
        return sorted(key for key, tips in self.standing.items() if len(tips) > 1)

    def ordered(self, unit: str) -> list[RecountOrder]:
        """Returns the orders that name this unit, in the order of the record."""
        return [one for one in self.orders if unit in one.units]

    def opened(self, unit: str) -> Opening | None:
        """How its container was found, as it was noted last."""
        return next((one for one in reversed(self.openings) if one.unit == unit), None)

    def units(self) -> list[str]:
        """Units that were ordered to be recounted, each once, in the order of the orders."""
        return list(dict.fromkeys(unit for one in self.orders for unit in one.units))
