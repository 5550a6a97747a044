"""Who is here and may sign: the officials of the place file, and what the record says of their oaths, reliefs and vouchers.

Nobody signs before the oath or after leaving. A walk-in, whom two officials of different parties vouched for, is an
official like the others; a relief takes over the seat of the person they relieve. The order of the entries decides,
not the times stated in them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

from webapp.precinct.place.place import Official, Place

KINDS = frozenset({"arrivals", "pin-set", "oath", "vouched", "relief"})
FIRST = frozenset({"oath", "pin-set"})  # what a person signs before being sworn, for themselves only


class RollLine(Protocol):
    """What is read of an entry."""

    @property
    def number(self) -> int: ...
    @property
    def kind(self) -> str: ...
    @property
    def body(self) -> Mapping[str, Any]: ...
    @property
    def happened(self) -> int: ...
    @property
    def signers(self) -> tuple[Any, ...]: ...


@dataclass(frozen=True, slots=True)
class Vouch:
    """Two officials vouched for a person. why: walk-in, lost-pin or reset. by: their ids. entry: its number."""

    person: str
    why: str
    by: tuple[str, ...]
    entry: int


@dataclass(frozen=True, slots=True)
class _Fact:
    number: int
    kind: str
    body: Mapping[str, Any]
    happened: int
    by: tuple[str, ...]
    name: str


class People:
    """Folded from entries with `add`. `sworn` and `relieved` map a person to the entry that made it so, `present` to the time of arrival (ms UTC)."""

    def __init__(self, place: Place, entries: Iterable[tuple[RollLine, Mapping[str, str]]] = ()):
        self._place = place
        self._facts: list[_Fact] = []
        self._root: dict[int, int] = {}  # number of a correction -> number of the entry it corrects
        self._clear()
        for entry, texts in entries:
            self.add(entry, texts)

    def _clear(self) -> None:
        self.present: dict[str, int] = {}
        self.sworn: dict[str, int] = {}
        self.relieved: dict[str, int] = {}
        self.walk_ins: tuple[Official, ...] = ()
        self.vouches: tuple[Vouch, ...] = ()
        self.admitted: dict[str, str] = {}  # person -> slip | vouched, by the last PIN set
        self._since: dict[str, int] = {}  # person -> ms of the oath
        self._seat: dict[str, str] = {}  # person -> role taken over by relief

    def add(self, entry: RollLine, texts: Mapping[str, str] = {}) -> None:
        """Fold one more entry, with its free words by name; kinds that say nothing of people are passed over."""
        if entry.kind in ("correction", "taken-back"):
            self._amend(entry)
        elif entry.kind in KINDS:
            fact = _Fact(
                entry.number,
                entry.kind,
                entry.body,
                entry.happened,
                tuple(s.person for s in entry.signers),
                texts.get("name", ""),
            )
            self._facts.append(fact)
            self._fold(fact)

    def _amend(self, entry: RollLine) -> None:
        root = self._root.get(entry.body["of"], entry.body["of"])
        found = next((i for i, fact in enumerate(self._facts) if fact.number == root), None)
        if found is None:
            return
        if entry.kind == "taken-back":
            del self._facts[found]
        else:
            self._root[entry.number] = root
            self._facts[found] = replace(self._facts[found], body=entry.body["body"])
        self._clear()
        for fact in self._facts:
            self._fold(fact)

    def _fold(self, fact: _Fact) -> None:
        body = fact.body
        match fact.kind:
            case "arrivals":
                self.present.update(body.get("present", {}))
            case "pin-set":
                self.admitted[body["person"]] = body["by"]
            case "oath":
                self.sworn[body["person"]] = fact.number
                self._since[body["person"]] = fact.happened
                self.relieved.pop(body["person"], None)
            case "vouched":
                self._vouch(fact)
            case "relief":
                self._relieve(body.get("out"), body.get("in"), fact.number)

    def _vouch(self, fact: _Fact) -> None:
        body = fact.body
        self.vouches += (Vouch(body["person"], body["why"], fact.by, fact.number),)
        if body["why"] == "walk-in" and self.official(body["person"]) is None:
            self.walk_ins += (Official(body["person"], fact.name or body["person"], body["party"], body["role"]),)

    def _relieve(self, out: str | None, stands_in: str | None, number: int) -> None:
        leaving, coming = self.official(out or ""), self.official(stands_in or "")
        if leaving and coming and leaving.id != coming.id and coming.role != "chair":
            self._seat[coming.id] = leaving.role
        if leaving:
            self.relieved[leaving.id] = number
            self.sworn.pop(leaving.id, None)
            self._seat.pop(leaving.id, None)

    @property
    def everybody(self) -> tuple[Official, ...]:
        """The place file's officials in its order, then the walk-ins, each with the seat they hold now."""
        return tuple(self._seated(o) for o in self._place.officials + self.walk_ins)

    def _seated(self, official: Official) -> Official:
        role = self._seat.get(official.id, official.role)
        return official if role == official.role else replace(official, role=role)

    def official(self, person: str) -> Official | None:
        """Returns the official with this id, walk-ins included; None if nobody has it."""
        found = next((o for o in self._place.officials + self.walk_ins if o.id == person), None)
        return found and self._seated(found)

    def working(self, now: int | None = None) -> tuple[Official, ...]:
        """Sworn and not relieved; with `now` (ms UTC), only those whose oath was taken by then."""
        return tuple(o for o in self.everybody if o.id in self.sworn and (now is None or self._since[o.id] <= now))

    def why_not(self, person: str, kind: str = "") -> str | None:
        """The sentence that bars a person from signing an entry of this kind; None when nothing does."""
        official = self.official(person)
        if official is None:
            return f"Nobody here goes by {person!r}: choose a name from the list, or let two officials of different parties vouch for a walk-in."
        if official.id in self.sworn or kind in FIRST:
            return None
        if official.id in self.relieved:
            return (
                f"{official.name} was relieved (entry {self.relieved[official.id]}) and signs nothing more; "
                f"on coming back, {official.name} takes the oath again first."
            )
        return f"{official.name} has not taken the oath yet: do the step 'oath' first."

    def next_walk_in(self) -> str:
        """A free id for the next walk-in: W1, W2 ..."""
        taken = {o.id for o in self.everybody} | {v.person for v in self.vouches}
        return next(f"W{n}" for n in range(1, len(taken) + 2) if f"W{n}" not in taken)
