"""Who may sign: oath and slip, a crash between the gate and the record, walk-ins, lost PINs, relief, and a step that one party signed alone."""

import itertools

import pytest

from webapp.gate.refusals import GateRefused


def oath_form(here, person, **more):
    form = here.form(f"/people/oath/{person}")
    values = {
        "oath": "yes",
        "pin": here.pins.get(person, "664291"),
        "pin_again": here.pins.get(person, "664291"),
        "code": here.codes.get(person, ""),
    } | more
    return form, {k: v for k, v in values.items() if k in form.controls}


def arrive(here):
    form = here.form("/step/arrivals", "/step/arrivals")
    here.window.send(form, here.filled(form, "arrivals"))


def test_an_oath_that_a_crash_kept_from_the_record_is_taken_again_with_its_pin_entry(scene, monkeypatch):
    here = scene("dawn")
    arrive(here)
    form, values = oath_form(here, "lindqvist")
    from webapp.record.ledger import RecordRefused

    def dies(*acts, now):
        raise RecordRefused("The disk did not take it.")

    monkeypatch.setattr(here.room.ledger, "append", dies)
    assert here.window.send(form, values).status == 409
    monkeypatch.undo()
    assert here.room.gate.pins.has("lindqvist")
    before = here.length
    page = here.window.send(*oath_form(here, "lindqvist"))
    assert page.status == 200, page.said()
    assert here.kinds(before) == ["pin-set", "oath"]
    assert here.room.people.admitted == {"lindqvist": "slip"}


def test_an_oath_sent_again_is_the_same_oath(scene):
    here = scene("dawn")
    arrive(here)
    form, values = oath_form(here, "lindqvist")
    assert here.window.send(form, values).status == 200
    kept = here.length
    here.pass_time(1)
    page = here.window.send(form, values)
    assert page.status == 200 and here.length == kept, page.said()


def test_the_oath_form_says_what_is_missing(scene):
    here = scene("dawn")
    arrive(here)
    before = here.length
    form, values = oath_form(here, "lindqvist")
    for more, sentence in (
        ({"oath": ""}, "Read the oath aloud"),
        ({"code": ""}, "Enter the code on the slip"),
        ({"pin": "", "pin_again": ""}, "6 to 12 digits"),
        ({"row": "one"}, "in digits"),
        ({"pin_again": "111111"}, "The two PINs differ"),
        ({"pin": "123456", "pin_again": "123456"}, "PIN"),
    ):
        page = here.window.send(form, values | more)
        assert page.status == 422 and sentence in page.said(), (more, page.said())
        assert values["code"] not in page.text and values["pin"] not in page.text
    assert here.length == before


def vouch(here, **values):
    form = here.window.get("/people/vouch").form("/people/vouch")
    page = here.window.send(form, here.signed({k: v for k, v in values.items() if k in form.controls}, "lindqvist"))
    assert page.path.startswith("/sign/"), page.said()
    return here.second(page, "okafor")


def test_a_walk_in_for_whom_two_parties_vouch_signs_with_a_pin_of_their_own(scene):
    here = scene("voting")
    assert vouch(here, why="walk-in", name="Ottilie Brandt", party="P", role="inspector").status == 200
    person = here.room.people.walk_ins[-1].id
    before = here.length
    page = here.window.send(*oath_form(here, person, pin="664291", pin_again="664291"))
    assert page.status == 200, page.said()
    assert here.kinds(before) == ["pin-set", "oath"] and here.room.people.admitted[person] == "vouched"
    here.window.send(here.form("/tablet", "/tablet/take"), {"signer": person, "pin": "664291"})
    assert "Ottilie Brandt" in here.window.get("/tablet").text


def test_r3_a_lost_pin_holds_no_more_and_a_new_one_is_set_after_two_vouch(scene):
    here = scene("voting")
    assert vouch(here, why="lost-pin", person="tanaka").status == 200
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "tanaka", "pin": here.pins["tanaka"]})
    assert page.status == 422
    page = here.window.send(*oath_form(here, "tanaka", pin="664291", pin_again="664291"))
    assert page.status == 200, page.said()
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "tanaka", "pin": "664291"})
    assert page.status == 200, page.said()


def test_nobody_vouches_for_themselves_and_an_empty_voucher_says_what_to_enter(scene):
    here = scene("voting")
    before = here.length
    form = here.window.get("/people/vouch").form("/people/vouch")
    page = here.window.send(form, here.signed({"why": "lost-pin", "person": "lindqvist"}, "lindqvist"))
    assert page.status == 422 and "cannot vouch for themselves" in page.said()
    page = here.window.send(form, here.signed({"why": "walk-in"}, "lindqvist"))
    assert page.status == 422 and "Enter the name" in page.said()
    assert here.length == before


def test_whoever_was_relieved_holds_no_tablet_any_more(scene):
    here = scene("voting")
    here.crew.hold("tanaka")
    other = here.another()
    form = other.get("/note/relief").form("/note/relief")
    page = other.send(form, here.signed(here.filled(form, "relief") | {"out": "tanaka", "in": ""}, "lindqvist"))
    assert here.second(page, "okafor", other).status == 200
    assert "Daichi Tanaka holds" not in here.window.get("/tablet").text
    page = here.window.send(here.form("/note/handed-back"), {"message": "overvote", "outcome": "new-ballot"})
    assert page.status == 422 and "Nobody holds this tablet" in page.said()


def short(here, page, person="lindqvist", **more):
    form = page.form(page.path + "/short")
    return here.window.send(
        form,
        {
            "why": "absent",
            "told": "duty clerk",
            "told_at": here.crew.wall(page),
            "signer": person,
            "pin": here.pins[person],
        }
        | more,
    )


def test_what_the_office_was_told_is_not_asked_twice(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    page = here.first("polls-closed")
    assert "As told at" not in page.text
    short(here, page)
    told = here.room.day.of("polls-closed")[-1].short[0]["told_at"]
    here.pass_time(7)
    page = here.first("search")
    assert "As told at" in page.text and ": duty clerk, not here" in page.text
    assert short(here, page, as_before="yes", why="", told="", told_at="").status == 200
    kept = here.room.day.of("closing-seals")[-1]
    assert (kept.short[0]["told_at"], kept.texts["told"]) == (told, "duty clerk")


def test_a_step_signed_short_is_kept_and_countersigned_later_as_later(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    page = here.first("polls-closed")
    before = here.length
    for more, sentence in (
        ({"why": ""}, "Select why the seat is empty"),
        ({"told": ""}, "who at the office was told"),
        ({"told_at": "soon"}, "hours and minutes"),
        ({"why": "none-here"}, "is at work and may take the seat"),
        ({"signer": "okafor", "pin": here.pins["okafor"]}, "has not signed above"),
        ({"pin": "111222"}, "wrong try 1"),
    ):
        answer = short(here, page, **more)
        assert answer.status == 422 and sentence in answer.said(), (more, answer.said())
    assert set(here.kinds(before)) == {"pin-failed"}
    assert short(here, page).status == 200
    kept = here.room.day.last("polls-closed")
    assert [s["seat"] for s in kept.short] and kept.word("told") == "duty clerk" and len(kept.signers) == 1
    told = here.window.get(f"/record/{kept.number}").text
    assert "Short-signed" in told and "duty clerk" in told and "Countersign it" in told
    path = f"/record/{kept.number}/countersign"
    form = here.form(path)
    assert "tanaka" not in form.controls["signer"].options  # of the signer's own party
    here.pass_time(5)
    before = here.length
    page = here.window.send(form, {"signer": "tanaka", "pin": here.pins["tanaka"]})
    assert page.status == 422 and here.length == before
    page = here.window.send(form, {"signer": "okafor", "pin": here.pins["okafor"]})
    assert page.status == 200 and "Countersigned later" in page.text and "Benedict Okafor" in page.text
    assert here.kinds(before) == ["countersigned"]
    again = here.window.send(form, {"signer": "okafor", "pin": here.pins["okafor"]})
    assert again.status == 200 and here.kinds(before) == ["countersigned"]
    page = here.window.send(_fresh(here, path, form), {"signer": "moreau", "pin": here.pins["moreau"]})
    assert page.status == 422 and "countersigned already" in page.said()


def _fresh(here, path, form):
    import uuid

    form.controls["entry_id"].value = uuid.uuid4().hex
    return form


def test_people_names_who_is_refused_after_ten_wrong_pins(scene, monkeypatch):
    here = scene("line-end")
    minutes = itertools.count(0, 60)
    monkeypatch.setattr(here.room.gate.throttle, "_monotonic", lambda: next(minutes))
    sentence = "1 tablet or window takes no PIN or code from them after ten wrong ones. Others still do."
    for _ in range(10):
        assert sentence not in here.window.get("/people").text
        with pytest.raises(GateRefused):
            here.room.gate.check_pin("okafor", "111222", "L1", here.now)
    row = here.window.get("/people").text.partition(">Benedict Okafor<")[2].partition("</div></div>")[0]
    assert sentence in row and 'href="/people/vouch">Two officials reset it' in row
    here.room.gate.throttle.reset("okafor")
    assert sentence not in here.window.get("/people").text
