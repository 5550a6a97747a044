"""The room of the central office: its record, its gate, the places it awaits, the packets it took in, one desk for each place."""

import hashlib
import hmac
import uuid
from collections.abc import Mapping, Sequence
from datetime import date
from datetime import time as wall

from flask import g

from webapp.canvass.atoms import Atom
from webapp.gate import keys
from webapp.gate.gate import Gate, GateRefused
from webapp.merging import desk_apart
from webapp.merging.brought import Brought
from webapp.merging.origins import PlaceDesks
from webapp.merging.reported_offices import ReportedOffices
from webapp.office import (
    added_ballots,
    board_votes,
    certifying,
    count_form,
    editions,
    from_paper,
    packet_checks,
    paper_core,
    paper_leaf,
    roster,
)
from webapp.office.added_ballots import AddedBallots
from webapp.office.canvass_board import CanvassBoard
from webapp.office.certifying import Certifying
from webapp.office.packet_stack import PacketStack
from webapp.office.place_states import States
from webapp.office.projections import Projections
from webapp.office.received_packets import ReceivedPackets
from webapp.office.refused_files import RefusedFiles
from webapp.office.what_counts import Ruling
from webapp.packet.bundle_frames import BundleCodes
from webapp.packet.keyboard_scanner import Layout
from webapp.pages.desk import desk_findings
from webapp.pages.desk.certified_desk import CertifiedDesk
from webapp.pages.desk.dated_words import DatedWords
from webapp.pages.desk.desk_findings import DeskFindings
from webapp.pages.desk.desk_menu import DeskMenu
from webapp.pages.desk.marked_places import MARKED
from webapp.pages.desk.open_questions import OpenQuestions
from webapp.pages.desk.other_buildings import OtherBuildings
from webapp.pages.desk.place_state import state_of
from webapp.pages.desk.several_desks import SeveralDesks
from webapp.pages.desk.two_parties import CHANGES_FIGURES, TWO_PARTIES, aside_of, by_two_parties, ruling_of
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Step, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.restores import restore
from webapp.precinct.place.place import Place, Precinct, Rules
from webapp.record import looking
from webapp.record.entry import Claim, Entry
from webapp.record.ledger import Ledger, RecordRefused
from webapp.settings import Settings
from webapp.version import VERSION

DESK = ("office",)
ASKED_NO_MORE = frozenset({"packet-read", "paper-typed"})


class OfficeSite(OpenQuestions, OtherBuildings, SeveralDesks, CertifiedDesk, DeskMenu, DeskFindings, DatedWords):
    role_of_room = "office"
    seal_rows = None  # a form of the office knows no list of spare seals

    def __init__(self, settings: Settings):
        self.folder = settings.folder
        self.roster = roster.load(settings.folder)
        self.place = self._as_place()
        path = settings.folder / "office.db"
        ledger = looking.opened(path) if path.exists() else Ledger.create(path)
        try:
            super().__init__(
                settings, ledger, Gate.open(settings.folder / "gate.db"), self.place.tz, self.roster.practice
            )
            self.form_secret = hmac.digest(keys.pepper(settings.folder), b"tapeseal/forms/1", hashlib.sha256)
            self.name = self.roster.office.name
            self.rules = Rules()
            self.day = BalancedDay(self.place)
            self.apart = desk_apart.of_folder(settings.folder)
            self.under = f"desk {self.apart.id}, apart" if self.apart else "desk"
            self.brought = Brought()
            self.reported = ReportedOffices(self.roster)
            self.desks = PlaceDesks(self.roster.places)
            self.owner: dict[int, str] = {}  # number of an entry -> place it speaks of
            self.stacks: dict[str, PacketStack] = {}  # tablet -> codes of packets that are being read there
            self.bundle_codes: dict[
                str, BundleCodes
            ] = {}  # tablet -> codes of a desk's bundle that are being read there
            self.keyboards: dict[str, Layout] = {}  # tablet -> how its hand scanner types
            self.tray = ReceivedPackets(settings.folder, self.roster)
            self.added = AddedBallots(self.roster)
            self.certifying = Certifying()
            self.refused = RefusedFiles(settings.folder)
            self.open_places: dict[str, dict[str, tuple[str, int, int]]] = {}  # place -> desk -> (holder, since, last)
            self.editions = editions.Editions(settings.folder)
            self.tables: Projections | None = None
            self.states = States(tuple(self.roster.places))
            self.catch_up(0)
            self.tables = Projections(settings.folder / "desk.db")
            self.tables.match(self.tray.stamps(), self.tray.weighed)
            self.board = CanvassBoard(self.tables.standings())
            for place in self.roster.places:
                self.absentee(place)
            self.start_said = True
            self.begin()
        except BaseException:
            ledger.close()
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

    def _as_place(self) -> Place:
        """The office seen as a place: its people, parties and clock, and nothing to vote on."""
        office = self.roster.office
        newest = next(iter(self.roster.places.values()), None)
        zone, day = (newest.zone, newest.date) if newest else ("UTC", date.today())
        return Place(
            1,
            newest.mode if newest else "live",
            "1",
            office.id,
            office.name,
            "",
            newest.election if newest else "",
            day,
            zone,
            wall(0),
            wall(23, 59),
            "",
            office.parties,
            Rules(),
            office.officials,
            (Precinct(office.id, office.name),),
            (),
            (),
            (),
            (),
            (),
            (),
        )

    @property
    def start(self) -> str:
        """Where a browser comes in: until roll call begins, at what is ready and what is missing."""
        return "/intake" if self.people.present or self.people.sworn else "/ready"

    # --- what is kept

    def fold(self, entry: Entry, texts: Mapping[str, str]) -> None:
        entry = self.brought.read(entry)
        self.day.add(entry, texts)
        self.reported.add(entry)
        place: str = (entry.body.get("place") or "") if entry.kind not in ("record-opened",) else ""
        if entry.kind in ("correction", "taken-back", "countersigned"):
            place = self.owner.get(entry.body["of"], "")
        if place in self.desks:
            self.owner[entry.number] = place
            self.desks.add(place, self.brought.desk_of(entry.number), entry, texts)
            self.states.change(place)
        if entry.kind == "packet-received":
            self.tray.take_out(entry.body["place"], bytes(entry.body["digest"]))
        elif entry.kind in desk_findings.KINDS and place in self.desks:
            self.fold_finding(place, entry, texts)
        elif entry.kind == "place-counts" and place in self.desks and by_two_parties(entry):
            self.tray.rule(place, ruling_of(entry))
        elif entry.kind == "packet-set-aside" and place in self.desks and by_two_parties(entry):
            self.tray.set_aside(place, aside_of(entry))
        elif entry.kind == "place-keyed" and place in self.desks and by_two_parties(entry):
            self.tray.key(place, from_paper.of_entry(entry, texts, self.file_of(entry.body)))
        elif entry.kind in added_ballots.KINDS and by_two_parties(entry):
            self.added.add(entry)
            if entry.kind == "recounted":
                self.recounted(entry.body["unit"])
        elif entry.kind in certifying.KINDS:
            self.fold_certifying(entry, texts)
        elif editions.is_posted(entry):
            self.editions.post(editions.posted_of(entry, texts.get("because", "")))
        changed = place in self.desks and self.weigh_differences(place)
        if self.tables and place and (changed or entry.kind in CHANGES_FIGURES):
            self.lay_out(place)

    def lay_out(self, place: str) -> None:
        """The tables of one place anew: another packet counts, or a finding lies over it."""
        found = self.tray.weighed(place) if self.tray.in_totals(place) else None
        self.absentee(place)
        if found:
            self.tables.put(*found)
            self.board.put(found[1])
        else:
            self.tables.take(place)
            self.board.take(place)

    def absentee(self, board: str) -> None:
        """The absentee ballots by place that the packet of a count board gives, as far as it counts and its votes by precinct are here."""
        file = self.roster.places[board]
        if file.kind != "board":
            return
        inn = self.tray.counts(board) if self.tray.in_totals(board) else None
        parts = board_votes.kept(self.folder, inn[1].core, file) if inn else None
        self.added.from_board(board, board_votes.counts(self.roster, file, inn[0], parts) if inn and parts else [])

    def recounted(self, unit: str) -> None:
        """Recounted rows of a place's return take the place of its own, in the tables too."""
        if unit in self.desks:
            self.tray.recount(unit, self.added.recounts.rows(Atom(unit, added_ballots.RETURNS)))
            self.states.change(unit)
            if self.tables:
                self.lay_out(unit)

    def ruling_entry(self, ruling: Ruling) -> CurrentEntry | None:
        """The entry by which two parties decided which packet counts."""
        found = self.ledger.find(ruling.id)
        return self.day.entry(found.number) if found else None

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """What bears on figures is signed by two parties or not at all: an empty seat is no reason."""
        if any(claim.kind in TWO_PARTIES and claim.body.get("short") for claim in claims):
            return "This is signed by two receivers of two parties, or not at all. Wait for one of another party."
        if told := self.not_while_certified(claims):
            return told
        for claim in claims:
            if told := self.done_already(claim) or self.withdrawn_already(claim):
                return told
        if any(claim.kind == "edition-posted" and claim.body["number"] != self.editions.next for claim in claims):
            return f"Edition {self.editions.next - 1} was posted meanwhile. Make the next one ready and look at it, then sign."
        return ""

    def figures_to_sign(self, claims: Sequence[Claim]) -> list[tuple[str, list[tuple[str, int | None]]]]:
        """The rows of a count, as they are signed."""
        found = []
        for claim in claims:
            if claim.kind in ("count-in", "recounted"):
                found += count_form.rows(claim.body["contests"], self.added.contests(claim.body["unit"]))
            elif claim.kind == "place-keyed":
                file = self.file_of(claim.body)
                core = paper_core.whole(claim.body["core"], file, 0)
                found += paper_leaf.rows(paper_core.values_of(core, file), file)
        return found

    def file_of(self, body: Mapping) -> Place:
        """The place file that an entry names; the newest one of its place where that was never issued."""
        return self.roster.issued.get(bytes(body["place_digest"]), self.roster.places[body["place"]])

    def held_or_open(self) -> list[tuple[str, str, list[tuple[str, str, str]]]]:
        """What is held, not proven or contradicted at this minute: (mark, words, [(place, its name, page)])."""
        rows = []
        for name, sign, one, many in MARKED:
            places = [place for place in self.roster.places if place in self.tray.marks[name]]
            if places:
                words = one if len(places) == 1 else many.format(n=f"{len(places):,}")
                page = "questions" if name in ("out", "differs") else "packets"
                rows.append((sign, words, [(p, self.roster.places[p].name, f"/{page}/{p}") for p in places]))
        return [*self.desk_rows(), *rows]

    def catch_up(self, after: int) -> None:
        super().catch_up(after)
        self.day.head = self.ledger.head

    def take_in(self, report: packet_checks.Report, parts) -> Entry | None:
        """Keep a checked packet: the file first, then the entry. The same packet twice is one."""
        with self.lock:
            place, digest = report.place.id, report.opened.digest
            if self.tray.holds(place, digest):
                return None
            self.tray.lay(digest, parts)
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

    def report(self, place: str) -> packet_checks.Report | None:
        """Every check of the packet that counts for a place, as the desk sees it now."""
        with self.lock:
            return self.tray.report(place)

    def state(self, place: str) -> tuple[str, str]:
        """(mark, words) of a place: expected, figures in, goods in, both, agreed, questions; worked out anew once something of it was kept."""
        if place in self.states.stale:
            self._look_at(place)
        return self.states[place]

    def all_states(self) -> States:
        """The state of every place, each that has changed worked out anew."""
        for place in tuple(self.states.stale):
            self._look_at(place)
        return self.states

    def _look_at(self, place: str) -> None:
        self.states.put(place, state_of(self, place), place in self.board.places and bool(self.board.places[place].off))

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

    def place_of(self, body: Mapping):
        return self.roster.places.get(body.get("place") or body.get("unit"), self.place)

    def step_open(self, name: str) -> bool:
        return name == "arrivals"

    def after_entries(self, back: str, entries) -> str:
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
        return next((t for t in self.desk_tasks(place, now) if t.key == key), None)

    def tasks(self, now: int) -> tuple[Task, ...]:
        """At the office only the roll call is a step of its own; the desks have theirs under Places."""
        return tuple(
            t for t in checklist.tasks(self.place, self.day, now, ("opening",)) if t.step.id in ("arrivals", "oath")
        )

    def task(self, key: str, now: int) -> Task | None:
        return next((t for t in self.tasks(now) if t.key == key), None)

    def after(self, tasks, entries) -> str:
        return "/people"

    def at_hand(self) -> tuple[Place, BalancedDay]:
        """Those of the desk whose page this is."""
        place = getattr(g, "desk", None)
        return (self.roster.places[place], self.desks[place]) if place else super().at_hand()

    def correctable(self, entry: CurrentEntry) -> Step | None:
        """Desk steps are corrected on the page of their place."""
        g.desk = self.owner.get(entry.number)
        if g.desk is None:
            return None
        step = checklist.step_of(entry.kind, self.roster.places[g.desk])
        return step if step and step.fields and entry.taken_back is None else None

    def close(self) -> None:
        with self.lock:
            try:
                self.laptop_says("stopped", {})
            except (RecordRefused, GateRefused):
                pass  # a disk that takes nothing more: the record simply ends
            self.ledger.close()
            self.gate.close()
            self.tables.close()
