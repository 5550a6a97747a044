"""The rules of a place from paper, without a page: figures written and read back, a stored entry, and which of paper and packets counts."""

import json
import random
from pathlib import Path
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from demo_precinct import rehearsed_county
from tests.matrix import examples
from tests.office.test_what_counts import A, B, C, packet, ruling
from webapp.office.checking.what_counts import AGAINST, Aside, KeyedFromPaper, outcome
from webapp.office.keying import from_paper, paper_asks, paper_core, paper_leaf, paper_values
from webapp.packet import contents
from webapp.precinct.balance.balance import balance
from webapp.precinct.place import place_file
from webapp.record.entry import Signer

PLACE = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
STORED = json.loads((Path(__file__).parent / "stored" / "place_keyed.json").read_text(encoding="utf-8"))
NUMBERS = [one.name for one in paper_leaf.controls(PLACE) if one.kind == "number"]
P, Q = (bytes([n]) * 32 for n in (8, 9))


@settings(max_examples=examples(60), deadline=None)
@given(st.dictionaries(st.sampled_from(NUMBERS), st.integers(1, 400), min_size=1))
def test_every_line_that_is_written_into_a_core_is_read_back(values):
    core = paper_core.whole(paper_core.core_of(values, PLACE), PLACE, 0)
    back = paper_values.values_of(core, PLACE)
    other = {name: n for name, n in back.items() if values.get(name) != n and not name.startswith("box.")}
    # more ballots fed again than the earlier tape has: the desk asks about it, and a core has the tape's
    assert all(name.startswith("fed_again.") and name in paper_asks.asks(values, PLACE) for name in other), other
    alone = {name for name in values if name not in back}
    # a line that means nothing without another one: parts of an emergency bin, of a tape by precinct, of bins, of an earlier tape
    assert all(name.split(".")[0] in ("box", "tape", "bins", "fed_again", "book") for name in alone), alone


def test_the_desk_asks_about_more_fed_again_than_the_earlier_tape_has():
    at = PLACE.tabulators[0].id
    assert f"fed_again.{at}" not in paper_asks.asks({f"earlier.{at}": 12, f"fed_again.{at}": 12}, PLACE)
    said = paper_asks.asks({f"earlier.{at}": 12, f"fed_again.{at}": 21}, PLACE)[f"fed_again.{at}"]
    assert said.startswith(f"21 fed again, and the earlier tape of {at} has 12. Look again")
    assert f"the earlier tape of {at} has 0" in paper_asks.asks({f"fed_again.{at}": 1}, PLACE)[f"fed_again.{at}"]


def test_figures_that_contradict_each_other_still_draw_up(desk):
    """The demo's packet, line by line as its paper would show it: the same gaps over the whole place."""
    values = paper_values.values_of(desk.opened.core, PLACE)
    core = paper_core.whole(paper_core.core_of(values, PLACE), PLACE, 0)
    gaps = {line.name: line.gap for line in balance(contents.figures(core, PLACE)).gaps}
    sent = {line.name: line.gap for line in balance(contents.figures(desk.opened.core, PLACE)).gaps if not line.scope}
    assert gaps == sent
    assert from_paper.differences(core, desk.opened.core, PLACE) == []


def entry(body, number=88):
    signers = (Signer("calloway", "receiver", "M", "pin"), Signer("durand", "receiver", "P", "pin"))
    return SimpleNamespace(id=b"i" * 16, number=number, kept=1_793_762_000_000, body=body, signers=signers)


def test_a_stored_entry_is_read_for_good():
    body = STORED["body"] | {"place_digest": bytes(32)}
    keyed = from_paper.of_entry(entry(body), STORED["words"], PLACE)
    assert keyed.digest.hex() == STORED["digest"]
    assert paper_values.values_of(keyed.opened.core, PLACE) == STORED["values"]
    report = from_paper.report(keyed, PLACE)
    assert [[line.name, line.gap] for line in report.balance.gaps] == STORED["gaps"]
    assert [lack.name for lack in report.lacks] == STORED["lacks"]
    assert [row[3] for row in keyed.opened.remarks["remarks"]] == list(STORED["words"].values())


def test_the_lines_of_the_leaf_keep_their_names():
    assert [one.name for one in paper_leaf.controls(PLACE)][: len(STORED["leaf"])] == STORED["leaf"]


def keyed(digest=P, kept=5, id=b"k", amends=(), same=()):
    return KeyedFromPaper(kept, id, digest, tuple(amends), frozenset(same))


def test_the_paper_counts_before_a_packet_and_a_packet_that_says_the_same_for_it():
    assert outcome([], keyed=[keyed()]).digest == P and outcome([], keyed=[keyed()]).paper
    found = outcome([packet(A)], keyed=[keyed()])
    assert found.digest == P and found.against == (A,) and found.states == {A: AGAINST, P: "counts"}
    found = outcome([packet(A)], keyed=[keyed(same=[A])])
    assert found.digest == A and not found.paper and not found.contradicted
    found = outcome([packet(A), packet(B, 2, amends=A)], keyed=[keyed(same=[A])])
    assert found.digest == P and found.against == (B,)  # the amended one says otherwise


def test_an_unproven_packet_neither_stands_for_the_paper_nor_against_it():
    found = outcome([packet(A, proven=False)], keyed=[keyed(same=[A])])
    assert found.digest == P and found.held == (A,) and not found.contradicted


def test_r36_of_two_keyings_equal_ones_are_one_and_others_count_only_once_settled():
    assert outcome([], keyed=[keyed(), keyed(id=b"l")]).digest == P
    two = [keyed(), keyed(Q, id=b"l")]
    found = outcome([], keyed=two)
    assert found.digest is None and set(found.against) == {P, Q} and found.contradicted
    assert outcome([packet(A)], keyed=two).digest == A
    assert outcome([], [ruling(Q, against=[P])], keyed=two).digest == Q
    assert outcome([], keyed=[keyed(), keyed(Q, id=b"l", amends=[b"k"])]).digest == Q


def test_two_parties_settle_paper_against_packet_and_a_paper_set_aside_counts_for_nothing():
    found = outcome([packet(A)], [ruling(A, against=[P])], keyed=[keyed()])
    assert found.digest == A and not found.contradicted and not found.paper
    found = outcome([packet(A)], [ruling(P, against=[A])], keyed=[keyed()])
    assert found.digest == P and not found.contradicted
    newer = [keyed(), keyed(Q, id=b"l", amends=[b"k"])]
    assert outcome([packet(A)], [ruling(P, against=[A])], keyed=newer).digest == Q
    found = outcome([packet(A)], [], [Aside(9, b"s", P, True)], [keyed()])
    assert found.digest == A and not found.contradicted


def test_what_counts_of_papers_and_packets_is_a_function_of_the_set():
    """Three thousand drawn nights of packets, papers and entries, each shuffled: the same outcome, to the last state."""
    draw = random.Random(12)
    for _ in range(3000):
        packets = [
            packet(d, draw.randint(1, 3), draw.choice([None, *(A, B, C)[:i]]), draw.random() < 0.7, draw.randint(0, 2))
            for i, d in enumerate((A, B, C)[: draw.randint(0, 3)])
        ]
        papers = [
            keyed(
                draw.choice([P, Q]), draw.randint(0, 3), bytes([n + 1]), [bytes([n])] if draw.random() < 0.4 else (), ()
            )
            for n in range(draw.randint(1, 3))
        ]
        digests = [A, B, C, P, Q]
        rulings = [
            ruling(
                draw.choice(digests),
                draw.randint(0, 3),
                bytes([n]),
                draw.sample(digests, draw.randint(0, 4)),
                draw.random() < 0.5,
            )
            for n in range(draw.randint(0, 2))
        ]
        asides = [
            Aside(draw.randint(0, 3), bytes([n]), draw.choice(digests), draw.random() < 0.6)
            for n in range(draw.randint(0, 2))
        ]
        first = outcome(packets, rulings, asides, papers)
        for _ in range(3):
            for rows in (packets, rulings, asides, papers):
                draw.shuffle(rows)
            assert outcome(packets, rulings, asides, papers) == first
        out = {digest for digest, state in first.states.items() if state == "aside"}
        assert first.digest not in out
        if first.paper:
            assert first.digest in (P, Q)
