"""An office of four small places and three desks apart, made without a server: what each desk kept, and what comes of it in the office's figures."""

import csv
import io
import shutil
import time
import uuid
from dataclasses import dataclass, replace
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from demo_precinct import rehearsed_county
from tests.archive.small_office import NAMES, NOON, OFFICE, TWO, SmallOffice, contests
from webapp.archive import replay
from webapp.canvass import results_csv
from webapp.commands import main
from webapp.gate import keys
from webapp.merging import desk_folder
from webapp.merging.brought import unwrapped
from webapp.office.canvassing import edition_figures
from webapp.office.setup import roster
from webapp.packet.envelope import open_packet, seal_packet
from webapp.precinct.place import place_file
from webapp.record.entry import Act, Claim, Entry, Text
from webapp.record.ledger import Ledger
from webapp.record.reader import Reader

EAST = '\n[[places]]\nid = "E1"\nname = "Elder Ferry"\nwith = "W3"\n'
HOUR = 3_600_000
HOSTILE = '<script>alert(1)</script> =HYPERLINK("x") @SUM(A1) \x1b[31m\u202e' + "w" * 10_000
REMARKS = {"v": 1, "remarks": [], "statements": [], "short": [], "not_so": []}


@dataclass
class DeskApart(SmallOffice):
    """A desk's folder with a record; its clock begins when the office's does, and so do all desks' clocks: times alone never tell them apart."""

    name: str = ""

    @classmethod
    def made(cls, home: Path, name: str, at: int = 0) -> "DeskApart":
        folder = home / name
        desk_folder.make(home / "office", name, folder, time.time_ns() // 1_000_000)
        (folder / "in").mkdir()
        made = cls(home, cls.empty_record(folder), name)
        made.now += at
        return made

    @staticmethod
    def empty_record(folder: Path) -> Ledger:
        """A desk's record with its first entry."""
        ledger = Ledger.create(folder / "office.db")
        opening = {"place": "tarn", "place_digest": b"", "mode": "practice", "version": "1", "clock": "scripted"}
        claim = Claim(uuid.uuid4().bytes, "record-opened", opening, NOON, "L", 0)
        ledger.append(Act(claim, (), NOON), now=NOON)
        return ledger

    def __post_init__(self):
        super().__post_init__()
        self.folder = self.home / self.name
        self.opened = {}

    def seal(self, place: str, core: dict) -> bytes:
        made = seal_packet(core | {"number": core["number"] or 1}, REMARKS, self.key(place), "practice")
        (self.folder / "in" / f"{made.digest.hex()}.cose").write_bytes(made.data)
        told = {"place": place, "number": core["number"] or 1, "digest": made.digest, "amends": core["amends"]}
        self.keep("packet-received", told | {"proven": True, "length": 0}, TWO[:1])
        return made.digest

    def key(self, place: str) -> Ed25519PrivateKey:
        return keys.place_key(self.home / "places" / place)


def office(home: Path) -> Path:
    """The office, whose places are enrolled and which took nothing in yet."""
    whole = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    kept = {"GOV", "COUNCIL"}
    styles = tuple(replace(s, contests=tuple(id for id in s.contests if id in kept)) for s in whole.styles)
    small = tuple(c for c in whole.contests if c.id in kept)
    names = {**NAMES, "E1": "Elder Ferry"}
    places = [replace(whole, id=id, name=name, host="", contests=small, styles=styles) for id, name in names.items()]
    rehearsed_county.prepare(home, (OFFICE + EAST).encode(), places)
    SmallOffice.empty(home).close()
    return home / "office"


def night(home: Path) -> list[Path]:
    """Three desks: each took places in, some the same ones, and counted, found and decided; one bundle a desk."""
    office(home)
    north, south, east = (DeskApart.made(home, name) for name in ("north", "south", "east"))
    first = north.packet("W3", contests(20, 12, 4, 40))
    north.count("W3", contests(5, 4, 1, 12))
    shutil.copyfile(north.folder / "in" / f"{first.hex()}.cose", south.folder / "in" / f"{first.hex()}.cose")
    told = {"place": "W3", "number": 1, "digest": first, "amends": None, "proven": True, "length": 0}
    south.keep("packet-received", told)
    south.packet("W3", contests(19, 13, 4, 40), 2, first)
    south.find("W3", "votes/GOV/A", 19, 18)
    south.from_paper("HM4", contests(10, 9, 8, 30))
    east.find("W3", "votes/GOV/A", 19, 17)
    east.from_paper("HM4", contests(10, 9, 8, 30))
    east.packet("W5", contests(6, 4, 3, 15))
    east.count("W5", contests(5, 4, 1, 12), 1)
    south.count("W5", contests(4, 5, 1, 12), 1)
    east.packet("E1", contests(9, 9, 9, 31))
    for desk in (north, south, east):
        desk.close()
    return [bundle(home, name) for name in ("north", "south", "east")]


def late_call(desk: DeskApart, place: str, answer: str) -> None:
    """Somebody called the place, and wrote this down."""
    body = {"place": place, "what": "packet", "who": "chair", "by": "phone", "promised": None}
    claim = Claim(uuid.uuid4().bytes, "late-call", body, desk.now, "A", 50, {"answer": Text(bytes(16), answer)})
    desk.ledger.append(Act(claim, (), desk.now), now=desk.now)


def bundle(home: Path, name: str, after: int = 0, out: str = "") -> Path:
    path = home / (out or f"{name}.bundle")
    assert main(["office", "bundle", str(home / name), "--out", str(path), "--after", str(after)]) == 0
    return path


def results(folder: Path) -> bytes:
    """results.csv of everything that this office's record holds, as an edition of now would show it."""
    with Reader(folder / "office.db") as record:
        entries = list(unwrapped(record.entries()))
    return figures(roster.load(folder), folder, entries, list((folder / "in").glob("*.cose")))


def figures(found: roster.Roster, folder: Path, entries: list[Entry], packets: list[Path]) -> bytes:
    """results.csv of these entries, as an edition of now would show it."""
    opened = {one.digest: one for one in (open_packet(path.read_bytes(), found.keys, "practice") for path in packets)}
    tray, added = replay.replayed(folder, found, entries, opened)
    kept = edition_figures.figures_now(found, tray, added)
    new = edition_figures.drawn_up(found, added, kept, {}, 1, 0, 1, "unofficial-partial", "All.", None)
    return b"".join(results_csv.pieces(new))


def votes(data: bytes, contest: str, choice: str) -> int:
    return sum(
        int(row["votes"])
        for row in csv.DictReader(io.StringIO(data.decode()))
        if (row["contest"], row["choice"]) == (contest, choice)
    )
