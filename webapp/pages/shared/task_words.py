"""Tasks for pages: their forms with what each field offers, their progress, their headings and boxes for initials. Used by place and office."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

from flask import g

from webapp.pages.shared.entry_words import EntryWords
from webapp.precinct.account.balanced_day import BalancedDay, day_before
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.checklist.checklist import Field, Read, Step, Task
from webapp.precinct.day import seats as signing
from webapp.precinct.day import tape_comparison
from webapp.precinct.day.day import Day
from webapp.precinct.day.instructions import Order, about
from webapp.precinct.numbers import on_clock
from webapp.precinct.place.place import Place
from webapp.record.entry import Claim, Text

TAPE = "contests"  # the field whose lines are those of the tape itself
WEIGHTS = {
    "T": "Ticked by the official who holds the tablet.",
    "1": "Signed by one person.",
    "2": "Signed by two people.",
    "P": "Signed by two people of different parties. It is in the record when both have signed.",
    "all": "Signed by everyone who is at work.",
}


@dataclass(frozen=True, slots=True)
class InitialsBox:
    """One box for initials. kind: signed | waits | short | "" for not yet."""

    initials: str
    word: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """One checklist and how far it is. `left_out`: steps that need not be done any more, such as readings of an hour that is over."""

    id: str
    title: str
    done: int
    all: int
    left_out: int = 0

    @property
    def words(self) -> str:
        """ "5 of 13 done, 2 left out": what was left out is not counted as done."""
        return f"{self.done} of {self.all} done" + (f", {self.left_out} left out" if self.left_out else "")

    @property
    def over(self) -> bool:
        """Whether nothing of it is left."""
        return self.done + self.left_out >= self.all


class TaskWords(EntryWords):
    """A site that puts its tasks into words and reads their forms."""

    # --- forms

    def at_hand(self) -> tuple[Place, BalancedDay]:
        """The place and the day of this page."""
        return self.place, self.day

    def correcting(self, number: int) -> None:
        """From here on the page speaks of the day as it stood before that entry, older ones as they read today: who worked then, which seals were on."""
        place, day = self.at_hand()
        g.before = day_before(
            place,
            day,
            ((entry, self.ledger.texts(entry.number)) for entry in self.ledger.entries() if day.entry(entry.number)),
            number,
        )

    def _asked(self, task: Task) -> tuple[Place, Day, str]:
        place, day = self.at_hand()
        return place, g.get("before") or day, task.at if task.step.per else ""

    def things(self, task: Task, field: Field) -> field_options.Things:
        """What a field of this task is asked for."""
        place, day, at = self._asked(task)
        return checklist.things(field.per, place, day, at)

    def choices(self, task: Task, field: Field) -> field_options.Things:
        """Returns (value, words) of each choice that the field offers now."""
        place, day, at = self._asked(task)
        return checklist.choices(field, place, day, at)

    def default(self, task: Task, field: Field) -> str:
        """Returns what the field holds before anybody typed; "" for nothing."""
        place, day, at = self._asked(task)
        return checklist.default(field, place, day, at)

    def hint(self, task: Task, field: Field) -> str:
        """The hint next to a field; if a rule of the place is about it, what the rule says. It is shown, not chosen."""
        if "{rule}" not in field.hint:
            return field.hint
        place, day, at = self._asked(task)
        said = dict(checklist.choices(field, place, day, at)).get(field_options.by_rule(field, place, day), "")
        return field.hint.replace("{rule}", said[:1].lower() + said[1:])

    def read_form(
        self,
        task: Task,
        form: Mapping[str, str],
        prefix: str = "",
        now: int | None = None,
        said: int | None = None,
        known: Mapping[str, int | None] | None = None,
    ) -> Read:
        """What a form says for this task. `now`: when a form that was held was filled in; `said`: when the entry that it corrects was kept; `known`:
        numbers that are settled already, by input name."""
        with self.lock:
            place, day, at = self._asked(task)
            moment = self.now() if now is None else now
            typed = self.as_typed(task, form, prefix)
            read = checklist.read_form(task.step, at, place, day, typed, moment, prefix, said, known)
            return self.worked_in(task, form, prefix, moment, read)

    def as_typed(self, task: Task, form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
        """The form as it is read: what was scanned or need not be asked is put into the words of its controls."""
        return form

    def worked_in(self, task: Task, form: Mapping[str, str], prefix: str, now: int, read: Read) -> Read:
        """What was read, with what this site works out of it or has against it. `form` as it was sent."""
        return read

    def tape_lines(self, field: Field) -> list[tuple[str, list[tuple[str, str]]]]:
        """The lines of every contest as the tape prints them: (contest, [(control's name, line)]). Figures that are not the tape's own say in the
        heading whose they are: "Governor, by hand"."""
        if field.only == "by-precinct":
            rows = [
                (title, [row for row in lines if row[0].startswith(f"{field.name}.")])
                for title, lines in tape_comparison.sections(self.at_hand()[0])
            ]
            return [(title, lines) for title, lines in rows if lines]
        whose = "" if field.name == TAPE else f", {field.label[:1].lower()}{field.label[1:]}"
        found = [
            (
                title + whose,
                [(field.name + name.removeprefix(TAPE), line) for name, line in rows if name.startswith(f"{TAPE}.")],
            )
            for title, rows in tape_comparison.sections(self.at_hand()[0])
        ]
        return [(title, rows) for title, rows in found if rows]

    def task_of(self, step: Step, at: str) -> Task:
        """Returns a step at one thing as an open task, with no number in the checklist."""
        return Task(checklist.fill(step, self.at_hand()[0], at), at, "open", 0)

    # --- tasks

    def lists(self, tasks: Sequence[Task]) -> list[Progress]:
        """Returns each checklist among these tasks with its progress; optional steps are not counted."""
        names = [name for name, _ in checklist.LISTS if any(t.step.list == name for t in tasks)]
        return [
            self._progress(name, [t for t in tasks if t.step.list == name and not t.step.optional]) for name in names
        ]

    @staticmethod
    def _progress(name: str, mine: Sequence[Task]) -> Progress:
        done, gone = sum(t.state in ("done", "shut") for t in mine), sum(t.state == "missed" for t in mine)
        return Progress(name, dict(checklist.LISTS)[name], done, len(mine), gone)

    def list_title(self, name: str) -> str:
        """Returns the title of a checklist. Raises KeyError where there is no such list."""
        return dict(checklist.LISTS)[name]

    def number_of(self, task: Task) -> int | str:
        """Returns the task's number in its checklist; "" for a task without one."""
        return task.number or ""

    def heading(self, tasks: Sequence[Task]) -> str:
        """Returns the heading of the page that shows these tasks together."""
        if len(tasks) == 1:
            return tasks[0].title
        return checklist.page_title(tasks[0].page, tasks[0].title)

    def button_words(self, task: Task) -> str:
        """What the button says that begins this step."""
        return checklist.button(task.step, task.at, self.hours_on_clock)

    def done_words(self, task: Task) -> str:
        """One line in the list: heading, and the figures when they fit: a sentence of their own, or behind a colon."""
        kept = self.day.known(task.entries[-1])
        said = checklist.summary(
            kept.kind, kept.body, self.place_of(kept.body), self.day, kept.texts, self.day.unseen(kept)
        )
        if not said or len(said) > 90:
            return task.title
        return f"{task.title}{'.' if said[0].isupper() else ':'} {said}"

    def boxes(self, task: Task) -> list[InitialsBox]:
        """Initials of those who signed; else the seats that wait."""
        kept = self.day.entry(task.entries[-1]) if task.entries else None
        if kept and (kept.signers or kept.short):
            signed = [InitialsBox(self.initials(s.person), self.party_word(s.party), "signed") for s in kept.signers]
            return signed + [InitialsBox("short", s["seat"], "short") for s in kept.short]
        if kept:
            return [InitialsBox(self.initials(kept.holder), "tick", "signed")] if kept.holder else []
        parties = [p.word for p in self.place.parties]
        labels = {"P": parties[:2] or ["", ""], "2": ["any", "any"], "1": ["any"]}.get(task.step.signs, [])
        return [InitialsBox("", label) for label in labels]

    def initials(self, person: str) -> str:
        """Returns the initials of the person with this id; "?" where nobody has it."""
        found = self.people.official(person)
        return found.initials if found else "?"

    def orders_about(self, task: Task) -> tuple[Order, ...]:
        """The instructions about this step: people read them before they do it."""
        return about(self.day, task.step)

    def seats(self, weight: str) -> tuple[signing.Seat, ...]:
        """Returns the seats that a signature of this weight fills, among the people at work now."""
        return signing.seats(weight, self.people.working())

    def weight_words(self, weight: str) -> str:
        """Returns who must sign, in one sentence."""
        return WEIGHTS.get(weight, f"Signed by: {weight.replace('+', ', ')}.")

    def may_correct(self, task: Task) -> bool:
        """Whether the task has an entry that can be corrected."""
        return bool(task.entries)

    def at_words(self, step: Step, at: str) -> str:
        """Returns the thing of a task in words."""
        return f"Box {at}" if step.per == "box" else at

    # --- small things

    @staticmethod
    def fresh_salt() -> str:
        """Returns a new random salt for the free words of a form, as 32 hex digits."""
        return uuid.uuid4().hex

    @staticmethod
    def new_id() -> bytes:
        """Returns a new random id of an entry (UUIDv4, 16 bytes)."""
        return uuid.uuid4().bytes

    def moment(self, text: str) -> int | None:
        """Returns a time typed on the place's clock as ms UTC; None where it is no time."""
        return checklist.moment(self.place, text, self.now())

    @staticmethod
    def unsaid(field: Field) -> list[tuple[str, str]]:
        """The choice of leaving it open, where a field may be left open and is empty."""
        people = field.of in ("working", "official", "carrier")
        return [("", "Nobody" if people else "Not said")] if field.optional and not field.default else []

    def half_missing(self, text: str) -> str:
        """The question where this time can be morning or evening; ""."""
        return checklist.half_missing(self.place, text)

    @property
    def like(self) -> str:
        """How a time is typed here: "as 14:05"."""
        return f"as {on_clock('14:05', self.hours_on_clock)}"

    def shortened(
        self, claims: Sequence[Claim], seats: Sequence[dict[str, Any]], told: str, salt: str
    ) -> tuple[Claim, ...]:
        """The claims, each saying which seat is empty and why; with the same ids, so that a retry is the same claim."""

        def one(claim: Claim) -> Claim:
            if claim.kind == "check-words":
                return claim
            own = sha256(bytes.fromhex(salt) + claim.id).digest()[:16]
            return replace(
                claim, body={**claim.body, "short": list(seats)}, words={**claim.words, "told": Text(own, told)}
            )

        return tuple(one(claim) for claim in claims)
