"""A form as it was typed, for one step at one place: the value of each control, its free words, and the mistakes found so far."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from webapp.precinct.checklist import field_options
from webapp.precinct.checklist.field_parsers import InvalidInput, number
from webapp.precinct.day import out_of_use
from webapp.precinct.place import plain_words
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Field, Step

LONGEST = 2000  # letters of one text
TICKS = ("yes", "on", "true", "1")


@dataclass
class FormInput:
    """One form for one step here. `now` and `said` are ms UTC; `mistakes` are sentences by input name; `words` are free words by field.

    `known`: numbers that are settled beforehand, by input name; None where nothing is to be kept. What is typed for them is not read.
    """

    step: Step
    at: str
    place: Place
    day: DayView
    form: Mapping[str, str]
    now: int
    prefix: str
    said: int
    known: Mapping[str, int | None] = field(default_factory=dict)
    mistakes: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    happened: int | None = None

    @property
    def not_so(self) -> bool:
        return is_exception(self.step, self.form, self.prefix)

    def text(self, name: str) -> str:
        """Returns what was typed for this input, without spaces around it; "" if nothing was."""
        return str(self.form.get(self.prefix + name, "")).strip()

    def wrong(self, name: str, sentence: str) -> None:
        """Notes a mistake of this control, unless it has one already. sentence: what to correct."""
        self.mistakes.setdefault(self.prefix + name, sentence)

    def keep_words(self, name: str, text: str) -> None:
        """Keeps free words under the name of their field. A text that is too long or no plain text is noted as a mistake."""
        if wrong := plain_words.mistake(text, LONGEST):
            self.wrong(name, wrong)
        self.words[name] = text

    def given(self, one: Field, name: str) -> str:
        """The text of a control; "" where it may be empty and is. Raises `InvalidInput` where it must be filled.

        A control that the form did not send has its default, so that a note of two taps needs none of its figures.
        """
        text = (
            ""
            if self.prefix + name in self.known
            else self.text(name)
            if self.prefix + name in self.form
            else field_options.default(one, self.place, self.day, self.at)
        )
        if (
            not text
            and not self.not_so
            and (not one.optional or self.needed(one, name))
            and not self.stands_still(one, name)
        ):
            raise InvalidInput
        return text

    def number(self, one: Field, name: str) -> int | None:
        """The number of a control: the one that is known, else what was typed. Raises `InvalidInput`."""
        if (known := self.known.get(self.prefix + name)) is not None:
            return known
        text = self.given(one, name)
        return number(text) if text else None

    def is_there(self, under: str) -> bool:
        """Whether anything is known or typed in a control whose name begins so."""
        begins = f"{self.prefix}{under}."
        return any(value is not None for name, value in self.known.items() if name.startswith(begins)) or any(
            str(value).strip()
            for name, value in self.form.items()
            if name.startswith(begins) and name not in self.known
        )

    def stands_still(self, one: Field, name: str) -> bool:
        """Whether this is the counter of a tabulator that is out of use: nobody reads it again."""
        return (
            one.per in ("running", "box-running") and out_of_use.out_with(self.day, name.partition(".")[2]) is not None
        )

    def needed(self, one: Field, name: str) -> bool:
        """An optional field that is asked for all the same: by the place's rule, or for the containers that hold ballots."""
        if one.needs == "bins_counted":
            return self.place.rules.bins_counted == "always"
        thing = name.partition(".")[2]
        return one.needs == "ballots" and any(c.id == thing and c.ballots for c in self.place.containers)

    def label(self, one: Field, thing: str) -> str:
        """Returns the field's label; with the name of the thing that it is asked for, where it is asked for several."""
        words = dict(field_options.things(one.per, self.place, self.day, self.at)).get(thing) if one.per else ""
        return one.named(words) if words else one.label


def is_exception(step: Step, form: Mapping[str, str], prefix: str = "") -> bool:
    """Whether this form says "it is not so": its box is ticked, or something is written under it. What was written there is never dropped."""

    def said(name: str) -> str:
        return str(form.get(prefix + name, "")).strip()

    return said("not_so") in TICKS or bool(step.not_so and (said("found") or said("done")))
