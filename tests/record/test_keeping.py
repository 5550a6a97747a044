"""An act goes in, an entry with a number comes out; a retry gives the same number; a page is kept whole or not at all."""

import threading
from dataclasses import replace

import pytest

from tests.record import story
from tests.record.story import OKORO, SIX, VEGA, act, id_of
from webapp.record.chain import first_head, leaf, next_head
from webapp.record.entry import Act, Claim, Text
from webapp.record.ledger import Ledger, RecordRefused

HOUR = 3_600_000


def test_a_new_record_has_its_id_and_no_entries(ledger):
    assert (story.RECORD_ID, 1, 0, first_head(story.RECORD_ID)) == (
        ledger.record_id,
        ledger.run,
        ledger.length,
        ledger.head,
    )
    assert [] == list(ledger.entries())


def test_a_record_without_a_given_id_makes_its_own(tmp_path):
    with Ledger.create(tmp_path / "a.db") as one, Ledger.create(tmp_path / "b.db") as other:
        assert 16 == len(one.record_id) == len(other.record_id)
        assert one.record_id != other.record_id


def test_entries_are_numbered_from_one_without_holes(ledger):
    assert [1, 2, 3, 4, 5] == [entry.number for entry in story.keep_morning(ledger)]
    assert 5 == ledger.length


def test_an_entry_says_what_was_sent_who_signed_and_when_it_was_kept(ledger):
    (entry,) = ledger.append(act(7, signers=(VEGA, OKORO)), now=SIX + 9_000)

    assert (entry.kind, entry.body, entry.happened, entry.made, entry.kept, entry.offset) == (
        "reading",
        {"counter": 107},
        SIX,
        SIX + 1_500,
        SIX + 9_000,
        240,
    )
    assert (entry.tablet, entry.seq, entry.holder, entry.signers) == ("A", 7, "vega", (VEGA, OKORO))


def test_the_head_moves_on_by_the_chain(ledger):
    before = ledger.head
    (entry,) = ledger.append(act(), now=SIX)

    assert next_head(before, 1, leaf(entry.pack())) == ledger.head


def test_words_lie_beside_their_entry(ledger):
    (entry,) = ledger.append(act(words={"why": "torn at the edge", "done": "put aside"}), now=SIX)

    assert {"why": "torn at the edge", "done": "put aside"} == ledger.texts(entry.number)
    assert {"why", "done"} == set(entry.body["words"])
    assert {} == ledger.texts(2)


def test_what_was_kept_is_there_after_closing(path, ledger):
    kept = story.keep_morning(ledger)
    head = ledger.head
    ledger.close()

    with Ledger.open(path, story.COARSE) as again:
        assert (kept, head) == (tuple(again.entries()), again.head)


def test_a_retry_gets_the_number_it_has(ledger):
    first = ledger.append(act(), now=SIX)

    assert first == ledger.append(act(), now=SIX + HOUR)
    assert 1 == ledger.length


def test_a_retry_may_carry_other_signers_another_holder_and_another_sending_time(ledger):
    """These are no part of the claim; the entry keeps those of the first."""
    first = ledger.append(act(), now=SIX)
    again = Act(act().claim, (OKORO,), SIX + HOUR, 0, "okoro")

    assert first == ledger.append(again, now=SIX + HOUR)


@pytest.mark.parametrize(
    "other",
    [
        act(body={"counter": 9}),
        act(kind="zero"),
        act(at=SIX + 1),
        act(tablet="B"),
        act(seq=2),
        act(words={"why": "torn"}),
    ],
    ids=["body", "kind", "happened", "tablet", "seq", "words"],
)
def test_the_same_id_with_another_claim_is_refused_with_its_number(ledger, other):
    ledger.append(act(), now=SIX)

    with pytest.raises(RecordRefused, match="^Already entry 1, with other figures. To change it, correct 1.$"):
        ledger.append(other, now=SIX)
    assert 1 == ledger.length


def test_a_retry_with_another_salt_is_another_claim(ledger):
    ledger.append(act(words={"why": "torn"}), now=SIX)
    salted = act(words={"why": "torn"})
    claim = replace(salted.claim, words={"why": Text(bytes(16), "torn")})

    with pytest.raises(RecordRefused, match="Already entry 1"):
        ledger.append(replace(salted, claim=claim), now=SIX)


def test_a_coarse_retry_within_the_quarter_hour_is_the_same_claim(ledger):
    first = ledger.append(act(kind="spoiled", at=SIX + 60_000), now=SIX + 61_000)

    assert first == ledger.append(act(kind="spoiled", at=SIX + 840_000), now=SIX + 900_000)
    with pytest.raises(RecordRefused, match="Already entry 1"):
        ledger.append(act(kind="spoiled", at=SIX + 900_000), now=SIX + 900_000)


def test_a_page_signed_once_is_several_entries(ledger):
    kept = ledger.append(act(1), act(2), act(3), now=SIX)

    assert [1, 2, 3] == [entry.number for entry in kept]
    assert kept == tuple(ledger.entries())


def test_a_page_is_kept_whole_or_not_at_all(ledger):
    ledger.append(act(1), now=SIX)

    with pytest.raises(RecordRefused, match="Already entry 1"):
        ledger.append(act(2), act(3), act(1, body={"counter": 0}), now=SIX)
    assert 1 == ledger.length
    assert ledger.find(id_of(2)) is None


def test_a_page_sent_again_after_part_of_it_was_kept_fills_the_rest(ledger):
    ledger.append(act(2), now=SIX)
    kept = ledger.append(act(1), act(2), act(3), now=SIX)

    assert [2, 1, 3] == [entry.number for entry in kept]
    assert kept == ledger.append(act(1), act(2), act(3), now=SIX)


def test_one_act_twice_on_a_page_is_one_entry(ledger):
    assert [1, 1] == [entry.number for entry in ledger.append(act(), act(), now=SIX)]


def test_an_empty_page_is_no_entry(ledger):
    assert () == ledger.append(now=SIX)


def test_a_line_of_a_tablet_is_kept_once(ledger):
    ledger.append(act(1), now=SIX)

    with pytest.raises(RecordRefused, match="Line 1 of tablet A is already entry 1."):
        ledger.append(act(2, seq=1), now=SIX)
    with pytest.raises(RecordRefused, match="Line 3 of tablet A is already entry 2."):
        ledger.append(act(3), act(4, seq=3), now=SIX)
    ledger.append(act(2, seq=1, tablet="B"), now=SIX)


def test_the_laptop_s_own_lines_have_no_line_number(ledger):
    ledger.append(act(1, tablet="laptop", seq=0), act(2, tablet="laptop", seq=0), now=SIX)

    assert (2, 0) == (ledger.length, ledger.last_seq("laptop"))


def test_the_last_line_of_each_tablet_is_known(ledger):
    ledger.append(act(1), act(2, seq=7), act(3, tablet="B"), now=SIX)

    assert (7, 3, 0) == (ledger.last_seq("A"), ledger.last_seq("B"), ledger.last_seq("C"))


def test_an_entry_is_found_by_its_id(ledger):
    kept = ledger.append(act(1), act(2), now=SIX)

    assert kept[1] == ledger.find(id_of(2))
    assert ledger.find(id_of(3)) is None


def test_entries_are_given_from_any_number_on(ledger):
    for n in range(1, 8):
        ledger.append(act(n), now=SIX)

    assert [6, 7] == [entry.number for entry in ledger.entries(after=5)]
    assert [] == list(ledger.entries(after=7))


def test_a_long_record_is_given_whole(ledger):
    ledger.append(*(act(n) for n in range(1, 1203)), now=SIX)

    assert list(range(1, 1203)) == [entry.number for entry in ledger.entries()]


def test_kept_never_goes_back_when_the_clock_does(ledger):
    kept = [
        ledger.append(act(n), now=now)[0].kept for n, now in enumerate([SIX, SIX + 5, SIX - HOUR, SIX + 3, SIX + 6], 1)
    ]

    assert [SIX, SIX + 5, SIX + 5, SIX + 5, SIX + 6] == kept


def test_kept_does_not_go_back_after_closing_either(path, ledger):
    ledger.append(act(1), now=SIX + 5)
    ledger.append(act(2, kind="spoiled"), now=SIX + HOUR)
    ledger.close()

    with Ledger.open(path, story.COARSE) as again:
        assert SIX + 5 == again.append(act(3), now=SIX)[0].kept


def test_a_kind_that_speaks_of_one_ballot_keeps_the_quarter_hour_only(ledger):
    (entry,) = ledger.append(act(kind="spoiled", at=SIX + 17 * 60_000 + 123), now=SIX + 31 * 60_000 + 456)

    assert (SIX + 15 * 60_000, SIX + 15 * 60_000, SIX + 30 * 60_000, 0) == (
        entry.made,
        entry.happened,
        entry.kept,
        entry.offset,
    )


@pytest.mark.parametrize("kind", ["correction", "countersigned"])
def test_what_speaks_of_such_an_entry_keeps_the_quarter_hour_only_and_a_second_time_over(ledger, kind):
    minute = SIX + 17 * 60_000 + 123
    spoiled, fine = ledger.append(act(1, kind="spoiled", at=minute), act(2, at=minute), now=minute)
    about = ledger.append(act(3, kind=kind, body={"of": 1}, at=minute), now=minute) + ledger.append(
        act(4, kind=kind, body={"of": 3}, at=minute), act(5, kind=kind, body={"of": 2}, at=minute), now=minute
    )

    assert [True, False, True, True, False] == [e.in_quarters for e in (spoiled, fine, *about)]
    assert minute == about[2].kept, "the clock goes on from the finest"


def test_a_number_that_is_no_earlier_entry_is_spoken_of_by_nobody(ledger):
    assert [ledger.rough("correction", {"of": of}) for of in (0, 1, -1, True, "1", None, 2**62)] == [False] * 7


def test_a_correction_that_was_kept_with_its_minute_is_still_the_same_claim(path):
    minute = SIX + 17 * 60_000 + 123
    with Ledger.create(path) as older:
        kept = older.append(
            act(1, kind="spoiled", at=SIX), act(2, kind="correction", body={"of": 1}, at=minute), now=minute
        )
    with Ledger.open(path, story.COARSE) as now:
        assert kept[1:] == now.append(act(2, kind="correction", body={"of": 1}, at=minute), now=minute + 5)
        assert minute == now.append(act(3), now=SIX)[0].kept


def test_a_coarse_kind_does_not_hold_up_the_clock_and_is_held_up_by_it(ledger):
    ledger.append(act(1), now=SIX + 20 * 60_000)

    assert SIX + 15 * 60_000 == ledger.append(act(2, kind="spoiled"), now=SIX)[0].kept
    assert SIX + 20 * 60_000 == ledger.append(act(3), now=SIX)[0].kept


def test_a_restore_begins_the_next_run(ledger):
    ledger.append(act(1), now=SIX)
    restored = ledger.append(act(2, kind="restored"), act(3), now=SIX)

    assert ([2, 2], 2) == ([entry.run for entry in restored], ledger.run)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (act(body={"hours": 1.5}), "a float has no place here"),
        (act(body={1: 2}), "keys are texts"),
        (act(body={"n": 2**64}), "does not fit 64 bits"),
        (act(kind=""), "names its kind and its tablet"),
        (act(tablet=""), "names its kind and its tablet"),
        (act(seq=-1), "seq and times from 0"),
        (act(seq=2**63), "fit 63 bits"),
        (act(at=-1), "seq and times from 0"),
        (act(at=1.5), "a float has no place here"),
        (act(signers=(VEGA, VEGA)), "one person signed the same entry twice"),
        (act(signers=(replace(VEGA, how="phone"),)), "by pin, desk or ink"),
        (act(signers=(replace(VEGA, person=""),)), "each signature names its person"),
        (Act(Claim(b"short", "reading", {}, SIX, "A", 1)), "16 bytes each"),
        (Act(Claim(id_of(1), "remark", {}, SIX, "A", 1, {"why": Text(b"salt", "torn")})), "a salt of 16 bytes"),
        (act(words={"why": "\ud83d"}), "half a character"),
        (act(body={"words": {}}, words={"why": "torn"}), "give them once"),
        (Act(act().claim, made=SIX, holder=7), "the entry's holder is a int"),
    ],
)
def test_what_a_record_cannot_hold_is_refused_in_a_sentence(ledger, wrong, says):
    with pytest.raises(RecordRefused, match=says):
        ledger.append(act(9), wrong, now=SIX)
    assert 0 == ledger.length


def test_a_long_record_takes_an_entry_in_as_few_steps_as_a_short_one(ledger):
    """Steps of SQLite's machine, counted by its progress handler: no trigger reads the record from end to end."""
    steps = []
    ledger._db.set_progress_handler(lambda: steps.append(1) and None, 10)

    def cost_of(n):
        steps.clear()
        ledger.append(act(n, words={"why": "torn"}), now=SIX)
        return len(steps)

    early = [cost_of(n) for n in range(1, 20)]
    ledger.append(*(act(n, words={"why": "torn"}) for n in range(100, 1100)), now=SIX)
    late = [cost_of(n) for n in range(1100, 1120)]

    assert max(late) <= 2 * max(early) > 0


def test_twenty_four_threads_get_each_number_once(ledger):
    kept, start = [], threading.Barrier(24)

    def tablet(name):
        start.wait()
        for line in range(1, 6):
            kept.extend(ledger.append(act(name * 100 + line, tablet=f"T{name}", seq=line), now=SIX))
            assert ledger.find(id_of(name * 100 + line)) is not None

    threads = [threading.Thread(target=tablet, args=(name,)) for name in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert list(range(1, 121)) == sorted(entry.number for entry in kept)
    assert [entry.id for entry in sorted(kept, key=lambda e: e.number)] == [entry.id for entry in ledger.entries()]


def test_two_tablets_racing_with_one_id_get_one_number(ledger):
    numbers, start = [], threading.Barrier(8)

    def send():
        start.wait()
        numbers.append(ledger.append(act(), now=SIX)[0].number)

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert ([1] * 8, 1) == (numbers, ledger.length)
