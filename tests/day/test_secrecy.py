"""What never leaves with a packet: anybody's name, a voter's moment, a single ballot with a time or a counter value, a free word in the core."""

from collections.abc import Iterator

import pytest

from day.story import HARROW, Story
from day.whole_day import DAY
from webapp.packet import contents
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.entry import quarter_hour

NOTES = """
    10:18 spoiled ballots 1 style 4A reissued no by Pellow
    10:37 taken ballots 1 style 4A book P4 by Pellow
    11:41 emergency-plus X1 ballots 1 style 4A by Pellow
    12:22 jam T1 counted no went voter by Vance, Renn
    13:27 found ballots 1 where booth by Vance, Renn
    14:33 absentee-handed-in envelopes 1 surrendered 0 by Pellow
    16:20 wrong-style ballots 1 style 4A right_given yes by Pellow
    17:22 unmarked-back ballots 1 style 4A in_envelope yes by Pellow
    15:00 handed-back hour 14:00 tally.overvote.new-ballot 2
"""


def told(text):
    day = fold(HARROW, Story().entries(text))
    day.head = bytes(32)
    return day


def leaves_of(value) -> Iterator:
    """Every value in it, and every key of a map."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield key
            yield from leaves_of(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from leaves_of(item)
    else:
        yield value


@pytest.fixture
def core():
    return contents.core(HARROW, told(DAY + NOTES), 1, None, 0)


def test_nobody_is_named_in_the_core_nor_in_the_remarks(core):
    day = told(DAY + NOTES)
    texts = [
        leaf for part in (core, contents.remarks(HARROW, day)) for leaf in leaves_of(part) if isinstance(leaf, str)
    ]
    names = {word for official in HARROW.officials for word in (official.id, *official.name.split())}

    assert not [text for text in texts if names & set(text.replace(",", " ").split())]


def test_no_kind_of_ballot_is_a_step(core):
    assert not {step[0] for step in core["steps"]} & (BALLOT_KINDS | {"handed-back"})


def test_no_time_of_a_ballot_is_in_the_core(core):
    """Each note of a ballot stands in a quarter hour that nothing else fills; none of those moments, nor its clock, is anywhere."""
    entries = [entry for entry, _ in Story().entries(NOTES)]
    moments = {entry.happened for entry in entries if entry.kind in BALLOT_KINDS}
    stories = {quarter_hour(entry.happened) for entry, _ in Story().entries(DAY) if entry.kind not in BALLOT_KINDS}
    assert 8 == len(moments) and not moments & stories

    numbers = {leaf for leaf in leaves_of(core) if isinstance(leaf, int)}
    assert not moments & numbers
    assert not {"10:15", "10:30", "11:30", "12:15", "13:15", "14:30", "16:15", "17:15"} & {
        leaf for leaf in leaves_of(core) if isinstance(leaf, str)
    }


def test_kinds_of_ballots_are_counts_only(core):
    assert {"spoiled", "spoiled-not-reissued", "provisional", "left", "taken", "emergency", "hand-counted"} == set(
        core["aside"]
    )
    assert {"logged": 3, "counts": [1]} == core["aside"]["spoiled-not-reissued"]


def test_the_readings_do_not_say_what_was_set_aside_by_then(core):
    assert {"at", "counter", "poll_book", "in_hand"} == {key for reading in core["readings"] for key in reading}


def test_a_waiting_first_keying_leaves_no_trace():
    waiting = "20:40 keying T1 of tape-typed figures.public 77777 by Calloway"
    day = told(waiting)

    assert 77777 not in set(leaves_of(contents.core(HARROW, day, 1, None, 0)))
    assert "77777" not in repr(vars(day) | {"keyings": None})


def test_a_waiting_first_keying_cannot_be_seen_by_correcting_it():
    day = told(
        '20:40 keying T1 of tape-typed figures.public 432 by Calloway\n20:41 correct 1 of tape-typed figures.public 77777 because "slip" by Calloway'
    )

    assert "77777" not in repr((day.entries, day.kept))


def test_free_words_stay_out_of_the_core(core):
    assert not [leaf for leaf in leaves_of(core) if isinstance(leaf, str) and " " in leaf]


def test_while_count_is_folded_away_noted_ballots_and_readings_are_hidden():
    day = told(
        NOTES
        + "18:00 hourly hour 18:00 counters.T1 5 check_ins.P4 5 in_hand 0 by Vance\n20:04 polls-closed by Calloway, Renn\n20:05 search floor yes by Vance, Renn"
    )

    assert [True] * 10 + [False] * 2 == [day.hidden(kept) for kept in day.entries]
