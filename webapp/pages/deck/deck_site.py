"""State of an accuracy test's server: a place with a deck. The deck is made again from the place file at each start and compared with the record."""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import cached_property
from typing import Any

from webapp.deck import step_checks
from webapp.deck.deck import Deck, build
from webapp.deck.pattern import NoDeck
from webapp.deck.plan import plan
from webapp.deck.playing import Played, play
from webapp.deck.ticked_rows import TickedRows, ticked
from webapp.deck.typed_tapes import Round, as_body, held_keys
from webapp.gate.signed_place_file import load_place
from webapp.pages.place.site.place_site import PlaceSite
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Read, Task
from webapp.precinct.place.place import Place
from webapp.precinct.reports.alerts import Alert
from webapp.record.entry import Claim
from webapp.settings import Settings, Unfit


class DeckSite(PlaceSite):
    """A `PlaceSite` that knows its deck. Raises `Unfit` for a place file that no deck can be made of."""

    worked_out_again = frozenset({"cells", "differ", "missing"})

    def __init__(self, settings: Settings):
        self.deck = made(load_place(settings.folder))
        super().__init__(settings)
        self.deck = self.recorded_deck() or self.deck

    def recorded_deck(self) -> Deck | None:
        """The deck that the record names, where an earlier dealing makes it; None where it names the newest one, another, or none."""
        said = self.day.of("deck")
        plan = self.deck.plan
        if not said or not plan.names_dealing or bytes(said[0].body["deck_digest"]).hex() == self.deck.digest:
            return None
        older = (build(replace(plan, dealing=dealing)) for dealing in range(plan.dealing - 1, 0, -1))
        return next((deck for deck in older if bytes(said[0].body["deck_digest"]).hex() == deck.digest), None)

    @cached_property
    def played(self) -> Played:
        """Every fault played on this deck; made when it is first asked for."""
        return play(self.deck)

    @property
    def round(self) -> Round:
        """What counts now."""
        return Round(self.place, self.day, self.deck)

    @property
    def ticks(self) -> TickedRows:
        """Which ballots are ticked."""
        return ticked(self.day.of("rows-ticked"))

    def opening_claims(self) -> list[Claim]:
        """And right behind it, which deck this is the test of."""
        return [*super().opening_claims(), self.deck_claim()]

    def deck_claim(self) -> Claim:
        body = {"place_digest": self.place.digest, "deck_digest": bytes.fromhex(self.deck.digest)}
        return Claim(uuid.uuid4().bytes, "deck", body, self.now(), "L", 0)

    def say_started(self) -> None:
        """Records the deck once, before the entry `started`."""
        if self.ledger.length and not self.day.of("deck"):
            self.keep([self.deck_claim()])
        super().say_started()

    def other_deck(self) -> str:
        """The sentence for a record with another deck than this program makes of the same place file; "" where it is the same."""
        said = self.day.of("deck")
        if not said or bytes(said[0].body["deck_digest"]).hex() == self.deck.digest:
            return ""
        return (
            f"This program makes another deck (digest {self.deck.digest[:16]}) than the record has "
            f"(entry {said[0].number}). Use the sheets that carry the digest shown here, or the program that the test began with."
        )

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """What was signed first in a round that is over, or of figures that were corrected since, is not kept with the second signature."""
        if why := super().settled(claims, now):
            return why
        tasks = {task.key: task for task in self.tasks(now)}
        for claim in claims:
            at = claim.body.get("at") or ""
            task = tasks.get(checklist.task_key(claim.kind, at))
            if task and task.step.again_with and task.state in ("later", "shut", "missed"):
                return f"This was signed first before the test began again. {checklist.why_not(task)}"
            if claim.kind == "compared" and not self.as_compared(at, claim.body):
                return "Other figures are typed now than were signed first. Compare again, and sign again."
        return ""

    def as_compared(self, at: str, body: Mapping[str, Any]) -> bool:
        """Whether a comparison says what the typed tape of this round gives now."""
        found = self.round.compared(at)
        wanted = as_body(found) if found else None
        return wanted is not None and all(wanted.get(key) == body.get(key) for key in ("cells", "differ", "missing"))

    def day_shown(self, now: int) -> date:
        """The day on which the test is held: today."""
        return datetime.fromtimestamp(now / 1000, self.zone).date()

    def own_alerts(self) -> Iterator[Alert]:
        """Another deck than the record's; figures that are not as expected, until the test begins again."""
        if other := self.other_deck():
            yield Alert(
                "test:deck", "Another deck than the record has", (other,), href="/deck", button="Deck", urgent=True
            )
        off = [self.key_words(key) for key in held_keys(self.round)]
        if off:
            yield Alert(
                "test:off",
                "Not as expected: " + "; ".join(off),
                (
                    "Find the cause and correct it. Note what was changed: then the whole test of every tabulator begins again.",
                ),
                href="/note/changed",
                button="Note what was changed",
            )

    def worked_in(self, task: Task, form: Mapping[str, str], prefix: str, now: int, read: Read) -> Read:
        """What a form says, checked against the deck, with worked-out fields filled in."""
        read, current, step = super().worked_in(task, form, prefix, now, read), self.round, task.step.id
        body = {**read.body, **step_checks.worked_out(current, step, task.at, read.body)}
        found = step_checks.wrong(current, step, task.at, body, lambda: self.played.total)
        more = {prefix + name if name else "": sentence for name, sentence in found.items()}
        return replace(read, body=body, mistakes={**more, **read.mistakes})


def made(place: Place) -> Deck:
    """The deck of this place. Raises `Unfit`."""
    try:
        return build(plan(place))
    except NoDeck as wrong:
        raise Unfit(f"{place.name}: {wrong}") from None
