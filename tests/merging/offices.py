"""Two neighbor offices that share a contest, made without a server: Tarn County (with its desks) and Sable County, whose ballot names the contest GOV-1."""

import time
import uuid
from dataclasses import replace
from pathlib import Path

from demo_precinct import rehearsed_county
from tests.archive.small_office import NAMES, OFFICE, TWO, SmallOffice
from webapp.commands import main
from webapp.gate import keys
from webapp.merging.reported_offices import COMPARED
from webapp.office.setup import other_offices
from webapp.precinct.place import place_file
from webapp.record.check_words import check_words
from webapp.record.entry import Act, Claim
from webapp.record.ledger import Ledger

SABLE = OFFICE.replace('id = "tarn"', 'id = "sable"').replace("Tarn County", "Sable County")


def sable(home: Path, day: str = "", **changes) -> "Sable":
    """Sable County, whose places are enrolled and whose Governor is the contest GOV-1; `changes` of that contest; `day` of another election."""
    whole = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    named = {"GOV": "GOV-1", "COUNCIL": "COUNCIL"}
    contests = tuple(
        replace(one, id=named[one.id], **(changes if one.id == "GOV" else {}))
        for one in whole.contests
        if one.id in named
    )
    styles = tuple(replace(s, contests=tuple(named[id] for id in s.contests if id in named)) for s in whole.styles)
    moved = {"date": whole.date.fromisoformat(day)} if day else {}
    places = [
        replace(whole, id=id, name=name, host="", contests=contests, styles=styles, **moved)
        for id, name in NAMES.items()
    ]
    rehearsed_county.prepare(home, SABLE.encode(), places)
    return Sable.empty(home)


class Sable(SmallOffice):
    """Its returns are those of Tarn's stories, under its own name of the contest."""

    @classmethod
    def empty(cls, home: Path) -> "Sable":
        (home / "office" / "in").mkdir(exist_ok=True)
        made = cls(home, Ledger.create(home / "office" / "office.db"))
        opening = {"place": "sable", "place_digest": b"", "mode": "practice", "version": "1", "clock": "scripted"}
        made.keep("record-opened", opening, ())
        return made

    def core(self, place, rows):
        return super().core(place, {"GOV-1" if id == "GOV" else id: row for id, row in rows.items()})

    def report(self, out: str, number: int = 0) -> Path:
        """The file of an edition for other offices, by the command."""
        path = self.home / out
        more = ["--edition", str(number)] if number else []
        assert main(["office", "bundle", str(self.folder), "--out", str(path), *more]) == 0
        return path


def public(office: Path) -> bytes:
    return keys.office_key(office).public_key().public_bytes_raw()


def known(office: Path, other: Path, shared: str = '{sable = "GOV-1"}', here: str = "GOV") -> None:
    """Write the other office into this one's office.toml, with the contest that both count."""
    told = other_offices.as_toml("sable", "Sable County election office", public(other))
    file = office / "office.toml"
    file.write_text(
        f'{file.read_text(encoding="utf-8")}\n{told}\n[[shared]]\nhere = "{here}"\nthere = {shared}\n', "utf-8"
    )


def compare(office: Path, other: Path) -> None:
    """Two parties sign that they compared the key by telephone."""
    with Ledger.open(office / "office.db") as ledger:
        words = check_words(other_offices.head_of(public(other)))
        kid = keys.key_id(keys.office_key(other).public_key())
        body = {"office": "sable", "kid": kid, "symbols": words}
        now = time.time_ns() // 1_000_000
        ledger.append(Act(Claim(uuid.uuid4().bytes, COMPARED, body, now, "A", ledger.length), TWO, now), now=now)
