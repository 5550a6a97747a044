"""The drill for a trainer: it is noon at the practice place, its laptop dies, and people go on from the printed page alone while each step is timed.

Nothing is done for them: they start the spare laptop, set PINs, read and sign. The drill waits, notes the time and what went wrong, looks into the
spare laptop's record where that can tell whether a step was done, and holds what was signed at the end against what is so.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from demo_precinct import laptop_dies, rehearsed_county
from demo_precinct.drill_morning import at_noon, morning
from demo_precinct.rehearsed_day import PINS
from webapp.commands.recovery import saved_folder
from webapp.office.setup import enrolment
from webapp.paper import spare_sheet
from webapp.precinct.day.restores import in_words, ranges
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import verify
from webapp.record.backup import StoredEntry, stored_after
from webapp.record.entry import Entry
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused
from webapp.stick.folder import SNAPSHOTS, chosen, segment_files

STARTED = 4  # the step after which the spare laptop has a record
TEN_MINUTES = 600  # seconds: what the page promises


class DidNotOpen(Exception):
    """The first laptop could not be started; one sentence."""


@dataclass
class TimedStep:
    """One step of the printed page: seconds it took, what was noted meanwhile; seen: whether the record shows it, None where it cannot."""

    number: int
    seconds: float
    noted: list[str] = field(default_factory=list)
    seen: bool | None = None


@dataclass
class HandsOutcome:
    """What came of it. last: restored to here. lost: old numbers that two parties signed as lost. wrong: a sentence for each thing that is not so."""

    steps: list[TimedStep]
    last: int
    lost: tuple[int, ...]
    wrong: list[str]

    @property
    def seconds(self) -> float:
        return sum(step.seconds for step in self.steps)

    def as_json(self) -> str:
        steps = [[one.number, round(one.seconds, 1), one.seen, one.noted] for one in self.steps]
        told = {"ok": not self.wrong, "seconds": round(self.seconds, 1), "steps": steps, "last": self.last}
        return json.dumps(told | {"lost": list(self.lost), "wrong": self.wrong}, separators=(",", ":"))


@dataclass
class Hands:
    """One drill in an empty folder. ask: shows a line and waits for one, as `input` does. say: prints a line. seconds: a clock."""

    folder: Path
    port: int
    ask: Callable[[str], str]
    say: Callable[[str], None]
    seconds: Callable[[], float] = time.monotonic

    def play(self) -> HandsOutcome:
        self.say("The morning of a practice place is played; this takes half a minute.")
        self.prepare()
        laptop = self.opened()
        try:
            self.tell_the_place()
            self.ask("Press Enter when the place is open before them. The stick is then pulled out. ")
            self.stick.rename(self.folder / "pulled")
            self.say(
                "The stick is out. Let them keep one note now, and write its number and what it says on the paper log."
            )
            self.ask("Press Enter when the note has a number: then the laptop dies. ")
            self.night = stored_after(self.old / saved_folder.RECORD, 0, 1_000_000)
        finally:
            laptop.kill()
            laptop.communicate()
        self.dies()
        return self.judged(self.night, self.timed())

    # --- before

    def prepare(self) -> None:
        """Office, place with kit and slips, a morning's entries on laptop and stick."""
        self.old, self.new, self.stick = self.folder / "laptop", self.folder / "spare", self.folder / "stick"
        toml = at_noon((rehearsed_county.HERE / "place.toml").read_bytes(), datetime.now(UTC))
        rehearsed_county.open_office(self.folder, (rehearsed_county.HERE / "office.toml").read_bytes())
        sealed, office = self.folder / "place.cose", self.folder / "office"
        enrolment.build(toml, office, sealed)
        self.made = enrolment.enrol(sealed.read_bytes(), office, self.old, time.time_ns() // 1_000_000, spare=True)
        self.codes, self.place = laptop_dies.listed(self.made), place_file.read(toml)
        morning(self.place, self.old, self.stick, self.codes["codes"])

    def opened(self) -> subprocess.Popen:
        """The first laptop, in a process of its own."""
        words = [sys.executable, "-m", "webapp", "precinct", self.old, "--port", self.port, "--stick", self.stick]
        child = subprocess.Popen(
            list(map(str, words)), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=os.getcwd()
        )
        line = child.stdout.readline() if child.stdout else ""
        self.address = (re.search(r"http://\S+/", line) or [""])[0]
        if not self.address:
            child.kill()
            raise DidNotOpen("The laptop's program did not open: is another one running on its port?")
        return child

    def tell_the_place(self) -> None:
        officials = self.place.officials
        for line in (
            f"The laptop: {self.address}  It is noon at {self.place.name}; {len(officials)} officials are there.",
            "PINs on this laptop: "
            + ", ".join(f"{o.name} {PINS[i % len(PINS)]}" for i, o in enumerate(officials))
            + ".",
            f"To print: {self.made.slips}  Its first page is the spare sheet: lay it into an envelope. The slips are handed out.",
            f"The kit, on the spare laptop: {self.made.kit}",
            f"The stick, in the laptop: {self.stick}",
            *self.papers(),
            f"The new folder on the spare laptop, SPARE on the page: {self.new}. If they take another, type it when you are asked.",
        ):
            self.say(line)

    def papers(self) -> list[str]:
        """What the trainer gives out besides: the words on the witness's card, and figures to read off where no tabulator stands."""
        entries = [Entry.unpack(one.data) for one in stored_after(self.old / saved_folder.RECORD, 0, 1_000_000)]
        words = [f"entry {one.body['number']} {one.body['words']}" for one in entries if one.kind == "check-words"]
        read = [one.body for one in entries if one.kind == "hourly"][-1:]
        told = [f"On the witness's card: {', '.join(words)}."] if words else []
        for body in read:
            figures = ", ".join(f"{name} {n}" for name, n in (*body["counters"].items(), *body["check_ins"].items()))
            told.append(f"For their reading tell figures a little above the last ones: {figures}.")
        return told

    def dies(self) -> None:
        """The folder is gone; the stick comes out of it as it was in the middle of a write."""
        time.sleep(1.5)  # the copying process ends by itself
        shutil.rmtree(self.old)
        (self.folder / "pulled").rename(self.stick)
        for name in SNAPSHOTS:
            (chosen(self.stick) / name).unlink(missing_ok=True)
        newest = segment_files(chosen(self.stick))[-1]
        newest.write_bytes(newest.read_bytes()[:-30])
        self.say(
            "The laptop is dead and its disk is gone. The time runs. They have the printed page, and nobody tells them more."
        )

    # --- the ten minutes

    def timed(self) -> list[TimedStep]:
        steps = []
        for number, words in enumerate(spare_sheet.STEPS, 1):
            began, noted = self.seconds(), []
            self.say(f"Step {number}. {words}")
            while told := self.ask("  Enter when it is done; or type what went wrong. ").strip():
                noted.append(told)
            took = self.seconds() - began
            if number == STARTED and not self.entries():
                self.find()
            steps.append(TimedStep(number, took, noted, self.shows(number)))
            if steps[-1].seen is False:
                self.say(f"  The record of the spare laptop does not show step {number} yet.")
        return steps

    def find(self) -> None:
        """Ask for the folder, where they gave it another name than the trainer was told."""
        while told := self.ask(
            f"  No record lies in {self.new}. Type the folder that they gave, or Enter to go on. "
        ).strip():
            self.new = Path(told).expanduser().resolve()
            if self.entries():
                return

    def shows(self, number: int) -> bool | None:
        """Whether the spare's record shows that this step was done; None where paper alone can tell."""
        entries = self.entries()
        after = {entry.kind for entry in entries}
        parties = {signer.party for entry in entries if entry.kind == "pin-set" for signer in entry.signers}
        found = {STARTED: "restored" in after, 6: len(parties) > 1, 9: "returned-read" in after, 11: "hourly" in after}
        return found.get(number)

    def entries(self) -> list[Entry]:
        """What the spare laptop's record holds from its own first entry on; nothing while there is none."""
        with suppress(RecordRefused, OSError), Ledger.read_only(self.new / saved_folder.RECORD) as reader:
            starts = reader.runs()
            return list(reader.entries(after=starts[-1].first - 1)) if starts else []
        return []

    # --- after

    def judged(self, night: Sequence[StoredEntry], steps: list[TimedStep]) -> HandsOutcome:
        entries, top = self.entries(), night[-1].number
        if not entries:
            return HandsOutcome(
                steps, 0, (), [f"No record of a spare laptop lies in {self.new}: nothing could be checked."]
            )
        true_last = laptop_dies.whole_on(self.stick, night)
        last = next((entry.body["last"] for entry in entries if entry.kind == "restored"), 0)
        signed = [entry for entry in entries if entry.kind == "returned-read"]
        lost = tuple(n for first, end in signed[-1].body["lost"] for n in range(first, end + 1)) if signed else ()
        noted = max((Entry.unpack(one.data) for one in night if one.number > true_last), key=by_hand, default=None)
        claims = {
            f"The last entry is stated as {last}, and is {true_last}.": last == true_last,
            "The list of what is lost was not signed by two parties.": bool(signed)
            and len({signer.party for signer in signed[-1].signers}) > 1,
            f"Entry {noted.number if noted else top} was seen with its number, and is not in the signed list of lost numbers.": noted
            is None
            or noted.number in lost,
            "A number is listed as lost that the laptop never gave.": not lost or max(lost) <= top,
            "A number was used twice.": not {one.number for one in night} & {entry.number for entry in entries},
            "The record does not check.": verify(self.new / saved_folder.RECORD, coarse=COARSE_KINDS).ok,
        }
        return HandsOutcome(steps, last, lost, [words for words, holds in claims.items() if not holds])


def by_hand(entry: Entry) -> tuple[bool, int]:
    """Order of entries by who saw their numbers: what people kept comes above what the laptop said of itself."""
    return entry.tablet != "L", entry.number


def in_a_table(found: HandsOutcome) -> str:
    """The times, what was noted, and whether all of it is true."""
    seen = {True: "seen in the record", False: "not in the record", None: "on paper"}
    rows = [
        f"Step {one.number:>2}  {one.seconds // 60:.0f} min {one.seconds % 60:02.0f} s  {seen[one.seen]}"
        + "".join(f"\n         {words}" for words in one.noted)
        for one in found.steps
    ]
    late = "" if found.seconds <= TEN_MINUTES else "  That is more than ten minutes."
    rows.append(f"In all   {found.seconds // 60:.0f} min {found.seconds % 60:02.0f} s.{late}")
    rows.append(f"Restored to entry {found.last}; signed as lost: {in_words(ranges(found.lost))}.")
    rows += (
        ["All that was signed is true."]
        if not found.wrong
        else ["Not as it should be:", *(f"  {w}" for w in found.wrong)]
    )
    return "\n".join(rows)
