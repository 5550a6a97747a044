"""Ballots handed back by the tabulator: taps of the hour, which enter the record with the next reading and with no minute of their own."""

HOUR = 3_600_000


def tap(here, message="overvote", outcome="new-ballot"):
    return here.window.send(here.form("/note/handed-back"), {"message": message, "outcome": outcome})


def read(here):
    """The next reading that is due, signed by one."""
    here.now += HOUR - here.now % HOUR + 60_000
    here.crew.clock(here.now)
    here.hold()
    return here.crew.do(here.crew.next_key())


def test_taps_enter_the_record_just_before_the_next_reading(scene):
    here = scene("voting")
    here.hold()
    hour = here.room.hour(here.now)
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
