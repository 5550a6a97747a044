"""Ballots handed back by the tabulator: taps of the hour, which enter the record with the next reading and with no minute of their own."""

from webapp.precinct.day.hours import full_hour

HOUR = 3_600_000


def tap(here, message="overvote", outcome="new-ballot"):
    return here.window.send(here.form("/note/handed-back"), {"message": message, "outcome": outcome})


def test_one_tap_a_ballot_and_what_its_outcome_makes_is_offered_in_one_more(scene):
    here = scene("voting")
    here.hold()
    before = here.length
    page = here.window.send(here.form("/note/handed-back"), {"cell": "overvote/new-ballot"})
    assert "Counted: Too many marks in a contest: took a new ballot." in page.text
    assert here.room.gate.tallies.of(full_hour(here.now)) == {("overvote", "new-ballot"): 1}
    assert here.kinds(before) == []
    offered = page.form("/note/spoiled")
    here.window.send(offered, {"style": "4A"})
    entry = here.room.ledger.newest and list(here.room.ledger.entries(after=before))[0]
    assert entry.kind == "spoiled" and (entry.body["style"], entry.body["reissued"], entry.body["book_marked"]) == (
        "4A",
        True,
        True,
    )
    kept = here.length
    again = here.window.get(page.path)  # somebody goes back to the sheet
    assert f"Noted too, as entry {kept}." in again.text and "Note the spoiled ballot too" not in again.text
    assert here.window.send(offered, {"style": "4A"}).status == 200 and here.length == kept
    page = here.window.send(here.form("/note/handed-back"), {"cell": "unreadable/emergency"})
    here.window.send(page.form("/note/emergency-plus/B2"), {"usual": "3A"})
    entry = list(here.room.ledger.entries(after=before))[-1]
    assert (entry.kind, entry.body["at"], entry.body["style"], entry.body["ballots"]) == (
        "emergency-plus",
        "B2",
        "3A",
        1,
    )
    page = here.window.send(here.form("/note/handed-back"), {"cell": "blank/as-is"})
    assert "too" not in page.text.split("Stand back")[0].split("Counted:")[1]
    less = [form for form in page.forms if "less" in form.controls][0]
    here.window.send(less, {"less": "yes"})
    assert sum(here.room.gate.tallies.of(full_hour(here.now)).values()) == 2


def test_one_less_is_one_less_of_the_hour_on_the_screen_also_when_the_next_one_has_begun(scene):
    here = scene("voting")
    here.hold()
    hour = full_hour(here.now)
    tap(here)
    page = tap(here)
    less = next(form for form in page.forms if "less" in form.controls)
    here.pass_time((hour + HOUR - here.now) / 60_000 + 1)
    here.hold()
    tap(here)
    assert here.window.send(less, {"less": "yes"}).status == 200
    tallies = here.room.gate.tallies
    assert (sum(tallies.of(hour).values()), sum(tallies.of(hour + HOUR).values())) == (1, 1)


def read(here):
    """The next reading that is due, signed by one."""
    here.now += HOUR - here.now % HOUR + 60_000
    here.crew.clock(here.now)
    here.hold()
    return here.crew.do(here.crew.next_key())


def test_taps_enter_the_record_just_before_the_next_reading(scene):
    here = scene("voting")
    here.hold()
    hour = full_hour(here.now)
    tap(here), tap(here), tap(here, "blank", "as-is")
    before = here.length
    read(here)
    kinds = here.kinds(before)
    assert kinds.index("handed-back") == kinds.index("hourly") - 1
    entry = next(e for e in here.room.ledger.entries(after=before) if e.kind == "handed-back")
    assert entry.body == {"hour": hour, "tally": {"overvote": {"new-ballot": 2}, "blank": {"as-is": 1}}}
    assert entry.happened == hour and entry.signers == ()
    assert here.room.gate.tallies.hours() == ()


def test_taps_that_stand_in_the_record_are_not_kept_twice_after_a_crash(scene, monkeypatch):
    here = scene("voting")
    here.hold()
    tap(here)
    monkeypatch.setattr(
        here.room.gate.tallies, "clear", lambda hours: None
    )  # the program dies between the commit and the clearing
    before = here.length
    read(here)
    assert here.kinds(before).count("handed-back") == 1 and here.room.gate.tallies.hours()
    here.restart()
    read(here)
    assert here.kinds(before).count("handed-back") == 1
    assert here.room.gate.tallies.hours() == ()


def test_taps_of_the_last_hour_enter_with_the_close(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    tap(here)
    before = here.length
    here.crew.do("line-end")
    assert "handed-back" not in here.kinds(before)
    here.crew.do("polls-closed")
    assert here.kinds(before)[-2:] == ["handed-back", "polls-closed"] or "handed-back" in here.kinds(before)
    assert here.room.gate.tallies.hours() == ()


def test_nobody_taps_on_a_tablet_that_nobody_holds(scene):
    here = scene("voting")
    other = here.another()
    page = other.send(
        other.get("/note/handed-back").form("/note/handed-back"), {"message": "overvote", "outcome": "new-ballot"}
    )
    assert page.status == 422 and "Nobody holds this tablet" in page.said()
    assert here.room.gate.tallies.hours() == ()


def test_a_tap_that_is_in_the_record_already_is_not_taken_back_as_a_tap(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/handed-back")
    page = here.window.post(
        form.action, [*form.filled({"message": "overvote", "outcome": "new-ballot"}), ("less", "yes")]
    )
    assert page.status == 422 and "Correct that entry instead" in page.said()
