"""A form read: a body for the record, or a sentence beside each control that is to be mended, with nothing lost."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklist.cast import LINDEN, MINUTE, Day, Pen
from tests.matrix import examples
from webapp.precinct.checklist import checklist, field_options, quick_note
from webapp.precinct.place import step_places
from webapp.record import cbor

STEPS = {step.id: step for step in checklist.defaults()}


@pytest.fixture
def day():
    day = Day(clock="06:20")
    day.keep_all("arrivals", "oath")
    return day


def read(day, step, at="", form=None, prefix="", **values):
    """This step's form as the Pen fills it, with these values put over it ("" empties a control, None leaves it out)."""
    filled = checklist.fill(STEPS[step], day.place, at)
    sent = Pen(day).fill(filled, at, prefix) if form is None else dict(form)
    for name, value in values.items():
        sent.pop(prefix + name, None) if value is None else sent.__setitem__(prefix + name, value)
    return checklist.read_form(filled, at, day.place, day, sent, day.now, prefix)


# --- bodies


def test_the_body_has_the_names_of_the_fields_and_where_it_was_done(day):
    read_ = read(day, "zero-tape", "T1", lifetime="9,000", prints="2", torn="")

    assert read_.mistakes == {} and read_.words == {}
    assert read_.body == {
        "at": "T1",
        "all_zero": True,
        "public": 0,
        "lifetime": 9000,
        "office_order": True,
        "date_right": True,
        "place_right": True,
        "prints": 2,
    }


def test_what_is_asked_for_each_thing_is_a_map(day):
    read_ = read(
        day,
        "bins-locked",
        "X",
        **{"seals.main": "0405", "seals.write-in": "", "seals.emergency": ""},
        keys_with="calloway",
    )

    assert read_.body == {
        "at": "X",
        "tried": {"main": True, "write-in": True, "emergency": True},
        "keys_with": "calloway",
        "seals": {"main": "0405"},
    }


def test_free_words_never_enter_the_body(day):
    read_ = read(day, "incident", what="A lamp fell.", told="duty clerk", where="booths")

    assert read_.body == {"where": "booths"}
    assert read_.words == {"what": "A lamp fell.", "told": "duty clerk"}


def test_the_time_that_is_stated_is_when_it_happened(day):
    assert read(day, "tabulator-out", "T1", time="06:14").happened == day.now - 6 * MINUTE
    assert read(day, "power", "T1").happened == day.now


def test_what_speaks_of_one_ballot_happened_in_a_quarter_of_an_hour(day):
    """Design 3.4: kinds marked `ballot` keep all their times to the quarter hour."""
    day.clock("06:29")

    assert read(day, "spoiled").happened == LINDEN.at(LINDEN.opens.replace(hour=6, minute=15))


def test_a_page_of_several_steps_has_names_with_the_step_before(day):
    read_ = read(day, "self-check", "T1", prefix="self-check/", display=None)

    assert list(read_.mistakes) == ["self-check/display"]


def test_a_note_needs_nothing_but_the_tap(day):
    """look/README: spoiled and re-issued is three taps and no key: the tile says the style, the button all the rest."""
    assert set(read(day, "spoiled", form={"style": "3A"}).mistakes) == {"reissued"}
    read_ = read(day, "spoiled", form={"style": "3A", "usual": "yes"})

    assert read_.mistakes == {}
    assert read_.body == {
        "ballots": 1,
        "style": "3A",
        "sheet": 1,
        "origin": "paper",
        "reissued": True,
        "book_marked": True,
    }


def test_the_one_button_says_what_stands_on_it_and_nothing_against_what_is_filled_in(day):
    for more in ({"reissued": "no"}, {"ballots": "2"}, {"found": "It was taken along."}):
        read_ = read(day, "spoiled", form={"style": "3A", "usual": "yes"} | more)
        assert list(read_.mistakes)[-1:] == ["usual"] and "Something else is filled in" in read_.mistakes["usual"]


def test_every_button_says_all_that_it_keeps(day):
    """Whoever presses it says so: each field it fills in stands in its words, or above the buttons."""
    said = {
        ("spoiled", "reissued"): "given another ballot",
        ("spoiled", "book_marked"): "marked in the poll book",
        ("provisional", "sealed"): "the envelope is sealed",
        ("provisional", "log_agrees"): "the log has as many lines as there are envelopes",
        ("absentee-handed-in", "surrendered"): "no absentee ballot given up",
        ("wrong-style", "right_given"): "the voter has the right one",
        ("unmarked-back", "in_envelope"): "in the envelope for spoiled ballots",
    }
    assert set(said) == {(step.id, f.name) for step in STEPS.values() for f in step.fields if f.usual}
    for step in filter(lambda step: step.usual, STEPS.values()):
        for (kind, name), words in said.items():
            assert kind != step.id or words in f"{step.usual} {step.usual_also}", (kind, name)
        tile = {"style": "3A", "book": "P3"}.get(step.tiles, "")
        offered = quick_note.offer(step, LINDEN, day, "X", {step.tiles: tile})
        assert offered.buttons and not any("{" in words for _, words in (*offered.buttons, ("", offered.also)))
        assert not step.tiles or quick_note.offer(step, LINDEN, day, "X", {}) is None


def test_nothing_that_vouches_is_chosen_or_ticked_beforehand_and_every_blind_count_is_empty(day):
    """A form may begin with one ballot of paper, sheet 1; with no yes, no kind, no 0."""
    for step in STEPS.values():
        if step.list == "office":
            continue
        for field in step.fields:
            assert field.default in ("", "1", "first"), (step.id, field.name)
            assert field.default != "first" or field.name == "origin", (step.id, field.name)
            assert field.kind not in ("yes", "tick", "yes-no") or not field.default, (step.id, field.name)
            assert field.default != "1" or field.name in ("ballots", "sheet", "envelopes"), (step.id, field.name)


def test_what_is_written_under_it_is_not_so_is_an_exception_with_or_without_its_tick(day):
    words = {"found": "The door was stuck until 07:04.", "done": "Office told."}
    for form in (words, words | {"not_so": "yes"}):
        read_ = read(day, "poll-book", form=form)
        assert read_.mistakes == {} and read_.body["not_so"] == {"found": True, "done": True}
        assert read_.words == words
    half = read(day, "poll-book", form={"found": words["found"]})
    assert list(half.mistakes) == ["done"]


def test_what_becomes_of_a_found_ballot_is_chosen_by_two_and_the_rule_is_told():
    day = Day(replace(LINDEN, rules=replace(LINDEN.rules, found="set-apart")))

    asked = read(day, "found", form={"style": "3A", "where": "booth", "unread": "yes"})
    assert set(asked.mistakes) == {"becomes"}
    assert field_options.by_rule(STEPS["found"].field("becomes"), day.place, day) == "set-apart"


def test_a_contest_is_kept_as_the_tape_prints_it(day):
    read_ = read(
        day,
        "tape-typed",
        "T1",
        **{
            "contests.GOV.votes.A": "201",
            "contests.GOV.votes.B": "190",
            "contests.GOV.write_in": "12",
            "contests.GOV.under": "26",
            "contests.GOV.over": "2",
            "contests.GOV.ballots": "431",
            "contests.CLERK.under": "",
            "contests.CLERK.votes.A": "0",
        },
    )

    assert read_.body["contests"]["GOV"] == {
        "ballots": 431,
        "votes": {"A": 201, "B": 190},
        "write_in": 12,
        "under": 26,
        "over": 2,
    }
    assert "under" not in read_.body["contests"]["CLERK"], "a line that the tape does not print is missing, not 0"
    assert read_.body["contests"]["CLERK"]["votes"] == {"A": 0}


def test_a_known_figure_is_neither_typed_nor_read_again_and_is_held_against_the_same_rules(day):
    filled = checklist.fill(STEPS["tape-typed"], day.place, "T2")
    typed = read(day, "tape-typed", "T2")
    sent = Pen(day).fill(filled, "T2", "")
    numbers = {name: int(text.replace(",", "")) for name, text in sent.items() if text.replace(",", "").isdigit()}
    other = {name: text for name, text in sent.items() if name not in numbers} | {
        "lifetime": "not read",
        "subtract": "9",
    }

    def known(**more):
        settled = {**numbers, "subtract": None, **more}
        return checklist.read_form(filled, "T2", day.place, day, other, day.now, known=settled)

    assert typed.mistakes == {} and numbers
    without = {name: value for name, value in typed.body.items() if name != "subtract"}
    assert (known().body, known().mistakes) == (without, {}) and "subtract" in typed.body
    assert known(lifetime=None).mistakes == read(day, "tape-typed", "T2", lifetime="").mistakes != {}


def test_a_contest_the_tape_does_not_print_is_left_out_and_half_a_contest_is_not(day):
    lines = ("ballots", "under", "over", "votes.A")
    read_ = read(day, "tape-typed", "T2", **{f"contests.CLERK.{line}": "" for line in lines})
    assert read_.mistakes == {} and list(read_.body["contests"]) == ["GOV"]

    read_ = read(day, "tape-typed", "T2", **{f"contests.CLERK.{line}": "" for line in lines[1:]})
    assert read_.mistakes == {
        "contests.CLERK.votes.A": "Clerk, Cora Vale: Enter this figure in digits, as the tape of T2 prints it."
    }


def test_recounts_are_kept_in_order(day):
    assert read(day, "unused", **{"unused.3A": "760 759 759"}).body["unused"]["3A"] == [760, 759, 759]


def test_a_relief_keeps_an_empty_seat_as_nobody(day):
    assert read(day, "relief", out="renn", **{"in": ""}).body["in"] is None


# --- mistakes

MENDED = {
    ("zero-tape", "T1", "lifetime", ""): "Enter the protective counter of T1 in digits, as the tape prints it.",
    (
        "zero-tape",
        "T1",
        "lifetime",
        "nine thousand",
    ): "Enter the protective counter of T1 in digits, as the tape prints it.",
    (
        "zero-tape",
        "T1",
        "public",
        "3",
    ): "Public counter of T1: 3 is more than 0. Look again; if it stays so, say below what is wrong.",
    ("zero-tape", "T1", "prints", "0"): "No zero tape was printed. Print one, or say below what is wrong.",
    ("zero-tape", "T1", "all_zero", ""): "Tick “Every line of the tape prints 0”, or say below what is wrong.",
    (
        "bins-empty",
        "X",
        "empty.path",
        "",
    ): "Tick “Shown empty: The path where a ballot falls”, or say below what is wrong.",
    (
        "bins-empty",
        "X",
        "ballots_found",
        "1",
    ): "Ballots found: 1 is more than 0. Look again; if it stays so, say below what is wrong.",
    (
        "tabulator-seals",
        "T1",
        "serial",
        "A-200",
    ): "A-200 is not the serial number that the office sent. Read the plate again; if it stays so, say below what is wrong.",
    (
        "tabulator-seals",
        "T1",
        "seals.T1-memory",
        "0310",
    ): "Memory door of T1: 0310 is not the number that was last applied there. Read the seal again; if it stays so, say below what is wrong.",
    (
        "tabulator-seals",
        "T1",
        "seals.T1-memory",
        "03 01",
    ): "Memory door of T1: Enter the number exactly as it is printed on the seal at T1.",
    (
        "seals-cut",
        "",
        "new.T1-door",
        "0999",
    ): "Ballot door of T1: Seal 0999 was not issued to this place. Read it again; if it stays so, say below what is wrong.",
    (
        "goods",
        "",
        "packs.3A",
        "9",
    ): "9 packs of style 3A here, 10 in the place file: 1 fewer. Count again; if it stays so, say below what is wrong.",
    (
        "goods",
        "",
        "spare_seals",
        "31",
    ): "31 seals here, 30 in the place file: 1 more. Count again; if it stays so, say below what is wrong.",
    (
        "clocks",
        "",
        "minutes_off.wall",
        "58",
    ): "Minutes off, Clock on the wall: 58 minutes off is near 60: the clocks changed and this one was not set. Do not set a tabulator’s clock yourself. Call the office, and say below what is wrong.",
    (
        "clocks",
        "",
        "minutes_off.wall",
        "9",
    ): "Minutes off, Clock on the wall: 9 is more than 2. Look again; if it stays so, say below what is wrong.",
    ("line-end", "", "after_hours", ""): "Select yes or no: Voters came after the regular hour, under an order.",
    ("jam", "T1", "counted", "perhaps"): "Select one: was it counted.",
    ("polls-closed", "", "last_ballot", "6.70"): "Enter the time of the last ballot, as 20:06.",
    (
        "polls-closed",
        "",
        "last_ballot",
        "06:45",
    ): "06:45 is still to come: it is 06:20 by the laptop's clock. Enter the time of the last ballot, as 20:06.",
    (
        "hourly",
        "",
        "counters.T2",
        "-1",
    ): "T2: Enter the public counter in digits, as the screen of the tabulator shows it.",
    (
        "unused",
        "",
        "unused.3A",
        "1 400",
    ): "Style 3A: “1 400” can be read as 1400 or as 2 counts. Write 1400 without a space, or the counts with a semicolon between.",
    ("incident", "", "what", ""): "Enter what happened, with no names and no choices.",
    ("incident", "", "what", "x" * 2001): "This text has 2,001 letters. Shorten it to 2,000.",
    (
        "write-in-tally",
        "",
        "listed.GOV",
        "Ada 7 8",
    ): "Enter one listed name a line: its code, a space, its votes, as W1 7.",
}


@pytest.mark.parametrize(("case", "sentence"), MENDED.items(), ids=[f"{c[0]}.{c[2]}={c[3][:14]}" for c in MENDED])
def test_what_is_to_be_mended_is_said_beside_its_control(day, case, sentence):
    step, at, name, typed = case
    read_ = read(day, step, at, **{name: typed})

    assert {n: words for n, words in read_.mistakes.items() if n not in read_.stops} == {name: sentence}


def test_nothing_typed_is_lost_on_a_mistake(day):
    read_ = read(day, "zero-tape", "T1", lifetime="nine", prints="2")

    assert read_.typed["prints"] == "2" and read_.typed["lifetime"] == "nine"


def test_the_right_seal_number_is_never_told(day):
    assert "0301" not in str(read(day, "tabulator-seals", "T1", **{"seals.T1-memory": "0310"}).mistakes)


def test_a_seal_is_applied_once_on_a_whole_page(day):
    form = {"containers-sealed/seals.C1": "0405", "memory:T1/seal": "0405", "memory:T1/goes": "goes"}
    read_ = checklist.read_form(STEPS["memory"], "T1", day.place, day, form, day.now, "memory:T1/")

    assert read_.mistakes == {"memory:T1/seal": "Seal 0405 is here twice. Each seal is applied once: read them again."}


def test_a_container_sealed_in_the_day_keeps_its_number_at_the_close(day):
    day.keep("bin-emptied", "X", bin="main", counters={"T1": 417}, container="C1", seal="0405", ballots=379)

    assert read(day, "containers-sealed", **{"seals.C1": "0405"}).mistakes == {}
    assert "applied already" in str(read(day, "containers-sealed", **{"seals.C1": "0411", "seals.C2": "0405"}).mistakes)


def test_ballots_travel_sealed_and_what_lies_in_the_case_need_not(day):
    assert read(day, "containers-sealed", **{"seals.S": ""}).mistakes == {}
    assert list(read(day, "containers-sealed", **{"seals.C2": ""}).mistakes) == ["seals.C2"]


def test_bins_are_counted_by_hand_as_the_place_file_says():
    for rule, mistakes in (("always", ["ballots.main"]), ("if-off", []), ("never", [])):
        day = Day(replace(LINDEN, rules=replace(LINDEN.rules, bins_counted=rule)))
        assert list(read(day, "bins-out", "X", **{"ballots.main": ""}).mistakes) == mistakes


def test_somebody_must_have_arrived(day):
    read_ = read(day, "arrivals", **{f"present.{person}": "" for person in ("calloway", "renn", "vance", "pellow")})

    assert read_.mistakes == {"present.calloway": "Enter the time at which they came in, as 05:30."}


# --- it is not so


def test_an_exception_lifts_the_demand_and_asks_for_two_sentences(day):
    read_ = read(day, "zero-tape", "T1", form={"not_so": "yes"})

    assert read_.mistakes == {
        "found": "Enter what was found instead, with no names and no choices.",
        "done": "Enter what was done about it, and who was told.",
    }
    read_ = read(
        day,
        "zero-tape",
        "T1",
        form={"not_so": "yes", "found": "Governor prints 3.", "done": "Shut. Duty clerk told.", "public": "3"},
    )
    assert read_.mistakes == {}
    assert (
        read_.body["not_so"] == {"found": True, "done": True}
        and read_.body["public"] == 3
        and read_.body["all_zero"] is False
    )
    assert read_.words == {"found": "Governor prints 3.", "done": "Shut. Duty clerk told."}


def test_what_is_typed_with_an_exception_must_still_be_a_figure(day):
    read_ = read(day, "zero-tape", "T1", form={"not_so": "yes", "found": "a", "done": "b", "lifetime": "many"})

    assert list(read_.mistakes) == ["lifetime"]


@pytest.mark.parametrize(
    "step", [s for s in STEPS.values() if s.not_so], ids=[s.id for s in STEPS.values() if s.not_so]
)
def test_every_step_can_be_kept_as_an_exception_with_nothing_but_words(day, step):
    for at in step_places.ats(step, day.place):
        read_ = read(
            day,
            step.id,
            at,
            form={"not_so": "yes", "found": "Not as it should be.", "done": "Office told."}
            | ({"out": "renn"} if step.id == "relief" else {}),
        )
        assert read_.mistakes == {}


# --- whatever is sent

SENT = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        ["yes", "no", "0", "7", "12:30", "0412", "760 759", "3A", "calloway", "", "-1", "1,400", "\x00", "☃"]
    ),
)


@settings(max_examples=examples(300), deadline=None)
@given(st.data())
def test_whatever_is_sent_ends_as_a_body_or_as_sentences(data):
    """Outside bytes end as a value or as a sentence, and what is kept can be written into the record (deterministic CBOR, no floats)."""
    step = data.draw(st.sampled_from(list(STEPS.values())))
    at = data.draw(st.sampled_from(step_places.ats(step, LINDEN)))
    day = Day(clock="20:40")
    step = checklist.fill(step, LINDEN, at)
    form = {name: data.draw(SENT) for name in Pen(day).fill(step, at)} | data.draw(
        st.dictionaries(st.sampled_from(["not_so", "found", "done", "junk"]), SENT)
    )

    read_ = checklist.read_form(step, at, LINDEN, day, form, day.now)

    assert cbor.encode(dict(read_.body))
    assert all(sentence.endswith((".", ":")) and len(sentence) < 400 for sentence in read_.mistakes.values())
    assert checklist.statement(step.id, read_.body, LINDEN, day, read_.words)
