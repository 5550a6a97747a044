"""Secrecy of the demo's day: record, gate, packet, every page of place and office, and everything they hand out.

A note of one ballot or voter carries quarter hours and no counter value; a ballot handed back stands in an hour's tally and nowhere else; packet and
exports give counts, never lines. Source: design 3.4; trade.md 12 (a minute beside the order of check-ins tells whose ballot it was).
The record is read here with cbor2 and SQL, not with the product's own reader.
"""

import re
import shutil
import sqlite3
from pathlib import Path
from types import SimpleNamespace

import cbor2
import pypdfium2
import pytest

import webapp
from demo_precinct.http_window import Window
from demo_precinct.rehearsed_day import PINS
from tests.pages.walk import pages_of
from tests.rehearsal.conftest import demo  # noqa: F401 - the rehearsed day
from webapp.gate.signed_place_file import load_place
from webapp.packet.envelope import open_packet, parts_of
from webapp.precinct.checklist import checklist
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS, COARSE_KINDS, VOTER_KINDS
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

QUARTER, HOUR = 15 * 60_000, 3_600_000
COUNTERS = frozenset({"public", "lifetime", "counters", "counter"})
FIELDS = (
    "form",
    "record_id",
    "run",
    "number",
    "id",
    "kind",
    "body",
    "made",
    "happened",
    "kept",
    "offset",
    "tablet",
    "seq",
    "holder",
    "signers",
)
CLOCK = re.compile(r"\b([01]?\d|2[0-3]):([0-5]\d)\b")
TITLES = [
    checklist.fill(s, SimpleNamespace(name="", rules=SimpleNamespace(battery_hours=6, clock=24)), "").says or s.title
    for s in checklist.defaults()
    if s.ballot
]
NAMED = re.compile("|".join(rf"{re.escape(title)}\b" for title in TITLES))


@pytest.fixture(scope="module")
def night(demo, tmp_path_factory):  # noqa: F811 - a fixture that takes a fixture
    """A copy of the folder that one rehearsed demo day left behind, with `places/W3` and `office`."""
    assert demo[0]["ok"]
    return shutil.copytree(demo[1], tmp_path_factory.mktemp("secrecy") / "demo")


@pytest.fixture(scope="module")
def entries(night):
    with sqlite3.connect(f"file:{night}/places/W3/record.db?mode=ro", uri=True) as db:
        return [
            SimpleNamespace(**dict(zip(FIELDS, cbor2.loads(row), strict=True)))
            for (row,) in db.execute("SELECT entry FROM entries ORDER BY number")
        ]


def leaves(value, key=""):
    """(key, value) of everything in it, however deep."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name, name
            yield from leaves(inner, name)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from leaves(inner, key)
    else:
        yield key, value


def is_moment(value) -> bool:
    """Whether this can be a time of that year in ms UTC."""
    return isinstance(value, int) and not isinstance(value, bool) and 1_700_000_000_000 < value < 1_900_000_000_000


# --- the record


def test_the_day_holds_every_kind_that_speaks_of_a_ballot(entries):
    assert {e.kind for e in entries} >= VOTER_KINDS | {"taken-back", "handed-back"}


def test_no_ballot_kind_in_the_record_has_a_time_finer_than_a_quarter_hour_or_a_counter_value(entries):
    for entry in (e for e in entries if e.kind in COARSE_KINDS):
        assert [entry.made % QUARTER, entry.happened % QUARTER, entry.kept % QUARTER, entry.offset] == [0, 0, 0, 0], (
            entry.kind
        )
        for key, value in leaves(entry.body):
            assert key not in COUNTERS and not (is_moment(value) and value % QUARTER), (entry.kind, key)
        assert entry.id[6] >> 4 == 4, "its id is random, and tells no time"


def test_no_word_of_a_ballot_kind_tells_a_time(night, entries):
    numbers = {e.number for e in entries if e.kind in COARSE_KINDS}
    with sqlite3.connect(f"file:{night}/places/W3/record.db?mode=ro", uri=True) as db:
        for number, text in db.execute("SELECT number, text FROM words"):
            assert number not in numbers or not CLOCK.search(text)


def test_a_ballot_handed_back_stands_in_an_hours_tally_and_nowhere_else(entries):
    tallies = [e for e in entries if e.kind == "handed-back"]
    assert tallies
    for entry in tallies:
        assert set(entry.body) == {"hour", "tally"} and entry.body["hour"] % HOUR == 0 == entry.happened % HOUR
        assert (entry.tablet, entry.holder, entry.signers) == ("L", None, [])
    names = {"overvote", "cross-party", "as-is", "new-ballot", "other-way-up"}
    assert not [
        e.kind
        for e in entries
        if e.kind not in ("handed-back", "started") and names & {v for _, v in leaves(e.body) if isinstance(v, str)}
    ]


# --- what lies beside the record


def moments_in(data: bytes, around: int, within: int) -> list[int]:
    """Every six bytes that read as a time of these minutes, in ms UTC, and are no quarter hour: so SQLite and CBOR store one."""
    found, head = [], around.to_bytes(6, "big")[:2]
    at = data.find(head)
    while at >= 0:
        value = int.from_bytes(data[at : at + 6], "big")
        if abs(value - around) <= within and value % QUARTER:
            found.append(value)
        at = data.find(head, at + 1)
    return found


def test_the_gate_and_the_record_keep_no_minute_of_a_tap_a_note_or_a_first_signature(scene):
    here = scene("voting")
    here.hold()
    here.now += 17 * 60_000 + 41_227  # a moment that no entry of this day shares
    here.crew.clock(here.now)
    here.window.send(here.form("/note/handed-back"), {"message": "overvote", "outcome": "as-is"})
    spoiled = here.form("/note/spoiled")
    page = here.window.send(spoiled, here.filled(spoiled, "spoiled"))
    here.window.send(page.form("/note/back/"))
    form = here.form("/note/jam/T1")
    page = here.window.send(form, here.signed(here.filled(form, "jam", "T1"), "lindqvist"))
    assert page.path.startswith("/sign/")
    moment = here.now
    before = {
        name: (here.folder / name).read_bytes()
        for name in ("gate.db", "gate.db-wal", "record.db", "record.db-wal")
        if (here.folder / name).exists()
    }
    assert here.kinds()[-2:] == ["spoiled", "taken-back"] and {"gate.db", "record.db"} <= set(before)
    assert {name: moments_in(data, moment, 5 * 60_000) for name, data in before.items()} == dict.fromkeys(before, [])
    here.second(page)
    again = {name: (here.folder / name).read_bytes() for name in before}
    assert {name: moments_in(data, moment, 5 * 60_000) for name, data in again.items()} == dict.fromkeys(before, [])
    form = next(f for f in here.window.get(f"/record/{here.length}/correct").forms if f.action.endswith("/correct"))
    page = here.window.send(form, here.signed({"counted": "no", "reason": "The counter did not move."}, "lindqvist"))
    assert page.path.startswith("/sign/"), page.said()
    waiting = {name: (here.folder / name).read_bytes() for name in before}
    assert here.kinds()[-1] == "jam" and {
        name: moments_in(data, moment, 5 * 60_000) for name, data in waiting.items()
    } == dict.fromkeys(before, [])
    here.second(page)
    corrected = {name: (here.folder / name).read_bytes() for name in before}
    assert here.kinds()[-1] == "correction" and {
        name: moments_in(data, moment, 5 * 60_000) for name, data in corrected.items()
    } == dict.fromkeys(before, [])
    with sqlite3.connect(here.folder / "gate.db") as db:
        assert [
            hour % HOUR for (hour,) in db.execute("SELECT hour FROM taps UNION ALL SELECT hour FROM taken_hours")
        ] == [0]


def test_this_look_at_bytes_finds_a_minute_where_there_is_one(scene):
    here = scene("voting")
    here.hold()
    here.now += 17 * 60_000 + 41_227
    here.crew.clock(here.now)
    here.crew.note("incident", where="booths", what="A lamp went out.", told="duty clerk")
    data = (here.folder / "record.db").read_bytes() + (here.folder / "record.db-wal").read_bytes()
    assert here.now in moments_in(data, here.now, 5 * 60_000)


# --- the packet


def test_the_packet_gives_counts_of_ballots_and_never_a_line(night, entries):
    opened = open_packet(parts_of((night / "places" / "W3" / "packet" / "1.cose").read_bytes()), None, None)
    ballots = {t for e in entries if e.kind in COARSE_KINDS for t in (e.made, e.happened, e.kept)}
    others = {t for e in entries if e.kind not in COARSE_KINDS for t in (e.made, e.happened, e.kept)} | {
        v for e in entries if e.kind not in COARSE_KINDS for _, v in leaves(e.body)
    }
    for part in (opened.core, opened.remarks):
        found = list(leaves(part if isinstance(part, dict) else vars(part)))
        assert not [v for _, v in found if is_moment(v) and v in ballots - others]
        assert not [
            v
            for _, v in found
            if v in BALLOT_KINDS - {"spoiled", "provisional", "left", "taken", "found"} or v == "handed-back"
        ]
        assert not {"overvote", "cross-party", "as-is", "other-way-up"} & {v for _, v in found if isinstance(v, str)}
    assert not {step[0] for step in opened.core["steps"]} & (COARSE_KINDS | {"handed-back"})


def told_with_a_time(text: str) -> list[str]:
    """Lines that name a kind of ballot note and a time finer than a quarter hour."""
    return [
        line for line in text.splitlines() if any(int(m[2]) % 15 for m in CLOCK.finditer(line)) and NAMED.search(line)
    ]


def test_this_look_at_lines_finds_a_minute_where_there_is_one():
    assert told_with_a_time(
        "54 07:38 Spoiled ballot: 1 ballot of style 3A.\n54 07:30 to 07:45 Spoiled ballot\n20:10 Spoiled ballots: 2 of style 3A"
    ) == ["54 07:38 Spoiled ballot: 1 ballot of style 3A."]


def test_the_printed_packet_tells_no_time_of_a_ballot(night):
    window = None
    place, app, running = serving(night, "place")
    try:
        window = Window(running.port)
        pdf = pypdfium2.PdfDocument(window.get("/packet/packet.pdf").body)
        text = "\n".join(sheet.get_textpage().get_text_range() for sheet in pdf)
        assert place.name in text and told_with_a_time(text) == []
    finally:
        stop(window, app, running)


# --- every page


def serving(night: Path, role: str):
    """A server on a copy of what the day left behind, its clock at a full hour so that the only finer times on a page are those that it tells."""
    place = load_place(night / "places" / "W3")
    folder = night.parent / f"{role}-again"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(night / ("places/W3" if role == "place" else "office"), folder)
    app = webapp.create_app(
        Settings(role, folder, mode=place.mode, clock="scripted", start=place.at(place.closes) + 3 * HOUR)
    )
    return place, app, serve_in_thread(app)


def stop(window, app, running):
    if window:
        window.close()
    running.stop()
    app.extensions["room"].close()


def pieces(text: str):
    """The rows of a page as a person reads them: (html, words)."""
    for piece in re.split(r'(?=<div class="line)|(?=<tr[ >])|(?=<li[ >])', text[text.find("<main") :]):
        yield piece, " ".join(re.sub(r"<[^>]*>", " ", piece).split())


def test_no_page_of_the_place_tells_a_minute_or_a_counter_beside_a_ballot_note(night, entries):
    ballots = {e.number for e in entries if e.kind in COARSE_KINDS}
    place, app, running = serving(night, "place")
    window, seen = Window(running.port), 0
    try:
        form = window.get("/tablet").form("/tablet/take")
        window.send(form, {"signer": place.officials[0].id, "pin": PINS[0]})
        for path, page in pages_of(SimpleNamespace(app=app, room=app.extensions["room"], place=place), window):
            if page.status != 200 or "html" not in page.headers.get("content-type", ""):
                continue
            own = re.fullmatch(r"/record/(\d+)(/\w+)?", path)
            for html, said in pieces(page.text):
                numbers = {int(n) for n in re.findall(r"/record/(\d+)\b|\bentry (\d+)\b", html) for n in n if n} | (
                    {int(own[1])} if own else set()
                )
                if not numbers or not numbers <= ballots:
                    continue
                seen += 1
                fine = [m[0] for m in CLOCK.finditer(said) if int(m[2]) % 15]
                assert fine == [], (path, said)
                assert not re.search(r"counter (?:of \w+: )?\d", said), (path, said)
            assert told_with_a_time("\n".join(said for _, said in pieces(page.text))) == [], path
    finally:
        stop(window, app, running)
    assert seen > 3 * len(ballots)


def test_no_page_and_no_export_of_the_office_has_a_line_of_one_ballot(night):
    place, app, running = serving(night, "office")
    window, seen = Window(running.port), 0
    try:
        for rule in app.url_map.iter_rules():
            if "GET" not in rule.methods or rule.endpoint == "static":
                continue
            path = re.sub(r"<(?:\w+:)?(place|at|name|key)>", place.id, rule.rule)
            page = window.get(re.sub(r"<(?:\w+:)?\w+>", "1", path))
            if page.status == 200:
                seen += 1
                kind = page.headers.get("content-type", "")
                text = "\n".join(said for _, said in pieces(page.text)) if "html" in kind else page.text
                assert told_with_a_time(text) == [], path
                assert not re.search(r"\b(handed-back|emergency-plus|absentee-handed-in)\b", text), path
    finally:
        stop(window, app, running)
    assert seen > 4


def test_the_offices_record_holds_no_note_of_a_ballot(night):
    with sqlite3.connect(f"file:{night}/office/office.db?mode=ro", uri=True) as db:
        rows = [cbor2.loads(row) for (row,) in db.execute("SELECT entry FROM entries")]
    assert rows and not {row[5] for row in rows} & (COARSE_KINDS | {"handed-back"})


def test_whatever_checks_a_record_knows_that_what_takes_a_note_back_is_coarse():
    """Else a day with a note taken back would be said not to check."""
    root = Path(webapp.__file__).parent
    assert [path.name for path in root.rglob("*.py") if "coarse=BALLOT_KINDS" in path.read_text(encoding="utf-8")] == []
    assert [path.name for path in root.rglob("*.py") if "coarse=COARSE_KINDS" in path.read_text(encoding="utf-8")]
