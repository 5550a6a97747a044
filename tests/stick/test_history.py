"""Several files come to one history; what lies behind a hole is kept apart and never guessed at."""

import random
from dataclasses import replace

import pytest

from tests.record import story
from tests.stick import nights
from webapp.record.chain import first_head
from webapp.stick.history import common, goes_on, joined
from webapp.stick.segment import read_segment


@pytest.fixture
def parts(ledger, record):
    """Twelve entries in three files of four."""
    nights.keep(ledger, 12)
    all_of = nights.all_of(record)
    return [
        replace(read_segment(nights.segment_bytes(all_of[at : at + 4], all_of[at - 1] if at else None)), name=str(at))
        for at in (0, 4, 8)
    ]


def numbers(entries):
    return [one.stored.number for one in entries]


def test_files_join_in_any_order(parts):
    for seed in range(6):
        mixed = random.Random(seed).sample(parts, 3)

        assert numbers(joined(story.RECORD_ID, mixed).entries) == list(range(1, 13))


def test_the_same_file_twice_is_one(parts):
    assert numbers(joined(story.RECORD_ID, [*parts, parts[1], parts[0]]).entries) == list(range(1, 13))


def test_what_lies_behind_a_hole_is_kept_apart(parts):
    history = joined(story.RECORD_ID, [parts[0], parts[2]])

    assert numbers(history.entries) == [1, 2, 3, 4]
    assert numbers(history.apart) == [9, 10, 11, 12]
    assert not history.forked


def test_nothing_gives_a_record_of_no_entries():
    history = joined(story.RECORD_ID, [])

    assert (history.entries, history.end.number, history.end.head) == ((), 0, first_head(story.RECORD_ID))


def test_a_record_goes_on_behind_what_it_has_itself(parts):
    history = joined(story.RECORD_ID, parts[:2])
    heads = {one.stored.number: one.stored.head for part in parts for one in part.entries}

    assert common(history, heads) == 8
    assert goes_on(history, heads)


def test_a_record_that_ends_earlier_or_says_otherwise_is_another(parts):
    history = joined(story.RECORD_ID, parts)
    heads = {one.stored.number: one.stored.head for part in parts for one in part.entries}

    assert not goes_on(history, {number: head for number, head in heads.items() if number < 7})
    assert not goes_on(history, heads | {number: bytes(32) for number in range(7, 13)})


def test_a_later_run_may_go_on_from_inside_it(parts):
    """A spare laptop that was restored from another stick: this one holds entries that it lacks, and loses nothing by what follows."""
    history = joined(story.RECORD_ID, parts)
    heads = {one.stored.number: one.stored.head for part in parts for one in part.entries if one.stored.number < 7} | {
        10_001: bytes(32)
    }

    assert common(history, heads) == 6
    assert goes_on(history, heads)
