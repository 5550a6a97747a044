"""A night of many places at several desks: places built from the demo's, packets sealed with their own keys, what each case does, and what every page must then say.

The truth is kept here by itself (`Truth`), from what was handed in; nothing of it is read from the product. After every minute Totals, Places,
Canvass, the wall, the list of late places and the receipts are read from their pages and held against it.
"""

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from html import unescape
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from demo_precinct import rehearsed_county
from demo_precinct.office_night import Brought, DeskAnswers
from demo_precinct.rehearsed_day import MINUTE
from tests.office.conftest import Night, sealing
from webapp.gate import keys
from webapp.office.keying import paper_leaf, paper_values
from webapp.office.setup import roster
from webapp.packet import contents
from webapp.packet.envelope import parts_of
from webapp.precinct.day.hours import wall
from webapp.precinct.place import place_file

HOST = "desk.tarn.example"
STRANGER = Ed25519PrivateKey.generate()
CHOICE = "Agnes Bellweather"  # of the first contest, whose votes the night follows
FIRST, SECOND = "calloway", "durand"
PAPERS = {
    **{f"state.{kind}/{at}": "whole" for kind in ("tape", "zero") for at in ("T1", "T2")},
    **dict.fromkeys(("state.statement", "state.log", "state.slip", "state.certificate"), "whole"),
    **{f"ink.tape/{at}": ["chair/M", "witness/P"] for at in ("T1", "T2")},
}


def office_toml(names: list[str], room: Mapping[str, str]) -> bytes:
    """The demo's office, awaiting these places; each is shown with the next one, and two may share a `room`."""
    whole = (rehearsed_county.HERE / "office.toml").read_text(encoding="utf-8")
    head = whole.partition("[[places]]")[0].replace("format = 1", f'format = 1\nhost = "{HOST}"', 1)
    rows = [
        f'[[places]]\nid = "{one}"\nname = "Place {one}"\nwith = "{names[(i + 1) % len(names)]}"\n'
        + (f'room = "{room[one]}"\n' if one in room else "")
        for i, one in enumerate(names)
    ]
    return (head + "\n".join(rows)).encode()


def built(folder: Path, names: list[str], opened, room: Mapping[str, str]) -> Night:
    """The office with its people sworn, and every place enrolled. `opened`: the demo's packet, from which the others are made."""
    demo = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
    codes = rehearsed_county.prepare(
        folder, office_toml(names, room), [replace(demo, id=one, name=f"Place {one}", host="") for one in names]
    )
    digests = {place.id: place.digest for place in roster.load(folder / "office").places.values()}
    seal = {}
    for one in names:
        inner = sealing(keys.place_key(folder / "places" / one), opened)
        seal[one] = lambda inner=inner, one=one, **changes: inner(
            **({"place": one, "place_digest": digests[one]} | changes)
        )
    night = Night(folder / "office", seal, codes[""]).start()
    night.crew_of(codes[""]).open()
    return night


@dataclass
class Truth:
    """What was handed in, kept apart from the product: place -> (ballots, votes of the choice) in the totals; places by mark; who is still out."""

    names: list[str]
    inn: dict[str, tuple[int, int]] = field(default_factory=dict)
    marks: dict[str, set[str]] = field(
        default_factory=lambda: {name: set() for name in ("held", "unproven", "paper", "out", "against", "apart")}
    )

    def votes(self) -> int:
        return sum(votes for _, votes in self.inn.values())

    def nothing_from(self) -> list[str]:
        known = set(self.inn) | self.marks["out"] | self.marks["held"]
        return [one for one in self.names if one not in known]


class Desks:
    """The served night with its windows; every act is done in the window of the desk that is in use."""

    def __init__(self, night: Night, opened, windows: list[Any] | None = None):
        self.night, self.opened = night, opened
        self.windows = windows or [night.window]
        self.names = list(night.seal)
        self.truth = Truth(self.names)
        self.told: list[tuple[str, str, str]] = []  # wall time, what was done, what every page then says
        self.seen: dict[str, str] = {}  # place -> its state as Places told it last
        self.use(0)

    def use(self, desk: int) -> None:
        self.night.window = self.night.crew.window = self.windows[desk % len(self.windows)]

    @property
    def window(self):
        return self.night.window

    def minute(self) -> None:
        self.night.now += MINUTE
        self.night.room.clock.set(self.night.now)

    # --- packets

    def plain(self) -> dict:
        """Changes that leave the demo's packet without anything to ask."""
        steps = [[*s[:4], s[4] & ~(contents.SHORT | contents.NOT_SO)] for s in self.opened.core["steps"]]
        return {
            "steps": steps,
            "notes": {**self.opened.remarks, "short": [], "not_so": []},
        }

    def moved(self, n: int) -> dict:
        """`n` votes moved from the second choice of the first contest to the first one, on the first tape."""
        rows = {c: list(row) for c, row in self.opened.core["contests"].items()}
        tapes = [{**one, "contests": dict(one["contests"])} for one in self.opened.core["tabulators"]]
        mine = list(tapes[0]["contests"]["GOV"])
        for row in (mine, rows["GOV"]):
            row[0], row[1] = row[0] + n, row[1] - n
        tapes[0]["contests"]["GOV"] = mine
        return {"contests": rows, "tabulators": tapes}

    def gap(self, by: int) -> dict:
        """A poll book that is off by so many more check-ins than ballots, at the first precinct, without a remark."""
        more = by - 1  # the demo's is off by one
        people = [dict(one) for one in self.opened.core["people"]]
        people[0]["n"] = [{**row, "n": row["n"] + (more if i == 0 else 0)} for i, row in enumerate(people[0]["n"])]
        off = [[line, by if line.startswith("poll-book") else n] for line, n in self.opened.core["gaps"]]
        return {"people": people, "gaps": off}

    def packet(self, place: str, by=None, **changes) -> bytes:
        more = {"by": by} if by else {}
        return b"".join(self.night.seal[place](**(self.plain() | changes | more)))

    def counts(self, place: str, moved: int = 0) -> None:
        self.truth.inn[place] = (total_of(self.opened), self.opened.core["contests"]["GOV"][0] + moved)

    # --- at the desk

    def upload(self, *files: tuple[str, bytes]):
        page = self.window.get("/intake")
        return self.window.upload(page.form("/intake/file"), "files", files)

    def take(self, place: str, packet: bytes):
        page = self.upload((f"{place}.cose", packet))
        assert page.status == 200, page.said()
        return self.window.send(page.form("/intake/take"))

    def clear(self) -> None:
        page = self.window.get("/intake")
        self.window.send(page.form("/intake/clear"))

    def stack(self, *packets: tuple[str, bytes]):
        """Several packets in one choice of files; those that agree are accepted in one act."""
        page = self.upload(*((f"{place}.cose", packet) for place, packet in packets))
        return self.window.send(page.form("/intake/accept"))

    def signed(self, path: str, action: str = "", first: str = FIRST, second: str = SECOND, **values):
        """A form signed by one, or by two."""
        self.minute()
        pins = self.night.crew.pins
        page = self.window.get(path)
        page = self.window.send(page.form(action or path), {**values, "signer": first, "pin": pins[first]})
        if second and page.path.startswith("/sign/"):
            page = self.window.send(page.form(page.path), {"signer": second, "pin": pins[second]})
        return page

    def goods(self, place: str, name: str, **own):
        """One of the three pages of a place's goods, read as the packet says, with `own` put over."""
        self.minute()
        crew, path = self.night.crew, f"/place/{place}/{name}"
        crew.answer = DeskAnswers(
            Brought(place, [], self.seals(), {"T1": 265, "T2": 252}, 2, 1, 5, containers=7), self.night.desk.wall()
        )
        page = self.window.get(path)
        form = page.form(path)
        values = {n: v for n, v in (crew.values(form, "", "") | own).items() if n in form.controls}
        page = self.window.send(form, {**values, "signer": FIRST, "pin": crew.pins[FIRST]})
        assert page.path.startswith("/sign/"), page.said()
        page = self.window.send(page.form(page.path), {"signer": SECOND, "pin": crew.pins[SECOND]})
        assert page.path == f"/place/{place}", page.said()
        return page

    def seals(self) -> dict[str, str]:
        """Container -> seal, as both lie on the table and stand in the packet."""
        return {row["id"]: row["seal"] or "" for row in self.opened.core["containers"]}

    def all_goods(self, place: str, **own) -> None:
        """Goods, tapes and receipt; `own`: "goods" or "tapes" -> what is read otherwise."""
        for name in ("goods", "tapes", "handed-over"):
            self.goods(place, name, **own.get(name.replace("-", "_"), {}))

    def answer_all(self, place: str) -> None:
        """One answer to every open question of a place, signed by two parties."""
        page = self.window.get(f"/questions/{place}")
        asked = page.form(f"/questions/{place}").controls["ask"].options
        said = {"answer": "Looked at together with the carriers.", "outcome": "explained", "ask": asked}
        page = self.signed(f"/questions/{place}", **said)
        assert page.path == f"/questions/{place}", page.said()

    def paper(self, place: str, moved: int = 0, why: str = "no-packet") -> None:
        """The place keyed blind by two receivers of two parties, and signed by both."""
        file = self.night.room.roster.places[place]
        core = {**self.opened.core, **self.moved(moved)}
        known = paper_values.values_of(core, file)
        controls = {one.name: one.kind for one in paper_leaf.controls(file)}
        leaf = {n: wall(file, v) if controls[n] == "time" else str(v) for n, v in known.items() if n in controls}
        path = f"/place/{place}/paper"
        for who in (FIRST, SECOND):
            page = self.signed(f"{path}?again=yes", f"{path}/key", who, "", **leaf)
            assert page.status == 200, page.said()
        form = self.window.get(f"{path}?again=yes").form(path)
        notes = {name: "One voter left with the ballot." for name in form.controls if name.startswith("note.")}
        page = self.signed(f"{path}?again=yes", path, **(PAPERS | {"why": why} | notes))
        assert page.path == path and "?again" not in page.path, page.said()

    # --- what every page says

    def look(self, done: str) -> None:
        """Read every page at every desk and hold it against the truth and against each other."""
        stories = []
        for desk in range(len(self.windows)):
            self.use(desk)
            stories.append(self.story())
        assert all(one == stories[0] for one in stories), (done, stories)
        wrong = against(stories[0], self.truth, self.night.room.roster.awaited)
        assert not wrong, (done, wrong)
        self.seen = stories[0]["states"]
        self.receipts(done)
        one = stories[0]
        self.told.append(
            (
                wall(next(iter(self.night.room.roster.places.values())), self.night.now),
                done,
                f"{one['inn']} of {one['of']} in, {one['votes']:,} votes, {one['off']} off; "
                + (", ".join(f"{n} {name}" for name, n in sorted(one["marks"])) or "nothing held"),
            )
        )

    def story(self) -> dict[str, Any]:
        """What Totals, Places, Canvass, the wall and the late list say now, as figures and words."""
        pages = {
            name: main(self.window.get(f"/{name}").text) for name in ("totals", "places", "canvass", "wall", "late")
        }
        words = {name: text_of(html) for name, html in pages.items()}
        inn = {
            "totals": re.search(r"Totals of ([\d,]+) of ([\d,]+) place", words["totals"]),
            "places": re.search(r"([\d,]+) of ([\d,]+) places? (?:is|are) in", words["places"]),
            "canvass": re.search(r"([\d,]+) of ([\d,]+) places? (?:is|are) in\.", words["canvass"]),
            "wall": re.search(r"([\d,]+) of ([\d,]+) places? (?:is|are) in", words["wall"]),
        }
        said = {name: found and (found[1], found[2]) for name, found in inn.items()}
        assert len(set(said.values())) == 1, said
        votes = re.search(rf"{CHOICE}</th><td>([\d,]+)</td>", pages["totals"])
        off = [
            re.search(r"(\d+) of \d+ places? (?:is|are) out of balance", words[name]) for name in ("totals", "canvass")
        ]
        marks = [marked(words[name]) for name in ("totals", "places", "canvass")]
        assert marks[0] == marks[1] == marks[2], marks
        gaps = re.search(r"([\d,]+) with a gap", words["places"])
        assert (gaps[1] if gaps else "0") == (off[1][1] if off[1] else "0"), (
            gaps,
            off,
            "with a gap: Places and Canvass",
        )
        offs = {one[1] if one else "0" for one in off if one or said["totals"][0] != "0"}
        assert len(offs) <= 1, (offs, "places out of balance: Totals and Canvass")
        return {
            "inn": int(said["totals"][0]), "of": int(said["totals"][1]),
            "votes": int(votes[1].replace(",", "")) if votes else 0,
            "off": int(next(iter(offs), "0")), "marks": marks[0],
            "states": states(pages["places"]), "late": words["late"],
        }  # fmt: skip

    def receipts(self, done: str) -> None:
        """Each receipt that may be seen has as many open questions as Places says; none is agreed while one is open."""
        for place, state in self.seen.items():
            if not any(words in state for words in ("received", "agreed", "goods and figures in")):
                continue
            page = text_of(main(self.window.get(f"/receipt/{place}").text))
            opens, told = re.search(r"Open questions: (\d+)", page), re.search(r"([\d,]+) questions? open", state)
            if page.startswith("It opens when") or "It opens when the seals" in page:
                continue
            assert (opens and opens[1]) == (told and told[1]), (done, place, state, page[:300])
            assert ("No question is open" in page) == (opens is None), (done, place, page[:300])
            assert "agreed" not in state or opens is None, (done, place, state)


def total_of(opened) -> int:
    """Ballots of the demo's tapes."""
    return sum(row[-1] for row in (one["contests"]["GOV"] for one in opened.core["tabulators"]))


def against(story: Mapping[str, Any], truth: Truth, awaited: int) -> list[str]:
    """What a story says otherwise than the truth."""
    wrong = []
    if (story["inn"], story["of"]) != (len(truth.inn), awaited):
        wrong.append(f"{story['inn']} of {story['of']} in, {len(truth.inn)} of {awaited} are")
    if story["votes"] != truth.votes():
        wrong.append(f"{story['votes']} votes, {truth.votes()} were handed in")
    expected = {(name, len(places)) for name, places in truth.marks.items() if places}
    if story["marks"] != expected:
        wrong.append(f"marks {sorted(story['marks'])}, and it is {sorted(expected)}")
    for place in truth.names:
        state = story["states"].get(place, "not listed")
        if "agreed" in state and any(place in truth.marks[name] for name in ("held", "out", "against", "apart")):
            wrong.append(f"{place} is agreed, and it is marked")
        if (state in ("expected", "goods in, figures awaited")) != (place in truth.nothing_from()):
            wrong.append(f"{place}: {state}")
    wrong += [
        f"{place} is not on the late list" for place in truth.nothing_from() if f"Place {place}" not in story["late"]
    ]
    return wrong


SENTENCES = {
    "held": r"Held and in no figure, ([\d,]+) places? with",
    "unproven": r"Includes ([\d,]+) packets? that (?:is|are) not proven",
    "paper": r"Includes ([\d,]+) places? keyed from paper",
    "out": r"Held out of the totals, ([\d,]+) places? whose",
    "against": r"Two packets disagree at ([\d,]+) places?",
    "apart": r"keyings of the paper, disagree at ([\d,]+) places?",
}


def marked(words: str) -> set[tuple[str, int]]:
    """(mark, how many places) of each sentence about what is held, not proven or contradicted."""
    found = {name: re.search(said, words) for name, said in SENTENCES.items()}
    return {(name, int(one[1].replace(",", ""))) for name, one in found.items() if one}


def main(html: str) -> str:
    return html.partition("<main")[2].partition("</main>")[0]


def text_of(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def states(html: str) -> dict[str, str]:
    """Place -> the words of its state, as the list of places tells them."""
    found = re.findall(r'<li><a href="/place/([\w-]+)"><span class="pair">.*?</span></span>(.*?)</a>', html, re.S)
    return {place: text_of(words) for place, words in found}


Case = Callable[[Desks, str], Iterator[str]]


def amended(d: Desks, place: str) -> Iterator[str]:
    first = d.packet(place, **d.moved(1))
    d.take(place, first)
    d.counts(place, 1)
    yield f"{place}: packet 1"
    d.take(place, d.packet(place, number=2, amends=digest_of(first), **d.moved(2)))
    d.counts(place, 2)
    yield f"{place}: packet 2 replaces 1"


def amended_backwards(d: Desks, place: str) -> Iterator[str]:
    first = d.packet(place, **d.moved(3))
    d.take(place, d.packet(place, number=2, amends=digest_of(first), **d.moved(4)))
    d.counts(place, 4)
    yield f"{place}: packet 2 comes before 1"
    d.take(place, first)
    yield f"{place}: packet 1 comes after it"


def contradicting(d: Desks, place: str) -> Iterator[str]:
    first = d.packet(place, **d.moved(5))
    d.take(place, first)
    d.counts(place, 5)
    yield f"{place}: a packet"
    d.take(place, d.packet(place, number=2, **d.moved(6)))
    d.counts(place, 6)
    d.truth.marks["against"].add(place)
    yield f"{place}: another that amends nothing"
    settle(d, place, digest_of(first), "The tape says what packet 1 says.")
    d.counts(place, 5)
    d.truth.marks["against"].discard(place)
    yield f"{place}: two parties settle it"


def unknown_key(d: Desks, place: str) -> Iterator[str]:
    packet = d.packet(place, STRANGER, **d.moved(7))
    d.take(place, packet)
    d.truth.marks["held"].add(place)
    yield f"{place}: signed by a key nobody enrolled"
    settle(d, place, digest_of(packet), "Its tape compared in full.", tape="yes")
    d.counts(place, 7)
    d.truth.marks["held"].discard(place)
    d.truth.marks["unproven"].add(place)
    yield f"{place}: its tape compared, two parties let it count"


def refused_first(what: str, changes: Callable[[Desks, str], dict], other: str = "") -> Case:
    """A packet that is refused and kept aside; then the right one."""

    def case(d: Desks, place: str) -> Iterator[str]:
        by = d.night.seal[other or place]
        wrong = b"".join(by(**(d.plain() | d.moved(8) | {"place": place} | changes(d, place))))
        page = d.upload((f"{place}.cose", wrong))
        assert "refused" in page.text and page.form("/intake/clear"), page.said()
        d.clear()
        assert hashlib.sha256(wrong).hexdigest()[:16] in d.window.get("/refused").text, "a trace of it"
        yield f"{place}: {what}, refused"
        d.take(place, d.packet(place, **d.moved(8)))
        d.counts(place, 8)
        yield f"{place}: the right one"

    return case


def digest_of_file(d: Desks, place: str) -> bytes:
    return d.night.room.roster.places[place].digest


other_edition = refused_first("made with another edition", lambda d, place: {"place_digest": bytes(32)})
other_mode = refused_first("signed for the other of practice and live", lambda d, place: {"signed_for": "live"})


def another_places_key(other: str) -> Case:
    return refused_first(
        "signed by the key of another place", lambda d, place: {"place_digest": digest_of_file(d, place)}, other
    )


def goods_without_packet(d: Desks, place: str) -> Iterator[str]:
    d.goods(place, "goods")
    yield f"{place}: goods, no packet"
    d.goods(place, "tapes")
    yield f"{place}: its tapes are read"


def from_paper(d: Desks, place: str) -> Iterator[str]:
    d.paper(place, 9)
    d.counts(place, 9)
    d.truth.marks["paper"].add(place)
    yield f"{place}: keyed from paper"


def packet_after_paper(d: Desks, place: str) -> Iterator[str]:
    yield from from_paper(d, place)
    d.take(place, d.packet(place, **d.moved(9)))
    d.truth.marks["paper"].discard(place)
    yield f"{place}: its packet says the same"


def packet_against_paper(d: Desks, place: str) -> Iterator[str]:
    yield from from_paper(d, place)
    packet = d.packet(place, **d.moved(12))
    d.take(place, packet)
    d.truth.marks["apart"].add(place)
    yield f"{place}: its packet says otherwise"
    settle(d, place, digest_of(packet), "The tape says what the packet says.")
    d.counts(place, 12)
    d.truth.marks["apart"].discard(place)
    d.truth.marks["paper"].discard(place)
    yield f"{place}: two parties settle it"


def memory_missing(d: Desks, place: str) -> Iterator[str]:
    d.take(place, d.packet(place, **d.moved(13)))
    d.counts(place, 13)
    yield f"{place}: a packet"
    d.goods(place, "goods", **{"memory-in/loaded": "1"})
    del d.truth.inn[place]
    d.truth.marks["out"].add(place)
    yield f"{place}: one memory device not loaded"
    d.goods(place, "tapes")
    d.answer_all(place)
    d.counts(place, 13)
    d.truth.marks["out"].discard(place)
    yield f"{place}: two parties say why"
    d.goods(place, "handed-over")
    yield f"{place}: receipt"
    assert "agreed" in d.seen[place], d.seen[place]


def container_missing(d: Desks, place: str) -> Iterator[str]:
    d.take(place, d.packet(place, **d.moved(14)))
    d.counts(place, 14)
    yield f"{place}: a packet"
    gone = {"here.C2": "", "not_so": "yes", "found": "C2 is not here.", "done": "The carriers went back for it."}
    d.all_goods(place, goods={f"containers-in/{name}": value for name, value in gone.items()})
    yield f"{place}: container C2 is not here"
    assert "agreed" not in d.seen[place] and "open" in d.seen[place], d.seen[place]
    d.answer_all(place)
    yield f"{place}: it came, two parties say so"
    assert "agreed" in d.seen[place], d.seen[place]


def tape_differs(d: Desks, place: str) -> Iterator[str]:
    d.take(place, d.packet(place, **d.moved(15)))
    d.counts(place, 15)
    yield f"{place}: a packet"
    d.goods(place, "goods")
    d.goods(place, "tapes", **{"tape-to-packet:T1/public": "269"})
    del d.truth.inn[place]
    d.truth.marks["out"].add(place)
    yield f"{place}: the tape has 4 more"
    d.answer_all(place)
    d.counts(place, 15)
    d.truth.marks["out"].discard(place)
    yield f"{place}: two parties say why"


def off_by(by: int) -> Case:
    def case(d: Desks, place: str) -> Iterator[str]:
        d.take(place, d.packet(place, **d.gap(by)))
        d.counts(place)
        yield f"{place}: {abs(by)} {'more' if by > 0 else 'fewer'} check-ins than ballots, no remark"

    return case


def finding(d: Desks, place: str) -> Iterator[str]:
    d.take(place, d.packet(place, **d.moved(16)))
    d.counts(place, 16)
    yield f"{place}: a packet"
    path = f"/finding/{place}/votes/T1/GOV/A"
    first = d.opened.core["tabulators"][0]["contests"]["GOV"][0] + 16
    page = d.signed(path, **{"is": str(first + 7), "what": "Read again off the signed tape."})
    assert page.path == f"/place/{place}", page.said()
    d.counts(place, 23)
    yield f"{place}: 7 more found on the tape"


def lacks_a_contest(d: Desks, place: str) -> Iterator[str]:
    gone = list(d.opened.core["contests"])[-1]
    rows = {name: row for name, row in d.opened.core["contests"].items() if name != gone}
    d.take(place, d.packet(place, contests=rows))
    d.counts(place)
    yield f"{place}: one contest is not in the packet"
    assert (
        "open" in d.seen[place]
        and f"Place {place}" in text_of(main(d.window.get("/totals").text)).partition("Not in their packets")[2]
    )


def late(d: Desks, place: str) -> Iterator[str]:
    values = {"what": "packet", "who": "chair", "by": "phone", "promised": "23:50", "answer": "Left at 22:40."}
    page = d.signed(f"/late/{place}", second="", **values)
    assert page.path == "/late", page.said()
    yield f"{place}: late, called"
    d.take(place, d.packet(place, **d.moved(17)))
    d.counts(place, 17)
    yield f"{place}: it comes"


def never(d: Desks, place: str) -> Iterator[str]:
    yield f"{place}: nothing came"


def settle(d: Desks, place: str, digest: bytes, why: str, **more: str) -> None:
    path = f"/packets/{place}"
    page = d.signed(path, f"{path}/counts", which=digest.hex()[:16], why=why, **more)
    assert page.path == path, page.said()


def digest_of(packet: bytes) -> bytes:
    return hashlib.sha256(parts_of(packet)[0]).digest()


def batches(d: Desks, places: list[str], desks: int) -> Iterator[str]:
    """Plain places, several at a desk in one act."""
    for at in range(0, len(places), 8):
        some = places[at : at + 8]
        d.use(at // 8 % desks)
        page = d.stack(*((one, d.packet(one, **d.moved(at + i))) for i, one in enumerate(some)))
        assert page.path == "/places" or len(some) == 1, page.said()
        for i, one in enumerate(some):
            d.counts(one, at + i)
        yield f"{len(some)} places in one stack"


def play(d: Desks, plain: list[str], cases: Mapping[str, Case]) -> None:
    """The night: every minute one step of a case at each desk, then every page is looked at, at every desk."""
    desks, waiting = len(d.windows), [case(d, place) for place, case in cases.items()]
    d.look("nothing is in")
    for done in batches(d, plain, desks):
        d.minute()
        d.look(done)
    going: list[Iterator[str] | None] = [None] * desks
    while waiting or any(going):
        d.minute()
        told = []
        for desk in range(desks):
            going[desk] = going[desk] or (waiting.pop(0) if waiting else None)
            if going[desk] is None:
                continue
            d.use(desk)
            done = next(going[desk], "")
            if done:
                told.append(done)
            else:
                going[desk] = None
        if told:
            d.look("; ".join(told))
