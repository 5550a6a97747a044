"""Fields that a form leaves empty because the record or plain arithmetic gives them: nobody is asked, and the signers read them in the statement."""

from collections.abc import Mapping

from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.checklist.form_input import is_exception
from webapp.precinct.day import seal_log
from webapp.precinct.day.hours import closing_hour, wall
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Field, Step, last

PARTS_OF_NONE = ("fed", "hand_counted", "left")


def with_known(
    step: Step, at: str, place: Place, day: DayView, form: Mapping[str, str], prefix: str = ""
) -> Mapping[str, str]:
    """The form with what need not be typed. What was typed is never changed, and an exception says everything itself."""
    if is_exception(step, form, prefix):
        return form
    if step.id == "emergency-opened":
        return _nothing_of_nothing(form, prefix)
    if step.id == "seals-accounted" and place.seals:
        return _seals_of_the_book(place, day, form, prefix)
    return form


def _nothing_of_nothing(form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
    """Of no ballots in the emergency bin none was fed, counted by hand or left."""
    if not _is_zero(form.get(f"{prefix}ballots_found", "")):
        return form
    return {**form, **{prefix + part: "0" for part in PARTS_OF_NONE if not form.get(prefix + part, "").strip()}}


def _is_zero(text: str) -> bool:
    try:
        return number(text.strip()) == 0
    except InvalidInput:
        return False


def _seals_of_the_book(place: Place, day: DayView, form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
    """Seals issued, as the place file lists them; seals applied, as the seal book has them with those written on this page."""
    known = {"issued": str(len(place.seals)), "applied": str(len(applied(place, day, form)))}
    return {**form, **{prefix + name: said for name, said in known.items() if not form.get(prefix + name, "").strip()}}


def applied(place: Place, day: DayView, form: Mapping[str, str]) -> frozenset[str]:
    """The issued seals that were applied today, and those that this page applies."""
    here = {value.strip() for name, value in form.items() if _seals(name)}
    return frozenset(place.seals) & (frozenset(seal_log.used(place, day)) | here)


def _seals(name: str) -> bool:
    """Whether an input of the page of the last seals takes the number of one: a container's, a memory's, a case's."""
    before, _, own = name.rpartition("/")
    field = own.partition(".")[0]
    step = before.partition(":")[0]
    return (step, field) in (
        ("containers-sealed", "seals"),
        ("memory", "seal"),
        ("tabulator-away", "case_seal"),
    )


def same(place: Place, day: DayView, field: Field, at: str) -> str:
    """What the key next to this field writes, as it would be typed: the figure of another step here, the hour in force; "" where it is not known yet."""
    if field.same == "closing-hour":
        return wall(place, closing_hour(place, day))
    step, _, name = field.same.partition(".")
    kept = last(day, step, at) if name else None
    found = kept.body.get(name) if kept else None
    return str(found) if isinstance(found, int) else ""
