"""A place that reads a 12-hour clock: every page, statement, chart and paper says am and pm, and what can be read twice is asked.

Source of the words: the 12-hour clock counts 12, 1 ... 11 twice; noon is 12:00 pm and midnight 12:00 am (common practice, no source).
"""

import re

import pytest

from tests.pages.walk import pages_of
from webapp.pages.shared import filters
from webapp.precinct.numbers import on_clock

NOON, MIDNIGHT = 12 * 60, 0


@pytest.mark.parametrize(
    ("hhmm", "said"),
    [
        ("00:00", "12:00 am"),
        ("00:20", "12:20 am"),
        ("01:05", "1:05 am"),
        ("11:59", "11:59 am"),
        ("12:00", "12:00 pm"),
        ("12:59", "12:59 pm"),
        ("13:00", "1:00 pm"),
        ("23:59", "11:59 pm"),
    ],
)
def test_each_hour_of_the_day_is_said(hhmm, said):
    assert (on_clock(hhmm, 12), on_clock(hhmm, 24)) == (said, hhmm)


def test_a_quarter_hour_over_noon_says_both_halves():
    from zoneinfo import ZoneInfo

    zone = ZoneInfo("America/Chicago")
    eleven = 1_793_727_900_000  # 2026-11-03 11:45 in Chicago
    assert filters.quarter(eleven, zone, 12) == "11:45 am to 12:00 pm"
    assert filters.quarter(eleven, zone) == "11:45 to 12:00"


@pytest.fixture
def noon_place(scene, monkeypatch):
    """The day part-way, read on a 12-hour clock: the place file's rule, as if it had been enrolled so."""
    from dataclasses import replace

    from webapp.gate import signed_place_file
    from webapp.pages.place.site import place_site

    def twelve(folder):
        place = signed_place_file.load_place(folder)
        return replace(place, rules=replace(place.rules, clock=12))

    monkeypatch.setattr(place_site, "load_place", twelve)
    return scene


def plain(text: str) -> str:
    """What a person reads: no tags, no values that only machines read."""
    return re.sub(r"<[^>]*>", " ", re.sub(r"<(script|style)\b.*?</\1>", "", text, flags=re.DOTALL))


def test_no_page_of_the_day_says_an_hour_without_its_half(noon_place):
    here = noon_place("voting")
    here.hold()
    seen = 0
    for path, page in pages_of(here, here.window):
        if page.status == 200 and "html" in page.headers.get("content-type", ""):
            shown = plain(page.text)
            seen += len(re.findall(r"\d:\d\d [ap]m\b", shown))
            assert not re.findall(r"(?<![\d.:/-])\d{1,2}:\d\d(?! [ap]m|[\d:])", shown), (
                path,
                re.findall(r".{30}(?<![\d.:/-])\d{1,2}:\d\d(?! [ap]m|[\d:]).{20}", shown),
            )
    assert seen > 100


def test_the_printed_packet_says_am_and_pm(noon_place):
    import pypdfium2

    here = noon_place("packet")
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    pdf = pypdfium2.PdfDocument(here.window.get("/packet/packet.pdf").body)
    text = "\n".join(sheet.get_textpage().get_text_range() for sheet in pdf)
    assert re.search(r"\b8:\d\d pm\b", text)
    assert not re.findall(r"(?<![\d:-])[012]\d:[0-5]\d(?! [ap]m|:)", text)


def test_a_time_that_can_be_morning_or_evening_is_asked_again(noon_place):
    here = noon_place("line-end")
    here.hold()
    path = "/note/tabulator-out/T1"
    form = here.form(path)
    before = here.length
    page = here.window.send(form, here.signed({"time": "7:05"}, "lindqvist"))
    assert (
        page.status == 422
        and "7:05 can be morning or evening. Write 7:05 am or 7:05 pm." in page.text
        and here.length == before
    )
    page = here.window.send(form, here.signed({"time": "6:05 PM"}, "lindqvist"))
    assert page.path.startswith("/sign/") and "6:05 pm" in page.text
    page = here.window.send(form, here.signed({"time": "18:05"}, "lindqvist"))
    assert page.path.startswith("/sign/") and "6:05 pm" in page.text
