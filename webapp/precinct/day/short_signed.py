"""Steps recorded although a seat could not be filled: who did not sign, why, and who at the office was notified.

Nobody is ever signed for, and an empty seat never stops voting. The step is recorded as short-signed; a
countersignature that comes later is an entry of its own, `countersigned`, and is shown as later.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.precinct.day import seats
from webapp.precinct.day.people import People
from webapp.precinct.day.seats import Seat
from webapp.precinct.place.place import Official, Rules

WHYS = {
    "absent": "not here",
    "declined": "declines to sign",
    "pin-lost": "PIN lost",
    "none-here": "nobody here may take this seat",
}
KEYS = {"seat", "why", "told", "told_at", "able"}


def able(weight: str, signers: Sequence[Official], people: People, rules: Rules) -> int:
    """How many others at work now may take the next seat. The entry holds it with the reason, so that the record
    itself says when a seat was called empty although somebody could have taken it."""
    return sum(seats.refusal(weight, signers, person, people, rules) is None for person in people.working())


def at_work(row: Mapping[str, Any]) -> str:
    """What follows the reason of an empty seat: ", while 2 who may take it were at work"; "" where nobody was, or where it was not recorded."""
    n = row.get("able", 0)
    return f", while {n} who may take it {'was' if n == 1 else 'were'} at work" if n else ""


def mistakes(
    weight: str, signers: Sequence[Official], short: Sequence[Mapping[str, Any]], people: People, rules: Rules, now: int
) -> tuple[str, ...]:
    """What is wrong with `short` for a step signed by these people; empty when it may be recorded. `now` and `told_at` in ms UTC.

    Each seat nobody took is named once, with the reason and when the office was notified; seats that were taken are
    not.
    """
    if not signers:
        return ("Nobody has signed this yet: even a short-signed step carries one signature.",)
    empty = {seat.name: seat for seat in seats.unfilled(weight, signers, rules, people.working())}
    found = [sentence for row in short for sentence in _row(row, empty, people, now)]
    named = [row.get("seat") for row in short]
    found += [
        f"The seat “{name}” is named {named.count(name)} times: name it once."
        for name in dict.fromkeys(named)
        if named.count(name) > 1
    ]
    found += [
        f"The seat for {seat.label} is empty too: say why, and who at the office was told."
        for seat in empty.values()
        if seat.name not in named
    ]
    for row in short:
        if row.get("why") == "none-here" and row.get("seat") in empty:
            found += _somebody(empty[row["seat"]], weight, signers, people, rules)
    return tuple(found)


def _row(row: Mapping[str, Any], empty: Mapping[str, Seat], people: People, now: int) -> list[str]:
    found = []
    if row.get("seat") not in empty:
        found.append(
            f"The seat “{row.get('seat')}” is not empty: "
            + (f"the empty ones are {', '.join(empty)}." if empty else "every seat is taken; keep the step as it is.")
        )
    if row.get("why") not in WHYS:
        found.append(f"Choose why the seat is empty: {', '.join(WHYS)}.")
    told_at = row.get("told_at")
    if type(told_at) is not int or told_at <= 0:
        found.append("Enter when the office was told.")
    elif told_at > now:
        found.append("The office was told at a time that is still to come: enter when it was told.")
    if set(row) - KEYS:
        found.append(
            f"A short-signed seat carries {', '.join(sorted(KEYS))} and nothing else; take out {', '.join(sorted(set(row) - KEYS))}."
        )
    return found


def _somebody(seat: Seat, weight: str, signers: Sequence[Official], people: People, rules: Rules) -> list[str]:
    """Somebody who is at work could sit there: then the reason is another."""
    able = next((o for o in people.working() if seats.refusal(weight, signers, o, people, rules) is None), None)
    return (
        [
            f"{able.name} is at work and may take the seat for {seat.label}: let {able.name} sign, or choose absent, declined or pin-lost."
        ]
        if able
        else []
    )


def open_seats(
    weight: str,
    signers: Sequence[Official],
    later: Sequence[Official],
    short: Sequence[Mapping[str, Any]],
    rules: Rules,
) -> tuple[Seat, ...]:
    """The seats of a short-signed step that no later countersignature has filled either."""
    named = {row["seat"] for row in short}
    return (
        tuple(seat for seat in seats.unfilled(weight, (*signers, *later), rules) if seat.name in named)
        if weight != "all"
        else tuple(Seat(name, name, person=name) for name in sorted(named - {o.id for o in later}))
    )


def countersign_refusal(
    weight: str,
    signers: Sequence[Official],
    later: Sequence[Official],
    short: Sequence[Mapping[str, Any]],
    person: Official,
    people: People,
    rules: Rules,
) -> str | None:
    """Why this person may not countersign a step that was kept before; None when they may."""
    if not short:
        return "This step was signed in full: there is no empty seat to countersign for."
    if not open_seats(weight, signers, later, short, rules):
        return "Every empty seat of this step was countersigned already."
    if weight == "all":
        barred = people.why_not(person.id)
        return barred or (
            None if person.id in {row["seat"] for row in short} else f"{person.name} has no empty seat in this step."
        )
    return seats.refusal(weight, (*signers, *later), person, people, rules)
