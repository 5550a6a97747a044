"""Stories of a day, told as text and turned into entries.

    06:10 oath person Calloway by Calloway
    09:00 hourly counter.T1 138 check_ins.P4 145 in_hand 7 by Calloway
    09:05 correct 2 counter.T1 139 because "misread" by Calloway
    10:15 spoiled style 4A by Renn
    10:16 take back 4

A line is a time, a kind, an id of the place (tabulator, box, container) where it is done in one, fields and their values, then who
signs. `a.b 3` is the field `a` asked for b; yes and no are ticks; 20:05 is that moment; [3,3] is a list; #40112 is a seal's number.
Words stand in quotes.
"""

import re
import shlex
from datetime import time
from hashlib import sha256
from pathlib import Path

from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.place import Official, Place
from webapp.record.entry import Entry, Signer, Text, quarter_hour

RECORD = bytes(range(16))

HARROW = place_file.read((Path(__file__).parent / "stored" / "harrow_mill.toml").read_bytes())

WORDS = ("why", "remark", "statement", "reason", "name", "found", "done", "story")
LINE = re.compile(r"^(?P<time>\d\d:\d\d) (?P<kind>[a-z-]+)(?P<rest>(?: .*?)??)(?: by (?P<by>[A-Za-z0-9, ]+))?$")


class Story:
    """Reads lines for one place and numbers the entries as the record would."""

    def __init__(self, place: Place = HARROW):
        self.place = place
        self.number = 0

    def entries(self, text: str) -> list[tuple[Entry, dict[str, str]]]:
        lines = (line.strip() for line in text.strip().splitlines())
        return [self.entry(line) for line in lines if line]

    def entry(self, line: str) -> tuple[Entry, dict[str, str]]:
        found = LINE.match(line)
        assert found, f"the story stumbles over {line!r}"
        kind, rest, happened = found["kind"], shlex.split(found["rest"]), self.moment(found["time"])
        if kind == "take":
            kind, body, texts = "taken-back", {"of": int(rest[1])}, {}
        elif kind == "correct":
            kind, body, texts = self.correction(rest)
        else:
            body, texts = self.body(rest, WORDS if kind != "vouched" else ("name",))
        self.number += 1
        by = [name.strip() for name in (found["by"] or "").split(",") if name.strip()]
        coarse = quarter_hour(happened) if kind in BALLOT_KINDS else happened
        entry = Entry(
            RECORD,
            1,
            self.number,
            self.number.to_bytes(16),
            kind,
            body,
            coarse,
            coarse,
            coarse,
            0,
            "A",
            self.number,
            by[0] if by else None,
            tuple(map(self.signer, by)),
        )
        return entry, texts

    def correction(self, rest: list[str]):
        cut = rest.index("because")
        body, texts = self.body(rest[1:cut])
        return (
            "correction",
            {"of": int(rest[0]), "body": body, "words": {"reason": self.digest(rest[cut + 1])}},
            {**texts, "reason": rest[cut + 1]},
        )

    def body(self, rest: list[str], words: tuple[str, ...] = WORDS):
        body, texts = {}, {}
        spots = {
            *(t.id for t in self.place.tabulators),
            *(b.id for b in self.place.boxes),
            *(c.id for c in self.place.contests),
        }
        if len(rest) % 2 and rest[0] in spots:
            body["at"] = rest.pop(0)
        assert len(rest) % 2 == 0, f"a field without its value in {rest}"
        for name, value in zip(rest[::2], rest[1::2]):
            if name in words:
                texts[name] = value
                body.setdefault("words", {})[name] = self.digest(value)
                continue
            *outer, last = name.split(".")
            spot = body
            for part in outer:
                spot = spot.setdefault(part, {})
            spot[last] = self.value(value)
        return body, texts

    def value(self, word: str):
        if word in ("yes", "no"):
            return word == "yes"
        if re.fullmatch(r"\d\d:\d\d", word):
            return self.moment(word)
        if word.startswith("["):
            return [self.value(part) for part in word[1:-1].split(",") if part]
        if word.startswith("#"):
            return word[1:]
        return int(word) if re.fullmatch(r"-?\d+", word) else word

    def moment(self, clock: str) -> int:
        return self.place.at(time.fromisoformat(clock))

    def digest(self, words: str) -> bytes:
        return Text(sha256(words.encode()).digest()[:16], words).digest

    def signer(self, person: str) -> Signer:
        official = self.place.official(person) or Official(person, person, "", "walk-in")
        return Signer(person, official.role, official.party, "pin")
