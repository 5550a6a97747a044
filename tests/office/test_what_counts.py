"""Which packet of a place counts: proven before unproven, two parties before the rule, and never the order of arrival."""

import random

import pytest

from webapp.office.checking.what_counts import AGAINST, ASIDE, COUNTS, HELD, REPLACED, Aside, Received, Ruling, outcome

A, B, C, D = (bytes([n]) * 32 for n in (1, 2, 3, 4))


def packet(digest, number=1, amends=None, proven=True, made=0):
    return Received(digest, number, made, amends, proven)


def ruling(digest, kept=10, id=b"r", against=(), tape=False):
    return Ruling(kept, id, digest, tuple(against), tape)


def test_of_nothing_nothing_counts():
    assert outcome([]).digest is None


def test_a_proven_packet_counts_and_the_one_that_amends_it_replaces_it():
    found = outcome([packet(A), packet(B, 2, amends=A)])
    assert found.digest == B and not found.contradicted and found.states == {A: REPLACED, B: COUNTS}


def test_an_unproven_packet_neither_amends_nor_outranks_a_proven_one():
    found = outcome([packet(A), packet(B, 9, amends=A, proven=False, made=99)])
    assert found.digest == A and found.held == (B,) and found.states == {A: COUNTS, B: HELD} and not found.contradicted


def test_an_unproven_packet_alone_counts_for_nothing_until_its_tape_was_compared_and_two_parties_signed():
    alone = [packet(A, proven=False)]
    assert outcome(alone).digest is None and outcome(alone).held == (A,)
    assert outcome(alone, [ruling(A)]).digest is None  # without the tape
    signed = outcome(alone, [ruling(A, tape=True)])
    assert signed.digest == A and not signed.proven and signed.held == ()


def test_a_proven_packet_that_amends_an_unproven_one_with_a_ruling_counts():
    assert outcome([packet(A, proven=False), packet(B, 2, amends=A)], [ruling(A, tape=True)]).digest == B


def test_a_proven_packet_that_comes_after_an_unproven_one_was_let_count_contradicts_it():
    found = outcome([packet(A, proven=False), packet(B, 2)], [ruling(A, tape=True)])
    assert found.digest == A and found.against == (B,)


@pytest.mark.parametrize(
    ("one", "other", "counts"),
    [
        (packet(A, 1), packet(B, 2), B),
        (packet(A, 2, made=5), packet(B, 2, made=4), A),
        (packet(A, 2, made=5), packet(B, 2, made=5), A),
    ],
)
def test_of_two_against_each_other_the_higher_number_counts_then_the_later_then_the_lower_digest_with_a_mark(
    one, other, counts
):
    for order in ([one, other], [other, one]):
        found = outcome(order)
        assert found.digest == counts and found.contradicted
        assert sorted(found.states.values()) == [AGAINST, COUNTS]


def test_r36_two_parties_settle_which_one_counts_and_a_third_that_comes_later_asks_again():
    two = [packet(A, 1), packet(B, 2)]
    settled = outcome(two, [ruling(A, against=[B])])
    assert settled.digest == A and not settled.contradicted and settled.states[B] == REPLACED
    third = outcome([*two, packet(C, 3)], [ruling(A, against=[B])])
    assert third.digest == A and third.against == (C,)
    amended = outcome([*two, packet(C, 3, amends=A)], [ruling(A, against=[B])])
    assert amended.digest == C and not amended.contradicted
    other_line = outcome([*two, packet(C, 3, amends=B)], [ruling(A, against=[B])])
    assert other_line.digest == A and other_line.against == (C,)


def test_the_newest_ruling_holds_and_of_one_moment_the_higher_id():
    two = [packet(A, 1), packet(B, 2)]
    assert outcome(two, [ruling(A, 10), ruling(B, 11)]).digest == B
    assert outcome(two, [ruling(A, 10, b"z"), ruling(B, 10, b"a")]).digest == A


def test_a_packet_set_aside_counts_for_nothing_and_comes_back():
    two = [packet(A, 1), packet(B, 2, amends=A)]
    aside = Aside(10, b"s", B, True)
    found = outcome(two, [], [aside])
    assert found.digest == A and found.states[B] == ASIDE and not found.contradicted
    assert outcome(two, [], [aside, Aside(11, b"t", B, False)]).digest == B
    assert outcome(two, [ruling(B)], [aside]).digest == A  # a ruling for a packet that is aside waits with it
    assert outcome([packet(A)], [], [Aside(10, b"s", A, True)]).digest is None


def test_what_counts_is_a_function_of_the_set_and_never_of_the_order():
    """Three thousand drawn nights of up to ten packets and entries, each shuffled: the same outcome, to the last state."""
    draw = random.Random(11)
    for _ in range(3000):
        digests = [bytes([n]) * 32 for n in range(draw.randint(1, 6))]
        packets = [
            packet(d, draw.randint(1, 3), draw.choice([None, *digests[:i]]), draw.random() < 0.7, draw.randint(0, 2))
            for i, d in enumerate(digests)
        ]
        entries = [
            ruling(
                draw.choice(digests),
                draw.randint(0, 3),
                bytes([n]),
                draw.sample(digests, draw.randint(0, len(digests))),
                draw.random() < 0.5,
            )
            for n in range(draw.randint(0, 3))
        ]
        asides = [
            Aside(draw.randint(0, 3), bytes([n]), draw.choice(digests), draw.random() < 0.6)
            for n in range(draw.randint(0, 3))
        ]
        first = outcome(packets, entries, asides)
        for _ in range(3):
            for rows in (packets, entries, asides):
                draw.shuffle(rows)
            assert outcome(packets, entries, asides) == first
        _holds(first, packets, entries, asides)


def _holds(found, packets, entries, asides):
    """What must be so of every outcome."""
    proven = {one.digest: one.proven for one in packets}
    if found.digest is not None:
        assert proven[found.digest] or any(one.digest == found.digest and one.tape for one in entries)
        assert found.states[found.digest] == COUNTS and list(found.states.values()).count(COUNTS) == 1
    assert all(proven[digest] for digest in found.against) and not any(proven[digest] for digest in found.held)
    out = {digest for digest, state in found.states.items() if state == ASIDE}
    if any(proven[digest] for digest in proven if digest not in out):
        assert found.digest is not None  # where a proven packet is, something counts
    assert set(found.states) == set(proven)
