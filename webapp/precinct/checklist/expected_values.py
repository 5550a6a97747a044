"""Compares what was typed with what is expected: the seal last applied, a spare of the issued list, the plate's number, what was delivered.

The sentence for a seal that was misread never names the right number: people read the seal again. What stays
different is recorded as an exception.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from math import ceil

from webapp.precinct.checklist.field_parsers import InvalidInput
from webapp.precinct.day import seal_log
from webapp.precinct.place import seal_points
from webapp.precinct.place.default_steps import defaults
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Field
from webapp.precinct.plausibility.asked import NOT_SO
from webapp.precinct.plausibility.clocks_and_roles import CLOCK_CHANGE, MISSED


def seal_on_now(place: Place, day: DayView, point: str, text: str) -> None:
    """Raises InvalidInput unless the number is the one last applied at this point; where none is known, any number is taken."""
    wanted = seal_log.expected(place, day, point)
    if wanted is not None and wanted != text:
        raise InvalidInput(
            f"{text} is not the number that was last applied there. Read the seal again; if it stays so, {NOT_SO}."
        )


__all__ = ["NOT_SO", "number", "seal_on_now", "serial", "spare_seal"]


def spare_seal(place: Place, day: DayView, point: str, text: str, form: Mapping[str, str]) -> None:
    """Refuses a seal that is not on the issued list, that is applied already, or that is typed twice on the page."""
    if point and seal_log.expected(place, day, point) == text:
        return  # sealed earlier, such as a container closed at noon: its number is written once more
    sentence = seal_log.why_not_spare(place, day, text)
    if (
        sentence is None
        and sum(value.strip() == text for name, value in form.items() if _field_of(name) in _spare_names()) > 1
    ):
        sentence = f"Seal {text} is here twice. Each seal is applied once: read them again."
    if sentence:
        raise InvalidInput(sentence)


@lru_cache(maxsize=1)
def _spare_names() -> frozenset[str]:
    return frozenset(field.name for step in defaults() for field in step.fields if field.must == "spare")


def _field_of(name: str) -> str:
    """The field of an input name: "sealing/seals.C1" -> "seals"."""
    return name.rpartition("/")[2].partition(".")[0]


def serial(place: Place, at: str, text: str) -> None:
    """Compares a typed serial number with the tabulator's. Raises InvalidInput where it is another; the right one is not shown."""
    tabulator = seal_points.tabulator_of(place, at)
    if tabulator and tabulator.serial != text:
        raise InvalidInput(
            f"{text} is not the serial number that the office sent. Read the plate again; if it stays so, {NOT_SO}."
        )


def delivered(place: Place, day: DayView, style: str, found: int) -> None:
    """As many packs of this style as the place file lists, a last one that is not full counted or not."""
    stock = next((s for s in place.stock if s.style == style and s.pack), None)
    if stock and stock.pack and not stock.received // stock.pack <= found <= ceil(stock.received / stock.pack):
        raise InvalidInput(_differs(f"packs of style {style}", found, ceil(stock.received / stock.pack)))


def all_seals(place: Place, day: DayView, thing: str, found: int) -> None:
    if place.seals and found != len(place.seals):
        raise InvalidInput(_differs("seals", found, len(place.seals)))


def _differs(what: str, found: int, listed: int) -> str:
    way = "more" if found > listed else "fewer"
    return f"{found} {what} here, {listed} in the place file: {abs(found - listed)} {way}. Count again; if it stays so, {NOT_SO}."


NUMBERS: dict[str, Callable[[Place, DayView, str, int], None]] = {"delivered": delivered, "all-seals": all_seals}


def number(place: Place, day: DayView, field: Field, label: str, thing: str, found: int) -> None:
    """Raises InvalidInput where a number is more than it may be, or does not agree with what the place was given."""
    if field.name == "minutes_off" and found in CLOCK_CHANGE:
        raise InvalidInput(f"{label}: {MISSED.format(found)}")
    if field.most is not None and found > field.most:
        raise InvalidInput(f"{label}: {found} is more than {field.most}. Look again; if it stays so, {NOT_SO}.")
    if field.must:
        NUMBERS[field.must](place, day, thing, found)
