"""`demo --at MOMENT`: the day played up to each moment, then handed over to whoever opens the pages; the PINs and slips that it prints work."""

import re

import pytest

from demo_precinct import moments
from demo_precinct.http_window import Window
from tests.matrix import some

WHERE = {
    "before-dawn": "Opening, ",
    "opened": "Voting, ",
    "noon": "Voting, ",
    "polls-closed": "Closing, ",
    "tapes": "Closing, ",
    "packet-ready": "Hand-over, ",
    "office": "",
}


def test_every_moment_is_tried_here():
    assert set(WHERE) == set(moments.MOMENTS)


@pytest.mark.parametrize("moment", some(["before-dawn", "opened"], list(WHERE)))
def test_the_demo_begins_at_this_moment(moment, tmp_path):
    demo = moments.start(moment, folder=tmp_path / "demo")
    try:
        place = Window(int(re.search(r":(\d+)/", demo.links["place"])[1]))
        office = Window(int(re.search(r":(\d+)/", demo.links["office"])[1]))
        now = place.get("/now")
        assert now.status == 200 and office.get("/places").status == 200
        offered = re.search(r'class="button do" href="/step/([^":]+)', now.text)
        assert (offered[1] if offered else "") == moments.MOMENTS[moment]
        assert not WHERE[moment] or f'brow">{WHERE[moment]}' in now.text or "Overdue by" in now.text
        if demo.pins:
            form = place.get("/tablet").form("/tablet/take")
            name, pin = next(iter(demo.pins.items()))
            person = next(o.id for o in demo.place.officials if o.name == name)
            assert name in place.send(form, {"signer": person, "pin": pin}).text
        assert bool(demo.pins) != bool(demo.codes) and bool(demo.desk_pins) != bool(demo.desk_codes)
        assert demo.desk_pins or moment != "office"
        assert "Every step is done" in now.text if moment == "office" else offered
    finally:
        demo.stop()


def test_at_the_moment_of_the_office_its_people_are_sworn_in_and_their_pins_work(tmp_path, monkeypatch):
    """The day before is a stand-in here: a whole one ends in `test_demo_day.py`, and with --all above."""
    monkeypatch.setattr(moments.Day, "play", lambda day: True)
    demo = moments.start("office", folder=tmp_path / "demo")
    try:
        assert demo.desk_pins and not demo.desk_codes and demo.pins and not demo.codes
        office = Window(int(re.search(r":(\d+)/", demo.links["office"])[1]))
        form = office.get("/tablet").form("/tablet/take")
        for person, (name, pin) in zip(form.controls["signer"].options, demo.desk_pins.items(), strict=True):
            assert name in office.send(form, {"signer": person, "pin": pin}).text
    finally:
        demo.stop()
