"""The one button of an everyday note: its words, and what pressing it records. Nothing is filled in beforehand.

A note of two taps is true because its button says the whole of it: "Keep it: one ballot of 3A, given another ballot,
marked in the poll book".
"""

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.precinct.checklist import field_options
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Field, Step

ELSE = "Something else is filled in on this page. To keep that, use the button at its end; or empty it, and press this one again."
WORDS = ("found", "done", "not_so")


@dataclass(frozen=True, slots=True)
class Offer:
    """The buttons of a note. buttons: ((value, words), ...). also: words above them that each press confirms too."""

    also: str
    buttons: tuple[tuple[str, str], ...]


def offer(step: Step, place: Place, day: DayView, at: str, values: Mapping[str, str]) -> Offer | None:
    """What may be kept with one tap; None where this note has no such button, or its tile was not chosen yet."""
    if not step.usual:
        return None
    tiled = step.field(step.tiles) if step.tiles else None
    chosen = values.get(step.tiles, "") or (field_options.default(tiled, place, day, at) if tiled else "")
    tile = dict(field_options.choices(tiled, place, day, at)).get(chosen, "") if tiled else ""
    if tiled and not tile:
        return None

    def say(words: str, press: str = "") -> str:
        return words.replace("{tile}", tile).replace("{press}", press[:1].lower() + press[1:])

    pressed = step.field(step.press) if step.press else None
    found = _in_order(pressed, place, day, at) if pressed else (("yes", ""),)
    return Offer(say(step.usual_also), tuple((value, f"Keep it: {say(step.usual, words)}") for value, words in found))


def _in_order(field: Field, place: Place, day: DayView, at: str) -> tuple[tuple[str, str], ...]:
    """Its choices, the one that an instruction asks for first."""
    found = field_options.choices(field, place, day, at)
    wanted = field_options.by_rule(field, place, day) if field.name in field_options.RULED else ""
    return tuple(sorted(found, key=lambda choice: choice[0] != wanted))


def pressed(
    step: Step, place: Place, day: DayView, at: str, form: Mapping[str, str], prefix: str = ""
) -> tuple[Mapping[str, str], str]:
    """The form with what the pressed button said, and "" ; or the form as it is and why the button cannot say it: something else is filled in."""
    if step.form == "tally":
        return _cell(step, form, prefix), ""
    value = str(form.get(f"{prefix}usual", "")).strip()
    if not value or not step.usual:
        return form, ""
    filled = dict(form)
    for field in step.fields:
        name = prefix + field.name
        typed = str(form.get(name, "")).strip()
        if field.name == step.tiles:
            continue
        wanted = value if field.name == step.press else field.usual
        if typed not in ("", wanted, field_options.default(field, place, day, at)):
            return form, ELSE
        if wanted:
            filled[name] = wanted
    return (form, ELSE) if any(str(form.get(prefix + name, "")).strip() for name in WORDS) else (filled, "")


def _cell(step: Step, form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
    """The form of an hour's tally with the cell that was tapped: "overvote/new-ballot" is its message and its outcome."""
    message, slash, outcome = str(form.get(f"{prefix}cell", "")).partition("/")
    if not slash or form.get(f"{prefix}message") or form.get(f"{prefix}outcome"):
        return form
    return {**form, f"{prefix}message": message, f"{prefix}outcome": outcome}
