"""Entries held on a tablet come back: seen in the record's words, signed by their holder, kept once and in order; what is refused waits for a person."""

import json
import re
import uuid
from datetime import time
from pathlib import Path

import pytest

from tests.matrix import some
from tests.pages.asking import posted
from tests.pages.outbox import Outbox
from tests.pages.test_contact import Real
from webapp.pages.tablets import held_entry
from webapp.precinct.checklist import checklist, offline_rules
from webapp.precinct.day.hours import full_hour

README = Path(held_entry.__file__).parent / "README.md"
MINUTE = 60_000
QUARTER = 15 * MINUTE
NOTES = ("/note/left", "/note/spoiled", "/note/observers", "/note/incident", "/note/handed-back", "/step/hourly")
OBSERVERS = {"came": "1", "left": "0", "here": "2"}


@pytest.fixture
def tablet(scene, tmp_path):
    """A function: a scene at "voting" and a tablet on it that its holder took and that has the shell."""

    def taken(moment="voting", person="lindqvist", here=None, offset=0, paths=NOTES):
        here = here or scene(moment)
        window = here.another()
        window.send(window.get("/tablet").form("/tablet/take"), {"signer": person, "pin": here.pins[person]})
        one = Outbox(tmp_path / f"{uuid.uuid4().hex}.json", window, lambda: here.now + offset, person, offset)
        one.learn()
        one.store(*paths)
        return here, one

    return taken


def pins(here, person="lindqvist"):
    return person, here.pins[person]


def entries(here, after):
    return list(here.room.ledger.entries(after=after))


# --- kept once, in order, signed


def test_what_was_held_is_seen_in_the_records_words_and_kept_in_order_signed_by_its_holder(tablet):
    here, one = tablet()
    before = here.length
    one.hold("/note/left")
    one.hold("/note/observers", OBSERVERS)
    one.hold("/note/incident", {"where": "entrance", "what": "A quarrel about the queue.", "told": "the duty clerk"})
    here.pass_time(20)
    said = one.look()
    assert here.length == before  # looking keeps nothing
    words = [said["entries"][held["id"]]["words"] for held in one.held]
    assert "Left" in words[0] or "left" in words[0]
    assert "2 here" in words[1] and "A quarrel about the queue." in words[2]
    said = one.keep(*pins(here))
    kept = entries(here, before)
    assert [entry.kind for entry in kept] == ["left", "observers", "incident"]
    assert sorted(result["number"] for result in said["results"].values()) == [entry.number for entry in kept]
    assert [entry.seq for entry in kept] == list(range(kept[0].seq, kept[0].seq + 3)) and len(
        {entry.tablet for entry in kept}
    ) == 1
    assert all(
        [signer.person for signer in entry.signers] == ["lindqvist"] and entry.holder == "lindqvist" for entry in kept
    )
    assert one.held == [] and one.settle == {}
    assert here.room.ledger.texts(kept[2].number)["what"] == "A quarrel about the queue."


def test_a_lost_answer_is_asked_again_and_nothing_is_kept_twice(tablet):
    here, one = tablet()
    one.hold("/note/left")
    one.hold("/note/observers", OBSERVERS)
    one.hold("/note/incident", {"where": "entrance", "what": "The door stood open at noon."})
    before = here.length
    sent = {"entries": one.held, "signer": "lindqvist", "pin": here.pins["lindqvist"]}
    first = one.say("/held/keep", **sent)
    here.pass_time(3)
    again = one.say("/held/keep", **sent)  # the tablet never heard the first answer
    assert [r["number"] for r in again["results"].values()] == [r["number"] for r in first["results"].values()]
    assert here.length == before + 3
    seen = one.look()  # looking tells the tablet what it need not send any more
    assert one.held == [] and [e["number"] for e in seen["entries"].values()] == [
        r["number"] for r in first["results"].values()
    ]


def test_a_form_that_was_kept_online_and_whose_answer_was_lost_is_the_same_entry(tablet):
    here, one = tablet()
    form = one.window.get("/note/observers").form("/note/observers")
    ids = {name: form.controls[name].value for name in ("entry_id", "salt")}
    one.window.send(form, {**OBSERVERS, "signer": "lindqvist", "pin": here.pins["lindqvist"]})
    number = here.length
    one.hold("/note/observers", OBSERVERS, {"id": ids["entry_id"], "salt": ids["salt"]})
    here.pass_time(7)
    assert one.look()["entries"][ids["entry_id"]]["number"] == number
    assert one.held == [] and here.length == number


def test_an_id_that_comes_with_other_figures_is_refused_and_waits_for_a_person(tablet):
    here, one = tablet()
    held = one.hold("/note/observers", OBSERVERS)
    one.keep(*pins(here))
    number = here.length
    one.hold("/note/observers", OBSERVERS | {"here": "3"}, {"id": held["id"], "salt": held["salt"]})
    assert (
        one.keep(*pins(here))["results"][held["id"]]["says"]
        == f"Already entry {number}, with other figures. To change it, correct {number}."
    )
    assert list(one.settle) == [held["id"]] and one.held == [] and here.length == number


def test_what_the_record_refuses_goes_back_with_the_sentence_and_the_rest_is_kept_without_a_hole(tablet):
    here, one = tablet()
    before = here.length
    one.hold("/note/left")
    bad = one.hold("/note/observers", {"came": "many", "left": "0", "here": "2"})
    one.hold("/note/spoiled")
    said = one.keep(*pins(here))
    kept = entries(here, before)
    assert [entry.kind for entry in kept] == ["left", "spoiled"] and kept[1].seq == kept[0].seq + 1
    assert "digits" in said["results"][bad["id"]]["says"] and said["results"][bad["id"]]["number"] is None
    assert list(one.settle) == [bad["id"]] and one.settle[bad["id"]]["form"]["came"] == "many" and one.held == []


def test_what_was_kept_meanwhile_on_the_same_tablet_puts_the_list_in_order_again_and_nothing_is_lost(tablet):
    here, one = tablet()
    one.hold("/note/left")
    one.hold("/note/spoiled")
    page = one.window.send(
        here.form("/note/taken", window=one.window), here.filled(here.form("/note/taken", window=one.window), "taken")
    )
    assert page.status == 200, page.said()
    before = here.length
    said = one.keep(*pins(here))
    assert said["results"] == {} and "its next line is" in said["stopped"] and here.length == before
    assert [held["seq"] for held in one.held] == [said["last_seq"] + 1, said["last_seq"] + 2]
    assert one.keep(*pins(here))["stopped"] == "" and here.kinds(before) == ["left", "spoiled"]


def test_a_disk_that_takes_nothing_keeps_the_rest_on_the_tablet(tablet, monkeypatch):
    from webapp.record.refusals import RecordRefused

    here, one = tablet()
    one.hold("/note/left")
    second = one.hold("/note/spoiled")
    append, calls = here.room.ledger.append, []

    def full(*acts, now):
        calls.append(acts)
        if len(calls) == 2:
            raise RecordRefused("The disk is full: nothing was recorded.")
        return append(*acts, now=now)

    monkeypatch.setattr(here.room.ledger, "append", full)
    before = here.length
    said = one.keep(*pins(here))
    assert said["stopped"] == "The disk is full: nothing was recorded." and here.kinds(before) == ["left"]
    assert [held["id"] for held in one.held] == [second["id"]] and one.settle == {}
    monkeypatch.undo()
    one.keep(*pins(here))
    assert here.kinds(before) == ["left", "spoiled"]


# --- who signs


def test_nobody_signs_for_another_and_a_wrong_pin_is_an_entry(tablet):
    here, one = tablet()
    one.hold("/note/left")
    before = here.length
    assert "Ada Lindqvist holds one of these" in one.keep(*pins(here, "okafor"))["mistakes"]["signer"]
    assert one.keep("lindqvist", "000000")["mistakes"]["pin"]
    assert one.keep("", "1")["mistakes"] == {"signer": "Choose who signs."}
    assert here.kinds(before) == ["pin-failed"] and len(one.held) == 1


def test_entries_of_two_holders_are_signed_by_each_in_the_order_in_which_they_were_held(tablet):
    here, one = tablet()
    before = here.length
    for holder, path in (
        ("lindqvist", "/note/left"),
        ("lindqvist", "/note/spoiled"),
        ("okafor", "/note/left"),
        (None, "/note/left"),
        ("lindqvist", "/note/spoiled"),
    ):
        one.holder = holder
        one.hold(path)
    for person, left in (("lindqvist", 3), ("okafor", 1), ("lindqvist", 0)):
        assert one.keep(*pins(here, person))["status"] == 200 and len(one.held) == left
    assert [(entry.kind, entry.holder) for entry in entries(here, before)] == [
        ("left", "lindqvist"),
        ("spoiled", "lindqvist"),
        ("left", "okafor"),
        ("left", "okafor"),
        ("spoiled", "lindqvist"),
    ]


def test_what_nobody_held_belongs_to_whoever_signs_it(tablet):
    here, one = tablet()
    one.holder = None
    one.hold("/note/left")
    before = here.length
    one.keep(*pins(here, "okafor"))
    (kept,) = entries(here, before)
    assert (kept.holder, [s.person for s in kept.signers]) == ("okafor", ["okafor"])


def test_r8_unsigned_entries_carry_holder_and_tablet(tablet):
    here, one = tablet()
    before = here.length
    form = here.form("/note/left", window=one.window)
    page = one.window.send(form, here.filled(form, "left"))  # a tick within reach: no PIN
    assert page.status == 200, page.said()
    one.learn()
    one.hold("/note/left")
    one.keep(*pins(here))
    online, held = entries(here, before)
    name = one.learn()["tablet"]
    assert (online.tablet, online.holder, online.signers) == (name, "lindqvist", ())
    assert (held.tablet, held.holder) == (name, "lindqvist")
    nobody = here.another()
    page = nobody.send(nobody.get("/note/observers").form("/note/observers"))
    assert page.status == 422 and here.length == before + 2
    token = nobody.get("/tablet").form("/tablet/light").controls["csrf_token"].value
    form = one.window.get("/note/left").form("/note/left")
    page = nobody.post(
        "/note/left", [(k, token if k == "csrf_token" else v) for k, v in form.filled(here.filled(form, "left"))]
    )
    assert page.status == 422 and "Nobody holds this tablet" in page.text and here.length == before + 2


# --- races


def test_of_two_tablets_that_held_one_step_the_second_is_told_who_and_when(tablet):
    here, one = tablet("sworn", paths=("/step/access",))
    _, two = tablet(here=here, person="okafor", paths=("/step/access",))
    done = {"door_unlocked": "yes", "route_clear": "yes", "space_free": "yes", "sign_up": "yes"}
    mine, theirs = one.hold("/step/access", done), two.hold("/step/access", done)
    here.pass_time(4)
    before = here.length
    first = two.keep(*pins(here, "okafor"))["results"][theirs["id"]]
    assert first["says"] == "", first
    said = one.keep(*pins(here))["results"][mine["id"]]["says"]
    assert (
        said.startswith("Benedict Okafor signed this step at ") and f"kept already, as entry {first['number']}" in said
    )
    assert here.kinds(before) == ["access"] and list(one.settle) == [mine["id"]]


# --- clocks


@pytest.mark.parametrize("wrong", [0, 47 * MINUTE, -3 * 60 * MINUTE, 5 * 24 * 60 * MINUTE])
def test_a_tablet_with_a_wrong_clock_keeps_its_own_time_and_the_laptop_puts_it_right(tablet, wrong):
    here, one = tablet(offset=wrong)
    here.room.clock = Real(here.now)
    began = here.now
    one.hold("/note/observers", OBSERVERS)
    one.hold("/note/left")
    here.now += 50 * MINUTE
    here.room.clock.set(here.now)
    before = here.length
    said = one.look()
    fine, ballot = (said["entries"][held["id"]] for held in one.held)
    assert (
        fine["time"] == here.room.entry_time(type("Kept", (), {"time": began, "kind": "observers"})())
        and " to " in ballot["time"]
    )
    assert ("The clock of this tablet is" in said["clock"]) is bool(wrong)
    one.keep(*pins(here))
    kept, left = entries(here, before)
    assert (kept.made, kept.offset, kept.happened, kept.kept) == (began + wrong, wrong, began, here.now)
    quarter = began - began % QUARTER
    assert (left.made, left.offset, left.happened, left.kept % QUARTER) == (quarter, 0, quarter, 0)


def test_a_moment_that_is_still_to_come_is_taken_as_now(tablet):
    here, one = tablet(offset=0)
    here.room.clock = Real(here.now)
    held = one.hold("/note/observers", OBSERVERS)
    held["made"] += 9 * 60 * MINUTE  # the tablet's clock was set back since
    before = here.length
    one.keep(*pins(here))
    assert entries(here, before)[0].happened == here.now


def test_a_ballot_has_no_finer_time_than_its_quarter_hour_anywhere_on_its_way(tablet):
    here, one = tablet()
    here.pass_time(7)
    one.hold("/note/spoiled")
    text = one.file.read_text()
    assert str(here.now) not in text and one.held[0]["made"] % QUARTER == 0
    before = here.length
    here.pass_time(31)
    one.keep(*pins(here))
    (kept,) = entries(here, before)
    assert [ms % QUARTER for ms in (kept.made, kept.happened, kept.kept)] == [0, 0, 0] and kept.offset == 0


def test_a_reading_without_an_hour_is_that_of_the_hour_when_it_was_taken(tablet):
    here, one = tablet()
    here.pass_time(50)  # 10:52: the 11:00 reading is open
    page = here.window.get("/step/hourly:11:00")
    values = {
        name: value
        for name, value in here.filled(page.form("/step/"), "hourly", "11:00").items()
        if name.startswith(("counters", "check_ins", "in_hand"))
    }
    one.hold("/step/hourly", values)
    here.pass_time(25)
    before = here.length
    result = next(iter(one.keep(*pins(here))["results"].values()))
    assert result["says"] == "", result
    kept = entries(here, before)[-1]
    assert kept.kind == "hourly" and here.room.day.entry(kept.number).body["hour"] == here.place.at(time(11))
    assert "notes_to" not in kept.body  # nobody was shown the notes, so nobody signs that they were read


# --- taps


def test_taps_of_the_hours_sheet_are_counted_once_however_often_they_come(tablet):
    here, one = tablet()
    hour = full_hour(here.now)
    for _ in range(3):
        one.hold("/note/handed-back", {"message": "overvote", "outcome": "new-ballot"})
    one.hold("/note/handed-back", {"message": "overvote", "outcome": "new-ballot", "less": "yes"})
    before, sent = here.length, {"entries": one.held, "signer": "lindqvist", "pin": here.pins["lindqvist"]}
    assert all(held["made"] % (60 * MINUTE) == 0 for held in one.held)
    here.pass_time(70)
    one.say("/held/keep", **sent)
    one.say("/held/keep", **sent)
    assert here.room.gate.tallies.of(hour) == {("overvote", "new-ballot"): 2} and here.length == before
    one.look()
    assert one.held == []


def test_a_tap_within_reach_whose_answer_was_lost_is_counted_once(tablet):
    here, one = tablet()
    form = one.window.get("/note/handed-back").form("/note/handed-back")
    said = {"message": "overvote", "outcome": "new-ballot"}
    one.window.send(form, said)
    one.hold("/note/handed-back", said, {"id": form.controls["entry_id"].value})
    one.keep(*pins(here))
    assert here.room.gate.tallies.of(full_hour(here.now)) == {("overvote", "new-ballot"): 1}


# --- interruptions


def test_random_interruptions_lose_nothing_and_keep_nothing_twice(scene, tmp_path):
    """Three of them, ten with --all; `tests/benchmarks/interruptions.py` makes two hundred."""
    from tests.benchmarks.interruptions import drill

    here = scene("voting")
    here.stop()
    here.windows = []
    try:
        found = drill(some((3,), (3, 10))[-1], 7, here, tmp_path)
    finally:
        here.start()
    assert found["lost"] == found["twice"] == 0 and found["noted"] > 5 and found["laptop killed"] > 0


# --- to settle


def test_a_refused_entry_is_put_aside_with_a_reason_as_an_incident_once(tablet):
    here, one = tablet()
    one.hold("/note/observers", {"came": "many", "left": "0", "here": "2"})
    one.keep(*pins(here))
    (settle,) = one.settle.values()
    sent = {
        "held": settle,
        "aside_id": settle["aside_id"],
        "aside_salt": settle["aside_salt"],
        "says": settle["says"],
        "signer": "okafor",
        "pin": here.pins["okafor"],
    }
    typed = one.window.get("/note/observers").form("/note/observers").filled({"came": "many"})
    begun = [(name, settle["id"] if name == "entry_id" else value) for name, value in typed]
    one.window.post("/draft?path=/note/observers", begun)  # while the laptop still answered
    assert [draft.id for draft in here.room.gate.drafts.all()] == [settle["id"]]
    before = here.length
    assert one.say("/held/aside", **sent, reason=" ")["mistakes"] == {"reason": "Enter why it is put aside."}
    first = one.say("/held/aside", **sent, reason="Nobody remembers how many came.")
    again = one.say("/held/aside", **sent, reason="Nobody remembers how many came.")
    assert first["number"] == again["number"] == here.length and here.kinds(before) == ["incident"]
    assert here.room.gate.drafts.all() == ()
    words = here.room.ledger.texts(here.length)["what"]
    assert settle["says"] in words and "Nobody remembers how many came." in words and one.learn()["tablet"] in words


def test_a_refused_entry_that_was_done_anew_is_known_by_its_number(tablet):
    here, one = tablet()
    one.hold("/note/observers", {"came": "many", "left": "0", "here": "2"})
    one.keep(*pins(here))
    form = one.window.get("/note/observers").form("/note/observers")
    anew = form.controls["entry_id"].value
    assert one.look(ask=[anew, "zz", 7])["known"] == {}
    one.window.send(form, {**OBSERVERS, "signer": "lindqvist", "pin": here.pins["lindqvist"]})
    assert one.look(ask=[anew])["known"] == {anew: here.length}


def test_an_entry_held_for_another_record_is_not_kept_in_this_one(tablet):
    here, one = tablet()
    held = one.hold("/note/left")
    held["saw"] = ["ab" * 16, 1, 9, "cd" * 32]
    before = here.length
    assert one.keep(*pins(here))["results"][held["id"]]["says"] == "It was held for another record than this one."
    assert here.length == before and list(one.settle) == [held["id"]]


def test_the_entry_shown_to_builders_is_read_as_a_tablet_sends_it():
    shown = re.search(r"^```json\n(.*?)^```$", README.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)[1]
    one = held_entry.entry(json.loads(shown))
    assert (one.seq, one.kind, one.holder, one.form["here"], len(one.id)) == (33, "observers", "lindqvist", "2", 16)
    assert one.record == json.loads(shown)["saw"][0]


# --- what no tablet sends


@pytest.fixture(scope="module")
def unmoved(shared_scene):
    """One afternoon for all that is refused: nothing of it is kept."""
    here = shared_scene("voting")
    here.hold()
    return here


GOOD = {
    "id": "0" * 12 + "4" + "0" * 19,
    "salt": "0" * 32,
    "seq": 1,
    "kind": "left",
    "at": "",
    "form": {},
    "made": 1,
    "holder": None,
    "saw": None,
}


@pytest.mark.parametrize(
    "sent",
    [
        None,
        [],
        {},
        {"entries": []},
        {"clock": 1},
        {"clock": "now", "entries": []},
        {"clock": -1, "entries": []},
        {"clock": 1, "entries": {}},
        {"clock": 1, "entries": ["x"]},
        *(
            {"clock": 1, "entries": [GOOD | wrong]}
            for wrong in (
                {"id": "0" * 32},
                {"id": "x"},
                {"salt": ""},
                {"seq": 0},
                {"seq": True},
                {"seq": 2**60},
                {"kind": None},
                {"at": 1},
                {"form": []},
                {"form": {"a": 1}},
                {"form": {"a": "x" * 5000}},
                {"form": {"a": "\ud800"}},
                {"form": {f"n{n}": "" for n in range(201)}},
                {"made": -1},
                {"made": 1.5},
                {"holder": 7},
            )
        ),
        {"clock": 1, "entries": [GOOD, GOOD]},
        {"clock": 1, "entries": [GOOD, GOOD | {"id": GOOD["id"][:-1] + "1", "seq": 3}]},
    ],
)
def test_what_no_tablet_holds_is_refused_in_a_sentence_and_nothing_is_kept(unmoved, sent):
    here = unmoved
    before = here.length
    if isinstance(sent, dict):
        sent = sent | {"signer": "lindqvist", "pin": here.pins["lindqvist"]}
    for path in ("/held/look", "/held/keep"):
        page = posted(here.window, path, sent)
        assert page.status == 400 and "Open the page again." in page.text, page.text[:300]
    assert here.length == before


@pytest.mark.parametrize(
    ("kind", "at"),
    [
        ("zero-tape", "T1"),
        ("jam", "T1"),
        ("paired", ""),
        ("nothing", ""),
        ("emergency-plus", "T9"),
        ("hourly", "99:99"),
        ("spoiled", "T1"),
    ],
)
def test_what_may_not_be_held_is_refused_by_the_record(tablet, kind, at):
    here, one = tablet()
    one.hold("/note/left")
    one.held[0] |= {"kind": kind, "at": at}
    before = here.length
    assert one.keep(*pins(here))["results"][one.held[0]["id"] if one.held else next(iter(one.settle))]["says"]
    assert here.length == before


@pytest.mark.parametrize("path", ["/held/look", "/held/keep", "/held/aside"])
def test_r31_held_entries_one_byte_over_the_limit_are_refused(scene, path):
    here = scene("voting")
    limit = here.app.config["BODY_LIMITS"][path]
    body = json.dumps({"clock": 1, "entries": [], "held": GOOD}).encode()
    assert posted(here.window, path, body.ljust(limit)).status in (200, 422)
    assert posted(here.window, path, body.ljust(limit + 1)).status == 413


def test_r27_held_entries_need_the_token_of_this_browser(tablet):
    here, one = tablet()
    one.hold("/note/left")
    before = here.length
    for path in ("/held/look", "/held/keep"):
        assert (
            one.say(path, token="wrong", entries=one.held, signer="lindqvist", pin=here.pins["lindqvist"])["status"]
            == 400
        )
    assert here.length == before


# --- the shell


def test_what_may_be_held_is_one_persons_and_blind_of_nothing(scene):
    """The design's list, section 9: single-person, non-blind entries; two-party and blind ones need the laptop."""
    held = {step.id for step in checklist.steps(scene("dawn").place) if not offline_rules.needs_laptop(step)}
    wanted = {
        "room-view",
        "access",
        "notices",
        "power",
        "clocks",
        "first-stub",
        "accessible-device",
        "hourly",
        "dissent",
        "spoiled",
        "wrong-style",
        "provisional",
        "handed-back",
        "emergency-plus",
        "absentee-handed-in",
        "left",
        "unmarked-back",
        "taken",
        "incident",
        "observers",
    }
    assert held == wanted, (
        f"{sorted(held ^ wanted)}: a step that one person signs, or nobody, and that is not blind may be held; list it here, or give it a signature"
    )


def test_the_shell_shows_no_figure_names_nobody_and_has_no_field_for_a_pin(scene):
    """Late on the day, when there is most to show."""
    here = scene("packet")
    names = {word for official in here.place.officials for word in official.name.split()}
    figures = {
        str(value)
        for entry in here.room.day.entries
        for value in leaves(entry.body)
        if type(value) is int and value > 99
    }
    assert len(figures) > 40
    lists = here.window.get("/worker.js").text
    pages = json.loads(re.search(r"^const PAGES = (.*);$", lists, re.MULTILINE)[1])
    assert len(pages) > 20
    for path in pages:
        page = here.window.get(path)
        assert page.status == 200, path
        words = re.sub(
            r"<script.*?</script>|<svg.*?</svg>|/static/\S+|data-holds='[^']*'", "", page.text, flags=re.DOTALL
        )
        assert (
            'type="password"' not in page.text and "csrf_token" not in page.text and "tapeseal-saw" not in page.text
        ), path
        assert not names & set(re.findall(r"\w+", page.text)), path
        assert not figures & set(re.findall(r"\d+", words)), (path, figures & set(re.findall(r"\d+", words)))


def leaves(value):
    """Every value inside a body."""
    if isinstance(value, dict):
        return [leaf for one in value.values() for leaf in leaves(one)]
    return [leaf for one in value for leaf in leaves(one)] if isinstance(value, list | tuple) else [value]


def test_the_worker_is_served_from_the_root_lists_its_shell_by_hand_and_is_never_stored(scene):
    here = scene("dawn")
    page = here.window.get("/worker.js")
    assert page.headers["content-type"].startswith("text/javascript") and page.headers["cache-control"] in (
        "no-cache",
        "no-store",
    )
    files, version = (
        json.loads(re.search(rf"^const {name} = (.*);$", page.text, re.MULTILINE)[1]) for name in ("FILES", "VERSION")
    )
    for path in files:
        assert here.window.get(path).status == 200 and version.rpartition("-")[0] in path, path
    assert not any(word in page.text for word in ("skipWaiting", "clients.claim"))  # never takes over an open page


def test_the_manifest_says_what_a_tablet_needs_to_install_it(scene):
    """W3C Web Application Manifest: name, start_url within scope, a display of its own, icons of 192 and 512 px."""
    from io import BytesIO

    from PIL import Image

    here = scene("dawn")
    page = here.window.get("/manifest.webmanifest")
    said = json.loads(page.text)
    assert page.headers["content-type"].startswith("application/manifest+json")
    assert (
        said["name"]
        and said["short_name"]
        and said["start_url"].startswith(said["scope"])
        and said["display"] == "standalone"
    )
    assert here.window.get(said["start_url"]).status == 200
    sizes = {(icon["sizes"], icon["purpose"]) for icon in said["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("192x192", "maskable"), ("512x512", "maskable")} <= sizes
    for icon in said["icons"]:
        answer = here.window.get(icon["src"])
        picture = Image.open(BytesIO(answer.body))
        assert (
            f"{picture.width}x{picture.height}" == icon["sizes"]
            and answer.headers["content-type"] == icon["type"] == "image/png"
        )
