"""What is given back is the record's own, of an earlier run, above what was restored, byte for byte; what nobody has is listed."""

import pytest

from tests.record import story
from tests.stick import nights
from webapp.precinct.day import restores
from webapp.record.entry import Act, Claim, Entry, Text
from webapp.record.reader import RunStart
from webapp.stick import given_back as back


@pytest.fixture
def night(ledger, record):
    """Twenty entries; the stick had twelve of them."""
    nights.keep(ledger, 20)
    stored = {one.number: one for one in nights.all_of(record)}
    return stored, RunStart(2, 10_001, 12, stored[12].head)


def words_of(stored):
    return {name: Text(salt, text) for name, salt, text in stored.words}


def given(night, number, **more):
    stored, start = night
    one = stored[number]
    return back.claim(story.RECORD_ID, (start,), more.get("data", one.data), more.get("words", words_of(one)), "A")


def test_an_entry_comes_back_citing_its_old_number_with_its_words(night):
    made = given(night, 15)

    assert (made.kind, made.body["was"], made.body["run"], made.body["kind"], made.body["entry"]) == (
        "given-back",
        15,
        1,
        "reading",
        night[0][15].data,
    )
    assert (made.tablet, made.seq) == ("L", 0)
    assert made.happened == Entry.unpack(night[0][15].data).happened


def test_the_same_entry_has_the_same_id_from_whoever_brings_it(night):
    stored, start = night
    other = back.claim(story.RECORD_ID, (start,), stored[15].data, {}, "B")

    assert given(night, 15).id == other.id == back.id_of(stored[15].data)
    assert given(night, 16).id != other.id


@pytest.mark.parametrize(
    ("why", "says"),
    [
        ("restored", "restored already"),
        ("foreign", "another record"),
        ("run", "of run 2"),
        ("noise", "not an entry"),
        ("cut", "not an entry"),
        ("words", "not those that were signed"),
        ("keying", "key it again"),
    ],
)
def test_what_does_not_fit_is_refused_in_a_sentence(night, ledger, record, why, says):
    stored, start = night
    entry = Entry.unpack(stored[15].data)
    from dataclasses import replace

    cases = {
        "restored": dict(data=stored[12].data, words={}),
        "foreign": dict(data=replace(entry, record_id=bytes(16)).pack(), words={}),
        "run": dict(data=replace(entry, run=2).pack(), words={}),
        "noise": dict(data=b"\x00" * 80, words={}),
        "cut": dict(data=stored[15].data[:-1], words={}),
        "words": dict(data=stored[14].data, words={"remark": Text(bytes(16), "Other words.")}),
        "keying": dict(data=replace(entry, kind="keying").pack(), words={}),
    }

    with pytest.raises(back.NotTaken, match=says):
        given(night, 15, **cases[why])


def test_the_lost_numbers_of_the_worked_example():
    """The laptop kept 420, the stick had 412; tablet A gave 413, 415 and 420 back, and the inspector wrote 420 on the paper log."""
    lost = restores.lost_numbers(412, (413, 415, 420), 420)

    assert lost == [414, 416, 417, 418, 419]
    assert restores.ranges(lost) == [[414, 414], [416, 419]]
    assert restores.in_words(restores.ranges(lost)) == "414, 416 to 419"


def test_nothing_seen_and_nothing_given_loses_nothing_that_anybody_knows_of():
    assert restores.lost_numbers(0, (), 0) == []
    assert restores.in_words([]) == "none"


def test_a_number_above_what_was_seen_is_counted_when_it_is_given_back():
    assert restores.lost_numbers(5, (9,), 6) == [6, 7, 8]


def test_an_act_of_it_can_be_kept(night, ledger):
    made = given(night, 14)
    (entry,) = ledger.append(Act(made, (), 0, 0, None), now=story.SIX * 2)

    assert entry.body["entry"] == night[0][14].data
    assert ledger.append(Act(given(night, 14), (), 0, 0, None), now=story.SIX * 2)[0].number == entry.number
    assert isinstance(made, Claim)
