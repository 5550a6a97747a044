"""A night on a disk that fills up, fails and comes back at random moments, while two people note what happens and the laptop's program is now and
then killed: what was answered is there, what was refused is not, and each refusal names what was wrong with the disk at that moment.

The disk is full (a file of somebody else takes the last byte), failing (no file of the program may be written: RLIMIT_FSIZE, so SQLite gets an error
in the middle of a commit), or write-protected at a start. Full and protected need the right to mount; failing needs none.
"""

import http.client
import random
import resource
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from demo_precinct.http_window import Window
from tests.browser.laptop import Laptop
from tests.drills.small_disk import SmallDisk
from tests.pages.scene import Scene
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.audit import verify
from webapp.record.ledger import Ledger

GONE = (ConnectionError, http.client.HTTPException, OSError)
CAUSE = {  # state of the disk -> what a refusal may say of it
    "full": ("is full",),
    "failing": ("did not take", "is full", "cannot be written", "cannot be opened"),
    "protected": ("cannot be written",),
}
NOTES = {
    "/note/left": {},
    "/note/spoiled": {},
    "/note/observers": {"came": "1", "left": "0", "here": "2"},
    "/note/incident": {"what": "a long tale of a queue at the door, " * 8},
}
LOOKS = ("/now", "/note", "/record", "/people")


@dataclass
class BadDisk:
    """The states that the disk went through, each with the moment from which it was so."""

    disk: SmallDisk | None
    laptop: Laptop
    luck: random.Random
    states: list[tuple[float, str]] = field(default_factory=lambda: [(0.0, "fine")])

    @property
    def state(self) -> str:
        return self.states[-1][1]

    def since(self, moment: float) -> set[str]:
        """Every state that was in force at or after this moment."""
        last = [state for at, state in self.states if at <= moment][-1:]
        return {*last, *(state for at, state in self.states if at > moment)}

    def become(self, state: str) -> None:
        self.states.append((time.monotonic(), state))
        if state == "full":
            self.disk.fill()
        elif state == "failing":
            self.limit(0)
        elif state == "protected":  # no program has a file of it open for writing: only while the laptop is killed
            self.disk.protect()

    def recover(self) -> None:
        if self.state == "full":
            self.disk.empty()
        elif self.state == "failing":
            self.limit(resource.RLIM_INFINITY)
        elif self.state == "protected":
            self.disk.release()
        self.states.append((time.monotonic(), "fine"))

    def limit(self, size: int) -> None:
        if self.laptop.child:
            resource.prlimit(self.laptop.child.pid, resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))

    def choices(self) -> tuple[str, ...]:
        return ("full", "failing") if self.disk else ("failing",)


@dataclass
class Noting:
    """One window and its person: what was answered, by the entry's id in hex."""

    scene: Scene
    laptop: Laptop
    bad: BadDisk
    person: str
    luck: random.Random
    kept: set[str] = field(default_factory=set)
    refused: dict[str, str] = field(default_factory=dict)  # as each form was answered last
    unheard: set[str] = field(default_factory=set)
    wrong: list[str] = field(default_factory=list)
    sent: int = 0
    looked: int = 0
    kept_later: int = 0
    away: int = 0

    def begin(self) -> "Noting":
        self.window = Window(self.laptop.port)
        self.window.send(
            self.window.get("/tablet").form("/tablet/take"),
            {"signer": self.person, "pin": self.scene.pins[self.person]},
        )
        return self

    def act(self) -> None:
        try:
            path = self.luck.choice(LOOKS)
            page = self.window.get(path)
            self.looked += 1
            if page.status != 200:
                self.wrong.append(f"{path} answers {page.status}: {page.said()}")
            self.note(self.luck.choice(list(NOTES)))
        except GONE:
            self.away += 1
            time.sleep(0.05)

    def note(self, path: str) -> None:
        page = self.window.get(path)
        if page.status != 200:
            return self.wrong.append(f"{path} answers {page.status}: {page.said()}")
        form = page.form(path)
        key, began = form.controls["entry_id"].value.replace("-", ""), time.monotonic()
        values = form.choices_made() | NOTES[path]
        if "signer" in form.controls:
            values |= {"signer": self.person, "pin": self.scene.pins[self.person]}
        try:
            answer = self.window.post(path, form.filled(values))
        except GONE:
            self.unheard.add(key)
            self.refused.pop(key, None)  # sent again, and what became of it this time nobody heard
            raise
        self.sent += 1
        if answer.status == 200:
            self.kept.add(key)
            self.kept_later += self.refused.pop(key, None) is not None
            return None
        said, states = f"{answer.path}, {answer.status}: {answer.said()}", self.bad.since(began)
        if key in self.kept:
            self.wrong.append(f"refused after it was answered as kept: {said}")
        self.refused[key] = said
        if not any(words in said for state in states for words in CAUSE.get(state, ())):
            self.wrong.append(f"refused with {answer.status} while the disk was {sorted(states)}: {said}")
        return None


def night(scene: Scene, disk: SmallDisk | None, events: int, seed: int, pause: float = 0.5) -> dict[str, int]:
    """So many times the disk goes bad and comes back; raises AssertionError where an answer was not true. The counts."""
    luck = random.Random(seed)
    laptop = Laptop(scene.folder, scene.now).start()
    bad, over = BadDisk(disk, laptop, luck), threading.Event()
    people = [o.id for o in scene.place.officials][:2]
    hands = [Noting(scene, laptop, bad, who, random.Random(f"{seed}{who}")).begin() for who in people]
    threads = [threading.Thread(target=lambda hand=hand: acts(hand, over)) for hand in hands]
    kills, starts_on_bad = 0, Counter()
    try:
        for thread in threads:
            thread.start()
        for _ in range(events):
            time.sleep(luck.uniform(0.05, pause))
            killed = luck.random() < 0.25
            state = luck.choice((*bad.choices(), "protected") if killed and disk else bad.choices())
            if killed:
                laptop.kill()
                kills += 1
            bad.become(state)
            if killed:
                started(laptop, bad)
                starts_on_bad[state] += 1
            noted(hands)
            time.sleep(luck.uniform(0, pause))
            bad.recover()
            if luck.random() < 0.5:
                noted(hands)
        noted(hands)
    finally:
        over.set()
        for thread in threads:
            thread.join()
        laptop.kill()
    return judged(scene.folder / "record.db", hands) | {
        "disk went bad": events,
        "laptop killed": kills,
        **{f"started while {state}": n for state, n in sorted(starts_on_bad.items())},
    }


def acts(hand: Noting, over: threading.Event) -> None:
    while not over.is_set():
        hand.act()


def noted(hands: list[Noting], most: float = 20.0) -> None:
    """Wait until somebody has sent a note from here on, so that a busy computer sees no fewer of them than a quick one."""
    before, until = sum(hand.sent for hand in hands), time.monotonic() + most
    while sum(hand.sent for hand in hands) == before and time.monotonic() < until:
        time.sleep(0.02)


def started(laptop: Laptop, bad: BadDisk) -> None:
    """Start the program while the disk is as bad as it is."""
    failing = bad.state == "failing"
    laptop.start(limited=failing)


def judged(record: Path, hands: list[Noting]) -> dict[str, int]:
    with Ledger.read_only(record) as opened:
        there = Counter(entry.id.hex() for entry in opened.entries())
    wrong = [sentence for hand in hands for sentence in hand.wrong]
    kept = {key for hand in hands for key in hand.kept}
    refused = {key: said for hand in hands for key, said in hand.refused.items()}
    assert wrong == [], wrong[:5]
    assert kept - set(there) == set(), f"{len(kept - set(there))} of {len(kept)} answered entries are not there"
    false = [said for key, said in refused.items() if key in there]
    assert false == [], f"entries are there that were refused: {false[:5]}"
    assert max(there.values()) == 1
    verdict = verify(record, coarse=BALLOT_KINDS)
    assert verdict.ok, verdict.says
    unheard = {key for hand in hands for key in hand.unheard}
    return {
        "answered": len(kept),
        "of these lost": 0,
        "refused": len(refused),
        "of these kept": 0,
        "kept when sent again": sum(hand.kept_later for hand in hands),
        "without an answer": len(unheard),
        "of these kept all the same": len(unheard & set(there)),
        "pages looked at": sum(hand.looked for hand in hands),
    }
