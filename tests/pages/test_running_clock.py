"""The same form sent again on a clock that runs: one entry, and never "with other figures". And a visit that a foreign page led to."""

import pytest

from tests.pages.test_people import short


@pytest.fixture
def running(scene):
    """A function: the moment -> a scene whose clock runs on by a third of a second at each look, over every edge of a second and a minute."""

    def at(moment):
        here = scene(moment)
        clock, looks = here.room.clock, [0]
        own = clock.now

        def now():
            looks[0] += 1
            return own() + looks[0] * 331

        clock.now = now
        return here

    return at


def sent_twice(here, path, step, person="lindqvist", minutes=0, more=()):
    """The very same fields sent twice; the page after the second time."""
    form = here.form(path)
    values = here.filled(form, step) | dict(more)
    values = here.signed(values, person) if "signer" in form.controls else values
    assert here.window.send(form, values).status == 200
    kept = here.length
    if minutes:
        here.pass_time(minutes)
    page = here.window.send(form, values)
    assert page.status == 200 and "other figures" not in page.text, page.said()
    assert here.length == kept
    return page


NOTES = {"observers": {"here": "2"}, "spoiled": {}, "incident": {"what": "A queue at the door."}, "left": {}}


@pytest.mark.parametrize("kind", NOTES)
@pytest.mark.parametrize("minutes", [0, 20], ids=["at once", "after the quarter hour"])
def test_a_note_sent_again_is_the_same_entry_on_a_clock_that_runs(running, kind, minutes):
    here = running("voting")
    here.hold()
    sent_twice(here, f"/note/{kind}", kind, minutes=minutes, more=NOTES[kind])


def test_a_step_sent_again_is_the_same_entry_on_a_clock_that_runs(running):
    here = running("sworn")
    here.hold()
    sent_twice(here, "/step/roles", "roles", minutes=3)


def test_a_first_signature_sent_again_waits_once(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    form = here.form("/step/polls-closed", "/step/")
    values = here.signed(here.filled(form, "polls-closed"), "lindqvist")
    pages = [here.window.send(form, values) for _ in range(2)]
    assert pages[0].status == 200, pages[0].said()

    assert pages[0].path == pages[1].path and pages[0].path.startswith("/sign/")
    assert len(here.room.gate.pending.waiting(here.now)) == 1


def test_a_step_that_was_kept_short_signed_is_the_same_entry_when_its_first_form_comes_again(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    form = here.form("/step/polls-closed", "/step/")
    values = here.signed(here.filled(form, "polls-closed"), "lindqvist")
    page = here.window.send(form, values)
    assert short(here, page).status == 200
    kept = here.length
    again = here.window.send(form, values)

    assert again.status == 200 and "other figures" not in again.text and here.length == kept


def test_a_visit_from_a_foreign_page_takes_no_window_away_and_makes_no_row(scene):
    """The browser keeps a Strict cookie at home on such a visit; an answer that set a new one would take the window from its holder."""
    here = scene("sworn")
    here.hold()
    rows, cookies = len(here.room.gate.sessions.tablets()), dict(here.window.cookies)
    for _ in range(20):
        page = here.another()._follow(
            "GET", "/now", None, {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
        )
        assert page.status == 200 and "set-cookie" not in page.headers and "A page elsewhere led here" in page.text
        assert "/static/" in page.text and "Lindqvist" not in page.text
    for _ in range(20):
        assert here.another().get("/now").status == 200

    assert len(here.room.gate.sessions.tablets()) == rows and here.window.cookies == cookies
    assert "Ada Lindqvist" in here.window.get("/tablet").text, "held as before"


def test_a_form_that_was_open_when_the_clock_went_back_is_taken(scene, monkeypatch):
    """The framework signs its cookie with the time, and throws away one that comes from the future; a token here has no time."""
    import time

    here = scene("sworn")
    form = here.form("/tablet", "/tablet/light")
    real = time.time
    monkeypatch.setattr(time, "time", lambda: real() - 3600)
    page = here.window.send(form, {"light": "day"})

    assert page.status == 200 and "Open this page again" not in page.text
