"""What a hand types into a control, and the sentence it gets back when it is something else."""

import re
from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cast import LINDEN
from webapp.precinct.checklist import field_parsers
from webapp.precinct.checklist.field_parsers import InvalidInput

ZONE = ZoneInfo("America/Chicago")


def at(day: int, clock: str) -> int:
    return int(datetime.combine(datetime(2026, 11, day), time.fromisoformat(clock), ZONE).timestamp() * 1000)


@given(st.integers(0, 999_999_999))
def test_a_number_is_read_however_its_thousands_are_marked(n):
    assert {
        field_parsers.number(text)
        for text in (str(n), f"{n:,}", f"{n:,}".replace(",", " "), f"{n:,}".replace(",", "\u202f"))
    } == {n}


@given(st.text(max_size=12))
def test_nothing_but_digits_is_a_number(text):
    try:
        found = field_parsers.number(text)
    except InvalidInput:
        return
    assert re.sub("[ ,\u2009\u202f\u00a0]", "", text).isascii() and str(found) == re.sub("[^0-9]", "", text).lstrip(
        "0"
    ).rjust(1, "0")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "-1",
        "+4",
        "4.0",
        "1,40",
        "14,00",
        "1 40",
        "12a",
        "four",
        "1e3",
        "٤٢",
        "½",
        "1234567890",
        "1,234,567,890",
        "0x1f",
        "4,",
        ",4",
    ],
)
def test_other_things_are_no_number(text):
    with pytest.raises(InvalidInput):
        field_parsers.number(text)


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        ("960", 960),
        ("1,400", 1400),
        ("760 759 759", [760, 759, 759]),
        ("760; 759", [760, 759]),
        ("760 then 759", [760, 759]),
        ("1,400 1,399", [1400, 1399]),
        ("0", 0),
        ("0 0", [0, 0]),
        ("2 3", [2, 3]),
        ("1; 400", [1, 400]),
        ("12 14", [12, 14]),
    ],
)
def test_hand_counts_are_one_or_several_in_order(text, counts):
    """F12 of trade.md 4.4: counted until two consecutive counts agree; the design's example is 760, 759, 759."""
    assert field_parsers.counts(text) == counts


@pytest.mark.parametrize(("text", "whole"), [("1 400", "1400"), ("12 345", "12345"), ("1 400 000", "1400000")])
def test_a_count_that_can_be_read_in_two_ways_is_asked_again(text, whole):
    with pytest.raises(InvalidInput, match=f"read as {whole} or as"):
        field_parsers.counts(text)


def test_missing_stubs_are_a_list_even_when_it_is_one():
    assert (field_parsers.numbers("57"), field_parsers.numbers("57, 61 99")) == ([57], [57, 61, 99])
    with pytest.raises(InvalidInput, match="57 is there twice"):
        field_parsers.numbers("57 58 57")


def test_a_tally_of_listed_names_is_lines_of_code_and_votes():
    assert field_parsers.tally("W1 7\n\n W2  12 \n") == {"W1": 7, "W2": 12}
    with pytest.raises(InvalidInput, match="W1 is there twice"):
        field_parsers.tally("W1 7\nW1 8")
    for text in ("W1", "7", "Ada Lind 7", "W1 seven"):
        with pytest.raises(InvalidInput):
            field_parsers.tally(text)


@pytest.mark.parametrize("text", ["0412", "AB-0412", "a", "0" * 24])
def test_a_seal_is_kept_as_printed(text):
    assert field_parsers.printed(text) == text


@pytest.mark.parametrize("text", ["", "04 12", "0412/7", "ä", "№12", "0" * 25])
def test_other_things_are_no_seal(text):
    with pytest.raises(InvalidInput):
        field_parsers.printed(text)


@pytest.mark.parametrize(
    ("text", "hour"),
    [
        ("06:14", "06:14"),
        ("6:14", "06:14"),
        ("6.14", "06:14"),
        ("0614", "06:14"),
        ("6:14 am", "06:14"),
        ("7:05 PM", "19:05"),
        ("12:10 am", "00:10"),
        ("12:10 p.m.", "12:10"),
        (" 23h59 ", "23:59"),
    ],
)
def test_a_time_is_read_as_people_write_it(text, hour):
    assert field_parsers.moment(LINDEN, text) == at(3, hour)


@pytest.mark.parametrize("text", ["", "7", "25h", "24:60", "noon", "30:00", "13:10 pm", "0:30 am", "7:5", "07:00:00"])
def test_other_things_are_no_time(text):
    assert field_parsers.moment(LINDEN, text) is None


@pytest.mark.parametrize(
    ("now", "text", "day", "hour"),
    [
        ((3, "06:20"), "06:14", 3, "06:14"),
        ((3, "20:31"), "20:06", 3, "20:06"),
        ((4, "00:40"), "00:20", 4, "00:20"),
        ((4, "00:40"), "23:50", 3, "23:50"),
        ((4, "00:10"), "20:06", 3, "20:06"),
        ((3, "23:58"), "23:50", 3, "23:50"),
        ((3, "07:00"), "20:00", 3, "20:00"),
        ((4, "00:10"), "00:40", 4, "00:40"),
    ],
)
def test_past_midnight_a_time_is_tonight_or_yesterday_evening(now, text, day, hour):
    assert field_parsers.moment(LINDEN, text, at(*now)) == at(day, hour)


def test_hours_from_24_on_are_the_night_after():
    assert (
        field_parsers.moment(LINDEN, "24:20") == at(4, "00:20") == field_parsers.moment(LINDEN, "24:20", at(4, "00:40"))
    )


@given(st.times(), st.integers(0, 17 * 60))
def test_a_time_just_said_is_never_in_the_far_future(clock, minutes):
    """Whatever HH:MM is typed after it happened and within 11 hours, it comes back as that moment: common practice, no source."""
    happened = datetime(2026, 11, 3, 7, tzinfo=ZONE) + timedelta(minutes=minutes)
    now = happened + timedelta(minutes=min(clock.hour, 10) * 60 + clock.minute)
    if now.astimezone(ZONE).day == 4 and now.hour >= 12:
        return
    assert field_parsers.moment(LINDEN, happened.strftime("%H:%M"), int(now.timestamp() * 1000)) == int(
        happened.timestamp() * 1000
    )


def test_a_zone_of_its_own_is_minded():
    place = replace(LINDEN, zone="Pacific/Honolulu")

    assert field_parsers.moment(place, "06:00") == int(
        datetime(2026, 11, 3, 6, tzinfo=ZoneInfo("Pacific/Honolulu")).timestamp() * 1000
    )
