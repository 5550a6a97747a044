"""Hand counts repeated by another pair: which counts are behind a line of the balance, and how a second count is recorded and described.

The first count stays as it was signed; another pair's count is taken blind and gets an entry of its own (`counted-
again`). Two equal counts in a row settle a figure, else the last one is in force and the line says so (UK Electoral
Commission, count model; Prince William County 2022: a second count of a bin by another team closed a gap of 27).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct import numbers
from webapp.precinct.balance.line import Line
from webapp.precinct.checklist import field_options
from webapp.precinct.checklist.step_text import fill
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.notes import book_weight
from webapp.precinct.place import seal_points
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place

ASIDE = ("spoiled", "provisional", "set_apart", "others")
COUNTED: dict[str, tuple[tuple[str, str], ...]] = {
    "stock": (("unused", "unused"), *(("aside-counts", field) for field in ASIDE)),
    "stubs": (("unused", "unused"),),
    "poll-book": (("book-count", "check_ins"), *(("aside-counts", field) for field in ASIDE[1:])),
    "paper-to-book": (("unused", "unused"), ("book-count", "check_ins"), *(("aside-counts", field) for field in ASIDE)),
    "bins": (("bins-out", "ballots"), ("bin-emptied", "ballots")),
    "aside": tuple(("aside-counts", field) for field in ASIDE),
    "emergency": (("emergency-opened", "ballots_found"),),
    "containers": (("containers-filled", "ballots"), ("bin-emptied", "ballots")),
    **{
        f"pile:{field.replace('_', '-')}": (("board-counts", field),)
        for field in ("empty", "held", "not_counted", "hand_counted", "originals")
    },
}
"""By a line's id, or its first word: (kind of entry, field) of each hand count that stands in it."""
COPIES = (("unused", "copies_unused"),)
PERS = {"style": "style", "precinct": "book"}  # scope of a line -> what a field is asked for
FATES = {"set_apart": "set-apart"}


@dataclass(frozen=True, slots=True)
class SecondCount:
    """One hand count of the record: `of` its entry, `counts` in order, `signers` (ids) of all of them."""

    of: int
    field: str
    thing: str  # "" where its field is one figure
    words: str  # Unused ballots of 3A
    ask: str  # what to write, where nothing or something else was typed
    counts: tuple[int, ...]
    signers: tuple[str, ...]

    @property
    def settled(self) -> bool:
        """Two equal counts in a row."""
        return len(self.counts) > 1 and self.counts[-1] == self.counts[-2]

    @property
    def where(self) -> str:
        """Its address: 41/unused/3A."""
        return "/".join(part for part in (str(self.of), self.field, self.thing) if part)


def behind(line: Line, place: Place, day: Day) -> tuple[SecondCount, ...]:
    """The hand counts that are part of a line, in its scope: another pair may repeat each of them."""
    scope, (kind, _, of) = dict(line.scope or {}), line.id.partition(":")
    listed = COPIES if scope.get("origin") == "copy" else COUNTED.get(line.id, COUNTED.get(kind, ()))
    box = seal_points.box_of(place, of) if kind == "bins" else None
    found = [
        count
        for name, field in listed
        for kept in day.of(name)
        if kind != "bins" or (box and kept.at == box.id)
        for count in counts_of(kept, field, place, day)
        if _in_scope(count, name, field, scope, place)
    ]
    return tuple(count for count in found if _stands(count, kind, of, place))


def find(number: int, field: str, thing: str, place: Place, day: Day) -> SecondCount | None:
    """The hand count of this address, if the record holds it and it counts."""
    kept = day.entry(number)
    if kept is None or kept.taken_back is not None or kept.not_so:
        return None
    return next((count for count in counts_of(kept, field, place, day) if count.thing == thing), None)


def counts_of(kept: CurrentEntry, field: str, place: Place, day: Day) -> Iterator[SecondCount]:
    """Each hand count of one field of an entry; of the bins also those that nobody has counted yet."""
    step = next((s for s in steps(place) if s.id == kept.kind), None)
    asked = fill(step, place, kept.at).field(field) if step else None
    if asked is None or asked.kind != "counts" or kept.not_so:
        return
    value, signers = kept.body.get(field), tuple(s.person for s in kept.signers)
    if not asked.per:
        if value is not None:
            yield _count(kept, field, "", asked.label, asked.ask, value, signers)
        return
    for thing, words in field_options.things(asked.per, place, day, kept.at):
        mine = (value or {}).get(thing)
        if mine is not None or kept.kind == "bins-out":
            yield _count(kept, field, thing, asked.named(words), asked.ask, mine, signers)


def _count(
    kept: CurrentEntry, field: str, thing: str, words: str, ask: str, value: Any, signers: tuple[str, ...]
) -> SecondCount:
    counts = () if value is None else tuple(value) if isinstance(value, list | tuple) else (value,)
    later = tuple(
        s.person for again in kept.again if (again.field, again.thing) == (field, thing) for s in again.signers
    )
    return SecondCount(
        kept.number,
        field,
        thing,
        words + (f", box {kept.at}" if kept.kind in ("bins-out", "bin-emptied", "emergency-opened") else ""),
        ask,
        counts,
        (*signers, *later),
    )


def _in_scope(count: SecondCount, kind: str, field: str, scope: dict[str, Any], place: Place) -> bool:
    """A line of one style or precinct holds the counts of that style or precinct, and those that name none."""
    step = next(s for s in steps(place) if s.id == kind)
    per = step.known(field).per
    return all(PERS.get(dimension) != per or count.thing == str(value) for dimension, value in scope.items())


def _stands(count: SecondCount, line: str, of: str, place: Place) -> bool:
    """Whether a set-aside kind is part of this line, by the table and the place file."""
    if count.field not in ASIDE:
        return True
    fate = count.thing if count.field == "others" else FATES.get(count.field, count.field)
    if line == "aside":
        return of.removesuffix("-not-reissued") == fate
    return line != "poll-book" or book_weight(fate, "paper", place) != 0


def describe(body: Mapping[str, Any], place: Place, day: Any) -> str:
    """What another pair signs: the figure by its name, and what they counted."""
    kept = day.entry(day.root(body["of"])) if day else None
    found = (
        next((c for c in counts_of(kept, body["field"], place, day) if c.thing == body.get("thing", "")), None)
        if kept
        else None
    )
    return (
        f"{found.words if found else body['field']}, entry {body['of']}: {numbers.few(body['n'], 'counted', 'counted')}"
    )
