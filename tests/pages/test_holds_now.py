"""What holds in the room now stands on Now until it ends: batteries with the time left, a tabulator out, an emergency bin in use, instructions beside the old rule.

Source: design 7 and 8; the battery's 6 hours are the place file's default (common practice, no source).
"""

import re

import pytest

HOUR = 3_600_000


@pytest.fixture
def here(scene):
    found = scene("voting")
    found.hold()
    return found


def now_says(here) -> str:
    text = here.window.get("/now").text
    return " ".join(
        re.sub(r"<[^>]*>", " ", text[text.index("In force now") :] if "In force now" in text else "").split()
    )


def note(here, kind, at="", /, **own):
    here.pass_time(1)
    return here.crew.note(kind, at, **own)


def test_on_battery_the_time_left_is_said_until_the_power_is_back(here):
    note(here, "power-lost", runs_on="battery", office_told="yes")
    since = here.crew.wall(here.window.get("/now"))
    assert f"On battery since {since}" in now_says(here) and "6 h 00 min left" in now_says(here)
    here.pass_time(95)
    assert "4 h 25 min left" in now_says(here)
    here.pass_time(5 * 60)
    assert "it is used up since" in now_says(here)
    note(here, "power-back", clocks_right="yes")
    assert "battery" not in now_says(here)


def test_a_tabulator_out_and_an_emergency_bin_in_use_are_said_until_they_end(here):
    tabulator, box = here.place.tabulators[1].id, here.place.boxes[1].id
    note(here, "tabulator-out", tabulator, message="Feeder fault.")
    note(here, "emergency-on", box, cause="tabulator-out", locked="yes")
    note(here, "emergency-plus", box)
    said = now_says(here)
    assert (
        f"{tabulator} is out of use since" in said
        and f"The emergency bin of box {box} is in use. 1 ballot went in since." in said
    )
    note(
        here,
        "tabulator-in",
        tabulator,
        serial="84-9",
        how="memory-moved",
        certificate="yes",
        lifetime="4000",
        memory_seal="",
        door_seal="",
    )
    note(here, "emergency-off", box, cause="tabulator-out", locked="yes")
    assert "is out of use" not in now_says(here) and "is in use" not in now_says(here)


@pytest.mark.parametrize(
    ("how", "own", "kept"),
    [
        ("memory-moved", {}, {"how": "memory-moved"}),
        ("fresh-start", {"public": "0", "all_zero": "yes"}, {"all_zero": True, "public": 0}),
        ("fed-again", {"public": "0", "all_zero": "yes", "fed_again": "12"}, {"fed_again": 12, "all_zero": True}),
    ],
)
def test_a_spare_comes_into_use_in_each_of_its_three_ways_with_its_own_seals(here, how, own, kept):
    tabulator = here.place.tabulators[1].id
    note(here, "tabulator-out", tabulator, message="Feeder fault.")
    memory, door = here.answers.take(f"{tabulator}-memory"), here.answers.take(f"{tabulator}-door")
    note(
        here,
        "tabulator-in",
        tabulator,
        serial="84-9",
        how=how,
        certificate="yes",
        lifetime="4000",
        memory_seal=memory,
        door_seal=door,
        **own,
    )
    body = here.room.day.last(f"tabulator-in:{tabulator}").body
    assert kept.items() <= body.items() and (body["memory_seal"], body["door_seal"]) == (memory, door)
    assert len(here.room.day.last(f"tabulator-in:{tabulator}").signers) == 2
    seals = here.window.get("/seals").text
    assert memory in seals and door in seals


def test_a_fresh_start_without_a_zero_tape_of_its_own_is_asked_for_it(here):
    tabulator = here.place.tabulators[1].id
    note(here, "tabulator-out", tabulator, message="Feeder fault.")
    form = here.form(f"/note/tabulator-in/{tabulator}")
    values = here.filled(form, "tabulator-in", tabulator) | {
        "how": "fresh-start",
        "all_zero": "no",
        "public": "0",
        "serial": "84-9",
        "lifetime": "1",
    }
    page = here.window.send(form, here.signed(values, "lindqvist"))
    assert page.status == 422 and "needs a zero tape of its own" in page.text


WORDS = {"told_by": "Duty clerk", "text": "Stay open one hour longer.", "what_changes": "We close an hour later."}


def test_an_instruction_moves_the_hour_everywhere_and_the_old_one_stays_legible(here):
    note(here, "instruction", issuer="court", number="17", read_back="yes", changes="hours", closes="21:00", **WORDS)
    said = now_says(here)
    assert (
        "Instruction 17 from a court: “We close an hour later.”" in said
        and "The polls close at 21:00; before this instruction, at 20:00." in said
    )
    assert "07:00 to 21:00" in here.window.get("/now").text
    steps = here.window.get("/steps/voting").text
    assert "Take the 20:00 reading" in steps
    entry = here.room.day.last("instruction")
    assert "20:00" not in entry.body and here.place.closes.strftime("%H:%M") == "20:00"


def test_a_step_that_an_instruction_changes_says_so_above_the_old_rule(here):
    note(
        here,
        "instruction",
        issuer="office",
        number="18",
        read_back="yes",
        changes="steps",
        closes="",
        step="noon-look",
        step_now="changed",
        **WORDS,
    )
    here.now = here.place.at(here.place.opens) + 5 * HOUR
    here.crew.clock(here.now)
    here.hold()
    here.crew.do("hourly:12:00")
    text = here.window.get("/step/noon-look").text
    assert (
        text.index("Changed by an instruction, number 18")
        < text.index("We close an hour later.")
        < text.index("Below is the rule before it.")
        < text.index("Look at each seal and each door.")
    )


def test_a_step_that_is_dropped_says_by_which_entry_and_holds_up_nothing(here):
    note(
        here,
        "instruction",
        issuer="office",
        number="",
        read_back="yes",
        changes="steps",
        closes="",
        step="noon-look",
        step_now="dropped",
        **WORDS,
    )
    number = here.length
    assert f"not done any more, by the instruction of entry {number}" in here.window.get("/steps/voting").text
    page = here.window.get("/step/noon-look")
    assert f"by the instruction of entry {number}" in page.text and not any(
        f.action.startswith("/step/") for f in page.forms
    )


def test_a_ballot_found_after_the_instruction_is_offered_the_ordered_fate(here):
    form = here.window.get("/note/found")
    assert form.form("/note/found").controls["becomes"].value == ""
    assert "The rule of this place: spoiled, into the spoiled envelope" in form.text
    note(
        here,
        "instruction",
        issuer="office",
        number="19",
        read_back="yes",
        changes="kinds",
        closes="",
        found_becomes="set-apart",
        **WORDS,
    )
    assert "The rule of this place: set apart, in its own envelope" in here.window.get("/note/found").text


def test_a_cleared_room_is_said_until_somebody_enters_when_they_were_back(here):
    note(here, "evacuation", list_out="yes", all_out="yes", stayed_with="Nobody.", why="Smoke alarm.", back="")
    number = here.length
    assert f"Back in? Correct entry {number}" in now_says(here)
    here.pass_time(8)
    here.crew.correct(number, {"back": here.crew.wall(here.window.get("/now"))}, "We are back in.")
    assert "In force now" not in here.window.get("/now").text


def test_a_jam_says_where_the_ballot_went_and_a_provisional_ballot_its_kind(here):
    note(here, "jam", here.place.tabulators[0].id, counted="cannot-tell", went="emergency-bin")
    note(here, "provisional", kind="no-document")
    body = here.room.day.of("jam")[-1].body
    assert (body["counted"], body["went"]) == ("cannot-tell", "emergency-bin")
    assert here.room.day.of("provisional")[-1].body["kind"] == "no-document"
    page = here.window.get("/note").text
    assert "Where the ballot went: emergency bin." in page and "could not show what the law asks for" in page
