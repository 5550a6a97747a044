"""Batch ids and serials are given out once, the code of a header sheet finds every slip of one character, and nobody comes before the hour."""

from datetime import datetime

import pytest

from webapp.board.batch_ids import (
    SYMBOLS,
    NotThisSheet,
    batch_of,
    check,
    header_code,
    next_batch,
    next_serial,
    serial_number,
)
from webapp.board.hours_in_force import HoursInForce


def test_ids_run_on_by_kind_and_begin_anew_at_ten_thousand_after_a_restore():
    used = ["B001", "B002", "D001", "B007"]
    assert (
        next_batch("first", used) == "B008"
        and next_batch("duplicates", used) == "D002"
        and next_batch("again", used) == "G001"
    )
    assert next_batch("first", used, run=2) == "B10001"
    assert next_batch("first", [*used, "B10001"], run=2) == "B10002"
    assert next_batch("first", [*used, "B10001"], run=3) == "B20001"
    assert next_batch("first", ["B999"]) == "B1000"


def test_serials_run_on_the_same_way():
    assert next_serial([]) == "D-0001" and next_serial(["D-0007", "D-0003"]) == "D-0008"
    assert next_serial(["D-0007"], run=2) == "D-10001" and next_serial(["X-0009"], prefix="X") == "X-0010"
    assert serial_number("D-0007") == 7 and serial_number("seven") is None


def test_the_check_character_is_that_of_iso_7064_mod_37_2():
    """The standard's system for letters and digits; G123489654321 has Y, as python-stdnum gives in its own tests of `iso7064.mod_37_2`."""
    assert check("G123489654321") == "Y"
    total = 0
    for symbol in "G123489654321Y":
        total = (total * 2 + SYMBOLS.index(symbol)) % 37
    assert total == 1  # how the standard says that a whole string holds together


def test_every_single_character_read_wrong_and_every_neighbors_exchanged_are_found():
    body = "LC7B0143"
    right = check(body)
    for place in range(len(body)):
        for symbol in SYMBOLS[:36]:
            if symbol != body[place]:
                assert check(body[:place] + symbol + body[place + 1 :]) != right
        if place + 1 < len(body) and body[place] != body[place + 1]:
            swapped = body[:place] + body[place + 1] + body[place] + body[place + 2 :]
            assert check(swapped) != right


def test_a_header_code_opens_its_batch_however_the_scanner_types():
    code = header_code("LC-7", "B014")
    assert code.startswith("TSB:LC-7:B014:")
    assert batch_of(code, "LC-7") == batch_of(code.lower() + "\n", "LC-7") == "B014"


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        ("https://example.org", "This is not the code of a header sheet."),
        ("TSB:LC-7:B014", "This is not the code of a header sheet."),
        (header_code("LC-7", "B014").replace("B014", "B015"), "This code was not read whole: "),
        (header_code("LC-7", "B014").replace("LC-7", "LC-8"), "This code was not read whole: "),
        (header_code("LC-7", "X014"), "This code was not read whole: "),
        (header_code("HV-2", "B014"), "This header sheet belongs to HV-2, not to LC-7."),
    ],
)
def test_a_code_that_opens_no_batch_here_says_why(code, sentence):
    with pytest.raises(NotThisSheet) as refusal:
        batch_of(code, "LC-7")
    assert str(refusal.value).startswith(sentence)


DAY = HoursInForce(
    datetime(2026, 10, 31, 8), datetime(2026, 11, 3, 7), datetime(2026, 11, 3, 7), datetime(2026, 11, 3, 20)
)


def test_feeding_before_the_hour_is_refused_with_the_hour():
    assert DAY.barred("batch-fed", datetime(2026, 11, 2, 16, 5)) == (
        "Counting opens Tuesday 3 November, 07:00; it is Monday 2 November, 16:05 now. "
        "Only an order of a court or the office, signed by two of different parties, moves the hour."
    )
    assert DAY.barred("batch-fed", datetime(2026, 11, 3, 7)) == ""
    assert DAY.barred("tapes", datetime(2026, 11, 3, 19, 59)).startswith("Tapes are printed Tuesday 3 November, 20:00")
    assert (
        DAY.barred("tray-open", datetime(2026, 10, 31, 8)) == "" and DAY.barred("incident", datetime(2026, 10, 1)) == ""
    )


def test_an_order_moves_one_hour_and_practice_may_go_ahead():
    early = datetime(2026, 11, 2, 16)
    assert DAY.moved("count_from", datetime(2026, 11, 2, 12)).barred("batch-fed", early) == ""
    assert DAY.moved("count_from", datetime(2026, 11, 2, 12)).barred("unfold", early) != ""
    assert HoursInForce(count_from=datetime(2026, 11, 3), practice=True).barred("batch-fed", early) == ""
    assert HoursInForce().barred("batch-fed", early) == ""
