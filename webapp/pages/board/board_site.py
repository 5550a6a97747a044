"""State of a count board's server: a polling place's, with a board's day, its own places and menu, and the objections to an entry before it is recorded."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from flask import g, request

from webapp.board import objections, one_act, precinct_votes
from webapp.board.batch_ids import NotThisSheet, batch_of, next_batch, next_serial
from webapp.board.board_account import BoardAccount
from webapp.board.board_day import BoardDay
from webapp.board.board_rules import of_few
from webapp.board.board_sheet import board_entry, wall_time
from webapp.board.left_open import left_open
from webapp.pages.board.board_notes import BoardNotes
from webapp.pages.board.board_state import board_words, stops_as_alerts
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import filters
from webapp.pages.shared.site import Link
from webapp.precinct.checklist.checklist import Read, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.board_place import BoardRoom
from webapp.precinct.plausibility.asked import NOT_SO
from webapp.precinct.reports.alerts import Alert
from webapp.record.entry import Claim, quarter_hour

IDS = ("batch", "of", "new")
"""Fields that a header sheet may be scanned into."""
UPPER = (*IDS, "carrier", "tray", "serial", "from", "to")
ABOUT = {
    **dict.fromkeys(("carrier-in", "envelopes-counted", "carrier-empty"), "carrier"),
    **dict.fromkeys(("tray-open", "envelopes-away", "unfold"), "tray"),
    **dict.fromkeys(("batch-made", "batch-fed"), "batch"),
    **dict.fromkeys(("problem", "settled"), "position"),
    **dict.fromkeys(("duplicate-made", "void-serial"), "serial"),
    "duplicate-checked": "to",
    "split": "ballots",
    "moved": "to",
    "counting-begins": "time",
    "tape-precinct": "ballots",
}
"""Beside which field an objection stands, by kind; at the head of the form for the others."""


class CoarseAtABoard(frozenset[str]):
    """The coarse kinds, and besides them every batch of fewer ballots than are shown alone."""

    small = 0

    def __new__(cls, kinds: frozenset[str], small: int) -> "CoarseAtABoard":
        made = super().__new__(cls, kinds)
        made.small = small
        return made

    def also(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether this entry is about so few ballots that only its quarter hour is kept."""
        return of_few(self.small, kind, body)


class BoardSite(PlaceSite):
    """State of a count board's server: a polling place's, with the day of a board."""

    day: BoardAccount

    @property
    def own(self) -> BoardRoom:
        """What the place file says of a count board; every one has it. Raises ValueError for another kind of place."""
        if self.place.board is None:
            raise ValueError(f"{self.place.id} is no count board")
        return self.place.board

    def coarse(self) -> frozenset[str]:
        return CoarseAtABoard(COARSE_KINDS, self.own.small)

    def entry_time(self, entry: CurrentEntry) -> str:
        """The minute; of a ballot set aside and of a batch of few ballots only the quarter hour."""
        if of_few(self.board.rules.small, entry.kind, entry.body):
            return filters.quarter(quarter_hour(entry.time), self.zone, self.hours_on_clock)
        return super().entry_time(entry)

    def empty_day(self) -> BoardAccount:
        return BoardAccount(self.place)

    @property
    def board(self) -> BoardDay:
        """Carriers, trays, batches and ballots set aside as they are now."""
        return self.day.board

    def batch_table(self) -> bytes:
        """The list of batches that goes with a packet."""
        return self.day.batch_table().encode()

    def votes_file(self) -> bytes:
        """The votes by precinct that go with a packet; b"" where there are none, or some are missing."""
        return self.day.votes_file().encode()

    def votes_lacking(self) -> tuple[str, ...]:
        """What is still missing of the votes by precinct, a sentence each."""
        return precinct_votes.lacking(self.board)

    def day_shown(self, now: int) -> date:
        """The day that Now names: a board works on several."""
        return wall_time(self.place, now).date()

    def wall_now(self) -> datetime:
        """The clock on the wall of the room."""
        return wall_time(self.place, self.now())

    def places(self) -> list[Link]:
        """As at any place; a batch is fed under Batches."""
        fed = request.path.startswith("/feed")
        return [replace(one, here=one.here or (fed and one.href == "/batches")) for one in super().places()]

    # --- Now

    def between_words(self, now: int) -> tuple[str, str, str, tuple[str, ...]]:
        """What Now says while no step is to be signed."""
        return board_words(self.place, self.day, now)

    def own_warnings(self) -> tuple[Alert, ...]:
        """What stops, each on Now until another pair has counted or a remark is signed."""
        return stops_as_alerts(self.day)

    # --- notes

    def note_keeping(self) -> BoardNotes:
        return BoardNotes(self)

    def prefilled(self, task: Task, asked: Mapping[str, str]) -> dict[str, str]:
        """What a link says a note is about: its batch, tray, carrier, position or serial; nothing that vouches. The next serial is filled in by itself."""
        names = {"batch", "tray", "carrier", "position", "of", "from"} & {field.name for field in task.step.fields}
        found = {name: asked[name] for name in names if asked.get(name)}
        if task.step.id == "duplicate-made":
            found["serial"] = self.next_serial()
        return found

    def next_batch(self, kind: str = "first") -> str:
        """The id after the last one of its kind in this run of the record."""
        return next_batch(kind, self.board.batches, self.day.run or 1)

    def next_serial(self) -> str:
        """Returns the serial number for the next duplicate ballot of this run of the record."""
        return next_serial(self.board.duplicates, self.board.rules.serial_prefix, self.day.run or 1)

    # --- forms

    def signed_at(self, path: str) -> tuple[str, ...]:
        """A board's own pages that are put aside half filled in: ten batches, one fed, a carrier."""
        first = path.partition("?")[0]
        fed = {f"/feed/{tabulator.id}": ("batch-fed",) for tabulator in self.place.tabulators}
        return {"/batches/make": ("batch-made",), "/trays/carrier": ("carrier-in",), **fed}.get(first, ())

    def as_typed(self, task: Task, form: Mapping[str, str], prefix: str) -> Mapping[str, str]:
        """A header sheet may be scanned where its id is asked."""
        return super().as_typed(task, self.scanned(task, form, prefix)[0], prefix)

    def worked_in(self, task: Task, form: Mapping[str, str], prefix: str, now: int, read: Read) -> Read:
        """What a form says, with each objection of the board's day at its field."""
        read, wrong = super().worked_in(task, form, prefix, now, read), self.scanned(task, form, prefix)[1]
        if task.step.id == "night-close":
            read = replace(read, body={**read.body, "unfed": self.unfed()})
        found = dict(wrong) if wrong else self.against(task.step.id, read, prefix)
        if task.step.id == "duplicate-checked" and (own := self.own_duplicates(form, read)):
            found["signer"] = own
        others = {name: says for name, says in read.mistakes.items() if name not in wrong}
        return replace(read, mistakes={**found, **others}, typed=dict(form))

    def own_duplicates(self, form: Mapping[str, str], read: Read) -> str:
        """The sentence for somebody who would compare what they made; "" else."""
        who, (first, last) = form.get("signer", ""), (read.body.get(name, "") for name in ("from", "to"))
        own = self.day.sheet.made_by(who, first, last) if who and first and last else []
        return f"{self.person_name(who)} made {own[0]}: two others compare it with its original." if own else ""

    def scanned(self, task: Task, form: Mapping[str, str], prefix: str) -> tuple[dict[str, str], dict[str, str]]:
        """(the form with ids in the place of scanned codes and in capitals, what is wrong with a code)."""
        found, wrong = dict(form), {}
        names = {field.name for field in task.step.fields if field.kind == "code"}
        for name in names & set(UPPER):
            text = str(form.get(prefix + name, "")).strip()
            if name in IDS and ":" in text:
                try:
                    text = batch_of(text, self.place.id)
                except NotThisSheet as other:
                    wrong[prefix + name] = str(other)
            if prefix + name in form:
                found[prefix + name] = text.upper()
        return found, wrong

    def against(self, kind: str, read: Read, prefix: str) -> dict[str, str]:
        """Each objection, by the control where it is shown. Those that are not refused are lifted by a signed exception."""
        entry = board_entry(self.place, kind, read.body, read.happened)
        if entry is None:
            return self.not_done(kind, read, prefix)
        not_so, name = bool(read.body.get("not_so")), prefix + ABOUT.get(kind, "")
        said = [
            one.says if one.refused else f"{one.says} If it stays so, {NOT_SO}."
            for one in objections.against(self.seen_day(), entry)
            if one.refused or not not_so
        ]
        return {name: " ".join(said)} if said else self.not_done(kind, read, prefix)

    def taken_id(self, claim: Claim) -> str:
        """The sentence for a correction that gives a batch the id of another one, or feeds one that another entry has fed; "" else."""
        old, body = self.day.entry(self.day.root(claim.body["of"])), claim.body.get("body", {})
        id = body.get("batch", "") if old and old.kind in ("batch-made", "batch-fed") else ""
        found = self.board.batches.get(id)
        if not id or old is None or id == old.body.get("batch"):
            return ""
        if old.kind == "batch-made" and found:
            return f"{id} is another batch of this board: a batch id is used once. Read the header sheet again."
        if old.kind == "batch-fed" and (found is None or found.fed):
            return f"{id} {'was fed by another entry' if found else 'was not made yet'}. Read the header sheet again."
        return ""

    def not_done(self, kind: str, read: Read, prefix: str) -> dict[str, str]:
        """At the close: what is still to be worked, against a step that says there is nothing."""
        if kind != "trays-empty" or read.body.get("not_so"):
            return {}
        left = [one for one in left_open(self.board) if "not settled" not in one and "held (" not in one]
        more = f" And {len(left) - 3} more." if len(left) > 3 else ""
        return {f"{prefix}walked": f"{' '.join(left[:3])}{more} If it stays so, {NOT_SO}."} if left else {}

    def read_act(self, tasks: Sequence[Task], form: Mapping[str, str], now: int) -> list[Read]:
        """What each task of a page that is signed once says; each is checked against the board as those before it
        would leave it. Names begin with the step's id and a slash."""
        found: list[Read] = []
        g.act = self.board
        try:
            for task in tasks:
                read = self.read_form(task, form, f"{task.step.id}/", now)
                found.append(read)
                if not set(read.mistakes) - {f"{task.step.id}/{ABOUT.get(task.step.id, '')}"}:
                    g.act = one_act.after(g.act, board_entry(self.place, task.step.id, read.body, read.happened))
        finally:
            g.pop("act")
        return found

    def seen_day(self) -> BoardDay:
        """The board that a form is checked against: of a correction, as it was before that entry; of an act of several, as the first of them leave it."""
        if "act" in g:
            return g.act
        day = g.get("before") or self.day
        return day.board if isinstance(day, BoardAccount) else self.board

    def unfed(self) -> list[str]:
        """Batches that were made and not fed."""
        return [batch.id for batch in self.board.batches.values() if batch.fed is None]

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """Why these claims cannot be recorded any more: another table has used this header sheet, or another
        tabulator has fed this batch. Called under the record's lock."""
        made: set[str] = set()
        day = self.board
        for claim in claims:
            if claim.kind == "batch-made" and claim.body.get("batch") in made:
                return f"{claim.body['batch']} is here twice: a batch id is used once. Read the header sheets again."
            made |= {claim.body.get("batch", "")} if claim.kind == "batch-made" else set()
            if claim.kind == "correction" and (twice := self.taken_id(claim)):
                return twice
            entry = board_entry(self.place, claim.kind, claim.body, claim.happened)
            for one in objections.against(day, entry) if entry else ():
                if one.refused or not claim.body.get("not_so"):
                    return one.says
            day = one_act.after(day, entry)
        return super().settled(claims, now)
