"""What pages of a polling place ask of its day: what is known about a field, how a reading turned out, what a restore still needs."""

from collections.abc import Mapping, Sequence

from webapp.pages.place import statement
from webapp.pages.place.site import known_beside
from webapp.pages.place.site.kept_strip import KeptStrip, kept_strip
from webapp.pages.place.site.keys_beside import WritingKey, keys_beside
from webapp.pages.shared.task_words import TaskWords
from webapp.precinct.checklist import checklist, written_at
from webapp.precinct.checklist.checklist import Field, Task
from webapp.precinct.day.readings import Reading
from webapp.precinct.day.restores import restore
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Rules
from webapp.precinct.place.place_kinds import PlaceKind
from webapp.precinct.reports import alerts
from webapp.precinct.reports.active_conditions import Condition, holds_now
from webapp.precinct.reports.alerts import Alert
from webapp.precinct.reports.now_state import too_early
from webapp.record.entry import Claim


class PlaceWords(TaskWords):
    """A place in words; it changes nothing."""

    kind: PlaceKind
    rules: Rules

    @property
    def hours_on_clock(self) -> int:
        return self.rules.clock

    def restored_with(self) -> str:
        found = restore(self.day)
        return (found.kit or "spare") if found else ""

    @property
    def instead_of(self) -> bool:
        """Whether this record was opened instead of one of which nothing was left."""
        return any(kept.body.get("instead_of") for kept in self.day.of("record-opened"))

    def restore_notice(self) -> str:
        """What is still to be done about a restore, before the packet; "" when two parties have signed the list, or nothing was restored."""
        found = restore(self.day)
        if found is None or (found.signed and not found.unsigned):
            return ""
        more = f" {few(len(found.unsigned), 'entry', 'entries')} came back." if found.unsigned else ""
        took = f"after entry {found.last}" if found.last else "with a new record"
        return f"This laptop took over {took}.{more} Two officials of different parties read what was restored and what is lost, and sign, before the packet: menu, What was restored."

    def reading_of(self, alert: Alert) -> Reading | None:
        """The reading that an alert of the counts is about, for its bracket; None for ballots that run out and other alerts."""
        if not alert.reading or alert.id.startswith("stock:"):
            return None
        return next((r for r in self.day.readings if r.number == alert.reading), None)

    def stood_words(self, reading: Reading) -> str:
        """How a reading turned out, in words: nothing left over, fewer or more than heads, ballots with nobody behind them."""
        return alerts.stood(reading)

    def too_early(self, task: Task) -> bool:
        """Whether this step can be opened but its hour has not come: it has no button yet."""
        return too_early(self.place, self.day, task, self.now())

    def hint(self, task: Task, field: Field) -> str:
        """The hint next to a field; what the record knows of it comes first."""
        place, day, _ = self._asked(task)
        admitted = sum(tablet.admitted and not tablet.revoked for tablet in self.gate.tablets.all())
        return known_beside.beside(place, day, task, field, admitted) or super().hint(task, field)

    def done_words(self, task: Task) -> str:
        """As everywhere; of the roll call and the oath how many are here and sworn."""
        if task.key == "arrivals":
            return f"{task.title}: {len(self.day.people.present)} here"
        if task.key == "oath":
            return f"{task.title}: {len(self.day.people.sworn)} sworn"
        return super().done_words(task)

    def keys_beside(self, task: Task, field: Field, before: str) -> tuple[WritingKey, ...]:
        """The keys that write what is known into this field. `before`: prefix of the page's inputs."""
        return keys_beside(*self._asked(task), field, before)

    def holds_now(self, now: int) -> tuple[Condition, ...]:
        """What holds in the room at this moment: instructions, power, tabulators out of use, emergency bins in use."""
        return holds_now(self.place, self.day, now)

    def statement_rows(self) -> tuple[statement.AccountRow, ...]:
        """The figures of the statement, in digits and in words; none while they may not be seen."""
        return statement.figures(self)

    def kept_words(self, kept: str) -> KeptStrip | None:
        """What was kept just now, for the strip on Now: `kept` is "30-33", as `after` puts it into the address."""
        return kept_strip(self, kept)

    def written_at(self, task: Task) -> Field | None:
        """The field that asks for the time of a line of the paper log; None where a page does not ask for it."""
        return written_at.field(self.hours_on_clock) if written_at.asked(task.step, self.day) else None

    def signed_already(self, claims: Sequence[Claim], tasks: Sequence[Task]) -> str:
        """Who signed one of these steps on another tablet meanwhile, and when; "" where nobody did. A note or a step that repeats never is."""
        claimed = {(claim.kind, claim.body.get("at") or "") for claim in claims}
        for task in tasks:
            if (task.step.id, task.at) not in claimed or task.step.note or task.step.repeats:
                continue
            if task.state == "done" and (why := checklist.why_not(task)):
                kept = self.day.known(task.entries[-1])
                who = " and ".join(self.person_name(s.person) for s in kept.signers) or (
                    self.person_name(kept.holder) if kept.holder else ""
                )
                return f"{who} signed this step at {self.entry_time(kept)}. {why}" if who else why
        return ""

    def as_typed(self, task: Task, form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
        """The form, with 0 tablets back where none was ever admitted besides the laptop: nobody is asked."""
        name = f"{prefix}tablets"
        if task.step.id != "tablets-back" or form.get(name, "").strip() or self.gate.tablets.all():
            return form
        return {**form, name: "0"}
