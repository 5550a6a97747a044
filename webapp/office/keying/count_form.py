"""The form of a count: its controls in ballot order, what was typed into them, and two keyings side by side."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.canvass.atoms import TOTALS
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.day.keyed_twice import KeyedTwice
from webapp.precinct.place.place import Contest

LABELS = {"write_in": "Write-ins", "under": "Undervotes", "over": "Overvotes", "ballots": "Ballots with this contest"}
BALLOTS = "ballots"


@dataclass(frozen=True, slots=True)
class Control:
    """One figure: its input's name, its contest's id and title, its label, its place in the contest's row."""

    name: str
    contest: str
    section: str
    label: str
    index: int
    choice: bool


@dataclass(frozen=True, slots=True)
class Keyed:
    """What one form says: ballots, rows by contest (votes in ballot order, write_in, under, over, ballots; None: left empty), mistakes by input."""

    ballots: int
    contests: Mapping[str, tuple[int | None, ...]]
    mistakes: Mapping[str, str]


def controls(contests: Sequence[Contest]) -> Iterator[Control]:
    for contest in contests:
        title = contest.title + (f", vote for {contest.n}" if contest.n > 1 else "")
        for i, choice in enumerate(contest.choices):
            yield Control(f"contests.{contest.id}.votes.{choice.id}", contest.id, title, choice.label, i, True)
        for i, line in enumerate(TOTALS, len(contest.choices)):
            if line != "write_in" or contest.write_in:
                yield Control(f"contests.{contest.id}.{line}", contest.id, title, LABELS[line], i, False)


def read(form: Mapping[str, str], contests: Sequence[Contest], known: Mapping[str, int | None] | None = None) -> Keyed:
    """Figures and mistakes of a leaf. A contest left empty whole is not on these ballots; one filled in has each choice. `known`: figures by
    input name that are not read again, since two people keyed them alike."""
    mistakes: dict[str, str] = {}
    known = known or {}
    ballots = known[BALLOTS] if BALLOTS in known else _number(form, BALLOTS, mistakes)
    if ballots is None and BALLOTS not in mistakes:
        mistakes[BALLOTS] = "Enter how many ballots were counted, as the paper says."
    rows: dict[str, list[int | None]] = {c.id: [None] * (len(c.choices) + len(TOTALS)) for c in contests}
    for one in controls(contests):
        rows[one.contest][one.index] = known[one.name] if one.name in known else _number(form, one.name, mistakes)
    for one in controls(contests):
        row = rows[one.contest]
        if one.choice and row[one.index] is None and one.name not in mistakes and any(n is not None for n in row):
            mistakes[one.name] = f"{one.section}: enter the votes of {one.label}, 0 where the paper says 0."
    found = {id: tuple(row) for id, row in rows.items() if any(n is not None for n in row)}
    if not found and not mistakes:
        mistakes[BALLOTS] = "No contest has figures. Enter the contests that the paper shows."
    return Keyed(ballots or 0, found, mistakes)


def _number(form: Mapping[str, str], name: str, mistakes: dict[str, str]) -> int | None:
    text = form.get(name, "").strip()
    if not text:
        return None
    try:
        return number(text)
    except InvalidInput:
        mistakes[name] = "Enter this figure in digits, as the paper shows it."
        return None


def compared(first: Mapping[str, Any], second: Mapping[str, Any], contests: Sequence[Contest]) -> list[KeyedTwice]:
    """Two keyings' figures, in ballot order."""
    found = [KeyedTwice(BALLOTS, "Count", "Ballots counted", first["ballots"], second["ballots"])]
    for one in controls(contests):
        left, right = (keyed["contests"].get(one.contest) for keyed in (first, second))
        found.append(
            KeyedTwice(
                one.name,
                one.section,
                one.label,
                left[one.index] if left else None,
                right[one.index] if right else None,
            )
        )
    return found


def agreed(
    first: Mapping[str, Any], second: Mapping[str, Any], form: Mapping[str, str], contests: Sequence[Contest]
) -> Keyed:
    """What both keyed alike, and what `form` says was read off the paper where they differ."""
    alike = {pair.name: pair.first for pair in compared(first, second, contests) if not pair.differs}
    return read(form, contests, alike)


def sections(contests: Sequence[Contest]) -> list[tuple[str, list[Control]]]:
    """The controls, contest by contest."""
    found: dict[str, tuple[str, list[Control]]] = {}
    for one in controls(contests):
        found.setdefault(one.contest, (one.section, []))[1].append(one)
    return list(found.values())


def rows(
    contests: Mapping[str, Sequence[int | None]], known: Sequence[Contest]
) -> list[tuple[str, list[tuple[str, int | None]]]]:
    """The figures of a count, contest by contest in ballot order: (title, [(line, figure)])."""
    return [
        (title, [(one.label, contests[one.contest][one.index]) for one in mine])
        for title, mine in sections(known)
        if mine[0].contest in contests
    ]
