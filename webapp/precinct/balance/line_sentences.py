"""Every sentence about a line of the balance. A sentence has both figures, the difference, and its direction."""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.precinct.balance.figure_words import COUNTED, FIGURES, ONE, PACKS, PILES, PILES_AT_CLOSE
from webapp.precinct.balance.line_words import AGREE, LINES


def some(n: int, words: tuple[str, str]) -> str:
    """A number with its noun: 1 check-in, 2 check-ins. Below zero, where a side may be: 2 fewer ballots than check-ins."""
    said = words[0] if abs(n) == 1 else words[1]
    return f"{-n} {said.replace('more ', 'fewer ', 1)}" if n < 0 else f"{n} {said}"


def line(
    id: str,
    left: int,
    right: int,
    left_of: Sequence[tuple[str, int]],
    right_of: Sequence[tuple[str, int]],
    scope: Mapping[str, Any] | None,
    notes: Sequence[str],
) -> str:
    """The sentence of one line: figures spelled out where a side is a sum, then its notes."""
    said = LINES[key_of(id, scope)]
    sides = (
        f"{some(n, words)}{behind(of, id, n)}"
        for n, words, of in ((left, said.left, left_of), (right, said.right, right_of))
    )
    first = f"{place(id, scope)}{', '.join(sides)}: {way(id, left - right, scope)}."
    return " ".join((first, *notes))


def key_of(id: str, scope: Mapping[str, Any] | None) -> str:
    """The key in LINES of a line's words."""
    after = (scope or {}).get("after") if id.startswith("batch:") else None
    return id.split(":")[0] if after is None else "batch zero" if after == "zero" else "batch before"


def way(id: str, gap: int, scope: Mapping[str, Any] | None = None) -> str:
    """A gap in words: 1 more check-in than ballots."""
    if key_of(id, scope) == "seals":
        return "another seal than the one applied last" if gap else AGREE
    if not gap:
        return AGREE
    said = LINES[key_of(id, scope)]
    return f"{abs(gap)} more {(said.more_left if gap > 0 else said.more_right)[abs(gap) != 1]}"


def behind(figures: Sequence[tuple[str, int]], id: str = "", whole: int = 0) -> str:
    """The figures a side is made of, in parentheses; "" where one figure is all of it. A side below zero is shown with its sign."""
    told = [f"{'less ' if n < 0 else ''}{abs(n)} {figure(key, n, id)}" for key, n in figures if n]
    inside = ", ".join(told if len(told) > 1 else []) + (f"{': ' if len(told) > 1 else ''}{whole}" if whole < 0 else "")
    return f" ({inside})" if inside else ""


def figure(key: str, n: int = 1, id: str = "") -> str:
    """The noun of a figure, after its number."""
    if key == "packs":
        return PACKS[n > 0]
    if id == "emergency":
        return key.replace("hand_counted", "counted by hand").replace("left", "left there")
    return FIGURES.get(key) or (ONE.get(key) if n == 1 else None) or key.replace("_", " ")


def place(id: str, scope: Mapping[str, Any] | None) -> str:
    """The subject of a line, before its figures: a tabulator, a contest, a precinct, the pile of copies."""
    kind, *parts = id.split(":")
    about = [subject(kind, part) for part in parts] + scope_words(scope)
    return ", ".join(about) + ": " if about else ""


def subject(kind: str, of: str) -> str:
    """What a line is about, in words where it has some: the tabulator, the contest, the pile."""
    return PILES_AT_CLOSE.get(of, of) if kind == "pile" else of


def scope_words(scope: Mapping[str, Any] | None) -> list[str]:
    """A scope in words, part by part: precinct P3, style 3A, copies."""
    return [
        PILES.get(value, str(value)) if key == "origin" else f"{key} {value}" for key, value in (scope or {}).items()
    ]


def named(id: str, scope: Mapping[str, Any] | None = None) -> str:
    """A line as a noun phrase: the poll book of precinct P3, the bins of T1."""
    kind, _, of = id.partition(":")
    about = scope_words(scope)
    name = LINES[kind].name if kind in LINES else f"the line {kind}"
    return name.format(of=subject(kind, of).replace(":", " on ")) + (f" of {', '.join(about)}" if about else "")


def seal(at: str, applied: str, found: str) -> str:
    """Two seal numbers as written, and what to do when they differ."""
    if applied == found:
        return f"{at}: seal {found} found, {applied} applied last: {AGREE}; 0 seals differ, 0 may."
    return f"{at}: seal {found} found, {applied} applied last: 1 seal differs, 0 may. Stop, do not open it, and call the office."


def unsettled(key: str, counts: Sequence[int]) -> str:
    """A note on hand counts whose last two differ."""
    listed = ", ".join(str(n) for n in counts)
    return f"The last two counts of {COUNTED.get(key, key.replace('_', ' '))} differ ({listed}): the last, {counts[-1]}, counts; count again until two in a row agree."


def not_returned(n: int, sheet: str) -> str:
    """Returns the sentence that n ballots lack this sheet ("2", "3" ...)."""
    ordinal = {"2": "second", "3": "third", "4": "fourth"}.get(sheet, f"number {sheet}")
    return f"{n} {ordinal} sheet{'' if n == 1 else 's'} not returned."


def overvotes(way: Any) -> str:
    """How overvotes were counted, and how that is known."""
    how = {
        "stated": "as the rules state",
        "more-lines-agree": f"{way.agree_as_votes} contest lines agree as votes, {way.agree_as_ballots} as ballots",
        "every-figure-a-multiple": "both ways agree equally often and every overvote figure is a multiple of its vote-for",
        "not-every-figure-a-multiple": "both ways agree equally often and some overvote figure is no multiple of its vote-for",
    }[way.known]
    counted = "ballots (each costs all its votes)" if way.overvotes == "ballots" else "lost votes"
    return f"Overvotes taken as {counted}: {how}."
