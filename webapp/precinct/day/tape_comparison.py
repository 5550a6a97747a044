"""A results tape typed twice: where the two sets differ, figure by figure in ballot order, and what both agree on."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from webapp.precinct.day.keyed_twice import KeyedTwice
from webapp.precinct.place.place import Contest, Place

TOTALS = (("write_in", "Write-ins"), ("under", "Undervotes"), ("over", "Overvotes"), ("ballots", "Ballots"))


def compared(first: Mapping[str, Any], second: Mapping[str, Any], place: Place) -> tuple[KeyedTwice, ...]:
    """Every figure of the tape in the order in which it prints, as both keyed it."""
    return tuple(
        KeyedTwice(name, section, label, _at(first, path), _at(second, path))
        for name, section, label, path in _lines(place)
    )


Line = tuple[str, str, str, tuple[str, ...]]
"""(control's name, section, line, path in the body)."""


def _lines(place: Place) -> Iterator[Line]:
    yield "public", "Counters", "Public counter", ("public",)
    yield "lifetime", "Counters", "Protective counter", ("lifetime",)
    for precinct in place.precincts:
        yield f"ballots.{precinct.id}", "Ballots", precinct.name, ("ballots", precinct.id)
    for precinct in place.split():
        path = ("contests_by_precinct", precinct.id)
        yield from _contests(place.contests_of(precinct.id), path, f"{precinct.name}: ")
    if not place.split():
        yield from _contests(place.typed_contests(), ("contests",), "")
    elif place.rules.votes == "both":
        yield from _contests(place.typed_contests(), ("contests",), "All precincts: ")


def _contests(contests: Iterable[Contest], path: tuple[str, ...], before: str) -> Iterator[Line]:
    """Every line of these contests in ballot order, each title with `before` in front."""
    for contest in contests:
        base, title = (*path, contest.id), f"{before}{contest.title}"
        for choice in contest.choices:
            at = (*base, "votes", choice.id)
            yield ".".join(at), title, choice.label, at
        for key, label in TOTALS:
            if key != "write_in" or contest.write_in:
                yield ".".join((*base, key)), title, label, (*base, key)


def _at(body: Mapping[str, Any], path: tuple[str, ...]) -> int | None:
    found: Any = body
    for part in path:
        if not isinstance(found, Mapping) or part not in found:
            return None
        found = found[part]
    return found


def sections(place: Place) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """((section, ((control's name, line), ...)), ...) for the keying form."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name, section, label, _ in _lines(place):
        found.setdefault(section, []).append((name, label))
    return tuple((section, tuple(rows)) for section, rows in found.items())
