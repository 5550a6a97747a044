"""Turns a step's fields into blanks: boxes to tick, rules to write on, choices, small tables.

What the program works out on the screen is worked out on the worksheets; a contest's figures are on the keying sheets.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from webapp.paper.parts.write_in_parts import BOX
from webapp.precinct.checklist import field_options
from webapp.precinct.checklist.field_words import OURS, small
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Field, Step

WIDE = {
    "number": 26.0,
    "time": 26.0,
    "seal": 34.0,
    "code": 34.0,
    "numbers": 40.0,
    "choice": 40.0,
}  # mm of the rule behind a label
COUNTS = 3  # hand counts: the last two equal settle it
POINTS = ("seal-point", "sealed-point")  # asked of whatever is sealed: a table with rows to fill in
MANY = 7  # choices more than this are written, not ticked
ELSEWHERE = {
    "contests": "The figures of each contest: on the two keying sheets of {at}.",
    "contests_by_precinct": "The figures of each contest, precinct by precinct: on the two keying sheets of {at}.",
    "gaps": "From the worksheet: each line that is off, and by how many.",
    "lines": "The lines it speaks of, and by how many each is off:",
    "reading": "The noon reading: sign it on the sheet of the readings too.",
}


@dataclass(frozen=True, slots=True)
class Blank:
    """One thing to fill in. kind: tick, write, counts, yes-no, choose, lines, rows or said; `width` of its rule in mm."""

    kind: str
    label: str
    width: float = 26.0
    choices: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()

    @property
    def few(self) -> bool:
        """Whether a label and its choices fit into half the width: Style, 3A or 4A."""
        return len(self.choices) <= 3 and len(self.label) + sum(len(words) + 6 for words in self.choices) <= 40

    @property
    def whole(self) -> bool:
        """Whether it takes the whole width of the sheet."""
        if self.kind == "choose":
            return not self.few
        return self.kind in ("lines", "rows", "said") or (
            self.kind in ("yes-no", "tick", "write") and len(self.label) > 62
        )


def blanks(step: Step, place: Place, day: Day, at: str) -> Iterator[Blank]:
    """The blanks of a step at this place, in the order of its fields; neighbors that ask figures of the same things become one table."""
    fields = [f for f in step.fields if f.kind != "worked-out" or f.name in ELSEWHERE]
    while fields:
        field, alike = fields[0], [f for f in fields if f.per == fields[0].per]
        if field.per in POINTS:
            yield _points(alike, place)
        elif field.per and len(alike) > 1 and not field.kind == "votes" and len(_things(field, place, day, at)) > 0:
            alike = [f for f in alike if f.kind != "votes"]
            yield _grid(alike, _things(field, place, day, at))
        else:
            alike = [field]
            yield from _one(field, place, day, at)
        fields = [f for f in fields if f not in alike]


def _things(field: Field, place: Place, day: Day, at: str) -> field_options.Things:
    """The things of a field; for a note that serves several boxes, the counters of all their tabulators."""
    return field_options.things(field.per, place, day, "" if field.per == "box-running" else at)


def _points(fields: Sequence[Field], place: Place) -> Blank:
    """Rows for seals: as many as the place has sealed points, and some more."""
    rows = -(-max(6, min(len(place.applied) + len(place.boxes), 14)) // 2)
    heads = ("Where", *(f.heading for f in fields)) * 2
    return Blank("rows", "", choices=heads, rows=(("",) * len(heads),) * rows)


def _grid(fields: Sequence[Field], rows: field_options.Things) -> Blank:
    heads = tuple(f"{f.heading}{', each count' if f.kind == 'counts' else ''}" for f in fields)
    cells = tuple(
        (words[:1].upper() + words[1:], *(BOX if f.kind in ("yes", "tick") else "" for f in fields))
        for _, words in rows
    )
    return Blank("rows", "", choices=("", *heads), rows=cells)


def _one(field: Field, place: Place, day: Day, at: str) -> Iterator[Blank]:
    """The blanks of one field, once or for each of its things."""
    if field.kind == "votes" or field.kind == "worked-out":
        yield Blank("said", ELSEWHERE.get(field.name, "").replace("{at}", at))
        return
    asked = (
        [(_named(field, words), thing) for thing, words in _things(field, place, day, at)]
        if field.per
        else [(field.label, "")]
    )
    if field.per and field.kind == "time":
        yield Blank(
            "rows",
            "",
            choices=("", field.heading),
            rows=tuple((words, "") for _, words in _things(field, place, day, at)),
        )
        return
    for label, _ in asked:
        yield _blank(field, label[:1].upper() + label[1:], place, day, at)


def _named(field: Field, words: str) -> str:
    """The label of one of several things; a name of ours begins in lower case: "Minutes off, this laptop"."""
    return field.named(small(words) if field.per in OURS and ":" not in field.named("") else words)


def _blank(field: Field, label: str, place: Place, day: Day, at: str) -> Blank:
    match field.kind:
        case "yes" | "tick":
            return Blank("tick", label)
        case "yes-no":
            return Blank("yes-no", label)
        case "counts":
            return Blank("counts", label)
        case "words":
            return Blank("lines", label)
        case "tally":
            return Blank("rows", label, choices=(label, "Votes"), rows=(("", ""),) * 3)
        case "choice":
            found = [words for _, words in field_options.choices(field, place, day, at)]
            if len(found) > MANY or field.of in ("official", "working", "carrier", "seal-point"):
                return Blank("write", label, 44.0)
            return Blank("choose", label, choices=tuple(found))
    return Blank("write", label, WIDE.get(field.kind, 26.0))
