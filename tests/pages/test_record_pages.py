"""The record and its pages: corrections, what is taken back, what is folded away, statements, readings with their notes, gaps with explanations."""

import re

from markupsafe import escape

from tests.matrix import some


def correct(here, number, changes, reason="Read again off the screen.", first="lindqvist"):
    path = f"/record/{number}/correct"
    form = next(f for f in here.window.get(path).forms if f.action.endswith("/correct"))
    page = here.window.send(form, here.signed(changes | {"reason": reason}, first))
    return here.second(page, "okafor") if page.path.startswith("/sign/") else page


def test_a_correction_of_a_correction_leaves_every_figure_legible(scene):
    here = scene("voting")
    number = here.room.day.of("hourly")[-1].number
    old, before = dict(here.room.day.entry(number).body), here.length
    here.pass_time(75)
    before = here.length
    assert correct(here, number, {"in_hand": "41"}).status == 200
    page = correct(here, before + 1, {"in_hand": "42"}, "41 was a slip of typing.")
    assert page.status == 200, page.said()
    text = here.window.get(f"/record/{number}").text
    assert text.count("<del>") == 2 and "41 was a slip of typing." in text and "Read again off the screen." in text
    assert here.room.day.entry(number).body == {
        **old,
        "in_hand": 42,
    }  # the hour it stands for, the notes it listed: all as before
    assert f'href="/record/{number}"' in here.window.get(f"/record/{here.length}").text
    assert here.kinds(before) == ["correction", "correction"]


def test_a_correction_needs_a_reason_and_another_figure(scene):
    here = scene("voting")
    number = here.room.day.of("hourly")[-1].number
    before = here.length
    assert "Enter why the figures change" in correct(here, number, {"in_hand": "41"}, "").said()
    assert here.form(f"/record/{number}/correct").controls["in_hand"].value == "41"  # put aside with the refusal
    here.room.gate.drafts.clear()
    assert "Nothing was changed" in correct(here, number, {}).said()
    assert here.length == before


def left(here):
    here.hold()
    form = here.form("/note/left")
    page = here.window.send(form, here.filled(form, "left"))
    assert page.status == 200, page.said()
    return here.length


def test_a_note_is_taken_back_within_a_minute_by_its_holder_on_its_tablet_only(scene):
    here = scene("voting")
    number = left(here)
    other = here.another()
    other.send(other.get("/tablet").form("/tablet/take"), {"signer": "okafor", "pin": here.pins["okafor"]})
    form = here.window.get(f"/note?kept={number}").form(f"/note/back/{number}")
    stolen = other.get("/tablet").form("/tablet/light").controls["csrf_token"].value
    page = other.post(form.action, [("csrf_token", stolen)])
    assert page.status == 409 and "by its holder on the tablet that kept it" in page.said() and here.length == number
    assert here.window.send(form).status == 200 and here.kinds(number) == ["taken-back"]
    page = here.window.send(form)
    assert page.status == 409 and "taken back already" in page.said() and here.length == number + 1
    assert "<del>" in here.window.get(f"/record/{number}").text


def test_a_note_older_than_a_minute_or_from_before_a_restart_is_corrected_instead(scene, monkeypatch):
    here = scene("voting")
    number = left(here)
    form = here.window.get(f"/note?kept={number}").form(f"/note/back/{number}")
    here.room.notes.kept_at[number] -= 61
    page = here.window.send(form)
    assert page.status == 409 and "Correct it instead" in page.said()
    number = left(here)
    here.restart()
    assert "Take entry" not in here.window.get(f"/note?kept={number}").text


def test_a_reading_lists_the_notes_since_the_last_one_and_signs_as_far_as_it_listed_them(scene):
    here = scene("voting")
    number = left(here)
    here.now += 3_600_000
    here.crew.clock(here.now)
    here.hold()
    key = here.crew.next_key()
    page = here.window.get(f"/step/{key}")
    assert re.search(rf"Notes since the last reading: [1-9].*entry {number}\b", page.text, re.S)
    form = page.form("/step/")
    late = left(here)  # comes while the form is open
    assert here.window.send(form, here.signed(here.filled(form, "hourly"), "lindqvist")).status == 200
    assert number <= here.room.day.of("hourly")[-1].body["notes_to"] < late
    assert re.search(rf"entry {late}\b", here.window.get("/note").text)


def test_from_the_close_until_the_counts_are_signed_notes_and_readings_are_folded_away(scene):
    here = scene("unused")
    note = next(k for k in here.room.day.entries if k.kind == "hourly")
    page = here.window.get(f"/record/{note.number}")
    assert "hidden for now" in page.text and f">{note.body['in_hand']}<" not in page.text
    assert "hidden for now" in here.window.get(f"/record/{note.number}/correct").text
    listed = here.window.get("/record").text
    assert f'href="/record/{note.number}"' not in listed and "hidden until the closing counts are signed" in listed
    here = scene("first-look")
    assert f'href="/record/{note.number}"' in here.window.get("/record").text


def test_a_separate_statement_is_signed_from_the_close_on_and_as_often_as_there_are_people(scene):
    here = scene("line-end")
    page = here.window.get("/step/dissent")
    assert "opens when" in page.text and "/step/dissent" not in [f.action for f in page.forms]
    here = scene("unused")
    before = here.length
    for person in ("okafor", "tanaka"):
        form = here.form("/step/dissent", "/step/dissent")
        page = here.window.send(form, here.signed({"statement": f"{person} saw the case stand open."}, person))
        assert page.status == 200, page.said()
    assert here.kinds(before) == ["dissent", "dissent"]


def test_polls_open_at_the_hour_names_what_is_not_signed_and_is_kept_as_an_exception(scene):
    here = scene("sworn")
    here.now = here.place.at(here.place.opens)
    here.crew.clock(here.now)
    here.hold()
    page = here.window.get("/step/polls-open")
    assert "Not signed yet" in page.text and 'href="/step/zero-tape:T1"' in page.text
    form = page.form("/step/polls-open")
    before = here.length
    values = here.filled(form, "polls-open")
    page = here.window.send(form, here.signed(values, "lindqvist"))
    assert page.status == 422 and "Not signed yet" in page.said() and here.length == before
    page = here.window.send(
        form,
        here.signed(
            values | {"not_so": "yes", "found": "No zero tape yet.", "done": "Emergency bin in use, office told."},
            "lindqvist",
        ),
    )
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200 and "polls-open" in here.kinds(before), page.said()


def test_a_gap_is_shown_with_what_it_is_consistent_with_and_nothing_is_filled_in(scene):
    here = scene("first-look")
    number = here.room.day.last("book-count").number
    name = next(n for n in here.form(f"/record/{number}/correct").controls if n.startswith("check_ins."))
    counted = here.form(f"/record/{number}/correct").controls[name].value
    page = correct(here, number, {name: str(int(counted) + 2)})
    assert page.status == 200, page.said()
    page = here.window.get("/balance")
    said = page.text
    assert "Consistent with" not in said and "caused by" not in said.lower()  # no causes before the look is signed
    here = scene("remark")
    number = here.room.day.last("book-count").number
    correct(here, number, {name: str(int(counted) + 2)})
    page = here.window.get("/balance")
    said = page.text
    assert "Consistent with" in said and "caused by" not in said.lower() and "Look:" in said
    for one in here.room.day.explained.explanations:
        assert one.says.split("'")[0][:40] in said or one.look[:20] in said
    form = page.form("/balance/remark")
    assert form.controls["remark"].value == "" and 'id="offered"' in page.text
    page = here.window.send(form, here.signed({}, "lindqvist"))
    assert page.status == 422 and "Tick the lines" in page.said() and "cause unknown" in page.said()


def test_a_figure_that_cannot_be_is_said_above_the_lines(scene):
    here = scene("first-look")
    number = here.room.day.last("unused").number
    assert correct(here, number, {"unused.3A": "91960"}).status == 200
    text = here.window.get("/balance").text
    assert text.index('id="impossible"') < text.index("<h2>")
    assert here.room.day.impossible and all(str(escape(sentence)) in text for sentence in here.room.day.impossible)


def test_the_seals_page_says_what_is_amiss(scene):
    here = scene("voting")
    assert 'id="amiss"' not in here.window.get("/seals").text
    form = here.form("/note/seal-applied")
    point = form.controls["where"].options[0]
    page = here.window.send(
        form,
        here.signed(
            here.filled(form, "seal-applied") | {"where": point, "new": "99887", "why": "The old one tore."},
            "lindqvist",
        ),
    )
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    if page.status == 200:
        assert "99887" in here.window.get("/seals").text and 'id="amiss"' in here.window.get("/seals").text
    else:
        assert "99887" in page.said()  # refused at once: not on the office's list


def test_the_count_page_says_how_long_ballots_and_battery_last(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/power-lost")
    page = here.window.send(form, here.signed(here.filled(form, "power-lost") | {"runs_on": "battery"}, "lindqvist"))
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200, page.said()
    assert "On battery: it holds until about" in here.window.get("/count").text


def test_a_tabulator_shut_by_an_exception_opens_again_with_a_proper_zero_tape(scene):
    here = scene("sworn")
    here.hold()
    while not here.crew.next_key().startswith("zero-tape") and not here.crew.next_key().startswith("self-check"):
        here.pass_time(1)
        here.crew.do(here.crew.next_key())
    form = here.window.get("/step/zero-tape:T1").form("/step/")
    values = here.filled(form, "zero-tape", "T1") | {
        "zero-tape/not_so": "yes",
        "zero-tape/found": "It prints 4 votes.",
        "zero-tape/done": "Shut, office told.",
    }
    values.pop("zero-tape/all_zero", None)
    page = here.window.send(form, here.signed(values, "lindqvist"))
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert page.status == 200, page.said()
    states = {t.key: t for t in here.room.tasks(here.room.now())}
    assert states["zero-tape:T1"].not_so and states["zero-tape:T1"].again
    assert "stays shut" in here.window.get("/steps/opening").text
    page = here.window.get("/step/zero-tape:T1")
    form = page.form("/step/")
    here.crew.signed(page, form, here.crew.values(form, "zero-tape", "T1"))
    assert not {t.key: t for t in here.room.tasks(here.room.now())}["zero-tape:T1"].not_so


def test_the_packet_has_its_file_at_once_when_two_have_signed_it(scene):
    here = scene("packet")
    page = here.window.get("/packet")
    page = here.window.send(page.form("/packet/make"), {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
    assert [p.name.startswith("waiting-") for p in (here.folder / "packet").iterdir()] == [True]
    assert here.window.get("/packet/packet.cose").status == 404
    form = page.form(page.path)
    from demo_precinct.http_window import Page

    answer: Page = here.window._once(
        "POST",
        form.action,
        "&".join(f"{k}={v}" for k, v in form.filled({"signer": "okafor", "pin": here.pins["okafor"]})).encode(),
        {"Content-Type": "application/x-www-form-urlencoded"},
    )
    assert answer.status == 303
    assert [p.name for p in (here.folder / "packet").iterdir()] == ["1.cose"]
    assert here.window.get("/packet/packet.cose").body == (here.folder / "packet" / "1.cose").read_bytes()


def test_every_entry_of_the_day_opens_for_correction_as_it_stands_and_nothing_changes_by_looking(scene):
    here, bad = scene("packet"), []
    before = here.length
    entries = [k for k in here.room.day.entries if here.room.correctable(k) and k.kind != "correction"]
    entries = some([*{(k.kind, k.at): k for k in entries}.values()], entries)  # daily the last of each kind and place
    for kept in entries:
        page = correct(here, kept.number, {})
        if "Nothing was changed" not in page.said():
            bad.append((kept.number, kept.kind, kept.at, page.status, page.said()[:300]))
    assert len({kept.kind for kept in entries}) > 40 and not bad
    assert here.length == before


def test_a_correction_of_a_typed_tape_changes_one_line_and_leaves_the_others(scene):
    here = scene("packet")
    tape = here.room.day.tapes[here.place.tabulators[0].id]
    before, contest = dict(tape.body), here.place.contests[0]
    choice = contest.choices[0].id
    votes = before["contests"][contest.id]["votes"][choice]
    page = correct(
        here,
        tape.number,
        {
            f"contests.{contest.id}.votes.{choice}": str(votes - 1),
            f"contests.{contest.id}.under": str(before["contests"][contest.id]["under"] + 1),
        },
    )
    assert page.status == 200, page.said()
    after = here.room.day.entry(tape.number).body
    assert after["contests"][contest.id]["votes"][choice] == votes - 1
    for name in before["contests"]:
        if name != contest.id:
            assert after["contests"][name] == before["contests"][name]
    assert {k: v for k, v in after.items() if k != "contests"} == {k: v for k, v in before.items() if k != "contests"}


def test_an_exception_stays_one_when_its_words_are_corrected(scene):
    here = scene("sworn")
    here.hold()
    here.now = here.place.at(here.place.opens)
    here.crew.clock(here.now)
    form = here.form("/step/polls-open", "/step/polls-open")
    values = here.filled(form, "polls-open") | {
        "not_so": "yes",
        "found": "No zero tape yet.",
        "done": "Emergency bin in use.",
    }
    page = here.window.send(form, here.signed(values, "lindqvist"))
    assert here.second(page).status == 200
    number = here.room.day.last("polls-open").number
    assert correct(here, number, {"done": "Emergency bin in use, office told."}).status == 200
    kept = here.room.day.entry(number)
    assert (
        kept.not_so
        and kept.word("found") == "No zero tape yet."
        and kept.word("done") == "Emergency bin in use, office told."
    )
    assert "<del>" in here.window.get(f"/record/{number}").text


def test_the_seal_that_an_entry_applied_is_still_right_in_its_correction(scene):
    here = scene("line-end")
    here.hold()
    container = next(c.id for c in here.place.containers if c.ballots)
    here.crew.note(
        "bin-emptied",
        here.place.boxes[0].id,
        bin="main",
        container=container,
        seal=here.answers.take(container),
        ballots="12",
    )
    number = here.length
    page = correct(here, number, {"ballots": "13"}, "Counted again before the container was closed.")
    assert page.status == 200, page.said()
    assert here.room.day.entry(number).body["ballots"] in (13, [13])


def test_ballots_out_of_a_bin_go_into_a_container_for_ballots_only(scene):
    here = scene("voting")
    asked = here.form(f"/note/bin-emptied/{here.place.boxes[0].id}").controls["container"].options
    assert asked == [c.id for c in here.place.containers if c.ballots] != [c.id for c in here.place.containers]


def test_two_tablets_that_correct_one_entry_do_not_undo_each_other_unseen(scene):
    here = scene("voting")
    number, other = here.room.day.of("hourly")[-1].number, here.another()
    mine, theirs = (
        next(f for f in window.get(f"/record/{number}/correct").forms if f.action.endswith("/correct"))
        for window in (here.window, other)
    )
    assert here.window.send(mine, here.signed({"in_hand": "41", "reason": "Counted again."}, "lindqvist")).status == 200
    before = here.length
    page = other.send(theirs, here.signed({"set_aside.spoiled": "1", "reason": "One was forgotten."}, "okafor"))
    assert page.status == 422 and "since this page was opened" in page.said() and here.length == before
    assert here.room.day.entry(number).body["in_hand"] == 41


def test_a_correction_sent_again_after_a_lost_answer_is_one_and_says_no_mistake(scene):
    here = scene("voting")
    number = here.room.day.of("hourly")[-1].number
    form = next(f for f in here.window.get(f"/record/{number}/correct").forms if f.action.endswith("/correct"))
    values = here.signed({"in_hand": "41", "reason": "Counted again."}, "lindqvist")
    assert here.window.send(form, values).status == 200
    before = here.length
    page = here.window.send(form, values)
    assert page.status == 200 and page.path == f"/record/{number}" and here.length == before
