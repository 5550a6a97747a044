"""State of a running server: ledger, gate, clock, folded day. Pages read and append through it."""

import threading
import uuid
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from flask import current_app, g, request

from webapp.gate.gate import Gate
from webapp.gate.refusals import GateDiskRefused, GateRefused
from webapp.pages.shared import filters
from webapp.pages.shared.stick_line import stick_line
from webapp.pages.shared.turns import acts_of
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist.checklist import Task
from webapp.precinct.day.people import People
from webapp.precinct.place.place import Official, Phone, Place
from webapp.record.check_words import check_words
from webapp.record.entry import Claim, Entry, Signer
from webapp.record.ledger import Ledger, RecordRefused
from webapp.record.looking import LookingRecord
from webapp.record.refusals import RecordDiskRefused
from webapp.settings import Clock, Settings
from webapp.stick.backup_process import BackupProcess
from webapp.stick.words import StickLine, head_words, notice, tablet_words


@dataclass(frozen=True, slots=True)
class Link:
    """A place at the foot of the page, or a line of the menu."""

    href: str
    words: str
    icon: str = ""
    small: str = ""
    pen: bool = False
    here: bool = False


class Site:
    """Shared by place and office. A role adds what its day is, its places and its menu."""

    backup: BackupProcess | None = None  # what copies the record to a stick, where one was asked for
    choose_stick: Callable[[str], str] | None = None  # copies to another path from now on; says why it cannot, or ""
    doors = None  # for tablets: `tablets/tablet_address.py`, where their listener is open
    disk_refuses = False  # the last that should have been kept was refused by the disk
    start_said = False  # the record knows that this program was started
    place_links: tuple[tuple[str, str, str, bool], ...] = ()
    place: Place  # at the office: its people, parties and clock, and nothing to vote on
    day: BalancedDay
    worked_out_again: frozenset[str] = frozenset()  # fields that a correction of their figures works out anew

    def __init__(self, settings: Settings, ledger: Ledger | LookingRecord, gate: Gate, zone: ZoneInfo, practice: bool):
        self.settings, self.ledger, self.gate, self.zone, self.practice = settings, ledger, gate, zone, practice
        self.clock = Clock.of(settings)
        self.lock = threading.RLock()
        self._words: dict[bytes, str] = {}
        self._heads: dict[int, bytes] = {}

    @property
    def start(self) -> str:
        return "/"

    @property
    def hours_on_clock(self) -> int:
        return 24  # or 12: how its people read the time

    def now(self) -> int:
        """Milliseconds UTC by the laptop's clock (in practice perhaps a scripted one)."""
        return self.clock.now()

    def signed_at(self, path: str) -> tuple[str, ...]:
        """The kinds of entries of a page that this kind of place has besides steps and notes, so that it can be put aside; () for any other."""
        return ()

    def tasks(self, now: int) -> tuple[Task, ...]:
        """The steps of the day as they are now."""
        raise NotImplementedError

    def fold(self, entry: Entry, texts: dict[str, str]) -> None:
        """Folds one entry of the record into the day. texts: its free words by field. Each role has its own."""
        raise NotImplementedError

    def catch_up(self, after: int) -> None:
        """Fold what the record holds beyond entry `after`."""
        for entry in self.ledger.entries(after=after):
            self.fold(entry, self.ledger.texts(entry.number))

    def keep(
        self,
        claims: Sequence[Claim],
        signers: Sequence[Signer] = (),
        holder: str | None = None,
        made: int | None = None,
        offset: int = 0,
    ) -> tuple[Entry, ...]:
        """Append these claims in one durable commit and fold them, after what goes before them in the same commit. Raises `RecordRefused`.

        A claim without a `seq` gets the tablet's next; one that was held on the tablet brings its own, which must be the next (else `OutOfTurn`),
        with the tablet's clock when it was `made` and that clock less the laptop's (`offset`), both ms.
        """
        with self.lock:
            if not self.start_said:
                self.start_said = True
                self.begin()
            first, now = self.goes_first(claims), self.now()
            if settled := self.settled([claim for claim in claims if self.ledger.find(claim.id) is None], now):
                raise RecordRefused(settled)
            acts = acts_of(self.ledger, (*first, *claims), signers, holder, now, made, offset)
            before = self.ledger.length
            with self.asking_the_disk() as ledger:
                entries = ledger.append(*acts, now=now)
            self.catch_up(before)
            with suppress(
                GateRefused, RecordRefused
            ):  # these are in the record, and no answer may say otherwise; what is left over goes next time
                self.was_kept(first, entries)
            return entries[len(first) :]

    def goes_first(self, claims: Sequence[Claim]) -> Sequence[Claim]:
        """The laptop's own claims that go into the record before these, in the same commit."""
        return ()

    def was_kept(self, first: Sequence[Claim], entries: Sequence[Entry]) -> None:
        """What follows from it that these entries are in the record; `first`: the claims that went before."""

    def laptop_says(self, kind: str, body: dict[str, Any]) -> Entry:
        """An entry of the laptop itself, signed by nobody."""
        return self.keep([Claim(uuid.uuid4().bytes, kind, body, self.now(), "L", 0)])[0]

    @contextmanager
    def asking_the_disk(self) -> Iterator[Ledger]:
        """The record, open for adding; opened just now, where its disk took nothing until now. Its refusal is remembered, for every page to say."""
        try:
            if isinstance(self.ledger, LookingRecord):
                self.ledger = self.ledger.reopened()
                self.on_disk_again()
            yield self.ledger
        except RecordDiskRefused:
            self.disk_refuses = True
            raise
        self.disk_refuses = False

    def on_disk_again(self) -> None:
        """What was left undone because the disk took nothing."""

    def begin(self) -> None:
        """Say in the record that the program was started; on a disk that takes nothing, with the first entry that it takes."""
        try:
            self.say_started()
        except (RecordDiskRefused, GateDiskRefused):
            self.start_said = False

    def say_started(self) -> None:
        """Records that the program was started. Each role has its own."""
        raise NotImplementedError

    def attachment(self, digest: bytes) -> bytes:
        """Bytes that a waiting claim names by its digest (a packet that waits for its second signature); b"" where there are none."""
        return b""

    def figures_to_sign(self, claims: Sequence[Claim]) -> list[tuple[str, list[tuple[str, int | None]]]]:
        """Figures that are shown where they are signed and in no list: (heading, [(line, figure)])."""
        return []

    def kept_meanwhile(self, claims: Sequence[Claim]) -> str:
        """The sentence where what is signed lacks something that was kept since it was made, and may be signed all the same; "" else."""
        return ""

    def settled(self, claims: Sequence[Claim], now: int) -> str:
        """The sentence when somebody else has kept one of these steps in the meantime; "" when nobody has."""
        return ""

    def tablets_owed(self) -> list[tuple[str, str]]:
        """(tablet, sentence) of each tablet that may hold entries. The office's desks hold none: what one sent is in the record, or was refused."""
        return []

    def barred(self, claims: Sequence[Claim], official: Official) -> str:
        """Why this official may not sign these claims, whatever seat is free; "" when nothing bars them."""
        return ""

    def close(self) -> None:
        """A clean stop: say so in the record, then let go of the files."""
        with self.lock:
            with suppress(RecordRefused, GateRefused):  # a disk that takes nothing more: the record simply ends
                self.laptop_says("stopped", {})
            self.ledger.close()
            self.gate.close()

    def marked(self) -> tuple[int, str]:
        """Number of the newest entry and the check words of the record's state there."""
        number, head = self.ledger.length, self.ledger.head
        if head not in self._words:
            self._words[head] = check_words(head)
        self._heads[number] = head
        return number, self._words[head]

    def words_after(self, number: int) -> str:
        """The check words of the record's state after entry `number`; "" where it has no such entry."""
        tip = self.ledger.at(number)
        if tip and tip.head not in self._words:
            self._words[tip.head] = check_words(tip.head)
        return self._words[tip.head] if tip else ""

    def marked_at(self, number: int) -> str | None:
        """The check words this server has shown for the state after that entry, if it has."""
        head = self._heads.get(number)
        return self._words.get(head) if head else None

    def restored_with(self) -> str:
        """ "spare" or "fresh" where this record was restored onto this laptop with or without a kit; "" where it never was."""
        return ""

    def stick(self) -> StickLine:
        """How far the backup stick is."""
        day = getattr(self, "day", None)
        status = self.backup.status if self.backup and day is not None else None
        return stick_line(status, day, self.now(), lambda ms: filters.clock(ms, self.zone, self.hours_on_clock))

    def stick_words(self) -> str:
        """The words about the stick in the head of a page; "" where no stick was asked for."""
        line = self.stick()
        return head_words(line) if current_app.config["DOOR"] == "laptop" else tablet_words(line)

    def stick_links(self) -> list[Link]:
        """The page of the stick, in the menu of the laptop itself."""
        here = self.choose_stick is not None and current_app.config["DOOR"] == "laptop"
        return [Link("/stick", "Stick", small=self.stick_words() or "none")] if here else []

    def stick_notice(self) -> str:
        """The sentence about the stick on Now; "" while all is well."""
        return notice(self.stick())

    def absent(self, path: str) -> bool:
        """Whether there is no page at this address here, although the program has one: it is another kind of place's."""
        return False

    def disk_notice(self) -> str:
        """What Now says while the disk takes nothing; "" while it does."""
        return (
            "The disk of this laptop takes nothing: no entry is kept. What has a number stays and can be looked at. Free some space on it, or check "
            "its plug and its write protection, then sign again. Until then go on with the paper log."
            if self.disk_refuses
            else ""
        )

    def places(self) -> list[Link]:
        """Returns the links at the foot of the page; the one that leads to this page is marked."""
        path = request.path
        return [
            Link(href, words, icon, pen=pen, here=path == href or path.startswith(href + "/"))
            for href, words, icon, pen in self.place_links
        ]

    @property
    def people(self) -> People:
        return self.day.people

    @property
    def election_day(self) -> date:
        return self.place.date

    def parties(self) -> list[tuple[str, str]]:
        """Returns (id, name) of each party."""
        return [(p.id, p.name) for p in self.place.parties]

    def party_name(self, party: str) -> str:
        """Returns the name of the party with this id, or "no party"."""
        found = self.place.party(party)
        return found.name if found else "no party"

    def party_word(self, party: str) -> str:
        """Returns the short word of the party with this id; the id where there is no such party."""
        found = self.place.party(party)
        return found.word if found else party

    def tablets_in_record(self) -> dict[str, bool]:
        """Each tablet or desk that the record knows by its letter, and whether its last word is that it was admitted."""
        told = sorted(self.day.of("paired") + self.day.of("revoked"), key=lambda kept: kept.number)
        return {kept.body["tablet"]: kept.kind == "paired" for kept in told}

    @property
    def phones(self) -> tuple[Phone, ...]:
        """Whom people here call, in the order of the place file; nobody at the office's desk."""
        return ()

    def menu(self) -> list[Link]:
        """Returns the lines of the menu. Each role has its own."""
        raise NotImplementedError

    @property
    def tablet(self) -> str:
        return g.session.tablet
