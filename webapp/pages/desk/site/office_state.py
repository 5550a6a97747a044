"""State of a running office: its roster, its record and gate, what desks apart brought, the packets it received, and what is worked out of them."""

import hashlib
import hmac
from collections.abc import Mapping
from datetime import date
from datetime import time as wall
from pathlib import Path
from typing import Any

from webapp.gate import keys
from webapp.gate.gate import Gate
from webapp.merging import desk_apart
from webapp.merging.brought import Brought
from webapp.merging.origins import PlaceDesks
from webapp.merging.reported_offices import ReportedOffices
from webapp.office.canvassing import editions
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.canvassing.certifying import Certifying
from webapp.office.questions.canvass_board import CanvassBoard
from webapp.office.reading.packet_stack import PacketStack
from webapp.office.reading.refused_files import RefusedFiles
from webapp.office.received.packet_reports import PacketReports
from webapp.office.received.place_states import States
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup import roster
from webapp.office.setup.roster import Roster
from webapp.office.totals.projections import Projections
from webapp.packet.bundle_frames import BundleCodes
from webapp.packet.keyboard_scanner import Layout
from webapp.pages.shared.task_words import TaskWords
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.place.place import Place, Precinct, Rules
from webapp.record import looking
from webapp.record.ledger import Ledger
from webapp.settings import Settings


class OfficeState(TaskWords):
    """What the parts of the office's site read and add to; empty until the record is read in."""

    role_of_room = "office"
    seal_rows = None  # a form of the office knows no list of spare seals

    def __init__(self, settings: Settings):
        self.folder: Path = settings.folder
        self.roster: Roster = roster.load(settings.folder)
        self.place = as_place(self.roster)
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
            self.bundle_codes: dict[str, BundleCodes] = {}  # tablet -> codes of a desk's bundle that are read there
            self.keyboards: dict[str, Layout] = {}  # tablet -> how its hand scanner types
            self.tray = ReceivedPackets(settings.folder, self.roster)
            self.reports = PacketReports(self.tray)
            self.added = AddedBallots(self.roster)
            self.certifying = Certifying()
            self.refused = RefusedFiles(settings.folder)
            self.open_places: dict[str, dict[str, tuple[str, int, int]]] = {}  # place -> desk -> (holder, since, last)
            self.editions = editions.Editions(settings.folder)
            self.states = States(tuple(self.roster.places))
            self.tables = Projections(settings.folder / "desk.db")
            self.board = CanvassBoard()
        except BaseException:
            ledger.close()
            raise

    def file_of(self, body: Mapping[str, Any]) -> Place:
        """The place file that an entry names; the newest one of its place where that was never issued."""
        return self.roster.issued.get(bytes(body["place_digest"]), self.roster.places[body["place"]])


def as_place(known: Roster) -> Place:
    """The office seen as a place: its people, parties and clock, and nothing to vote on."""
    office, newest = known.office, next(iter(known.places.values()), None)
    return Place(
        format=1,
        edition="1",
        id=office.id,
        name=office.name,
        parties=office.parties,
        officials=office.officials,
        precincts=(Precinct(office.id, office.name),),
        mode=newest.mode if newest else "live",
        election=newest.election if newest else "",
        date=newest.date if newest else date.today(),
        zone=newest.zone if newest else "UTC",
        opens=wall(0),
        closes=wall(23, 59),
    )
