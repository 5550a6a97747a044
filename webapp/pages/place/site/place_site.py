"""State of a polling place's server: its place file, its record, its gate, and the day folded from the record."""

import hashlib
import hmac
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date

from webapp.gate import keys
from webapp.gate.gate import Gate
from webapp.gate.refusals import GateDiskRefused, GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.pages.place.site import filled_packet, kind_pages, packet_files, place_menu
from webapp.pages.place.site.hour_taps import HourTaps
from webapp.pages.place.site.kept_strip import kept_address
from webapp.pages.place.site.note_keeping import NoteKeeping
from webapp.pages.place.site.place_words import PlaceWords
from webapp.pages.place.site.seal_rows import SealRows
from webapp.pages.shared import drafts
from webapp.pages.shared.site import Link
from webapp.pages.tablets.tablet_memory import TabletMemory
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Read, Step, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.hours import full_hour
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Phone
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.reports import alerts
from webapp.precinct.reports.alerts import Alert
from webapp.record import looking
from webapp.record.entry import Claim, Entry
from webapp.record.ledger import Ledger, RecordRefused
from webapp.settings import Settings
from webapp.version import VERSION


class PlaceSite(PlaceWords):
    """State of a polling place's server: place file, record, gate, and the day folded from the record."""

    role_of_room = "place"
    drafts_overdue = False  # the day is over, and pages half filled in are not put away yet

    def __init__(self, settings: Settings):
        self.folder = settings.folder
        self.place = load_place(settings.folder)
        packet_files.sweep(settings.folder)
        path, coarse = settings.folder / "record.db", self.coarse()
        ledger = looking.opened(path, coarse) if path.exists() else Ledger.create(path, coarse=coarse)
        try:
            super().__init__(
                settings, ledger, Gate.open(settings.folder / "gate.db"), self.place.tz, self.place.mode == "practice"
            )
            self.form_secret = hmac.digest(keys.pepper(settings.folder), b"tapeseal/forms/1", hashlib.sha256)
            self.name, self.under = self.place.name, f"{self.place.county}, {self.place.election}"
            self.rules, self.kind = self.place.rules, KINDS[self.place.kind]
            self.place_links = kind_pages.PLACES[self.kind.id]
            self.day = self.empty_day()
            self._tasks: tuple[tuple[int, int], tuple[Task, ...]] | None = None
            self._alerts: tuple[int, tuple[Alert, ...]] | None = None
            self.notes = self.note_keeping()
            self.taps = HourTaps(self, self.notes)
            self.memory = TabletMemory(self)
            self.seal_rows = SealRows(self.place, self.day, self._asked)
            self.catch_up(0)
            with suppress(GateDiskRefused):
                self.gate.tablets.agree(self.tablets_in_record())
            self.start_said = True
            self.begin()
        except BaseException:
            ledger.close()
            raise

    def coarse(self) -> frozenset[str]:
        """The kinds of entry whose times go no further than the quarter hour at this kind of place."""
        return COARSE_KINDS

    def empty_day(self) -> BalancedDay:
        """The day of this kind of place before anything is kept."""
        return BalancedDay(self.place)

    def note_keeping(self) -> NoteKeeping:
        """The notes of this kind of place."""
        return NoteKeeping(self)

    def between_words(self, now: int) -> tuple[str, str, str, tuple[str, ...]] | None:
        """What Now says while no step is to be signed, if this kind of place has words of its own: kind, heading, the line above, sentences below."""
        return None

    def own_warnings(self) -> tuple[Alert, ...]:
        """What else is wrong at this kind of place."""
        return ()

    def batch_table(self) -> bytes:
        """The list of batches that goes with a packet; b"" where this kind of place has none."""
        return b""

    def votes_file(self) -> bytes:
        """Votes by precinct, which only a count board has."""
        return b""

    def votes_lacking(self) -> tuple[str, ...]:
        """What is still missing of the votes by precinct, a sentence each; () at a place without that file."""
        return ()

    def prefilled(self, task: Task, asked: Mapping[str, str]) -> dict[str, str]:
        """What the link that led to a note says it is about."""
        return {}

    def on_disk_again(self) -> None:
        self.gate.tablets.agree(self.tablets_in_record())

    def say_started(self) -> None:
        """Records the start of the program; in an empty record the place file first, after a change of version that too."""
        if not self.ledger.length:
            self.keep(self.opening_claims())
        elif self.day.version != VERSION:
            self.laptop_says("version", {"from": self.day.version, "to": VERSION})
        self.drafts_overdue = self.day.phase == "done"  # the program may have been stopped before they were put away
        self.laptop_says("started", {"version": VERSION})

    def opening_claims(self) -> list[Claim]:
        """The claims with which a new record begins, recorded in one commit."""
        body = {
            "place": self.place.id,
            "place_digest": self.place.digest,
            "mode": self.place.mode,
            "version": VERSION,
            "clock": self.settings.clock,
        }
        return [Claim(uuid.uuid4().bytes, "record-opened", body, self.now(), "L", 0)]

    def fold(self, entry: Entry, texts: Mapping[str, str]) -> None:
        self.day.add(entry, texts)

    def catch_up(self, after: int) -> None:
        super().catch_up(after)
        self.day.head = self.ledger.head

    @property
    def start(self) -> str:
        """Where a browser comes in: until roll call begins, at what is ready and what is missing."""
        return "/ready" if self.day.phase == "before-dawn" else "/now"

    @property
    def phones(self) -> tuple[Phone, ...]:
        return self.place.phones

    def day_shown(self, now: int) -> date:
        """The day that Now names: election day."""
        return self.place.date

    def own_alerts(self) -> Iterator[Alert]:
        """What is wrong here that only this kind of place knows."""
        yield from ()

    def tablets_owed(self) -> list[tuple[str, str]]:
        return self.memory.owed()

    def kept_vouch(self, entry: Entry) -> None:
        """A lost PIN is forgotten at once; a reset lifts the refusal of the tablets."""
        if entry.body["why"] == "lost-pin":
            self.gate.pins.clear(entry.body["person"])
            self.gate.sessions.put_down(entry.body["person"])
        self.gate.throttle.reset(entry.body["person"])

    def goes_first(self, claims: Sequence[Claim]) -> Sequence[Claim]:
        """What was tapped before these."""
        return self.taps.tallied(claims)

    def was_kept(self, first: Sequence[Claim], entries: Sequence[Entry]) -> None:
        """When the day is over (at a polling place: when the carriers have left), nothing half filled in stays behind."""
        self.drafts_overdue |= any(entry.kind == self.kind.ends for entry in entries)
        self.notes.kept(entries)
        self.taps.drop(first)
        if self.drafts_overdue:
            self.put_drafts_away()

    def put_drafts_away(self) -> None:
        """One entry names the steps whose pages were begun and never signed, with no figure; then they are gone. Nothing is said where there are none.

        Where the disk takes nothing, they go with the next entry that is kept. Raises `RecordRefused`, `GateRefused`.
        """
        self.drafts_overdue = False
        try:
            if steps := {step for draft in drafts.unsigned(self) for step in draft.steps}:
                self.laptop_says("drafts-put-away", {"steps": sorted(steps)})
            self.gate.drafts.clear()
        except (RecordRefused, GateRefused):
            self.drafts_overdue = True
            raise

    # --- tasks and notes

    def tasks(self, now: int) -> tuple[Task, ...]:
        """The day's tasks in this second; a page asks for them several times, and open pages every few seconds."""
        asked = self.day.length, now // 1000
        known = self._tasks
        if known is None or known[0] != asked:
            known = self._tasks = asked, checklist.tasks(self.place, self.day, now)
        return known[1]

    def task(self, key: str, now: int) -> Task | None:
        """Returns the task with this key (`STEP` or `STEP:AT`) at `now` (ms UTC); None if there is none."""
        return next((task for task in self.tasks(now) if task.key == key), None)

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """Why these claims cannot be recorded now: another tablet signed the step, one was given back, or tablets hold entries that a packet needs; "" for no reason."""
        if back := next((n for claim in claims if (n := self.day.acts.get(claim.id)) in self.day.returned), None):
            return f"This is in the record already: it was given back as entry {back}, and counts once the list of what was restored is signed."
        if any(claim.kind == "packet-made" for claim in claims):
            if not self.kind.packet:
                return "No summary packet leaves this place: none of its figures may reach a total."
            if owed := self.tablets_owed():
                return " ".join(sentence for _, sentence in owed)
            if unread := self.restore_notice():
                return unread
            if late := filled_packet.behind(self.day, self.place.mode, self.attachment, claims):
                return late
        steps = {s.id for s in checklist.steps(self.place) if not s.note and not s.repeats}
        return self.signed_already(claims, self.tasks(now)) if steps & {claim.kind for claim in claims} else ""

    def attachment(self, digest: bytes) -> bytes:
        return packet_files.waiting(self.folder, digest) or b""

    def absent(self, path: str) -> bool:
        """Whether a place of this kind has no page at this address."""
        return kind_pages.absent(self.kind.id, path)

    def step_open(self, name: str) -> bool:
        """Whether this place has a step of this id."""
        return any(s.id == name for s in checklist.steps(self.place))

    def places(self) -> list[Link]:
        """The five places; Count says so while a reading asks for a look."""
        found = super().places()
        if self.day.closed or not self.alerts():
            return found
        return [replace(link, words="Count: look") if link.href == "/count" else link for link in found]

    def alerts(self) -> tuple[Alert, ...]:
        """Returns what the readings show and nobody settled yet; every page asks, and only an entry changes it."""
        known = self._alerts
        if known is None or known[0] != self.day.length:
            known = self._alerts = self.day.length, alerts.of_the_day(self.place, self.day)
        return known[1]

    def after(self, tasks: Sequence[Task], entries: Sequence[Entry]) -> str:
        """The address of the page to show once the entries of these tasks are recorded."""
        return self.after_keeping(entries)

    def after_keeping(self, entries: Sequence[Entry]) -> str:
        """Where the people go on who signed these: to Now, which says what is kept and what is next; first to the figures that ask for a look."""
        mine = {self.day.root(entry.number) for entry in entries}
        asks = next((a for a in self.alerts() if a.reading in mine), None)
        return asks.href if asks and not self.day.closed else kept_address(entries)

    def after_entries(self, back: str, entries: Sequence[Entry]) -> str:
        """Does what recorded entries ask for (PINs, tablets, packet files, holders). Returns the next page's address; `back` is what the form asked for."""
        for entry in entries:
            if entry.kind == "vouched":
                self.kept_vouch(entry)
            if entry.kind == "packet-made":
                packet_files.settle(self.folder, entry.body["number"], bytes(entry.body["digest"]))
            if entry.kind == "paired":
                self.gate.tablets.admit(entry.body["tablet"])
            if entry.kind == "revoked":
                self.gate.tablets.strike_off(entry.body["tablet"])
            if entry.kind == "relief" and entry.body.get("out"):
                self.gate.sessions.put_down(entry.body["out"])
        if back == "/note":
            return f"/note?kept={entries[-1].number}"
        return self.after_keeping(entries) if back.startswith("/steps/") or back == "/now" else back

    def worked_in(self, task: Task, form: Mapping[str, str], prefix: str, now: int, read: Read) -> Read:
        """What the form says, with the hour that a reading is for and the notes that its page listed."""
        if task.step.id != "hourly":
            return read
        hour = checklist.moment(self.place, task.at) or full_hour(now)
        return replace(read, body={**read.body, "hour": hour, **self.notes.shown(form, prefix)})

    def correctable(self, entry: CurrentEntry) -> Step | None:
        """The step of an entry that may be corrected by its form."""
        step = checklist.step_of(entry.kind, self.place)
        return (
            step
            if step
            and step.fields
            and step.form not in ("roll-call", "oath", "tally", "balance", "first-look", "compared")
            and entry.taken_back is None
            else None
        )

    def menu(self) -> list[Link]:
        return place_menu.menu(self)
