"""Seats and who may take them.

Sources (trade.md 1): sensitive tasks by two inspectors of different parties (MI-ED124); moderator and both assistant registrars, three signers of
two parties, for zero tape and close (Conn. Agencies Regs. 9-242a-9, -22, -27); up to two unenrolled inspectors on a board (950 CMR 52.01).
Which seats wait for whom when people sign out of order: common practice, no source.
"""

import pytest

from tests.people.conftest import CAST
from webapp.precinct.day import seats
from webapp.precinct.place.place import Official, Rules


def names(weight):
    return [seat.name for seat in seats.seats(weight)]


def refusal(day, weight, signed, person, about=""):
    return seats.refusal(
        weight,
        day.of(*signed.split()),
        day.people.official(person) or Official(person, person, "A", "inspector"),
        day.people,
        day.rules,
        about,
    )


def test_each_weight_names_its_seats():
    assert names("T") == []
    assert names("1") == ["any"]
    assert names("2") == ["any", "second"]
    assert names("P") == ["any", "other"]
    assert names("chair+other") == ["chair", "other"]
    assert names("chair+other+any") == ["chair", "other", "any"]
    assert names("each") == ["self"]


def test_seats_of_one_role_keep_names_of_their_own():
    assert names("inspector+inspector") == ["inspector", "inspector 2"]
    assert names("any+any+any") == ["any", "second", "third"]


def test_all_seats_everybody_who_works(sworn):
    assert [s.name for s in seats.seats("all", sworn.people.working())] == [o.id for o in CAST]


def test_a_list_with_a_hole_in_it_is_no_list_of_seats():
    with pytest.raises(ValueError, match="chair\\+other\\+any"):
        seats.seats("chair++other")


def test_two_of_one_party_do_not_make_a_pair(sworn):
    assert refusal(sworn, "P", "ruiz", "lind") == (
        "Cora Lind and Ana Ruiz count as one party here: the other signature is that of an official of another party."
    )
    assert refusal(sworn, "P", "ruiz", "okoye") is None


def test_any_two_sworn_officials_may_be_of_one_party_where_the_step_asks_for_two(sworn):
    assert refusal(sworn, "2", "ruiz", "lind") is None
    assert seats.complete("2", sworn.of("ruiz", "lind"), sworn.rules)


def test_nobody_signs_twice(sworn):
    assert refusal(sworn, "P", "ruiz", "ruiz") == "Ana Ruiz has signed already: the next signature is another person's."
    assert "signed already" in refusal(sworn, "2", "ruiz", "ruiz")


def test_who_is_unsworn_relieved_or_unknown_is_told_so(roll):
    day = roll().swear("ruiz", "okoye", "lind")
    day.tell("relief", "ruiz okoye", **{"out": "lind", "in": None})

    assert "has not taken the oath" in refusal(day, "1", "", "sato")
    assert "was relieved" in refusal(day, "1", "", "lind")
    assert "Nobody here goes by" in refusal(day, "1", "", "stranger")


def test_nothing_is_left_to_sign_once_every_seat_is_taken(sworn):
    assert "every seat is taken" in refusal(sworn, "P", "ruiz okoye", "sato")


def test_an_inspector_does_not_sit_in_the_chairs_seat(sworn):
    assert (
        refusal(sworn, "chair+other", "okoye", "sato")
        == "The open seat is for the chair: Dai Sato signs here as inspector."
    )


def test_the_witness_may_sign_before_the_chair(sworn):
    assert refusal(sworn, "chair+other", "", "okoye") is None
    assert refusal(sworn, "chair+other", "okoye", "ruiz") is None
    assert seats.complete("chair+other", sworn.of("okoye", "ruiz"), sworn.rules)


def test_the_chairs_own_party_cannot_take_the_other_seat_before_the_chair_signs(sworn):
    assert refusal(sworn, "chair+other", "", "lind") == (
        "Cora Lind and Ana Ruiz, the chair, count as one party here: an official of another party signs."
    )


def test_a_chair_who_has_left_keeps_no_seat_from_anybody(sworn):
    sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": None})

    assert refusal(sworn, "chair+other", "", "lind") is None


def test_three_seats_are_filled_in_any_order(sworn):
    for order in ("ruiz okoye lind", "lind okoye ruiz", "okoye lind ruiz", "lind ruiz okoye"):
        signed = []
        for person in order.split():
            assert refusal(sworn, "chair+other+any", " ".join(signed), person) is None, (order, person)
            signed.append(person)
        assert seats.complete("chair+other+any", sworn.of(*signed), sworn.rules)


def test_two_of_the_chairs_party_leave_the_other_seat_open(sworn):
    assert (
        seats.refusal(
            "chair+other+any",
            sworn.of("ruiz", "lind"),
            Official("gall", "Gus Gall", "A", "inspector"),
            sworn.people,
            sworn.rules,
        )
        is not None
    )
    assert [s.name for s in seats.unfilled("chair+other+any", sworn.of("ruiz", "lind"), sworn.rules)] == ["other"]


def test_a_third_person_of_any_party_completes_three_seats_only_with_the_chair(sworn):
    assert not seats.complete("chair+other+any", sworn.of("okoye", "sato", "vane"), sworn.rules)


def test_the_standin_of_the_chair_takes_the_chairs_seat(sworn):
    sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": "lind"})

    assert refusal(sworn, "chair+other", "okoye", "lind") is None


def test_everybody_who_works_signs_all_and_nobody_else(roll):
    day = roll().swear("ruiz", "okoye")

    assert not seats.complete("all", day.of("ruiz"), day.rules, day.people.working())
    assert seats.complete("all", day.of("ruiz", "okoye"), day.rules, day.people.working())
    assert not seats.complete("all", day.of("ruiz", "okoye"), day.rules)
    assert refusal(day, "all", "ruiz", "okoye") is None


def test_a_tick_needs_no_signature():
    assert seats.complete("T", (), Rules())


def test_nobody_vouches_for_themselves(sworn):
    assert (
        refusal(sworn, "P", "", "lind", about="lind")
        == "Cora Lind cannot vouch for themselves: two other officials, of different parties, do."
    )
    assert refusal(sworn, "P", "", "ruiz", about="lind") is None


def test_an_oath_is_signed_by_the_one_who_takes_it(sworn):
    assert "signed by the person it speaks of" in refusal(sworn, "each", "", "ruiz", about="lind")
    assert refusal(sworn, "each", "", "lind", about="lind") is None


def test_two_without_a_party_are_one_side_unless_the_place_file_says_otherwise(roll):
    plain, board = roll(), roll(different=(("A", "B"), ("U", "U")))

    assert not seats.different(*plain.of("sato", "vane"), plain.rules)
    assert seats.different(*board.of("sato", "vane"), board.rules)


def test_with_listed_pairs_only_those_pairs_count(roll):
    day = roll(different=(("A", "B"),)).swear("ruiz", "okoye", "sato")

    assert refusal(day, "P", "ruiz", "okoye") is None
    assert "count as one party here" in refusal(day, "P", "ruiz", "sato")


def test_a_pair_counts_both_ways_round(roll):
    day = roll(different=(("B", "A"),))

    assert seats.different(*day.of("ruiz", "okoye"), day.rules)
    assert seats.different(*day.of("okoye", "ruiz"), day.rules)


def test_nobody_is_of_another_party_than_themselves(roll):
    day = roll(different=(("U", "U"),))

    assert not seats.different(*day.of("sato", "sato"), day.rules)
