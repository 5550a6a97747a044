"""An office of three small places over two editions, made without a server: packets, one place keyed from paper, a count, a finding, a packet that amends.

W3 has 40 ballots, W5 has 6 and is never alone, HM4 has 30 and came on paper.
"""

import json
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from demo_precinct import rehearsed_county
from webapp.archive import bag, replay
from webapp.canvass.atoms import Atom
from webapp.gate import keys
from webapp.office.canvassing import edition_figures, edition_files, editions
from webapp.office.canvassing.editions import Editions
from webapp.office.keying import paper_core
from webapp.office.setup import roster
from webapp.packet import cose
from webapp.packet.envelope import open_packet, seal_packet
from webapp.precinct.place import place_file
from webapp.record.check_words import check_words
from webapp.record.entry import Act, Claim, Entry, Signer
from webapp.record.ledger import Ledger

NOON = 1793764800000
NAMES = {"W3": "Lantern Street School", "W5": "Heathfield Chapel", "HM4": "Harrow Mill hall"}
TWO = (Signer("calloway", "receiver", "M", "pin"), Signer("durand", "receiver", "P", "pin"))
OFFICE = (rehearsed_county.HERE / "office.toml").read_text(
    encoding="utf-8"
) + '\n[[places]]\nid = "HM4"\nname = "Harrow Mill hall"\nwith = "W3"\n'


def row(*votes: int, ballots: int, n: int = 1) -> list[int]:
    """A contest as a tape prints it: votes for choices, two write-ins, the rest undervotes."""
    return [*votes, 2, ballots * n - sum(votes) - 2, 0, ballots]


def contests(a: int, b: int, c: int, ballots: int) -> dict[str, list[int]]:
    return {"GOV": row(a, b, c, ballots=ballots), "COUNCIL": row(a, b, c, 1, ballots=ballots, n=2)}


BOARD = {
    "format": 1,
    "text": "We certify that this is a full, true and correct statement of the votes cast.",
    "places": 3,
    "registered": None,
    "met": "Thu 12 Nov 2026, 16:00",
    "present": 2,
    "quorum": 2,
    "unanimous": True,
    "members": [{"name": "Dora Fen", "party": "Harbor", "vote": "for", "statement": ""}],
    "narrative": [],
    "over": [],
    "editions": [],
    "supersedes": None,
    "changed": [],
    "opened_again": "",
}
"""canvass.json of a board that met in an invented county, without its figures and check words."""


@dataclass
class SmallOffice:
    """Its folder, and what its story needs: the clock, the editions, the packets by digest."""

    home: Path
    ledger: Ledger

    @classmethod
    def new(cls, home: Path) -> "SmallOffice":
        whole = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
        kept = {"GOV", "COUNCIL"}
        styles = tuple(replace(s, contests=tuple(id for id in s.contests if id in kept)) for s in whole.styles)
        small = tuple(c for c in whole.contests if c.id in kept)
        places = [
            replace(whole, id=id, name=name, host="", contests=small, styles=styles) for id, name in NAMES.items()
        ]
        rehearsed_county.prepare(home, OFFICE.encode(), places)
        return cls.empty(home)

    @classmethod
    def empty(cls, home: Path) -> "SmallOffice":
        """An office whose places are enrolled and which took nothing in yet."""
        (home / "office" / "in").mkdir(exist_ok=True)
        made = cls(home, Ledger.create(home / "office" / "office.db"))
        opening = {"place": "tarn", "place_digest": b"", "mode": "practice", "version": "1", "clock": "scripted"}
        made.keep("record-opened", opening, ())
        return made

    @classmethod
    def again(cls, home: Path) -> "SmallOffice":
        """The office whose folder is there, to go on."""
        return cls(home, Ledger.open(home / "office" / "office.db"))

    def __post_init__(self):
        self.folder = self.home / "office"
        self.roster, self.editions = roster.load(self.folder), Editions(self.folder)
        entries = list(self.ledger.entries())
        self.now = entries[-1].kept if entries else NOON
        for entry in entries:
            if editions.is_posted(entry):
                self.editions.post(editions.posted_of(entry, ""))
        parts = (path.read_bytes() for path in (self.folder / "in").glob("*.cose"))
        self.opened = {one.digest: one for one in (open_packet(data, self.roster.keys, "practice") for data in parts)}

    def keep(self, kind: str, body: dict, signers=TWO) -> Entry:
        self.now += 60_000
        claim = Claim(
            uuid.uuid4().bytes, kind, body, self.now, "A" if signers else "L", self.ledger.length if signers else 0
        )
        return self.ledger.append(Act(claim, signers, self.now), now=self.now)[0]

    def core(self, place: str, rows: dict[str, list[int]]) -> dict:
        """A core with these contests and as many ballots on one tape as they have."""
        ballots, file = next(iter(rows.values()))[-1], self.roster.places[place]
        tape = {
            "id": "T1",
            "box": "B1",
            "runs": [{"unit": "T1", "counter": [0, ballots], "lifetime": [9000, 9000 + ballots]}],
            "tape": ballots,
        }
        containers = [{"id": "C1", "seal": "0420", "ballots": ballots}]
        people = [{"id": "poll_book", "n": ballots}]
        told = {"contests": rows, "tabulators": [tape], "containers": containers, "people": people}
        return paper_core.whole(told, file, self.now)

    def packet(self, place: str, rows: dict[str, list[int]], number: int = 1, amends: bytes | None = None) -> bytes:
        """A packet of this place, taken in; its digest."""
        return self.seal(place, self.core(place, rows) | {"number": number, "amends": amends})

    def seal(self, place: str, core: dict) -> bytes:
        core = core | {"number": core["number"] or 1}
        made = seal_packet(core, {"remarks": []}, self.key(place), "practice")
        self.opened[made.digest] = open_packet(made.parts, self.roster.keys, "practice")
        (self.folder / "in" / f"{made.digest.hex()}.cose").write_bytes(made.data)
        told = {"place": place, "number": core["number"], "digest": made.digest, "amends": core["amends"]}
        self.keep("packet-received", told | {"proven": True, "length": 0}, TWO[:1])
        return made.digest

    def key(self, place: str) -> Ed25519PrivateKey:
        return keys.place_key(self.home / "places" / place)

    def from_paper(self, place: str, rows: dict[str, list[int]]) -> None:
        core = {
            name: part for name, part in self.core(place, rows).items() if name in ("contests", "tabulators", "people")
        }
        papers = [{"paper": "tape/T1", "state": "whole", "prints": 1, "ink": [["chair", "M"], ["witness", "P"]]}]
        body = {"place": place, "place_digest": self.roster.places[place].digest, "why": "no-packet", "against": None}
        self.keep("place-keyed", body | {"papers": papers, "core": core, "empty": [], "amends": []})

    def count(self, unit: str, rows: dict[str, list[int]], part: int = 1, amends: Sequence[bytes] = ()) -> Entry:
        told = {
            "unit": unit,
            "way": "provisional",
            "part": part,
            "from": "tape",
            "at": "A1",
            "papers": [],
            "ballots": rows["GOV"][-1],
        }
        return self.keep("count-in", told | {"contests": rows, "amends": list(amends)})

    def recount(
        self, unit: str, rows: dict[str, list[int]], way: str = "election-day", amends: Sequence[bytes] = ()
    ) -> Entry:
        """These contests of a return, or of a count, counted again."""
        body = {
            "unit": unit,
            "way": way,
            "part": 1,
            "contests": rows,
            "ballots": rows["GOV"][-1],
            "was": b"",
            "set_aside": {},
        }
        return self.keep("recounted", body | {"amends": list(amends)})

    def find(self, place: str, figure: str, was: int, is_: int) -> Entry:
        return self.keep("desk-finding", {"place": place, "figure": figure, "label": figure, "was": was, "is": is_})

    def withdraw(self, place: str, found: Entry) -> Entry:
        row = {name: found.body[name] for name in ("figure", "label", "was", "is")}
        return self.keep(
            "finding-withdrawn", {"place": place, "findings": [{"finding": found.id, "entry": found.number} | row]}
        )

    def entries(self) -> list[Entry]:
        return list(self.ledger.entries())

    def post(
        self,
        because: str,
        stolen: int = 0,
        status: str = "unofficial-partial",
        allowed: dict | None = None,
        words: str | None = None,
    ) -> None:
        """The next edition of everything that is kept, posted. `stolen`: votes that a dishonest program moves at W3 on the way; `allowed`: contest ->
        cells of few ballots that are shown; `words`: other check words on the certificate than the record's."""
        entries = self.entries()
        tray, added = replay.replayed(self.folder, self.roster, entries, self.opened)
        before = self.editions.figures()
        number, cut = self.editions.next, entries[-1].number
        kept = edition_figures.figures_now(self.roster, tray, added)
        if stolen:
            votes = kept.figures["GOV"][Atom("W3", "election-day")].votes
            votes |= {"A": votes["A"] - stolen, "B": votes["B"] + stolen}
        new = edition_figures.drawn_up(
            self.roster, added, kept, before, number, self.now, cut, status, because, allowed
        )
        made = "2026-11-12T16:05:00-06:00"
        more = edition_files.more(new, made, self.roster, tray, added, {})
        if status == "certified":
            words = words or check_words(self.ledger.at(cut).head)
            more["canvass.json"] = json.dumps(BOARD | {"ballots": 0, "cut": cut, "words": words}).encode()
        ready = editions.ready(new, before, made, "12 November", "11 November", more)
        self.editions.lay(ready)
        self.editions.post(editions.posted_of(self.keep("edition-posted", ready.body()), because))

    def close(self) -> None:
        """Its record lies on the disk now, and `ledger_entries` is what was in it."""
        self.ledger_entries = tuple(self.ledger.entries())
        self.ledger.close()


def story(home: Path) -> SmallOffice:
    """Two editions: W3 and W5 first; then HM4 from paper, a count, a finding over the same ballots, and W5 said anew."""
    made = SmallOffice.new(home)
    made.packet("W3", contests(20, 12, 4, 40))
    first = made.packet("W5", contests(2, 1, 1, 6))
    made.post("Two places are in.")
    made.from_paper("HM4", contests(10, 9, 8, 30))
    made.count("W3", contests(5, 4, 1, 12))
    made.find("W3", "votes/GOV/A", 20, 19)
    made.find("W3", "votes/GOV/B", 12, 13)
    made.packet("W5", contests(1, 2, 1, 6), 2, first)
    made.post("All places are in.")
    made.close()
    return made


def signed_again(archive: Path, office: Path) -> None:
    """The manifest and the tag files of an archive that was changed, made anew and signed with the office's own key."""
    names = [path.relative_to(archive).as_posix() for path in archive.rglob("*") if path.is_file()]
    inside = {name: sha256((archive / name).read_bytes()).hexdigest() for name in names if name.startswith("data/")}
    facts = bag.facts_of(json.loads((archive / bag.FACTS).read_bytes()))
    size = sum((archive / name).stat().st_size for name in inside)
    manifest = bag.manifest(inside)
    signature = cose.sign(sha256(manifest).digest(), keys.office_key(office), bag.context(facts.mode))
    files = {
        bag.INFO: bag.info(facts, size, len(inside)),
        bag.MANIFEST: manifest,
        bag.SIGNATURE: signature,
        "bagit.txt": bag.BAGIT,
    }
    files[bag.TAG_MANIFEST] = bag.manifest({name: sha256(data).hexdigest() for name, data in files.items()})
    for name, data in files.items():
        (archive / name).write_bytes(data)
