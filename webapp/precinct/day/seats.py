"""Which seats must sign a step, who may take the next one, and what a step kept without one of them has to say.

A weight names the seats: `T` the holder's tap, no PIN; `1` any sworn official; `2` any two; `P` two of different parties; a list such as
`chair+other` or `chair+other+any`; `each` every official for themselves; `all` everybody who is working. People may sign in any order:
seats are matched to signers, so the witness may come before the chair.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from webapp.precinct.day.people import People
from webapp.precinct.place.place import Official, Rules

NAMED = {"T": (), "1": ("any",), "2": ("any", "second"), "P": ("any", "other"), "each": ("self",), "any": ("any",)}
FREE = ("any", "second", "third", "fourth")  # seats that any sworn official may take


@dataclass(frozen=True, slots=True)
class Seat:
    """`name` is what `short` cites; `role` binds it to a role, `person` to one official; `other` asks for another party than the list's first seat's."""

    name: str
    label: str
    role: str = ""
    other: bool = False
    person: str = ""


def different(a: Official, b: Official, rules: Rules) -> bool:
    """Whether two people count as of different parties: by their parties, or by the pairs of parties that the place file lists.

    A listed pair may name one party twice: on a board where all are unaffiliated, `["U", "U"]` lets two of them fill
    both sides.
    """
    if a.id == b.id:
        return False
    if rules.different == "party":
        return a.party != b.party
    return any({a.party, b.party} == set(pair) for pair in rules.different)


def seats(weight: str, working: Sequence[Official] = ()) -> tuple[Seat, ...]:
    """The seats of a weight, in the order they are shown; `all` needs the people who are working."""
    if weight == "all":
        return tuple(Seat(o.id, o.name, person=o.id) for o in working)
    names = NAMED[weight] if weight in NAMED else _spread(weight.split("+"))
    return tuple(_seat(name) for name in names)


def _spread(words: Sequence[str]) -> tuple[str, ...]:
    """Each seat of a list has its own name: a second `any` is `second`, a second `inspector` is `inspector 2`."""
    if not all(words) or "T" in words:
        raise ValueError(f"{'+'.join(words)!r} is no list of seats: join their names by +, as in 'chair+other+any'.")
    free = iter(FREE)
    return tuple(
        next(free) if word == "any" else f"{word} {words[:i].count(word) + 1}" if word in words[:i] else word
        for i, word in enumerate(words)
    )


def _seat(name: str) -> Seat:
    if name in FREE:
        return Seat(name, "any sworn official" if name == "any" else "another sworn official")
    if name == "self":
        return Seat(name, "each official for themselves")
    role = re.sub(r" \d+$", "", name)
    if role == "other":
        return Seat(name, "an official of another party", other=True)
    return Seat(name, f"the {role}" if role == name else f"another {role}", role=role)


def _fits(seat: Seat, official: Official, first: Official | None, rules: Rules) -> bool:
    if seat.person:
        return official.id == seat.person
    if seat.role:
        return official.role == seat.role
    return not seat.other or first is None or different(first, official, rules)


def filled(
    weight: str, signers: Sequence[Official], rules: Rules, working: Sequence[Official] = ()
) -> dict[str, Official]:
    """Who sits where: the matching of seats and signers that fills the most seats, the first in order of signing among equals."""
    wanted = seats(weight, working)
    if weight == "all":
        return {o.id: o for o in signers if any(s.person == o.id for s in wanted)}
    first = next((i for i, seat in enumerate(wanted) if not seat.other), 0)
    people: list[Official | None] = [*signers, *[None] * len(wanted)]
    best: dict[str, Official] = {}
    for row in permutations(people, len(wanted)):
        taken = {s.name: o for s, o in zip(wanted, row, strict=True) if o is not None}
        if len(taken) > len(best) and all(
            _fits(s, o, row[first], rules) for s, o in zip(wanted, row, strict=True) if o is not None
        ):
            best = taken
        if len(best) == min(len(wanted), len(signers)):
            break
    return best


def unfilled(
    weight: str, signers: Sequence[Official], rules: Rules, working: Sequence[Official] = ()
) -> tuple[Seat, ...]:
    """The seats nobody of these signers takes."""
    taken = filled(weight, signers, rules, working)
    return tuple(s for s in seats(weight, working) if s.name not in taken)


def complete(weight: str, signers: Sequence[Official], rules: Rules, working: Sequence[Official] = ()) -> bool:
    """Whether every seat is taken. `all` is never complete without the list of those who work."""
    if weight == "all" and not working:
        return False
    return not unfilled(weight, signers, rules, working)


def refusal(
    weight: str,
    signers: Sequence[Official],
    person: Official,
    people: People,
    rules: Rules,
    about: str = "",
    kind: str = "",
) -> str | None:
    """Why this person may not be the next signer; None when they may. about: the person whom the signed step is about."""
    barred = people.why_not(person.id, kind)
    if barred:
        return barred
    if weight == "each" and about and person.id != about:
        return f"This one is signed by the person it speaks of, not by {person.name}."
    if weight == "P" and person.id == about:
        return f"{person.name} cannot vouch for themselves: two other officials, of different parties, do."
    if any(s.id == person.id for s in signers):
        return f"{person.name} has signed already: the next signature is another person's."
    working = people.working()
    open_seats = unfilled(weight, signers, rules, working)
    if not open_seats:
        return "Nothing is left to sign here: every seat is taken."
    if len(filled(weight, (*signers, person), rules, working)) <= len(signers):
        return _no_seat(open_seats, signers, person, rules)
    return _leaves_no_seat(weight, (*signers, person), people, rules)


def _no_seat(open_seats: Sequence[Seat], signers: Sequence[Official], person: Official, rules: Rules) -> str:
    like = next((s for s in signers if not different(s, person, rules)), None)
    if like and any(s.other for s in open_seats):
        return f"{person.name} and {like.name} count as one party here: the other signature is that of an official of another party."
    wanted = " or ".join(s.label for s in open_seats)
    return f"The open seat is for {wanted}: {person.name} signs here as {person.role}."


def _leaves_no_seat(weight: str, signers: Sequence[Official], people: People, rules: Rules) -> str | None:
    """Signing first takes no seat that the holder of a role still to come would make impossible: the chair's own party before the chair."""
    for seat in unfilled(weight, signers, rules, people.working()):
        coming = [
            o for o in people.everybody if o.role == seat.role and o not in signers and o.id not in people.relieved
        ]
        if coming and all(len(filled(weight, (*signers, o), rules)) <= len(signers) for o in coming):
            return f"{signers[-1].name} and {coming[0].name}, {seat.label}, count as one party here: an official of another party signs."
    return None
