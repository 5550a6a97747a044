"""Each form answers a mistake with its own sentence, at the top and beside the field, keeps what was typed, and records nothing."""

import re

import pytest

WORDS = ("invalid", "error", "oops", "successfully")


def refused(here, page, before, *sentences):
    """The page refuses with these words, links to controls that exist, and the record is as long as before."""
    assert page.status in (409, 410, 422), page.text[:300]
    said = page.said()
    for sentence in sentences:
        assert sentence in said, said
    assert not any(word in said.lower() for word in WORDS), said
    alert = re.search(r'<section class="notice" role="alert".*?</section>', page.text, re.S)
    for target in re.findall(r'href="#([^"]+)"', alert[0] if alert else ""):
        assert f'id="{target}"' in page.text, f"{target} is nowhere on the page"
    assert here.length == before


def test_an_empty_form_says_what_to_enter_for_each_figure(scene):
    here = scene("polls-open")
    before = here.length
    form = here.window.get("/note/incident").form("/note/incident")
    page = here.window.send(form, {})
    refused(here, page, before)
    assert "Nobody holds this tablet" not in page.said()


def test_typed_figures_stay_when_one_of_them_is_wrong(scene):
    here = scene("voting")
    here.now += 3_600_000
    here.crew.clock(here.now)
    here.hold()
    form = here.form(f"/step/{here.crew.next_key()}", "/step/")
    values = here.filled(form, "hourly") | {"in_hand": "some"}
    counter = next(n for n in values if n.startswith("counters."))
    before = here.length
    page = here.window.send(form, here.signed(values, "lindqvist"))
    refused(here, page, before)
    again = page.form("/step/")
    assert again.controls[counter].value == values[counter] and again.controls["in_hand"].value == "some"
    assert again.controls["entry_id"].value == form.controls["entry_id"].value
    assert again.controls["pin"].value == ""


def reading(here):
    here.now += 3_600_000
    here.crew.clock(here.now)
    here.hold()
    form = here.form(f"/step/{here.crew.next_key()}", "/step/")
    return form, here.filled(form, "hourly")


@pytest.mark.parametrize(
    ("signer", "pin", "sentence"),
    [
        ("", "", "Choose who signs."),
        ("nobody", "294817", "not on the roll"),
        ("lindqvist", "", "Enter the PIN of Ada Lindqvist."),
        ("lindqvist", "12", "A PIN has 6 to 12 digits"),
    ],
)
def test_who_signs_is_said_in_one_sentence(scene, signer, pin, sentence):
    here = scene("voting")
    form, values = reading(here)
    before = here.length
    page = here.window.send(form, values | {"signer": signer, "pin": pin})
    refused(here, page, before, sentence)


def test_r7_a_wrong_pin_is_an_entry_with_tablet_and_time_without_the_pin(scene):
    here = scene("voting")
    form, values = reading(here)
    before = here.length
    page = here.window.send(form, values | {"signer": "lindqvist", "pin": "918273"})
    assert page.status == 422 and "wrong try 1" in page.said()
    assert here.kinds(before) == ["pin-failed"]
    assert list(here.room.ledger.entries(after=before))[0].body == {
        "person": "lindqvist",
        "tablet": here.room.day.entries[-1].body["tablet"],
    }
    assert "918273" not in page.text


def test_r1_the_same_person_and_the_same_party_do_not_sign_twice(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    page = here.first("polls-closed")
    assert page.path.startswith("/sign/")
    before = here.length
    refused(here, here.second(page, "lindqvist"), before, "Ada Lindqvist has signed already")
    refused(here, here.second(page, "tanaka"), before, "Daichi Tanaka and Ada Lindqvist count as one party here")
    refused(here, here.second(page, "nobody", pin="111222"), before, "not on the roll")
    done = here.second(page, "okafor")
    assert done.status == 200 and "polls-closed" in here.kinds(before)


def test_r1_nobody_signs_before_the_oath_or_after_leaving(scene):
    here = scene("dawn")
    form = here.form("/step/arrivals", "/step/arrivals")
    here.window.send(form, here.filled(form, "arrivals"))
    for person in ("lindqvist", "okafor"):
        here.crew.oath(person, here.codes[person])
    before = here.length
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "tanaka", "pin": here.pins["tanaka"]})
    refused(here, page, before, "Daichi Tanaka has not taken the oath yet")
    here.hold()
    here.crew.oath("tanaka", here.codes["tanaka"])
    form = here.window.get("/note/relief").form("/note/relief")
    page = here.window.send(form, here.signed(here.filled(form, "relief") | {"out": "tanaka", "in": ""}, "lindqvist"))
    page = here.second(page, "okafor")
    assert page.status == 200, page.said()
    before = here.length
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "tanaka", "pin": here.pins["tanaka"]})
    refused(here, page, before, "Daichi Tanaka was relieved (entry ")


def test_a_retry_is_harmless_and_other_figures_under_the_same_number_are_refused(scene):
    here = scene("voting")
    form, values = reading(here)
    first = here.window.send(form, here.signed(values, "lindqvist"))
    assert first.status == 200
    kept = here.length
    here.pass_time(2)
    again = here.window.send(form, here.signed(values, "lindqvist"))
    assert again.status == 200 and here.length == kept, again.said()
    assert "Already in the record: the" in again.text and "nothing was added" in again.text
    page = here.window.send(form, here.signed(values | {"in_hand": "77"}, "lindqvist"))
    refused(here, page, kept, "Already entry")


def test_a_note_sent_again_minutes_later_is_the_same_note(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/observers")
    values = {"came": "2", "left": "0", "here": "2"}
    values = here.signed(values, "lindqvist") if "signer" in form.controls else values
    assert (page := here.window.send(form, values)).status == 200, page.said()
    kept = here.length
    here.pass_time(20)
    again = here.window.send(form, values)
    assert again.status == 200 and here.length == kept
    assert f"Already in the record as entry {kept}" in again.text and "nothing was added" in again.text
    refused(here, here.window.send(form, values | {"here": "1"}), kept, "Already entry")


def test_a_first_signature_lapses_after_a_quarter_of_an_hour(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    page = here.first("polls-closed")
    before = here.length
    here.pass_time(16)
    page = here.second(page, "okafor")
    assert page.status == 410 and "lapsed at 20:15" in page.text and "still here, unsigned" in page.text
    assert here.length == before


def test_r2_a_first_signature_that_was_altered_in_the_file_is_void(scene):
    import sqlite3

    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    page = here.first("polls-closed")
    before = here.length
    with sqlite3.connect(here.folder / "gate.db") as db:
        db.execute("UPDATE pending SET claims = CAST(claims || x'00' AS BLOB)")
    page = here.second(page, "okafor")
    assert page.status in (409, 410) and "Not signed, in no record" in page.text
    assert here.length == before


def test_r2_figures_that_are_not_those_on_the_screen_are_not_signed(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    page = here.first("polls-closed")
    before = here.length
    form = page.form(page.path)
    form.controls["shown"].value = "00" * 32
    refused(
        here, here.window.send(form, {"signer": "okafor", "pin": here.pins["okafor"]}), before, "read them together"
    )


def test_two_tablets_race_for_one_step_and_the_second_is_told_who_and_when(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    other = here.another()
    other.send(other.get("/tablet").form("/tablet/take"), {"signer": "okafor", "pin": here.pins["okafor"]})
    late = other.get("/step/line-end").form("/step/")
    here.crew.do("line-end")
    before = here.length
    values = here.filled(late, "line-end")
    page = other.send(late, here.signed(values, "okafor") if "signer" in late.controls else values)
    refused(here, page, before, "signed this step at", "Look at it there")


def test_a_form_without_its_number_is_refused(scene):
    here = scene("voting")
    form, values = reading(here)
    before = here.length
    form.controls["entry_id"].value = "17"
    page = here.window.send(form, here.signed(values, "lindqvist"))
    assert page.status == 400 and "lost its number" in page.said() and here.length == before


def test_a_page_of_several_steps_sent_again_is_the_same_entries_and_never_said_to_be_unrecorded(scene):
    here = scene("sworn")
    here.hold()
    while not (key := here.crew.next_key()).startswith("power"):
        form = here.form(f"/step/{key}", "/step/")
        page = here.crew.do(key)
        several = [name for name in form.controls if name.endswith("/entry_id")]
        if several:
            assert page.status == 200
            kept = here.length
            values = here.signed(here.filled(form, key.partition(":")[0]), "lindqvist")
            refused(here, here.window.send(form, values), kept, "signed this step at")
    form = here.form(f"/step/{key}", "/step/")
    values = here.signed(here.filled(form, "power", "T1"), "lindqvist")
    assert here.window.send(form, values).status == 200
    kept = here.length
    again = here.window.send(form, values)
    assert again.status == 200 and here.length == kept, again.said()
    other = values | {next(name for name in values if values[name] == "yes"): "no"}
    refused(here, here.window.send(form, other), kept)


def test_a_correction_sent_again_is_the_same_and_with_other_figures_it_is_refused(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/observers")
    here.window.send(form, here.signed({"came": "1", "left": "0", "here": "2"}, "lindqvist"))
    form = here.form(f"/record/{here.length}/correct")
    values = here.signed({"came": "2", "here": "3", "reason": "Counted again."}, "lindqvist")
    first = here.window.send(form, values)
    kept = here.length
    here.pass_time(2)
    again = here.window.send(form, values)
    assert again.status == 200 and (again.path, here.length) == (first.path, kept), again.said()
    refused(here, here.window.send(form, values | {"here": "4", "came": "3"}), kept, "Already entry")
