"""Reads a form as it was sent, by the fields of its step: a body to be recorded, or one sentence for each mistake.

Nothing is recorded while there is a mistake. An exception ("it is not so") needs two sentences in words; the rest may
then be empty.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from webapp.precinct.checklist import field_options, quick_note, worked_out, written_at
from webapp.precinct.checklist.cross_field_checks import CHECKS
from webapp.precinct.checklist.field_parsers import InvalidInput, moment
from webapp.precinct.checklist.field_readers import KINDS
from webapp.precinct.checklist.form_input import TICKS, FormInput, is_exception
from webapp.precinct.place.place import Contest, Place
from webapp.precinct.place.step import DayView, Field, Read, Step, Task
from webapp.precinct.plausibility.asked import Asked
from webapp.precinct.plausibility.rules import stops
from webapp.record.entry import quarter_hour

__all__ = ["FormReader", "is_exception", "moment", "read_form", "standing"]


def read_form(
    step: Step,
    at: str,
    place: Place,
    day: DayView,
    form: Mapping[str, str],
    now: int,
    prefix: str = "",
    said: int | None = None,
    known: Mapping[str, int | None] | None = None,
) -> Read:
    """What this form says for this step. With `mistakes` nothing is to be recorded.

    now: the laptop's clock, ms UTC. said: ms UTC; hours are of its day, where that is another. known: numbers that
    are settled already, by input name; None where nothing is to be recorded.
    """
    filled, refused = quick_note.pressed(step, place, day, at, form, prefix)
    filled = worked_out.with_known(step, at, place, day, filled, prefix)
    reader = FormReader(step, at, place, day, filled, now, prefix, now if said is None else said, known or {})
    read = reader.read()
    body = dict(read.body)
    if refused:
        reader.wrong("usual", refused)
    for check in CHECKS.get(step.id, ()):
        check(reader, body)
    read = replace(read, body=body)
    as_printed = step.form == "tape" and reader.text("as_printed") in TICKS
    if not reader.not_so and not as_printed:
        found = stops(Asked(step.id, at, read.body, place, day, now, beside(form, at)))
        new = {prefix + stop.name: stop.says for stop in found if prefix + stop.name not in read.mistakes}
        reader.mistakes |= new
        return replace(read, stops=new)
    return read


def beside(form: Mapping[str, str], at: str) -> dict[str, dict[str, str]]:
    """What a page of several steps carries for each of them here: {step id: {input name: text}}."""
    found: dict[str, dict[str, str]] = {}
    for name, value in form.items():
        before, slash, own = name.rpartition("/")
        step, _, where = before.partition(":")
        if slash and where in ("", at):
            found.setdefault(step, {})[own] = str(value)
    return found


class FormReader(FormInput):
    """Reads one form for one step here; gathers mistakes by input name."""

    def read(self) -> Read:
        """Returns the body that the form gives, its free words and its mistakes (sentences by input name)."""
        body: dict[str, Any] = {"at": self.at} if self.at and self.step.per else {}
        for one in self.step.fields:
            if one.kind == "worked-out":
                continue
            value = (
                self.votes_by_precinct(one)
                if one.only == "by-precinct"
                else self.votes(one, one.name, self.place.typed_contests())
                if one.kind == "votes"
                else self.map(one)
                if one.per
                else self.one(one, one.name, one.label)
            )
            if value is not None and value != {}:
                body[one.name] = value
        if written_at.asked(self.step, self.day) and self.text(written_at.NAME):
            asked = written_at.field(self.place.rules.clock)
            self.one(asked, written_at.NAME, asked.label)  # the time itself is the entry's
        body |= self.exception()
        happened = self.now if self.happened is None else self.happened
        return Read(
            body,
            self.words,
            quarter_hour(happened) if self.step.ballot else happened,
            self.mistakes,
            dict(self.form),
            self.happened is not None,
        )

    def exception(self) -> dict[str, Any]:
        """What was found and what was done, each in words, when it is not so."""
        if not self.not_so:
            return {}
        for name, sentence in (
            ("found", "Enter what was found instead, with no names and no choices."),
            ("done", "Enter what was done about it, and who was told."),
        ):
            if not self.text(name):
                self.wrong(name, sentence)
            else:
                self.keep_words(name, self.text(name))
        return {"not_so": {"found": True, "done": True}}

    def map(self, one: Field) -> dict[str, Any]:
        """A value for each thing the field is asked for; what was left empty where it may be is not in it."""
        found = {}
        asked = field_options.things(one.per, self.place, self.day, self.at)
        for thing, label in asked:
            value = self.one(one, f"{one.name}.{thing}", one.named(label), thing)
            if len(asked) > 1:
                self.say_where(f"{one.name}.{thing}", label)
            if value is not None:
                found[thing] = value
        if one.least > len(found) and asked and not self.not_so:
            self.wrong(f"{one.name}.{asked[0][0]}", one.ask)
        return found

    def say_where(self, name: str, label: str) -> None:
        """A mistake begins with what it is about, where the same thing is asked of several."""
        sentence = self.mistakes.get(self.prefix + name, "")
        if sentence and label.lower() not in sentence.lower():
            self.mistakes[self.prefix + name] = f"{label[:1].upper()}{label[1:]}: {sentence}"

    def one(self, one: Field, name: str, label: str, thing: str = "") -> Any:
        """One value, or None where nothing is to be kept. A mistake is written down under the control's name."""
        try:
            return KINDS[one.kind](self, one, name, thing)
        except InvalidInput as mend:
            self.wrong(name, str(mend) or one.ask or f"Enter {label[:1].lower()}{label[1:]}.")
            return None

    def votes_by_precinct(self, one: Field) -> dict[str, Any]:
        """The contests of each precinct as on the tape; a precinct of which nothing was typed is not in it."""
        found: dict[str, Any] = {}
        for precinct in self.place.split():
            name = f"{one.name}.{precinct.id}"
            rows = self.votes(one, name, self.place.contests_of(precinct.id))
            found |= {precinct.id: rows} if rows else {}
            for wrong in [key for key in self.mistakes if key.startswith(f"{self.prefix}{name}.")]:
                self.say_where(wrong.removeprefix(self.prefix), precinct.name)
        return found

    def votes(self, one: Field, under: str, contests: Sequence[Contest]) -> dict[str, Any]:
        """Each contest as on the tape; a contest, and lines other than votes, may be left empty where the tape does not print them."""
        found: dict[str, Any] = {}
        for contest in contests:
            base = f"{under}.{contest.id}"
            if not self.is_there(base):
                continue
            row = {
                key: value
                for key in ("ballots", *(("write_in",) if contest.write_in else ()), "under", "over")
                if (value := self.one(_line(one, True), f"{base}.{key}", key)) is not None
            }
            row["votes"] = {
                c.id: v
                for c in contest.choices
                if (v := self.one(_line(one, False), f"{base}.votes.{c.id}", c.label)) is not None
            }
            for choice in contest.choices:
                self.say_where(f"{base}.votes.{choice.id}", f"{contest.title}, {choice.label}")
            found[contest.id] = row
        return found


def standing(tasks: Sequence[Task], form: Mapping[str, str], prefix: Callable[[Task], str]) -> tuple[Task, ...]:
    """The tasks of a page that this form keeps. Where a step says that it is not so and shuts its tabulator, what comes after it there falls away."""
    shut: set[str] = set()
    found = []
    for task in tasks:
        if task.state in ("shut", "missed") or (task.step.if_open and task.at in shut):
            continue
        found.append(task)
        if task.step.shuts and is_exception(task.step, form, prefix(task)):
            shut.add(task.at)
    return tuple(found)


def _line(one: Field, optional: bool) -> Field:
    return Field(one.name, "number", one.label, ask=one.ask, optional=optional)
