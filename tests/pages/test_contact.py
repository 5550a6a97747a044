"""A tablet and the laptop tell each other where they stand: agreement, contradiction, clocks, own entries, what is still held."""

import base64
import json
from types import SimpleNamespace

import cbor2
import pytest

import webapp
from tests.pages.asking import asked, left, posted, put_aside, restart, seen
from tests.pages.tablets import admitted, tablets_door
from tests.pages.test_blind import holds
from tests.pages.walk import pages_of
from webapp.gate.tablet_reports import TabletReport
from webapp.pages.tablets.tablet_memory import owed
from webapp.pages.tablets.tablet_report import shown
from webapp.record.entry import Entry

MINUTE = 60_000


def answer(window, *args, **more) -> dict:
    page = asked(window, *args, **more)
    assert page.status == 200, page.said()
    return json.loads(page.text)


# --- what is said


def test_contact_says_where_the_record_stands_and_a_get_changes_nothing(scene):
    here = scene("voting")
    here.hold()
    before = here.length
    said = json.loads(here.window.get("/contact").text)
    newest = here.room.ledger.newest
    assert (said["run"], said["number"], said["head"], said["record"]) == (
        newest.run,
        newest.number,
        newest.head.hex(),
        here.room.ledger.record_id.hex(),
    )
    assert (
        said["holder"] == "lindqvist"
        and said["version"] == webapp.__version__
        and said["now"] == here.now
        and said["practice"] is True
    )
    assert said["contradicts"] == "" and said["handed_over"] is False
    assert said["last_seq"] == here.room.ledger.last_seq(said["tablet"])
    assert here.length == before and here.room.gate.contacts.all() == {}


def test_every_page_carries_what_the_tablet_is_to_remember(scene):
    here = scene("voting")
    for path in ("/now", "/steps", "/note", "/record", "/tablet", "/alarm", "/no-such-page"):
        record, run, number, head = seen(here.window)
        assert (
            f'<meta name="tapeseal-saw" content="{record} {run} {number} {head} practice">'
            in here.window.get(path).text
        ), path


def test_what_agrees_makes_no_entry_however_often_it_is_said(scene):
    here = scene("voting")
    here.hold()
    states = [seen(here.window)]
    left(here)
    states.append(seen(here.window))
    before = here.length
    for saw in (*states, None, states[0]):
        assert answer(here.window, saw)["contradicts"] == ""
    assert here.length == before


@pytest.fixture(scope="module")
def unmoved(shared_scene):
    """One afternoon for all that is refused: nothing of it is kept."""
    return shared_scene("voting")


@pytest.mark.parametrize(
    "sent",
    [
        None,
        [],
        "x",
        {},
        {"held": 0},
        {"held": -1, "clock": 0},
        {"held": 0, "clock": "now"},
        {"held": True, "clock": 1},
        {"held": 0, "clock": 1.5},
        {"held": 10**6, "clock": 1},
        *(
            {"held": 0, "clock": 1, "saw": saw}
            for saw in (
                [],
                "x",
                ["00" * 16, 1, 1],
                ["00" * 15, 1, 1, "00" * 32],
                ["00" * 16, 0, 1, "00" * 32],
                ["00" * 16, 1, -1, "00" * 32],
                ["00" * 16, 1, 1, "00" * 31],
                ["GG" * 16, 1, 1, "00" * 32],
                ["00" * 16, 1, 2**70, "00" * 32],
                ["00" * 16, "1", 1, "00" * 32],
                [["00"], 1, 1, "00" * 32],
                {"0": 1},
            )
        ),
    ],
)
def test_what_no_tablet_says_is_refused_in_a_sentence_and_nothing_is_kept(unmoved, sent):
    here = unmoved
    before = here.length
    page = posted(here.window, "/contact", sent)
    assert page.status == 400 and "Open the page again." in page.text
    assert here.length == before and here.room.gate.contacts.all() == {}


def test_r31_a_contact_one_byte_over_its_limit_is_refused(scene):
    here = scene("voting")
    limit = here.app.config["BODY_LIMITS"]["/contact"]
    body = json.dumps({"held": 0, "clock": 1, "saw": None}).encode()
    assert posted(here.window, "/contact", body.ljust(limit)).status == 200
    assert posted(here.window, "/contact", body.ljust(limit + 1)).status == 413


def test_a_tablet_that_asks_by_itself_does_not_keep_its_holder(scene):
    here = scene("voting")
    here.hold()
    for _ in range(3):
        here.now += 11 * MINUTE
        here.room.clock.set(here.now)
        said = answer(here.window)
    assert said["holder"] is None


# --- contradiction, with real files


def contradiction(here, window, saw) -> str:
    """Ask three times: a sentence each time, and one entry. The first sentence."""
    before = here.length
    said = [answer(window, saw)["contradicts"] for _ in range(3)]
    assert all(said)
    assert here.kinds(before) == ["contradicted"]
    body = list(here.room.ledger.entries(after=before))[0].body
    assert [body["record"].hex(), body["run"], body["number"], body["head"].hex()] == saw and body["tablet"] in said[0]
    return said[0]


def test_r15_a_fork_is_shown_to_the_first_tablet_that_returns(scene):
    """The record is copied, the day goes on, the copy is put back and another afternoon is written, longer than the first one."""
    here = scene("voting")
    here.hold()
    restart(here)
    aside = put_aside(here, "aside.db")
    left(here, 2)
    saw = seen(here.window)
    restart(here, aside)
    here.hold("okafor")
    left(here, 6)
    assert here.length > saw[2]
    said = contradiction(here, here.window, saw)
    assert f"another entry {saw[2]}" in said
    for page in (here.window.get("/now"), here.another().get("/now"), here.window.get("/alarm")):
        assert 'class="notice loud"' in page.text and f"remembers entry {saw[2]} in run 1 of this record" in page.text
    assert "A tablet remembers another history" in here.window.get("/record").text
    other = here.another()
    assert answer(other, seen(other))["contradicts"] == ""  # a tablet that saw only the new history agrees with it
    assert answer(other, saw)["contradicts"]  # and each that saw the old one is told so
    assert here.kinds().count("contradicted") == 2


def test_an_older_copy_of_the_record_that_was_put_back_is_shown(scene):
    here = scene("voting")
    here.hold()
    restart(here)
    aside = put_aside(here, "aside.db")
    left(here, 7)
    saw = seen(here.window)
    restart(here, aside)
    assert f"remembers entry {saw[2]}; this record ends at entry" in contradiction(here, here.window, saw)


def test_the_folder_of_another_record_under_the_same_name_is_shown(scene):
    """The gate stays, so that the tablet is known; the record is that of another morning of the same place."""
    here, other = scene("voting"), scene("polls-open")
    saw = seen(here.window)
    other.stop()
    for file in other.folder.glob("record.db*"):
        file.unlink()
    other.windows = []
    other.start()  # a fresh record: the day begins anew in the same place
    said = contradiction(other, other.window, saw)
    assert "of another record" in said and "this is record" in said
    assert "of another record" in other.window.get("/now").text


def test_the_alarm_is_plain_once_an_incident_was_noted_and_solid_again_at_the_next_contradiction(scene):
    here = scene("voting")
    here.hold()
    saw = seen(here.window)
    saw[3] = "00" * 32
    contradiction(here, here.window, saw)
    page = here.window.send(
        here.form("/note/incident"),
        here.signed(
            here.filled(here.form("/note/incident"), "incident") | {"what": "The laptop was changed at noon."},
            "lindqvist",
        ),
    )
    assert page.status == 200, page.said()
    number = here.room.day.of("incident")[-1].number
    text = here.window.get("/now").text
    assert 'class="notice loud"' not in text and f"An incident was noted since, entry {number}" in text
    saw[3] = "11" * 32
    contradiction(here, here.window, saw)
    assert 'class="notice loud"' in here.window.get("/now").text


def test_one_tablet_cannot_fill_the_record_with_alarms(scene):
    here = scene("voting")
    before = here.length
    for n in range(20):
        assert answer(here.window, [here.room.ledger.record_id.hex(), 1, n, f"{n:064x}"])["contradicts"]
    assert here.kinds(before) == ["contradicted"]


def test_a_disk_that_takes_nothing_does_not_silence_the_alarm(scene):
    here = scene("voting")
    here.room.ledger._db.execute("PRAGMA query_only = 1")
    assert "another entry 7" in answer(here.window, [here.room.ledger.record_id.hex(), 1, 7, "ab" * 32])["contradicts"]
    assert "contradicted" not in here.kinds()
    here.room.ledger._db.execute("PRAGMA query_only = 0")
    assert answer(here.window, [here.room.ledger.record_id.hex(), 1, 7, "ab" * 32])["contradicts"]
    assert here.kinds().count("contradicted") == 1


# --- clocks


class Real:
    """The laptop's own clock at one moment."""

    scripted = False

    def __init__(self, ms):
        self.ms = ms

    def now(self):
        return self.ms

    def set(self, ms):
        self.ms = ms


@pytest.mark.parametrize(
    ("offset", "says", "warns"),
    [
        (0, "as the laptop's", False),
        (7_000, "7 s ahead of the laptop's", False),
        (-60_000, "1 min behind the laptop's", False),
        (60_001, "1 min ahead of the laptop's", True),
        (-3_723_000, "62 min 3 s behind the laptop's", True),
        (86_400_000 * 30, "43200 min ahead of the laptop's", True),
    ],
)
def test_the_clock_of_a_tablet_is_measured_at_each_contact_and_shown(scene, offset, says, warns):
    here = scene("voting")
    here.room.clock = Real(here.now)
    answer(here.window, clock=here.now + offset)
    name = here.room.gate.sessions.get(
        next(v for k, v in here.window.cookies.items() if not k.endswith(("form", "light"))), here.now
    ).tablet
    assert here.room.gate.contacts.of(name).offset == offset
    text = here.window.get("/tablet").text.replace("&#39;", "'")
    assert says in text and ("Set it in the tablet's settings" in text) is warns


def test_a_scripted_clock_measures_nothing(scene):
    here = scene("voting")
    answer(here.window, clock=1)
    assert [said.offset for said in here.room.gate.contacts.all().values()] == [None]


def test_what_a_tablet_says_is_written_only_when_it_is_new(scene):
    here = scene("voting")
    writes = []
    contacts = here.room.gate.contacts
    change = contacts._drawer.change
    contacts._drawer.change = lambda: writes.append(1) or change()
    for held, heard, offset, since in (
        (0, 5, 40, 0),
        (0, 9, 90, 0),
        (0, 12, 990, 0),
        (1, 13, 90, 0),
        (1, 14, 2_000, 0),
        (1, 20, 2_000, 18),
        (1, 30, 2_400, 18),
    ):
        contacts.say("A", held, heard, offset, since)
    del contacts._drawer.change
    assert len(writes) == 4  # the first, one held, a clock moved by 1.9 s, the first since entry 18
    assert contacts.of("A") == TabletReport("A", 1, 20, 2_000)


# --- its own entries


def test_a_tablet_gets_the_very_bytes_of_its_own_entries_and_no_others(scene):
    here = scene("voting")
    here.hold()
    left(here, 2)
    other = here.another()
    other.send(other.get("/tablet").form("/tablet/take"), {"signer": "okafor", "pin": here.pins["okafor"]})
    tablet = json.loads(here.window.get("/contact").text)["tablet"]
    said = json.loads(here.window.get("/contact/mine?after=0").text)
    stored = dict(here.room.ledger.lines_of(tablet, 0, 10**6))
    assert said["entries"] and {one["number"]: base64.b64decode(one["entry"]) for one in said["entries"]} == stored
    assert all(Entry.unpack(data).tablet == tablet for data in stored.values())
    assert said["next"] == max(stored) and said["waits"] is False
    assert json.loads(here.window.get(f"/contact/mine?after={said['next']}").text)["entries"] == []
    left(here)
    again = json.loads(here.window.get(f"/contact/mine?after={said['next']}").text)
    assert [one["number"] for one in again["entries"]] == [here.length]
    assert json.loads(other.get("/contact/mine").text)["entries"] == []
    for after in ("x", "-1", "9" * 40, "%D9%A3"):
        assert json.loads(here.window.get(f"/contact/mine?after={after}").text)["record"]


def test_more_entries_than_one_answer_holds_come_one_after_the_other(scene, monkeypatch):
    monkeypatch.setattr("webapp.pages.tablets.tablet_report.MOST_LINES", 3)
    here = scene("voting")
    here.hold()
    left(here, 8)
    tablet, after, got = json.loads(here.window.get("/contact").text)["tablet"], 0, []
    while True:
        said = json.loads(here.window.get(f"/contact/mine?after={after}").text)
        if not said["entries"]:
            break
        got += [one["number"] for one in said["entries"]]
        after = said["next"]
    assert got == [number for number, _ in here.room.ledger.lines_of(tablet, 0, 10**6)] and len(got) == 8


def test_notes_that_are_folded_away_wait_and_come_when_the_counts_are_signed(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    left(here)
    number = here.length
    here.crew.do("line-end")
    here.crew.do("polls-closed")
    assert here.room.day.folded_away
    said = json.loads(here.window.get(f"/contact/mine?after={number - 1}").text)
    assert number not in [one["number"] for one in said["entries"]] and said["waits"] and said["next"] == number - 1


# --- nothing held


def test_a_tablet_owes_until_it_has_said_since_the_close_that_it_holds_nothing():
    assert "has not said since the polls closed" in owed("A", None, 90, None)
    assert "has not said since the polls closed" in owed("A", TabletReport("A", 0, 89, 0), 90, 1.0)
    assert owed("A", TabletReport("A", 0, 90, 0), 90, None) == "" == owed("A", TabletReport("A", 0, 90, 0), 90, 3600.0)
    assert "holds 3 entries that are not in the record" in owed("A", TabletReport("A", 3, 95, 0), 90, 1.0)
    assert "holds 1 entry that is not" in owed("A", TabletReport("A", 1, 95, None), 90, 1.0)


def test_while_the_polls_are_open_a_tablet_owes_when_it_holds_something_or_is_out_of_reach():
    assert owed("A", TabletReport("A", 0, 5, 0), None, 170.0) == ""
    assert "is out of reach and may hold" in owed("A", TabletReport("A", 0, 5, 0), None, 181.0)
    assert "is out of reach and may hold" in owed("A", TabletReport("A", 0, 5, 0), None, None)
    assert "is out of reach and may hold" in owed("A", None, None, None)
    assert "holds 2 entries" in owed("A", TabletReport("A", 2, 5, 0), None, 1.0)


@pytest.fixture
def night(scene):
    """The packet is due; one tablet of level full, one online only."""
    here = scene("packet")
    with tablets_door(here) as port:
        here.port = port
        here.full, here.online = admitted(here, port), admitted(here, port, "online")
        yield here


def make(here):
    return here.window.send(here.form("/packet", "/packet/make"), here.signed({}, "lindqvist"))


def test_the_packet_waits_for_each_tablet_and_names_it(night):
    page = make(night)
    assert (
        page.status == 422
        and "Tablet A has not said since the polls closed" in page.said()
        and "Tablet B" not in page.text
    )
    assert "Tablet A has not said" in night.window.get("/packet").text and night.room.day.packets == []
    answer(night.full, held=2)
    page = make(night)
    assert page.status == 422 and "Tablet A holds 2 entries" in page.said()
    answer(night.full, held=0)
    assert make(night).path.startswith("/sign/")


def test_a_tablet_of_level_online_that_says_it_holds_something_is_waited_for_too(night):
    answer(night.full)
    answer(night.online, held=1)
    assert "Tablet B holds 1 entry" in make(night).said()


def test_two_parties_strike_a_tablet_off_and_the_packet_goes_on(night):
    answer(night.full, held=3)
    form = night.window.get("/tablets").form("/tablets/A/strike")
    page = night.window.send(form, night.signed({"why": "lost"}, "lindqvist"))
    assert page.path.startswith("/sign/") and "Tablet A holds 3" in make(night).said()
    assert night.second(page).status == 200
    entry = next(e for e in night.room.ledger.entries() if e.kind == "revoked")
    assert entry.body["held"] == 3 and len({s.party for s in entry.signers}) == 2
    assert make(night).path.startswith("/sign/")


def test_a_tablet_that_takes_up_an_entry_between_the_two_signatures_stops_the_packet(night):
    answer(night.full)
    page = make(night)
    answer(night.full, held=1)
    before = night.length
    page = night.second(page)
    assert page.status == 409 and "Tablet A holds 1 entry" in page.said() and night.length == before


def test_windows_on_the_laptop_stop_no_packet(scene):
    here = scene("packet")
    answer(here.window, held=2)
    answer(here.another())
    assert here.room.tablets_owed() == [] and make(here).path.startswith("/sign/")


# --- the blind set

FIRST = ("77123", "88231", "66317")


def packed(figures) -> list[bytes]:
    """The figures as they stand in the bytes of an entry (RFC 8949, 3.1), and what a text of base64 could hold of these at each offset."""
    plain = [cbor2.dumps(int(figure)) for figure in figures]
    return plain + [base64.b64encode(b"\0" * lead + one)[4 if lead else 0 : -4] for one in plain for lead in range(3)]


def sent_of(page) -> bytes:
    return page.body + repr(sorted(page.headers.items())).encode()


def test_r9_until_both_sets_are_in_no_answer_of_either_door_holds_the_first(scene):
    """Every page, picture, export and JSON answer, on the laptop, in another window, and on an admitted tablet which keyed it, and one that did not."""
    here = scene("tape-prints")
    at = here.place.tabulators[0].id
    with tablets_door(here) as port:
        keyed, other = admitted(here, port), admitted(here, port)
        keyed.send(keyed.get("/tablet").form("/tablet/take"), {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
        form = keyed.get(f"/tape/{at}").form(f"/tape/{at}/key")
        values = here.filled(form, "tape-typed", at)
        names = [name for name in values if ".votes." in name][: len(FIRST)]
        sent = form.filled(here.signed(values | dict(zip(names, FIRST, strict=True)), "lindqvist"))
        assert keyed.post(form.action, [*sent, ("as_printed", "yes")]).status == 200
        number = here.length
        looked = 0
        for window in (here.window, here.another(), keyed, other):
            seen_twice = window not in (here.window, other)  # the same door, seen by another
            answers = [
                *pages_of(here, window, kinds=False, routes=seen_twice),
                ("/contact", asked(window, seen(window))),
            ]
            for path, page in answers:
                said = sent_of(page)
                assert not holds(page, FIRST) and not [one for one in packed(FIRST) if len(one) > 4 and one in said], (
                    path
                )
                looked += 1
        assert looked > 200
        mine = json.loads(keyed.get(f"/contact/mine?after={number - 1}").text)
        assert mine["entries"] == [] and mine["waits"] and mine["next"] == number - 1
        form = here.window.get(f"/tape/{at}").form(f"/tape/{at}/key")
        sent = form.filled(here.signed(values | dict(zip(names, FIRST, strict=True)), "okafor"))
        page = here.window.post(form.action, [*sent, ("as_printed", "yes")])
        assert page.status == 200, page.said()
        mine = json.loads(keyed.get(f"/contact/mine?after={number - 1}").text)
        assert [one["number"] for one in mine["entries"]] == [number] and not mine[
            "waits"
        ]  # once the second stands, the tablet keeps its own set
        assert all(one in base64.b64decode(mine["entries"][0]["entry"]) for one in packed(FIRST)[:3])


def day_of(kept, root=None, waiting=()):
    return SimpleNamespace(
        entry=lambda number: root if root and number == root.number else kept,
        root=lambda number: root.number if root else number,
        hidden=lambda one: False,
        unseen=lambda one: (),
        keyings=SimpleNamespace(waiting=lambda: waiting),
    )


def test_of_a_blind_set_the_tablet_is_given_what_the_day_shows_and_a_set_that_never_opens_holds_nothing_up():
    bare = SimpleNamespace(number=7, kind="keying", body={"of": "tape-typed", "at": "T1"})
    told = SimpleNamespace(number=7, kind="keying", body={"of": "tape-typed", "at": "T1", "figures": {}})
    correction = SimpleNamespace(number=9, kind="correction", body={"of": 7})
    assert shown(day_of(bare, waiting=("tape-typed:T1",)), 7) == "waits"
    assert shown(day_of(told), 7) == "shown"
    assert shown(day_of(bare, waiting=("tape-typed:T2",)), 7) == "never"  # keyed again before the second was in
    assert shown(day_of(correction, root=told), 9) == "never"  # a set is keyed again, never corrected
    assert shown(day_of(None), 8) == "waits"
