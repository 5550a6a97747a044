"""State of the central office's server: its record, its gate, the places it awaits, the packets it received, one desk for each place."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from flask import g, request

from webapp.canvass.atoms import Atom
from webapp.merging.brought import CHANGES
from webapp.office.canvassing import added_ballots, certifying, editions
from webapp.office.checking import packet_checks
from webapp.office.checking.what_counts import Ruling
from webapp.office.keying import from_paper
from webapp.office.questions.desk_questions import DeskQuestion
from webapp.pages.desk.site import dated_words, desk_findings, desk_menu, kept_since, to_sign
from webapp.pages.desk.site.certified_desk import CertifiedDesk
from webapp.pages.desk.site.desk_findings import DeskFindings
from webapp.pages.desk.site.marked_places import marked_places
from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.open_questions import OpenQuestions
from webapp.pages.desk.site.other_buildings import OtherBuildings, Row
from webapp.pages.desk.site.several_desks import SeveralDesks
from webapp.pages.desk.site.two_parties import TWO_PARTIES, aside_of, by_two_parties, ruling_of
from webapp.pages.desk.site.upkeep import Upkeep
from webapp.pages.shared.site import Link
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Step, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.restores import restore
from webapp.precinct.place.place import Official, Place
from webapp.record.entry import Claim, Entry
from webapp.settings import Settings
from webapp.version import VERSION

DESK = ("office",)
ASKED_NO_MORE = frozenset({"packet-read", "paper-typed"})


class OfficeSite(OfficeState):
    """One running office. Its parts are members: what is asked, other desks and buildings, certifying, findings, upkeep."""

    place_links = desk_menu.PLACES

    def __init__(self, settings: Settings):
        super().__init__(settings)
        try:
            self.asked = OpenQuestions(self)
            self.buildings = OtherBuildings(self)
            self.other_desks = SeveralDesks(self)
            self.certified = CertifiedDesk(self)
            self.desk_findings = DeskFindings(self)
            self.upkeep = Upkeep(self, self.asked)
            self.catch_up(0)
            self.upkeep.begin()
            self.start_said = True
            self.begin()
        except BaseException:
            self.ledger.close()
            raise

    def say_started(self) -> None:
        if not self.ledger.length:
            self.laptop_says(
                "record-opened",
                {
                    "place": self.roster.office.id,
                    "place_digest": b"",
                    "mode": "practice" if self.practice else "live",
                    "version": VERSION,
                    "clock": self.settings.clock,
                },
            )
        self.laptop_says("started", {"version": VERSION})

    @property
    def start(self) -> str:
        """Where a browser comes in: until roll call begins, at what is ready and what is missing."""
        return "/intake" if self.people.present or self.people.sworn else "/ready"

    def fold(self, entry: Entry, texts: Mapping[str, str]) -> None:
        entry = self.brought.read(entry)
        self.day.add(entry, texts)
        self.reported.add(entry)
        place: str = (entry.body.get("place") or "") if entry.kind not in ("record-opened",) else ""
        if entry.kind in CHANGES:
            place = self.owner.get(entry.body["of"], "")
        if place in self.desks:
            self.owner[entry.number] = place
            self.desks.add(place, self.brought.desk_of(entry.number), entry, texts)
            self._fold_of_place(place, entry, texts)
            self.upkeep.refresh(place)
        if entry.kind in added_ballots.KINDS and by_two_parties(entry):
            self.added.add(entry)
            if entry.kind == "recounted":
                self._recounted(entry.body["unit"])
        elif entry.kind in certifying.KINDS:
            self.certified.fold(entry, texts)
        elif editions.is_posted(entry):
            self.editions.post(editions.posted_of(entry, texts.get("because", "")))

    def _fold_of_place(self, place: str, entry: Entry, texts: Mapping[str, str]) -> None:
        """A packet, or what was found or decided about one, of a place of this office."""
        if entry.kind == "packet-received":
            self.tray.take_out(place, bytes(entry.body["digest"]))
        elif entry.kind in desk_findings.KINDS:
            self.desk_findings.fold(place, entry, texts)
        elif entry.kind == "place-counts" and by_two_parties(entry):
            self.tray.rule(place, ruling_of(entry))
        elif entry.kind == "packet-set-aside" and by_two_parties(entry):
            self.tray.set_aside(place, aside_of(entry))
        elif entry.kind == "place-keyed" and by_two_parties(entry):
            self.tray.key(place, from_paper.of_entry(entry, texts, self.file_of(entry.body)))

    def _recounted(self, unit: str) -> None:
        """Recounted rows of a place's return take the place of its own, in the tables too."""
        if unit in self.desks:
            self.tray.recount(unit, self.added.recounts.rows(Atom(unit, added_ballots.RETURNS)))
            self.upkeep.refresh(unit)

    # --- what is asked of its parts

    def questions(self, place: str) -> tuple[DeskQuestion, ...]:
        """Every question of a place, open and closed."""
        return self.asked.of(place)

    def state(self, place: str) -> tuple[str, str]:
        """(mark, words) of a place now."""
        return self.upkeep.state(place)

    def held_or_open(self) -> list[Row]:
        """What Totals, Places and Canvass say at their head: (mark, words, [(place or desk, its name, page)])."""
        return [*self.buildings.rows(), *marked_places(self)]

    def signers_words(self, entry: CurrentEntry) -> str:
        """Who signed, and at which desk apart."""
        return super().signers_words(entry) + self.buildings.came_words(entry.number)

    def entry_words(self, entry: CurrentEntry) -> str:
        """What the entry says, and of a finding that it was withdrawn."""
        return super().entry_words(entry) + self.desk_findings.withdrawn_words(entry)

    def time_beside(self, kind: str, ms: int) -> str:
        """The time (ms UTC) of an entry with its day, in words: "3 Nov, 21:34"."""
        return dated_words.dated(self, ms)

    def election_words(self) -> str:
        """What every print of the office is headed with."""
        return dated_words.election_words(self)

    def barred(self, claims: Sequence[Claim], official: Official) -> str:
        """Why this official may not sign these claims: a person who carried the goods of a place neither takes them over nor signs for them; "" for no reason."""
        return self.other_desks.barred(claims, official)

    def menu(self) -> list[Link]:
        return desk_menu.menu(self)

    # --- what is kept

    def ruling_entry(self, ruling: Ruling) -> CurrentEntry | None:
        """The entry by which two parties decided which packet counts."""
        found = self.ledger.find(ruling.id)
        return self.day.entry(found.number) if found else None

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """What bears on figures is signed by two parties or not at all: an empty seat is no reason."""
        if any(claim.kind in TWO_PARTIES and claim.body.get("short") for claim in claims):
            return "This is signed by two receivers of two parties, or not at all. Wait for one of another party."
        if told := self.certified.not_while_certified(claims):
            return told
        for claim in claims:
            if told := (
                self.other_desks.done_already(claim)
                or self.desk_findings.withdrawn_already(claim)
                or kept_since.told(self, claim)
            ):
                return told
        if any(claim.kind == "edition-posted" and claim.body["number"] != self.editions.next for claim in claims):
            return f"Edition {self.editions.next - 1} was posted meanwhile. Make the next one ready and look at it, then sign."
        return ""

    def figures_to_sign(self, claims: Sequence[Claim]) -> list[tuple[str, list[tuple[str, int | None]]]]:
        return to_sign.figures(self, claims)

    def kept_meanwhile(self, claims: Sequence[Claim]) -> str:
        return to_sign.kept_meanwhile(self, claims)

    def catch_up(self, after: int) -> None:
        super().catch_up(after)
        self.day.head = self.ledger.head

    def take_in(self, report: packet_checks.Report, parts: Sequence[bytes]) -> Entry | None:
        """Keep a checked packet: the file first, then the entry. The same packet twice is one."""
        with self.lock:
            place, digest = report.place.id, report.opened.digest
            if self.tray.holds(place, digest):
                return None
            self.tray.lay(report.opened, parts)
            core = report.opened.core
            body = {
                "place": place,
                "number": core["number"],
                "digest": digest,
                "amends": core["amends"],
                "proven": bool(report.opened.verified),
                "length": core["length"],
            }
            return self.keep(
                [Claim(uuid.uuid4().bytes, "packet-received", body, self.now(), g.session.tablet, 0)],
                holder=g.session.holder,
            )[0]

    def restored_with(self) -> str:
        found = restore(self.day)
        return found.kit if found else ""

    def took_over(self) -> str:
        """What Intake says on a laptop that took over from another one; "" where none did."""
        found = restore(self.day)
        return (
            f"This laptop took over after entry {found.last}. Take in again every packet that came after it: one that is in already changes nothing."
            if found
            else ""
        )

    # --- what the shared pages ask

    def place_of(self, body: Mapping[str, Any]) -> Place:
        """Returns the place that an entry's body is about; the office, seen as a place, where it names none."""
        return self.roster.places.get(body.get("place") or body.get("unit") or "", self.place)

    def step_open(self, name: str) -> bool:
        """Whether the desk has this page: of the people's steps it has the arrivals only."""
        return name == "arrivals"

    def after_entries(self, back: str, entries: Sequence[Entry]) -> str:
        """Does what recorded entries ask for (desks, PINs); returns the next page's address, which is the one the form asked for."""
        for entry in entries:
            if entry.kind == "paired":
                self.gate.tablets.admit(entry.body["tablet"])
            if entry.kind == "revoked":
                self.gate.tablets.strike_off(entry.body["tablet"])
            if entry.kind == "vouched":
                if entry.body["why"] == "lost-pin":
                    self.gate.pins.clear(entry.body["person"])
                self.gate.throttle.reset(entry.body["person"])
        return back

    # --- one place's desk

    def desk_tasks(self, place: str, now: int) -> tuple[Task, ...]:
        """The steps of a place's desk. Those that only attested what the program knows are asked no more, and stay legible where they were kept."""
        found = checklist.tasks(self.roster.places[place], self.desks[place], now, DESK)
        return tuple(task for task in found if task.step.id not in ASKED_NO_MORE or task.state == "done")

    def desk_task(self, place: str, key: str, now: int) -> Task | None:
        """Returns the task with this key at the desk of a place; None if there is none. now: ms UTC."""
        return next((t for t in self.desk_tasks(place, now) if t.key == key), None)

    def tasks(self, now: int) -> tuple[Task, ...]:
        """At the office only the roll call is a step of its own; the desks have theirs under Places."""
        return tuple(
            t for t in checklist.tasks(self.place, self.day, now, ("opening",)) if t.step.id in ("arrivals", "oath")
        )

    def task(self, key: str, now: int) -> Task | None:
        """Returns the task of the office with this key; None if there is none. now: ms UTC."""
        return next((t for t in self.tasks(now) if t.key == key), None)

    def after(self, tasks: Sequence[Task], entries: Sequence[Entry]) -> str:
        """The address of the page to show once the entries of these tasks are recorded."""
        return "/people"

    def at_hand(self) -> tuple[Place, BalancedDay]:
        """The place and day of this page: the desk that its address names, or that of the entry which is corrected."""
        place: str = g.get("desk") or (request.view_args or {}).get("place", "")
        return (self.roster.places[place], self.desks[place]) if place in self.desks else super().at_hand()

    def correctable(self, entry: CurrentEntry) -> Step | None:
        """The step of a desk whose entry may be corrected by its form."""
        place = self.owner.get(entry.number)
        step = checklist.step_of(entry.kind, self.roster.places[place]) if place else None
        return step if step and step.fields and entry.taken_back is None else None

    def correcting(self, number: int) -> None:
        """As everywhere; the page is one of the desk of that entry's place."""
        g.desk = self.owner[number]
        super().correcting(number)

    def close(self) -> None:
        super().close()
        self.tables.close()
