"""What is signed, in plain sentences: every figure of a body in the order of its fields, so that the second signer reads what the first one typed.

A field's words are in the checklists (`tell`, `none`, `blank`, `hush`, `each`); a field that the office added is
described by its label.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from webapp.precinct.checklist import field_options, second_counts, system_entries
from webapp.precinct.checklist.field_words import Teller, quoted, small, step_of, title
from webapp.precinct.checklist.step_text import fill
from webapp.precinct.day.hours import HOUR, wall
from webapp.precinct.day.seats import seats
from webapp.precinct.day.short_signed import WHYS, at_work
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, EntryView, NoDay, Step

GOES_ON = (" ", ",", ":")  # how a part begins that goes on with the sentence before it,
FOLDED = "What it read of counters and piles is hidden until the closing counts are signed"
ALONE = ("Exception", "Not ticked", "Done: ")  # but never with these


def statement(
    kind: str,
    body: Mapping[str, Any],
    place: Place,
    day: DayView | None = None,
    texts: Mapping[str, str] | None = None,
    unseen: Collection[str] = (),
) -> str:
    """The heading, then each figure in plain sentences, exceptions and free words in full; one line. `unseen`: fields that are hidden now."""
    return " ".join(sentences(kind, body, place, day, texts, unseen))


def sentences(
    kind: str,
    body: Mapping[str, Any],
    place: Place,
    day: DayView | None = None,
    texts: Mapping[str, str] | None = None,
    unseen: Collection[str] = (),
) -> tuple[str, ...]:
    """The statement as a list: the heading, then a sentence for each line that is shown before signing."""
    return tuple(_joined([title(kind, body.get("at", ""), place), *_parts(kind, body, place, day, texts, unseen)]))


def summary(
    kind: str,
    body: Mapping[str, Any],
    place: Place,
    day: DayView | None = None,
    texts: Mapping[str, str] | None = None,
    unseen: Collection[str] = (),
) -> str:
    """The figures of a body in words, without its heading."""
    return " ".join(_joined(_parts(kind, body, place, day, texts, unseen)))


def _parts(
    kind: str,
    body: Mapping[str, Any],
    place: Place,
    day: DayView | None,
    texts: Mapping[str, str] | None,
    unseen: Collection[str] = (),
) -> list[str]:
    """The parts that follow the heading: sentences, and pieces that continue the one before."""
    texts, step = texts or {}, step_of(kind, place)
    if step is None:
        own = _of_the_laptop(kind, body, place, day, texts)
        return [f": {own}"] if own else []
    if kind == "handed-back" and "tally" in body:
        return list(_hour_of_tallies(step, body, place))
    step = fill(step, place, body.get("at", ""))
    teller = Teller(place, day or NoDay(), body, texts)
    said = teller.exception()
    for field in step.fields:
        if field.name not in unseen:
            said += teller.field(field)
    said += [FOLDED] if unseen else []
    said += [_short(step, short, texts, place, day) for short in body.get("short", ())]
    return said or ["No figure was entered"]


def _joined(parts: Iterable[str]) -> Iterable[str]:
    """Parts as sentences: one that goes on is put to the sentence before it, unless that says what is not so."""
    said: list[str] = []
    for part in filter(None, parts):
        if part.startswith(GOES_ON) and said and not said[-1].startswith(ALONE):
            said[-1] += part
        else:
            said.append(part.lstrip(" ,:"))
    return (ended(part[:1].upper() + part[1:]) for part in said)


def ended(sentence: str) -> str:
    """The sentence with its full stop, unless quoted words or the sentence itself end with one."""
    return sentence if re.search(r"[.?!]”?$", sentence) else sentence + "."


def _short(step: Step, short: Mapping[str, Any], texts: Mapping[str, str], place: Place, day: DayView | None) -> str:
    """Which seat is empty, why, and who at the office was notified."""
    labels = {seat.name: seat.label for seat in seats(step.signs if step.signs != "all" else "any")}
    people = dict(field_options.things("official", place, day or NoDay()))
    seat = labels.get(short["seat"]) or people.get(short["seat"], f"“{short['seat']}”")
    when = f" at {wall(place, short['told_at'])}" if short.get("told_at") else ""
    return f"SHORT-SIGNED: the seat for {seat} is empty ({WHYS.get(short['why'], short['why'])}{at_work(short)}), office told{when}: {quoted(texts, 'told')}"


def _hour_of_tallies(step: Step, body: Mapping[str, Any], place: Place) -> Iterable[str]:
    """One hour's taps: each message, what the voters did, how often."""
    messages, outcomes = (dict(step.known(name).choices) for name in ("message", "outcome"))
    yield f", {wall(place, body['hour'])} to {wall(place, body['hour'] + HOUR)}" + ("" if body["tally"] else ": none")
    for message, row in body["tally"].items():
        yield f"{messages.get(message, message)}: " + ", ".join(
            f"{count} {small(outcomes.get(outcome, outcome))}" for outcome, count in row.items()
        )


def _of_the_laptop(
    kind: str, body: Mapping[str, Any], place: Place, day: DayView | None, texts: Mapping[str, str]
) -> str:
    """What the laptop keeps by itself, and what changes another entry."""
    if kind == "correction":
        inner = getattr(day, "entry", lambda n: None)(body["of"])
        unseen: Callable[[EntryView], Collection[str]] = getattr(day, "unseen", lambda inner: ())
        said = summary(inner.kind, body["body"], place, day, texts, unseen(inner)) if inner else ""
        return f"entry {body['of']} now says: {said} " + ended(f"Why: {quoted(texts, 'reason')}")
    if kind == "counted-again":
        return second_counts.describe(body, place, day)
    if kind == "keying":
        return title(body["of"], body.get("at", ""), place)
    return system_entries.describe(kind, body, place, day, texts)
