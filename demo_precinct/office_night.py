"""The office's night through its own pages: roll call, each packet's codes taken in as pictures, each place's goods from carriers to receipt."""

import re
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import cast
from zoneinfo import ZoneInfo

from demo_precinct.crew import Crew
from demo_precinct.http_window import Control, Stuck, Window
from demo_precinct.rehearsed_day import MINUTE, PINS
from webapp.office.setup.office_file import Office
from webapp.precinct.place.place import Place


@dataclass
class Brought:
    """What the carriers of one place put on the table: the packet as pictures, and what is to be read off the goods."""

    place: str
    pictures: list[tuple[str, bytes]]
    seals: dict[str, str] = field(default_factory=dict)  # container -> number on its seal
    public: dict[str, int] = field(default_factory=dict)  # tabulator -> public counter on the paper tape
    provisional: int = 0
    drop_off: int = 0
    spoiled: int = 0
    containers: int = 0
    copies: int = 3
    batches: bytes = b""  # a count board's list of batches
    votes: bytes = b""  # its votes by precinct
    paper: dict[str, str] = field(
        default_factory=dict
    )  # what its papers say, by line of the leaf on which they are keyed


class DeskAnswers:
    """What the receivers write for the place on the table."""

    def __init__(self, brought: Brought, wall: str):
        self.brought, self.wall = brought, wall

    def __call__(self, step: str, at: str, field_: str, thing: str, control: Control) -> str | None:
        b = self.brought
        if field_ == "time" or (step, field_) == ("arrivals", "present"):
            return self.wall
        if step == "seals-read" and field_ == "seals":
            return b.seals.get(thing, "")
        if step == "memory-in" and field_ == "seals":
            return b.seals.get(f"{thing}-bag", "")
        if field_ in ("expected", "received", "loaded"):
            return str(len(b.public))
        said = {
            "on_slip": b.containers,
            "copies": b.copies,
            "provisional": b.provisional,
            "drop_off": b.drop_off,
            "spoiled": b.spoiled,
        }
        if field_ in said:
            return str(said[field_])
        if field_ == "public":
            return str(b.public[at])
        if field_ == "amended":
            return "no"
        if field_ == "second_carrier":
            return next(
                iter(control.options[2:3] or control.options[1:2]), ""
            )  # the first is left empty, the next carries already
        return {"shelf": "S-4", "cage_seal": "", "answers": "", "missing": ""}.get(field_)


class DeskNight:
    """One window at the desk, its receivers with their PINs."""

    def __init__(self, office: Office, port: int, codes: dict[str, str], now: int, zone: ZoneInfo):
        self.office, self.codes, self.now, self.zone = office, codes, now, zone
        pins = {o.id: PINS[i % len(PINS)] for i, o in enumerate(office.officials)}
        self.crew = Crew(
            cast(Place, SimpleNamespace(officials=office.officials)),
            Window(port),
            DeskAnswers(Brought("", []), self.wall()),
            pins,
        )
        self.read = self.accepted = 0

    def wall(self) -> str:
        from datetime import UTC, datetime

        return datetime.fromtimestamp(self.now / 1000, UTC).astimezone(self.zone).strftime("%H:%M")

    def open(self) -> None:
        """Arrivals, oaths with slips, and the tablet taken."""
        self.crew.clock(self.now)
        page = self.crew.window.get("/step/arrivals")
        form = page.form("/step/arrivals")
        self.crew.sent(form, self.crew.values(form, "arrivals", ""))
        for official in self.office.officials:
            self.crew.oath(official.id, self.codes[official.id])
        self.crew.hold(self.office.officials[0].id)

    def take_in(self, brought: Brought) -> None:
        """The packet's pictures, then every step of the desk for this place."""
        self.now += MINUTE
        self.crew.clock(self.now)
        self.crew.hold(self.office.officials[0].id)
        self.crew.answer = DeskAnswers(brought, self.wall())
        page = self.crew.window.get("/intake")
        page = self.crew.window.upload(page.form("/intake/file"), "files", brought.pictures)
        if page.status != 200:
            raise Stuck(f"the desk cannot read the pictures of {brought.place}: {page.said()}")
        self.read += 1
        page = self.crew.window.send(page.form("/intake/take"))
        if page.status != 200 or page.path != f"/place/{brought.place}":
            raise Stuck(f"the packet of {brought.place} was not taken in: {page.said()}")
        self.accepted += 1
        if brought.batches:
            self.batches(brought)
        self.goods(brought.place)

    def batches(self, brought: Brought) -> None:
        """The list of a count board's batches, out of the file on the stick."""
        path = f"/board/{brought.place}"
        page = self.crew.window.get(path)
        form = page.form(f"{path}/batches")
        page = self.crew.window.upload(form, "file", [("batches.csv", brought.batches)])
        if page.status != 200 or "Drawn again here" not in page.text:
            raise Stuck(f"the desk does not take the list of batches of {brought.place}: {page.said()}")
        if brought.votes:
            page = self.crew.window.upload(page.form(f"{path}/votes"), "file", [("votes.csv", brought.votes)])
            if page.status != 200 or "The votes by precinct are here" not in page.text.replace("add up", ""):
                raise Stuck(f"the desk does not take the votes by precinct of {brought.place}: {page.said()}")

    def goods(self, place: str) -> None:
        """Carriers, receivers, containers, seals ... to the receipt and the opened boxes, in the order in which they open."""
        done: set[str] = set()
        while key := self.next_step(place, done):
            done.add(key)
            path = f"/place/{place}/{key}"
            page = self.crew.window.get(path)
            form = page.form(path)
            step, _, at = key.partition(":")
            if step == "receipt" and not self.crew.window.get(f"/receipt/{place}/receipt.pdf").body.startswith(b"%PDF"):
                raise Stuck(f"the receipt for {place} cannot be printed")
            self.crew.tally.kept += 1
            self.crew.tally.steps.add(step)
            self.crew.signed(page, form, self.crew.values(form, step, at))

    def next_step(self, place: str, done: set[str]) -> str | None:
        page = self.crew.window.opened(f"/place/{place}")
        links = re.findall(rf'href="/place/{re.escape(place)}/([^"]+)"', page.text)
        together = (
            "paper",
            "goods",
            "tapes",
            "handed-over",
        )  # pages of several steps: here each step is done by itself
        return next((key for key in links if key not in done and not key.startswith(together)), None)
