"""Held entries that come as codes off a tablet's screen: the same entries, the same signature, the same numbers, whichever way they come first.

The pictures are drawn by segno, a writer that the product does not use.
"""

import io
import json
from dataclasses import replace

import pytest
import segno

from demo_precinct.http_window import Window
from tests.pages.asking import asked, posted
from tests.pages.outbox import Outbox
from tests.pages.tablets import admitted, tablets_door
from webapp.packet import held_frames, keyboard_scanner
from webapp.packet.held_frames import HeldRow, HeldSet
from webapp.precinct.day.hours import full_hour

MINUTE = 60_000
NOTES = ("/note/left", "/note/spoiled", "/note/observers", "/note/incident", "/note/handed-back", "/step/hourly")
OBSERVERS = {"came": "1", "left": "0", "here": "2"}


def codes_of(here, one: Outbox, letter: str, record: bytes = b"", clock: int = 0) -> tuple[str, ...]:
    """What this tablet shows: its whole outbox."""
    rows = tuple(
        HeldRow(
            e["seq"],
            bytes.fromhex(e["id"]),
            bytes.fromhex(e["salt"]),
            e["kind"],
            e["at"],
            e["form"],
            e["made"],
            e["holder"],
        )
        for e in one.held
    )
    return held_frames.split(HeldSet(record or here.room.ledger.record_id, letter, clock or one.clock(), rows).pack())


@pytest.fixture
def away(scene, tmp_path):
    """A function: a moment -> a scene with an admitted tablet that its holder took and that has the shell; `here.codes()` is what it shows."""
    doors = []

    def taken(moment="voting", offset=0, person="lindqvist", paths=NOTES):
        here = scene(moment)
        door = tablets_door(here)
        port = door.__enter__()
        doors.append(door)
        window = admitted(here, port)
        window.send(window.get("/tablet").form("/tablet/take"), {"signer": person, "pin": here.pins[person]})
        one = Outbox(tmp_path / "tablet.json", window, lambda: here.now + offset, person, offset)
        one.learn()
        one.store(*paths)
        here.codes = lambda **more: codes_of(here, one, window.letter, **more)
        return here, one

    yield taken
    for door in doors:
        door.__exit__(None, None, None)


def type_in(here, codes, window: Window | None = None):
    window = window or here.window
    token = window.get("/held/codes").forms[0].controls["csrf_token"].value
    return window.post("/held/codes/text", [("csrf_token", token), ("codes", "\n".join(codes))])


def keep(here, page=None, person="lindqvist", pin="", window: Window | None = None):
    window = window or here.window
    form = (page or window.get("/held/codes")).form("/held/codes/keep")
    return window.send(form, {"signer": person, "pin": pin or here.pins[person]})


def entries(here, after):
    return list(here.room.ledger.entries(after=after))


# --- kept, once


def test_what_a_tablet_shows_is_seen_in_the_records_words_signed_by_its_holder_and_kept_in_order(away):
    here, one = away()
    one.hold("/note/left")
    one.hold("/note/observers", OBSERVERS)
    one.hold("/note/incident", {"where": "entrance", "what": "A quarrel about the queue.", "told": "the duty clerk"})
    here.pass_time(20)
    before = here.length
    page = type_in(here, here.codes())
    assert (
        page.status == 200
        and "2 here" in page.text
        and "A quarrel about the queue." in page.text
        and "Filled in by Ada Lindqvist" in page.text
    )
    assert here.length == before and page.form("/held/codes/keep").controls["signer"].options == ["lindqvist"]
    page = keep(here, page, pin="550011")
    assert page.status == 422 and here.kinds(before) == ["pin-failed"]
    page = keep(here)
    assert page.status == 200, page.said()
    kept = entries(here, before + 1)
    assert [e.kind for e in kept] == ["left", "observers", "incident"] and [e.id.hex() for e in kept] == [
        held["id"] for held in one.held
    ]
    assert {e.tablet for e in kept} == {"A"} and [e.seq for e in kept] == [held["seq"] for held in one.held]
    assert all([s.person for s in e.signers] == ["lindqvist"] and e.holder == "lindqvist" for e in kept)
    assert kept[1].made == one.held[1]["made"] and kept[0].made % (15 * MINUTE) == 0 and kept[0].offset == 0
    assert all(f"kept, entry {e.number}" in page.text for e in kept) and "/held/codes/keep" not in page.text
    assert "What tablet A held is in the record" in page.text


def test_the_same_codes_again_and_the_tablets_own_sending_later_give_the_same_numbers(away):
    here, one = away()
    one.hold("/note/left")
    one.hold("/note/handed-back", {"message": "overvote", "outcome": "new-ballot"})
    one.hold("/note/incident", {"where": "entrance", "what": "The door stood open."})
    codes = here.codes()
    type_in(here, codes)
    before = here.length
    assert keep(here).status == 200
    numbers = [
        here.room.ledger.find(bytes.fromhex(held["id"])) and here.room.ledger.find(bytes.fromhex(held["id"])).number
        for held in one.held
    ]
    length, taps = here.length, here.room.gate.tallies.of(full_hour(here.now))
    assert (
        here.kinds(before) == ["left", "incident"]
        and numbers[1] is None
        and sum(taps.values() if isinstance(taps, dict) else [1]) == 1
    )
    page = type_in(here, codes)
    assert "kept, entry" in page.text and "/held/codes/keep" not in page.text and here.length == length
    here.window.send(page.form("/held/codes/clear"))
    other = here.another()
    assert (
        "kept, entry" in type_in(here, reversed(codes), other).text and here.length == length
    )  # read again in another window
    here.pass_time(9)
    sent = list(one.held)
    said = one.keep("lindqvist", here.pins["lindqvist"])
    assert [said["results"][held["id"]]["number"] for held in sent] == [numbers[0], 0, numbers[2]]
    assert (
        here.length == length
        and one.held == []
        and one.settle == {}
        and here.room.gate.tallies.of(full_hour(here.now)) == taps
    )
    one.hold("/note/left")
    assert (
        one.keep("lindqvist", here.pins["lindqvist"])["status"] == 200 and here.length == length + 1
    )  # and the tablet goes on from there


def test_what_the_tablet_sent_before_its_codes_are_read_is_shown_as_kept(away):
    here, one = away()
    one.hold("/note/left")
    codes = here.codes()
    one.keep("lindqvist", here.pins["lindqvist"])
    number = here.length
    page = type_in(here, codes)
    assert f"kept, entry {number}" in page.text and "/held/codes/keep" not in page.text and here.length == number


def test_the_record_refuses_one_with_its_sentence_and_the_others_are_kept(away):
    here, one = away()
    one.hold("/note/observers", OBSERVERS)
    bad = one.hold("/note/observers", {"came": "many", "left": "0", "here": "2"})
    one.hold("/note/left")
    before = here.length
    page = type_in(here, here.codes())
    assert "It stays on the tablet" in page.text
    page = keep(here)
    assert page.status == 200 and here.kinds(before) == ["observers", "left"] and "digits" in page.text
    said = one.keep("lindqvist", here.pins["lindqvist"])
    assert said["results"][bad["id"]]["says"] and list(one.settle) == [bad["id"]] and here.length == before + 2


def test_each_holder_signs_their_own_in_turn_and_nobody_signs_for_another(away):
    here, one = away()
    one.hold("/note/left")
    one.hold("/note/observers", OBSERVERS)
    one.holder = "okafor"
    one.hold("/note/incident", {"where": "outside", "what": "A lamp failed."})
    before = here.length
    page = type_in(here, here.codes())
    form = page.form("/held/codes/keep")
    assert form.controls["signer"].options == ["lindqvist"] and "waits for its own holder" in page.text
    form.controls["signer"].options.append("okafor")
    refused = here.window.send(form, {"signer": "okafor", "pin": here.pins["okafor"]})
    assert refused.status == 422 and "nobody signs for another" in refused.said() and here.length == before
    page = keep(here)
    assert here.kinds(before) == ["left", "observers"] and page.form("/held/codes/keep").controls["signer"].options == [
        "okafor"
    ]
    page = keep(here, person="okafor")
    assert page.status == 200, page.said()
    assert [[s.person for s in e.signers] for e in entries(here, before)] == [["lindqvist"], ["lindqvist"], ["okafor"]]


def test_a_signature_is_for_the_list_on_the_screen_and_another_list_voids_it(away):
    here, one = away()
    one.hold("/note/left")
    page = type_in(here, here.codes())
    other = here.another()
    type_in(here, here.codes(), other)
    assert keep(here, window=other).status == 200
    length = here.length
    assert keep(here, page).status == 409 and here.length == length
    here.window.send(here.window.get("/held/codes").form("/held/codes/clear"))
    one.hold("/note/observers", OBSERVERS)
    type_in(here, here.codes())
    page = keep(here, page)
    assert page.status == 409 and "The list has changed" in page.said() and here.length == length


def test_a_clock_that_is_off_is_put_right_by_the_last_contact_else_by_the_codes(away):
    for contact in (True, False):
        here, one = away(offset=-3 * 60 * MINUTE)
        if contact:
            here.room.gate.contacts.say("A", 0, 1, -3 * 60 * MINUTE, 0)
        one.hold("/note/observers", OBSERVERS)
        then = here.now
        codes = here.codes()
        here.pass_time(25)
        type_in(here, codes)
        assert keep(here).status == 200
        entry = entries(here, here.length - 1)[0]
        late = 0 if contact else 25 * MINUTE  # by the codes alone, the time until they were read counts as the clock's
        assert (
            entry.offset == -3 * 60 * MINUTE - late
            and entry.made == one.held[0]["made"]
            and entry.happened == then + late
        )


# --- what is no set of entries of this record


def test_codes_come_in_any_order_and_those_still_wanted_are_named(away):
    here, one = away()
    for n in range(9):
        one.hold("/note/incident", {"where": "entrance", "what": f"{n}: " + "a long tale of the queue " * 5})
    codes = here.codes()
    assert len(codes) > 4
    page = type_in(here, [codes[2]])
    wanted = ", ".join(str(n) for n in range(1, len(codes) + 1) if n != 3)
    assert f"Still wanted: codes {wanted}." in page.text and f"1 of {len(codes)} codes read" in page.text
    page = type_in(here, [*codes[:0:-1], codes[2]])
    assert "Still wanted: code 1." in page.text
    assert "keeps 9 entries" in type_in(here, codes[:1]).text


def test_codes_of_another_set_are_refused_until_one_begins_again(away):
    here, one = away()
    for n in range(9):
        one.hold("/note/incident", {"where": "entrance", "what": f"{n}: " + "a long tale of the queue " * 5})
    old = here.codes()
    type_in(here, old[:2])
    one.hold("/note/left")
    new = here.codes()
    page = type_in(here, new)
    assert page.status == 422 and "another set" in page.said()
    here.window.send(here.window.get("/held/codes").form("/held/codes/clear"))
    assert "keeps 10 entries" in type_in(here, new).text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Read a code into the box"),
        ("hello", "not a code of held entries"),
        ("TS1:0123", "not a code of held entries"),
        ("TH1:000", "holds 2 bytes"),
        ("TH1:" + "A" * 599, "This code"),
    ],
)
def test_what_is_no_code_is_refused_in_a_sentence(away, typed, says):
    here, _ = away(paths=())
    page = type_in(here, [typed])
    assert page.status == 422 and says in page.said()


def test_entries_of_another_record_and_of_a_tablet_that_was_never_here_are_refused(away):
    here, one = away()
    one.hold("/note/left")
    before = here.length
    page = type_in(here, here.codes(record=bytes(16)))
    assert "for another record than this one" in page.said() and "/held/codes/keep" not in page.text
    here.window.send(page.form("/held/codes/clear"))
    page = type_in(here, codes_of(here, one, "Q"))
    assert "Tablet Q was never admitted here" in page.said() and here.length == before


@pytest.mark.parametrize(
    "change",
    [
        {"id": bytes(16)},
        {"kind": "oath"},
        {"kind": "packet-made"},
        {"kind": "unused"},
        {"kind": "no-such-note"},
        {"at": "nowhere"},
        {"made": 0},
        {"form": {"x" * 5000: ""}},
        {"form": {}},
        {"holder": "nobody-here"},
    ],
)
def test_entries_that_no_tablet_holds_are_refused_or_told_and_nothing_is_kept_by_itself(away, change):
    here, one = away()
    one.hold("/note/observers", OBSERVERS)
    said = held_frames.unpack(b"".join(held_frames.read(code).load for code in here.codes()))
    codes = held_frames.split(replace(said, rows=(replace(said.rows[0], **change),)).pack())
    before = here.length
    page = type_in(here, codes)
    assert page.status == 200 and here.length == before
    if "/held/codes/keep" not in page.text:
        assert page.said() or "refused" in page.text
    else:
        assert change.keys() & {"made", "holder"}


# --- scanners and photographs


def swapped(text: str) -> str:
    """A scanner set for another keyboard: two letters and some signs change places."""
    return text.translate(str.maketrans("YZ:/-+*$%. ", "ZY;&?`(}¿, "))


def test_a_scanner_with_the_wrong_layout_is_mended_by_the_calibration_code(away):
    here, one = away()
    one.hold("/note/left")
    codes = here.codes()
    page = here.window.send(here.window.get("/held/codes").form("/held/codes/keyboard"), {"typed": "short"})
    assert page.status == 422
    assert type_in(here, map(swapped, codes)).status == 422
    form = here.window.get("/held/codes").form("/held/codes/keyboard")
    assert here.window.send(form, {"typed": swapped(keyboard_scanner.CALIBRATION)}).status == 200
    assert "keeps 1 entry" in type_in(here, map(swapped, codes)).text


def picture(*codes: str, scale: int = 5, kind: str = "png") -> bytes:
    out = io.BytesIO()
    assert len(codes) == 1
    segno.make(codes[0], error="m", micro=False, boost_error=False).save(out, kind=kind, scale=scale, border=4)
    return out.getvalue()


def upload(here, files):
    return here.window.upload(here.window.get("/held/codes").form("/held/codes/file"), "files", files)


def test_photographs_of_the_screen_are_read_several_at_once(away):
    here, one = away()
    for n in range(6):
        one.hold("/note/incident", {"where": "entrance", "what": f"{n}: " + "a long tale of the queue " * 4})
    codes = here.codes()
    assert len(codes) > 2
    page = upload(here, [(f"{n}.png", picture(code)) for n, code in enumerate(codes[1:])])
    assert page.status == 200 and "Still wanted: code 1." in page.text
    page = upload(here, [("first.png", picture(codes[0])), ("again.png", picture(codes[1]))])
    assert "keeps 6 entries" in page.text
    assert keep(here).status == 200 and here.kinds()[-6:] == ["incident"] * 6


def test_a_photograph_without_such_a_code_a_damaged_one_and_none_are_each_told(away):
    here, one = away()
    one.hold("/note/left")
    page = upload(
        here,
        [
            ("other.png", picture("TS1:" + "A" * 40)),
            ("torn.png", picture(here.codes()[0])[:300]),
            ("good.png", picture(here.codes()[0])),
        ],
    )
    assert (
        page.status == 422
        and "other.png shows no code of held entries" in page.said()
        and "torn.png is cut off or damaged" in page.said()
    )
    assert "good.png: 1 new" in page.text and "keeps 1 entry" in page.text
    here.window.send(page.form("/held/codes/clear"))
    form = here.window.get("/held/codes").form("/held/codes/file")
    page = here.window.post(form.action, [("csrf_token", form.controls["csrf_token"].value)])
    assert page.status == 422 and "Choose a photograph" in page.said()


def test_r31_a_post_one_byte_over_its_limit_is_refused(away):
    here, _ = away(paths=())
    token = here.window.get("/held/codes").form("/held/codes/text").controls["csrf_token"].value
    for path in ("/held/codes/text", "/held/codes/keyboard", "/held/codes/keep"):
        limit = here.app.config["BODY_LIMITS"][path]
        for more, status in ((0, (200, 409, 422)), (1, (413,))):
            body = f"csrf_token={token}&codes=".encode()
            body += b"A" * (limit + more - len(body))
            page = here.window._follow("POST", path, body, {"Content-Type": "application/x-www-form-urlencoded"})
            assert page.status in status, (path, more, page.status)


def test_the_page_is_the_laptops_and_not_a_tablets(away):
    _, one = away(paths=())
    assert one.window.get("/held/codes").status == 404
    assert posted(one.window, "/held/codes/text", {}).status == 404


# --- nothing held


def night(away):
    """The line has ended; the tablet's clock was measured once."""
    here, one = away("line-end")
    here.pass_time(1)
    here.hold()
    here.room.gate.contacts.say("A", 0, here.length, 0, 0)
    return here, one


def test_codes_drawn_after_the_close_and_kept_whole_count_as_the_tablets_word(away):
    here, one = night(away)
    one.hold("/note/incident", {"where": "entrance", "what": "A quarrel."})
    early = here.codes()
    here.crew.do("line-end")
    here.crew.do("polls-closed")
    here.pass_time(3)
    type_in(here, early)
    assert keep(here).status == 200
    assert [tablet for tablet, _ in here.room.tablets_owed()] == [
        "A"
    ]  # these were drawn before the close: more may be held by now
    here.window.send(here.window.get("/held/codes").form("/held/codes/clear"))
    one.hold("/note/incident", {"where": "outside", "what": "A lamp."})
    bad = one.hold("/note/observers", {"came": "many", "left": "0", "here": "2"})
    type_in(here, here.codes())
    assert keep(here).status == 200
    assert "Tablet A holds 1 entry" in here.room.tablets_owed()[0][1]  # the refused one is still on it
    here.window.send(here.window.get("/held/codes").form("/held/codes/clear"))
    one.state["outbox"] = [held for held in one.held if held["id"] != bad["id"]]
    one.hold("/note/left")
    type_in(here, here.codes())
    assert keep(here).status == 200
    assert here.room.tablets_owed() == []


def test_a_tablet_that_speaks_again_is_believed_over_its_codes(away):
    here, one = night(away)
    here.crew.do("line-end")
    here.crew.do("polls-closed")
    here.pass_time(2)
    one.hold("/note/incident", {"where": "outside", "what": "A lamp."})
    type_in(here, here.codes())
    assert keep(here).status == 200 and here.room.tablets_owed() == []
    assert json.loads(asked(one.window, held=2).text)["tablet"] == "A"
    assert "holds 2 entries" in here.room.tablets_owed()[0][1]
