"""What people read of the stick is what is so."""

import pytest

from webapp.stick.words import StickLine, head_words, notice, tablet_words

MINUTE = 60_000


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (StickLine("none"), ""),
        (StickLine("looking"), "Looking for the stick"),
        (StickLine("on", 412, 412), "On the stick to 412"),
        (StickLine("on", 409, 412, 3, 1_000, "14:02"), "3 entries not on the stick"),
        (StickLine("on", 409, 412, 3, 3 * MINUTE, "14:02"), "3 entries not on the stick, since 14:02"),
        (StickLine("gone", 385, 412, 27, 3 * MINUTE, "14:02"), "No stick: 27 entries only on this laptop"),
        (StickLine("gone", 412, 412), "No stick: nothing new since"),
        (StickLine("full", 411, 412, 1, 0, "14:02"), "Stick full: 1 entry only on this laptop"),
        (StickLine("unwritable", 410, 412, 2, 0, "14:02"), "Stick cannot be written: 2 entries only on this laptop"),
        (
            StickLine("other-history", 0, 412, 412, 0, "5:02"),
            "Stick of another history: 412 entries only on this laptop",
        ),
    ],
)
def test_the_head_of_a_page_says_where_the_stick_stands(line, says):
    assert head_words(line) == says


def test_now_is_silent_while_all_is_well_or_only_just_behind():
    assert (
        notice(StickLine("on", 412, 412))
        == notice(StickLine("on", 409, 412, 3, 1_000))
        == notice(StickLine("gone", 412, 412))
        == notice(StickLine("none"))
        == ""
    )


@pytest.mark.parametrize(
    "line",
    [
        StickLine("gone", 385, 412, 27, 3_000, "14:02"),
        StickLine("gone", 411, 412, 1, 3 * MINUTE, "14:02"),
        StickLine("on", 411, 412, 1, 3 * MINUTE, "14:02"),
        StickLine("full", 411, 412, 1, 0, "14:02"),
        StickLine("unwritable", 0, 40, 40, 0, "14:02"),
    ],
)
def test_now_says_how_much_since_when_and_what_to_do(line):
    said = notice(line)

    assert "only on this laptop, since 14:02." in said
    assert said.endswith("Voting goes on meanwhile.")


def test_another_history_is_said_at_once():
    assert "another history" in notice(StickLine("other-history", 0, 0))


def test_a_tablet_shows_a_word():
    assert [
        tablet_words(StickLine(*one)) for one in (("none",), ("on", 5, 5), ("gone", 5, 6, 1), ("full", 5, 6, 1))
    ] == ["", "stick", "no stick", "stick behind"]
