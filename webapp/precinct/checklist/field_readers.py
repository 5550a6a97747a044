"""One control of a form, by the kind of its field: a tick, a time, a number, a seal ... Each gives a value, or None where nothing is to be kept."""

from collections.abc import Callable
from datetime import time
from typing import Any

from webapp.precinct.checklist import expected_values, field_options, field_parsers
from webapp.precinct.checklist.expected_values import NOT_SO
from webapp.precinct.checklist.field_parsers import InvalidInput
from webapp.precinct.checklist.form_input import TICKS, FormInput
from webapp.precinct.day.hours import wall
from webapp.precinct.place.step import Field

NEXT_DAY = 24 * 3_600_000  # ms
EARLY = 60_000  # how far a clock on the wall may be ahead of the laptop's


def _tick(reader: FormInput, one: Field, name: str, thing: str) -> bool:
    return reader.text(name) in TICKS


def _yes(reader: FormInput, one: Field, name: str, thing: str) -> bool:
    ticked = reader.text(name) in TICKS
    if not ticked and not reader.not_so:
        raise InvalidInput(
            f"Tick “{reader.label(one, thing)}”" + (f", or {NOT_SO}." if reader.step.not_so else " when it is so.")
        )
    return ticked


def _yes_no(reader: FormInput, one: Field, name: str, thing: str) -> bool | None:
    sent = reader.text(name) if reader.prefix + name in reader.form else one.default
    if sent not in ("yes", "no"):
        if one.optional or reader.not_so:
            return None
        raise InvalidInput(f"Select yes or no: {reader.label(one, thing)}.")
    return sent == "yes"


def _time(reader: FormInput, one: Field, name: str, thing: str) -> int | None:
    text = reader.given(one, name)
    if not text:
        return None
    if twice := field_parsers.half_missing(reader.place, text):
        raise InvalidInput(twice)
    found = field_parsers.moment(reader.place, text, reader.said)
    if found is None:
        raise InvalidInput
    if found > reader.now + EARLY and not one.later:
        if found >= reader.place.at(time(0)) + NEXT_DAY:
            raise InvalidInput  # 25:10 is said past midnight, and no time before
        raise InvalidInput(
            f"{text} is still to come: it is {wall(reader.place, reader.now)} by the laptop's clock. {one.ask}"
        )
    if one.name == "time":
        reader.happened = found
    return found


def _number(reader: FormInput, one: Field, name: str, thing: str) -> int | None:
    found = reader.number(one, name)
    if found is not None and not reader.not_so:
        expected_values.number(reader.place, reader.day, one, reader.label(one, thing), thing, found)
    return found


def _counts(reader: FormInput, one: Field, name: str, thing: str) -> int | list[int] | None:
    text = reader.given(one, name)
    return field_parsers.counts(text) if text else None


def _numbers(reader: FormInput, one: Field, name: str, thing: str) -> list[int] | None:
    text = reader.given(one, name)
    return field_parsers.numbers(text) if text else None


def _tally(reader: FormInput, one: Field, name: str, thing: str) -> dict[str, int] | None:
    text = reader.given(one, name)
    return field_parsers.tally(text) if text else None


def _printed(reader: FormInput, one: Field, name: str, thing: str) -> str | None:
    text = reader.given(one, name)
    if not text:
        return None
    text = field_parsers.printed(text)
    if reader.not_so:
        return text
    point = (
        thing
        or reader.text("where")
        or {"tabulator": f"{reader.at}-door", "box": f"{reader.at}-{reader.text('bin')}"}.get(reader.step.per, "")
    )
    if one.must == "on-now":
        expected_values.seal_on_now(reader.place, reader.day, point, text)
    elif one.must == "spare":
        expected_values.spare_seal(reader.place, reader.day, thing, text, reader.form)
    elif one.must == "serial":
        expected_values.serial(reader.place, reader.at, text)
    return text


def _choice(reader: FormInput, one: Field, name: str, thing: str) -> str | None:
    sent = reader.prefix + name in reader.form
    text = reader.text(name) if sent else field_options.default(one, reader.place, reader.day, reader.at)
    if one.must == "chosen" and not sent and not reader.not_so:
        raise InvalidInput(one.ask)
    if not text and (one.optional or reader.not_so):
        return None
    if text not in dict(field_options.choices(one, reader.place, reader.day, reader.at)):
        label = reader.label(one, thing)
        raise InvalidInput(f"Select one: {label[:1].lower()}{label[1:]}.")
    return text


def _several(reader: FormInput, one: Field, name: str, thing: str) -> list[str] | None:
    """The choices that are ticked, in the order of the place file; all there is, where there is but one."""
    listed = [key for key, _ in field_options.choices(one, reader.place, reader.day, reader.at)]
    ticked = [key for key in listed if reader.text(f"{name}.{key}") in TICKS]
    if not ticked and len(listed) == 1:
        return listed
    if not ticked and not one.optional and not reader.not_so:
        raise InvalidInput
    return ticked or None


def _words(reader: FormInput, one: Field, name: str, thing: str) -> None:
    text = reader.given(one, name)
    if text:
        reader.keep_words(name, text)


KINDS: dict[str, Callable[[FormInput, Field, str, str], Any]] = {
    "yes": _yes,
    "tick": _tick,
    "yes-no": _yes_no,
    "time": _time,
    "number": _number,
    "counts": _counts,
    "numbers": _numbers,
    "seal": _printed,
    "code": _printed,
    "choice": _choice,
    "several": _several,
    "words": _words,
    "tally": _tally,
}
