"""The drill: a practice day is played to some moment, the stick is pulled in the middle of a write, the laptop's folder is thrown away; a spare laptop
is made from stick and kit, two tablets give back what they hold, and what the product then says is lost is held against what is.

What is true is kept aside before the folder goes, and read off the stick's bytes with another reader of CBOR than the product's rules.
"""

import argparse
import base64
import contextlib
import io
import json
import os
import random
import shutil
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import cbor2

import webapp
from demo_precinct import rehearsed_county, sticks, story
from demo_precinct.rehearsed_day import MINUTE, Day
from demo_precinct.true_figures import invented
from webapp.commands.recovery import give_back, kit_code, restore, saved_folder
from webapp.office.setup import enrolment
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.record.backup import StoredEntry, stored_after
from webapp.record.entry import Entry
from webapp.record.ledger import Ledger
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings
from webapp.stick.folder import SNAPSHOTS, chosen, segment_files
from webapp.stick.given_back import BLIND
from webapp.stick.restore import RestoreOutcome
from webapp.stick.returns import account

STEPS = (12, 45)  # of the day before the laptop dies, at least and at most


class Died(Exception):
    """The moment has come."""


@dataclass
class Outcome:
    """What came of a drill. entries: kept before the laptop died. wrong: a sentence for each thing that the product said and that is not so."""

    seed: int
    entries: int
    last: int
    torn: int
    given_back: tuple[int, ...]
    lost: tuple[int, ...]
    seconds: float
    wrong: list[str] = field(default_factory=list)

    def as_json(self) -> str:
        told = {"ok": not self.wrong, "seed": self.seed, "entries": self.entries, "last": self.last, "torn": self.torn}
        more = {"given_back": list(self.given_back), "lost": list(self.lost), "wrong": self.wrong}
        return json.dumps(told | more | {"seconds": round(self.seconds, 1)}, separators=(",", ":"))


class UntilItDies(Day):
    """The practice day as far as so many steps."""

    left = 0

    def step(self, key: str, hours: list) -> None:
        if self.left == 0:
            raise Died
        self.left -= 1
        super().step(key, hours)


def drill(folder: Path, seed: int) -> Outcome:
    """Play one drill in this empty folder."""
    began, luck = time.monotonic(), random.Random(seed)
    place, codes, made = prepared(folder)
    old, stick = made.folder, folder / "stick"
    night = played(place, old, stick, codes, luck)
    shutil.rmtree(old)
    torn_off(stick, luck)
    true_last = whole_on(stick, night)
    spare, seen = folder / "spare", night[-1].number
    found = restored(stick, spare, made, seen)
    held = [one for one in night if one.number > true_last and luck.random() < 0.6]
    given(folder, spare, held, luck)
    return judged(seed, spare, night, true_last, held, found.last, found.torn, time.monotonic() - began)


def prepared(folder: Path) -> tuple[Place, dict, enrolment.Enrolled]:
    """The demo's place, enrolled with a kit; all its codes."""
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    rehearsed_county.open_office(folder, (rehearsed_county.HERE / "office.toml").read_bytes())
    sealed = folder / "place.cose"
    enrolment.build(toml, folder / "office", sealed)
    made = enrolment.enrol(
        sealed.read_bytes(), folder / "office", folder / "laptop", time.time_ns() // 1_000_000, spare=True
    )
    return place_file.read(toml), listed(made), made


def listed(made: enrolment.Enrolled) -> dict:
    """Every code of the practice place, as the office lists them beside the slips to print."""
    assert made.codes, "a practice place has its codes listed"
    return json.loads(made.codes.read_text(encoding="utf-8"))


def played(place: Place, laptop: Path, stick: Path, codes: dict, luck: random.Random) -> list[StoredEntry]:
    """The day up to some moment, copied to the stick as it goes on; every entry that the laptop kept by then."""
    app = webapp.create_app(
        Settings("place", laptop, mode=place.mode, clock="scripted", start=place.at(place.opens) - 120 * MINUTE)
    )
    running = serve_in_thread(app)
    backup = sticks.copying(laptop, place, stick)
    day = UntilItDies(place, invented(place, 1), running.port, codes["codes"], story.told())
    day.left = luck.randrange(*STEPS)
    try:
        with contextlib.suppress(Died):
            day.play()
        night = stored_after(laptop / saved_folder.RECORD, 0, 1_000_000)
    finally:
        running.stop()
        app.extensions["room"].close()
        backup.close(within=sticks.PATIENCE)
    return night


def torn_off(stick: Path, luck: random.Random) -> None:
    """The stick as it was pulled: its newest files end at some byte, and the whole copies are not there."""
    folder = chosen(stick)
    for name in SNAPSHOTS:
        (folder / name).unlink(missing_ok=True)
    files = sorted(segment_files(folder), key=lambda path: [int(part) for part in path.stem.split("-")[1:]])
    keep = max(1, len(files) - luck.randrange(0, 2))
    for late in files[keep:]:
        late.unlink()
    data = files[keep - 1].read_bytes()
    files[keep - 1].write_bytes(data[: luck.randrange(len(data) // 4, len(data) + 1)])


def whole_on(stick: Path, night: Sequence[StoredEntry]) -> int:
    """The number up to which the stick holds the night, by the bytes of its items."""
    right = {one.data: (one.number, one.head, len(one.words)) for one in night}
    known = {0}
    for path in segment_files(chosen(stick)):
        stream = io.BytesIO(path.read_bytes())
        with contextlib.suppress(Exception):  # whatever ends a torn file
            header = cbor2.load(stream)
            while True:
                head, data, words = cbor2.load(stream)
                if right.get(data, (0, b"", 0))[1:] != (head, len(words)) or header[6] < 0:
                    break
                known.add(right[data][0])
    return max(n for n in known if all(m in known for m in range(n)))


def restored(stick: Path, spare: Path, made: enrolment.Enrolled, seen: int) -> RestoreOutcome:
    """The spare laptop's folder, made as `record restore` makes it, with the code from the spare sheet."""
    code = listed(made)["kit"]
    options = argparse.Namespace(
        kit=made.kit, fresh=False, nothing=False, seen=seen, expect=[], record="", laptop="dead"
    )
    before = os.environ.get(kit_code.CODE)
    os.environ[kit_code.CODE] = code
    try:
        return restore.restored(options, stick, spare)
    finally:
        os.environ.pop(kit_code.CODE) if before is None else os.environ.update({kit_code.CODE: before})


def given(folder: Path, spare: Path, held: Sequence[StoredEntry], luck: random.Random) -> None:
    """Two tablets give back what they hold, some of it twice."""
    for letter in "AB":
        mine = [one for one in held if luck.random() < 0.7 or letter == "B"]
        memory = folder / f"tablet-{letter}.json"
        memory.write_text(json.dumps({"tablet": letter, "entries": [as_remembered(one) for one in mine]}))
        with contextlib.redirect_stdout(io.StringIO()):
            give_back.run(argparse.Namespace(file=memory, to=spare, record=""))


def as_remembered(one: StoredEntry) -> dict:
    """An entry as a tablet's memory holds it."""
    return {
        "entry": base64.b64encode(one.data).decode(),
        "texts": {name: text for name, _, text in one.words},
        "salts": {name: salt.hex() for name, salt, _ in one.words},
    }


def judged(
    seed: int,
    spare: Path,
    night: Sequence[StoredEntry],
    true_last: int,
    held: Sequence[StoredEntry],
    last: int,
    torn: int,
    seconds: float,
) -> Outcome:
    """What is said against what is so. A first keying comes back from nobody: it is lost, and keyed again from the paper."""
    record = spare / saved_folder.RECORD
    with Ledger.read_only(record) as reader:
        said = account(reader, night[-1].number)
        back = [bytes(entry.body["entry"]) for entry in reader.entries() if entry.kind == "given-back"]
        signed = [entry.number for entry in reader.entries(after=last) if entry.signers]
        numbers = [entry.number for entry in reader.entries(after=last)]
    back_again = [one for one in held if Entry.unpack(one.data).kind != BLIND]
    held_numbers = {one.number for one in back_again}
    lost = tuple(n for n in range(true_last + 1, night[-1].number + 1) if n not in held_numbers)
    verdict = verify(record, coarse=COARSE_KINDS)
    claims = {
        f"The last entry is stated as {last}, and is {true_last}.": last == true_last,
        "What is listed as lost is not what is lost.": said is not None and tuple(said.lost) == lost,
        "An entry was not given back byte for byte, and once.": sorted(back) == sorted(one.data for one in back_again),
        "A number was used twice.": not {one.number for one in night} & set(numbers),
        "Somebody was signed for.": signed == [],
        "The restored entries are not those that were kept.": [
            one.data for one in stored_after(record, 0, 1_000_000) if one.number <= last
        ]
        == [one.data for one in night[:last]],
        f"The record does not check: {verdict.says}": verdict.ok,
    }
    given_back = tuple(sorted(Entry.unpack(data).number for data in set(back)))
    wrong = [words for words, holds in claims.items() if not holds]
    return Outcome(seed, len(night), last, torn, given_back, tuple(said.lost) if said else (), seconds, wrong)
