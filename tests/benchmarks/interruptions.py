"""Random interruptions while three tablets work: the laptop's program killed without warning, answers lost, tablets killed holding entries.

    python tests/benchmarks/interruptions.py [--interruptions 200] [--seed 1]

Prints what was noted and what stands in the record: none lost, none twice, each tablet's lines without a hole. The laptop is the real program
in a process of its own; the tablets are `tests/pages/outbox.py`, which keeps every deed in a file as the browser does in its store.
"""

import argparse
import http.client
import random
import shutil
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo_precinct.http_window import Window
from tests.browser.laptop import Laptop
from tests.pages.outbox import Outbox
from tests.pages.scene import Playbook, Scene
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record import audit
from webapp.record.ledger import Ledger

GONE = (ConnectionError, http.client.HTTPException, OSError)
NOTES = {
    "/note/left": {},
    "/note/spoiled": {},
    "/note/taken": {},
    "/note/observers": {"came": "1", "left": "0", "here": "2"},
    "/note/handed-back": {"message": "overvote", "outcome": "as-is"},
}


@dataclass
class Noted:
    """What a person noted: confirmed once the page said "kept" or "held"; an entry nobody saw confirmed may stand in the record or not."""

    id: str
    kind: str
    confirmed: bool


@dataclass
class Hand:
    """One tablet and the person at it."""

    scene: Scene
    laptop: Laptop
    file: Path
    person: str
    luck: random.Random
    noted: list[Noted] = field(default_factory=list)
    drops: int = 0  # how often this tablet was killed
    lost: int = 0  # how often an answer was lost

    def begin(self) -> "Hand":
        self.window = Window(self.laptop.port)
        self.window.send(
            self.window.get("/tablet").form("/tablet/take"),
            {"signer": self.person, "pin": self.scene.pins[self.person]},
        )
        self.open()
        self.outbox.learn()
        self.outbox.store(*NOTES)
        return self

    def open(self) -> None:
        """Take the tablet up again from what lies on its disk."""
        self.outbox = Outbox(self.file, self.window, lambda: int(time.time() * 1000), self.person)

    def act(self) -> None:
        if self.luck.random() < 0.3:
            self.back()
        else:
            self.note(self.luck.choice(list(NOTES)))

    def note(self, path: str) -> None:
        """One note: sent within reach; held where the send fails, or where there is no page to send from."""
        ids, values = {}, NOTES[path]
        try:
            form = self.window.get(path).form(path)
            ids = {"id": form.controls["entry_id"].value} | (
                {"salt": form.controls["salt"].value} if "salt" in form.controls else {}
            )
            signed = (
                form.choices_made()
                | values
                | ({"signer": self.person, "pin": self.scene.pins[self.person]} if "signer" in form.controls else {})
            )
            page = self.sent(path, form.filled(signed))
            if page.status != 200:
                raise SystemExit(f"{path} answers {page.status}: {page.said()}")
            self.noted.append(Noted(ids["id"], path.rpartition("/")[2], True))
        except GONE:
            if ids and self.luck.random() < 0.1:  # the tablet dies before it can hold what it could not send
                self.noted.append(Noted(ids["id"], path.rpartition("/")[2], False))
                return self.die()
            held = self.outbox.hold(path, values, ids)
            self.noted.append(Noted(held["id"], held["kind"], True))
            if self.luck.random() < 0.05:
                self.die()

    def sent(self, path: str, fields):
        """Sent, and now and then the answer is lost on the way."""
        page = self.window.post(path, fields)
        if self.luck.random() < 0.12:
            self.lost += 1
            raise ConnectionError("the answer was lost")
        return page

    def back(self) -> None:
        """Look at what is held and keep it; the tablet may die with the answer unread."""
        try:
            self.outbox.look()
            if not self.outbox.held:
                return
            if self.luck.random() < 0.15:
                self.outbox.take = lambda results, last_seq: None  # the answer comes, and is never written down
                self.outbox.keep(self.person, self.scene.pins[self.person])
                self.die()
            else:
                self.outbox.keep(self.person, self.scene.pins[self.person])
        except GONE:
            pass

    def die(self) -> None:
        self.drops += 1
        self.open()


def drill(interruptions: int, seed: int, scene: Scene, folder: Path) -> dict[str, int]:
    """So many interruptions; raises AssertionError where an entry was lost or kept twice. Gives the counts."""
    luck = random.Random(seed)
    laptop = Laptop(scene.folder, scene.now).start()
    people = [o.id for o in scene.place.officials][:3]
    before = length(scene)
    try:
        hands = [
            Hand(scene, laptop, folder / f"{person}.json", person, random.Random(f"{seed}{person}")).begin()
            for person in people
        ]
        kills = 0
        while kills + sum(hand.drops + hand.lost for hand in hands) < interruptions:
            threads = [threading.Thread(target=lambda hand=hand: [hand.act() for _ in range(6)]) for hand in hands]
            for thread in threads:
                thread.start()
            time.sleep(luck.uniform(0, luck.choice((0.1, 0.4, 1.5))))
            laptop.kill()
            kills += 1
            for thread in threads:
                thread.join()
            laptop.start()
        for hand in hands:
            while hand.outbox.held:
                hand.outbox.look()
                hand.outbox.keep(hand.person, scene.pins[hand.person])
            assert not hand.outbox.settle, hand.outbox.settle
    finally:
        laptop.kill()
    return counted(scene, hands, before) | {
        "laptop killed": kills,
        "tablets killed": sum(hand.drops for hand in hands),
        "answers lost": sum(hand.lost for hand in hands),
    }


def length(scene: Scene) -> int:
    with Ledger.read_only(scene.folder / "record.db") as record:
        return record.length


def counted(scene: Scene, hands: list[Hand], before: int) -> dict[str, int]:
    """What was noted against what stands there."""
    with Ledger.read_only(scene.folder / "record.db") as record:
        kept = [entry for entry in record.entries(after=before) if entry.seq]
        seqs = {
            name: [entry.seq for entry in record.entries() if entry.tablet == name and entry.seq]
            for name in {entry.tablet for entry in kept}
        }
    ids = Counter(entry.id.hex() for entry in kept)
    noted = [one for hand in hands for one in hand.noted if one.kind != "handed-back"]
    lost = [one.id for one in noted if one.confirmed and one.id not in ids]
    assert lost == [] and max(ids.values()) == 1 and set(ids) <= {one.id for one in noted}, (lost, ids.most_common(2))
    assert all(numbers == list(range(1, len(numbers) + 1)) for numbers in seqs.values()), seqs
    taps = [one for hand in hands for one in hand.noted if one.kind == "handed-back"]
    tapped = taps_counted(scene)
    assert sum(one.confirmed for one in taps) <= tapped <= len(taps), (tapped, len(taps))
    verdict = audit.verify(scene.folder / "record.db", coarse=BALLOT_KINDS)
    assert verdict.ok, verdict.says
    return {
        "noted": len(noted),
        "of these never confirmed": sum(not one.confirmed for one in noted),
        "kept": len(kept),
        "lost": 0,
        "twice": 0,
        "taps": tapped,
    }


def taps_counted(scene: Scene) -> int:
    from webapp.gate.gate import Gate

    gate = Gate.open(scene.folder / "gate.db")
    try:
        return sum(n for hour in gate.tallies.hours() for n in gate.tallies.of(hour).values())
    finally:
        gate.close()


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--interruptions", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        book = Playbook(Path(name) / "day")
        try:
            kept, answers, now = book.at("voting")
        finally:
            book.close()
        shutil.copytree(kept, Path(name) / "place")
        scene = Scene(Path(name) / "place", book.place, book.codes, answers.truth, answers, now)
        began = time.monotonic()
        found = drill(options.interruptions, options.seed, scene, Path(name))
        print(
            f"{options.interruptions} interruptions in {time.monotonic() - began:.0f} s: "
            + ", ".join(f"{what} {n}" for what, n in found.items())
        )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
