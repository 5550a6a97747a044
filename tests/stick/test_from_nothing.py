"""Nothing is left of the record: a new one says so, tablets show both, two parties sign, and what tablets hold comes back."""

import json

import pytest

import webapp
from demo_precinct.http_window import Window
from tests.pages.asking import posted
from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from tests.stick.test_restored_page import CREW_PINS, as_kept, give, keep, sign_the_list
from webapp.gate import verifier
from webapp.packet import contents
from webapp.packet.print_content import restored_words
from webapp.precinct.day.restores import restore
from webapp.record.audit import verify
from webapp.record.backup import stored_after
from webapp.record.ledger import Ledger
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@pytest.fixture
def lost(enrolled):
    """What a tablet holds of a record of which nothing else is left: (its id, its entries, the head it saw last)."""
    with Ledger.open(enrolled.record, frozenset()) as ledger:
        keep(ledger, "incident", {"where": "entrance"}, words={"what": "A pane of the door broke."})
        keep(ledger, "observers", {"came": 1, "left": 0, "here": 1})
        return ledger.record_id, stored_after(enrolled.record, ledger.length - 2), ledger.newest


@pytest.fixture
def new(enrolled, lost, tapeseal, tmp_path, monkeypatch):
    """A served laptop that began anew: (window, site)."""
    monkeypatch.setattr(verifier, "MEMORY_KIB", 64)
    words = (
        "record",
        "restore",
        "--nothing",
        enrolled.place / "place.cose",
        "--out",
        tmp_path / "new",
        "--kit",
        enrolled.kit,
    )
    code, out, _ = tapeseal(*words, "--json")
    assert code == 0 and json.loads(out) | {"head": "", "words": ""} == {
        "ok": True, "run": 1, "last": 0, "first": 1, "head": "", "words": "", "entries": 0, "torn": 0, "proven_by": 0,
        "says": json.loads(out)["says"],
    }  # fmt: skip
    app = webapp.create_app(Settings("place", tmp_path / "new", "practice"))
    running = serve_in_thread(app)
    window, site = Window(running.port), app.extensions["room"]
    form = window.get("/step/arrivals").form("/step/arrivals")
    window.send(
        form, {name: one.options for name, one in form.controls.items() if one.kind == "checkbox" and name != "not_so"}
    )
    for person, pin in CREW_PINS.items():
        form = window.get(f"/people/oath/{person}").form(f"/people/oath/{person}")
        sworn = {"oath": "yes", "pin": pin, "pin_again": pin}
        assert window.send(form, sworn | {"code": enrolled.first[person]}).status == 422
        page = window.send(form, sworn | {"code": enrolled.second[person]})
        assert page.status == 200, page.said()
    yield window, site
    running.stop()
    site.close()


def said(window, newest, record):
    saw = [record.hex(), newest.run, newest.number, newest.head.hex()]
    return json.loads(posted(window, "/contact", {"saw": saw, "held": 0, "clock": 0}).text)


def sign_for_it(window, **typed):
    page = window.get("/restored")
    form = page.form("/restored/record")
    values = {"record": form.controls["record"].options[0], "why": "destroyed", "signer": "lindqvist"}
    page = window.send(form, values | {"pin": CREW_PINS["lindqvist"]} | typed)
    if page.status != 200:
        return page
    form = next(form for form in page.forms if "signer" in form.controls)
    return window.send(form, {"signer": "okafor", "pin": CREW_PINS["okafor"]})


def test_tablets_show_both_two_parties_sign_and_then_what_they_hold_comes_back(new, lost, tmp_path):
    (window, site), (record, held, newest) = new, lost
    assert "with a new record: nothing of the one before was left" in window.get("/now").text
    answer = said(window, newest, record)
    assert "another record" in answer["contradicts"] and answer["instead"] and answer["replaces"] == ""
    assert give(window, [as_kept(one) for one in held], seen=newest.number).status == 409
    assert sign_for_it(window, why="").status == 422 and not site.day.of("new-record")

    assert sign_for_it(window).status == 200

    signed = site.day.of("new-record")[-1]
    assert (bytes(signed.body["record"]), signed.body["number"]) == (record, newest.number) and len(signed.signers) == 2
    answer = said(window, newest, record)
    assert (answer["contradicts"], answer["lost"], answer["replaces"]) == ("", [1, newest.number], record.hex())
    sent = {
        "tablet": "A",
        "seen": newest.number,
        "run": 1,
        "record": record.hex(),
        "entries": [as_kept(one) for one in held],
    }
    for _ in range(2):
        answer = json.loads(posted(window, "/contact/back", sent).text)
        assert answer == {"taken": [one.number for one in held], "refused": []}
    assert {k.body["entry"] for k in site.day.returned.values()} == {one.data for one in held}
    assert restore(site.day).lost == tuple(range(1, newest.number - 1))
    assert sign_the_list(window).status == 200
    assert site.day.of("incident")[-1].word("what") == "A pane of the door broke."
    core = contents.core(site.place, site.day, 1, None, site.now())
    assert core["lost"] == [[1, newest.number - 2]] and core["given_back"] == [2, 2]
    assert "after entry 0" in restored_words(core, site.place)
    assert verify(tmp_path / "new" / "record.db").ok


def test_the_command_lists_what_is_lost_and_refuses_what_is_foreign(new, lost, tapeseal, tmp_path):
    (window, site), (record, held, newest) = new, lost
    said(window, newest, record)
    sign_for_it(window)
    foreign = as_kept(stored_after(site.ledger.path, 0)[0])
    answer = json.loads(give(window, [as_kept(held[0]), foreign], seen=newest.number).text)
    assert answer["taken"] == [held[0].number] and len(answer["refused"]) == 1
    code, out, _ = tapeseal("record", "lost", tmp_path / "new")
    found = json.loads(out)
    assert code == 1 and (found["last"], found["first"], found["seen"]) == (0, 1, newest.number)
    assert found["given_back"] == [held[0].number] and found["lost"] == [*range(1, held[0].number), newest.number]


def test_without_a_kit_the_oath_needs_no_code_and_the_record_says_so(enrolled, tapeseal, tmp_path):
    words = ("--nothing", enrolled.place / "place.cose", "--out", tmp_path / "new", "--fresh")
    assert tapeseal("record", "restore", *words)[0] == 0
    app = webapp.create_app(Settings("place", tmp_path / "new", "practice"))
    running = serve_in_thread(app)
    try:
        window, site = Window(running.port), app.extensions["room"]
        form = window.get("/people/oath/lindqvist").form("/people/oath/lindqvist")
        assert "code" not in form.controls
        window.send(form, {"oath": "yes", "pin": "739152", "pin_again": "739152"})
        assert [k.body["by"] for k in site.day.of("pin-set")] == ["fresh"]
        assert site.day.of("record-opened")[0].body["kit"] == "fresh"
    finally:
        running.stop()
        app.extensions["room"].close()


@pytest.mark.parametrize("what", ["both", "neither", "expect", "no place file", "folder"])
def test_what_does_not_go_together_is_one_sentence_and_nothing_is_laid_down(enrolled, tapeseal, stick, tmp_path, what):
    place, out = enrolled.place / "place.cose", tmp_path / "new"
    words = {
        "both": (stick, "--nothing", place),
        "neither": (),
        "expect": ("--nothing", place, "--expect", "1:0000-0000-0000"),
        "no place file": ("--nothing", tmp_path / "none.cose"),
        "folder": ("--nothing", place),
    }[what]
    if what == "folder":
        out.mkdir()
        (out / "mine").write_text("")
    code, _, err = tapeseal("record", "restore", *words, "--out", out, "--kit", enrolled.kit)
    assert code == 2 and len(err.strip().splitlines()) == 1
    assert not out.exists() or [path.name for path in out.iterdir()] in ([], ["mine"])
