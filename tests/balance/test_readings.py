"""The readings of the day: they tell answers apart, say between which hours a mistake showed, and never change whether it balances.

The interim rule (check-ins less counter less people between only rises) is computed in `trade.md` 3 from Connecticut's hourly count.
"""

from tests.balance.cast import night
from webapp.precinct.explain.explain import explained


def readings(*rows):
    return [{"at": at, "counter": counter, "poll_book": book, "in_hand": hand} for at, counter, book, hand in rows]


def calm(**changes):
    """Nobody took a ballot: nothing at all should rise or fall."""
    return night(**{"set_aside__taken": 0, "stock__unused": 962, "stubs__next": 439, "poll_book": 431, **changes})


QUIET = readings(("09:00", 61, 63, 2), ("12:00", 200, 204, 4), ("16:00", 330, 333, 2), ("19:00", 420, 424, 3))


def items(figures, code):
    return [
        item
        for answer in explained(figures).explanations
        for item in answer.as_json()["because"]
        if item["code"] == code and len(answer.because) == 1
    ]


def test_readings_are_no_line():
    assert explained(night(readings=QUIET)).as_json()["lines"] == explained(night()).as_json()["lines"]


def test_a_fall_by_one_says_between_which_readings_a_voter_was_not_checked_in():
    fell = readings(("09:00", 61, 63, 2), ("12:00", 200, 203, 4), ("16:00", 330, 331, 2), ("19:00", 420, 422, 3))

    assert items(calm(poll_book=430, readings=fell), "not-checked-in")[0]["between"] == ["09:00", "12:00"]


def test_the_hours_of_an_explanation_are_said_by_the_clock_asked_for_and_stored_as_they_are():
    fell = readings(("09:00", 61, 63, 2), ("12:00", 200, 203, 4), ("16:00", 330, 331, 2), ("19:00", 420, 422, 3))
    figures = calm(poll_book=430, readings=fell)
    says = {hours: [one.says for one in explained(figures, hours).explanations] for hours in (12, 24)}

    assert any("between 09:00 and 12:00" in said for said in says[24])
    assert any("between 9:00 am and 12:00 pm" in said for said in says[12]) and "09:00" not in str(says[12])
    because = {
        hours: [one.as_json()["because"] for one in explained(figures, hours).explanations] for hours in (12, 24)
    }
    assert because[12] == because[24]


def test_a_fall_before_the_first_reading_has_no_reading_without_it():
    fell = readings(("09:00", 61, 62, 2), ("12:00", 200, 203, 4))

    assert items(calm(poll_book=430, readings=fell), "not-checked-in")[0]["between"] == [None, "09:00"]


def test_a_fall_after_the_last_reading_ends_at_the_close():
    steady = readings(("09:00", 61, 63, 2), ("12:00", 200, 204, 4))

    assert items(calm(poll_book=430, readings=steady), "not-checked-in")[0]["between"] == ["12:00", None]


def test_a_fall_that_another_rise_could_hide_has_no_hours():
    """One ballot was taken in the day too: the residue may have risen and fallen within an hour."""
    level = readings(("09:00", 61, 63, 2), ("12:00", 200, 204, 4), ("16:00", 330, 332, 2))
    found = items(night(poll_book=431, readings=level), "not-checked-in")

    assert found and "between" not in found[0]


def test_a_rise_is_timed_where_nothing_else_rises():
    rose = readings(("09:00", 61, 63, 2), ("12:00", 200, 205, 4), ("16:00", 330, 333, 2))

    assert items(calm(poll_book=432, readings=rose), "checked-in-twice")[0]["between"] == ["09:00", "12:00"]


def test_a_rise_is_timed_beside_others_where_the_set_aside_counts_were_read_too():
    rows = [
        {"at": "09:00", "counter": 61, "poll_book": 63, "in_hand": 2, "set_aside": {"taken": 0}},
        {"at": "12:00", "counter": 200, "poll_book": 205, "in_hand": 4, "set_aside": {"taken": 0}},
        {"at": "16:00", "counter": 330, "poll_book": 334, "in_hand": 2, "set_aside": {"taken": 1}},
    ]

    assert items(night(poll_book=433, readings=rows), "checked-in-twice")[0]["between"] == ["09:00", "12:00"]


def test_an_answer_the_readings_contradict_comes_after_all_they_do_not():
    """A fall that was seen leaves only what makes a fall."""
    fell = readings(("09:00", 61, 63, 2), ("12:00", 200, 203, 4), ("16:00", 330, 331, 2))
    found = explained(calm(poll_book=430, readings=fell)).explanations
    against = ["speak against" in item.says for item in found]

    assert against == sorted(against)

    assert found[0].as_json()["because"][0]["code"] == "not-checked-in"
    assert all(("speak against" in item.says) != any(m.family.drift < 0 for m in item.because) for item in found)


def test_a_counter_that_did_not_start_at_zero_is_a_fall_before_the_first_reading():
    low = readings(("09:00", 68, 63, 2), ("12:00", 207, 204, 4))
    figures = night(
        readings=low, T1__bins={"main": 431}, T1__tape=438, T1__counter_at_close=438, T1__lifetime_at_close=9431
    )

    assert items(figures, "zero-not-zero")[0]["between"] == [None, "09:00"]


def test_absentees_fed_at_the_close_are_a_lawful_fall():
    """W1 of the simulated nights: 30 absentees make the counter jump without check-ins, and no answer is blamed for it."""
    figures = night(
        cast_from={"absentee": 30},
        T1__tape=461,
        T1__counter_at_close=461,
        T1__lifetime_at_close=9461,
        T1__bins={"main": 461},
        poll_book=433,
        readings=QUIET,
    )

    assert "speak against" not in explained(figures).explanations[0].says


def test_a_missing_tape_is_not_contradicted_by_counters_that_were_read():
    """W2: with a tabulator not listed the closing counter lies below the last reading; only its missing tape fits that."""
    figures = night(
        T1__tape=400, T1__counter_at_close=400, T1__lifetime_at_close=9400, T1__bins={"main": 400}, readings=QUIET
    )
    found = explained(figures).explanations

    assert (
        found[0].as_json()["because"] == [{"code": "tape-missing", "ballots": 31}]
        and "speak against" not in found[0].says
    )
    assert all(
        "speak against" in item.says for item in found[1:] if "tape-missing" not in {m.code for m in item.because}
    )


def test_a_book_that_ran_backwards_at_the_close_was_typed_wrong():
    figures = night(poll_book=342, readings=QUIET)
    found = explained(figures).explanations

    assert found[0].as_json()["because"] == [{"code": "miskeyed", "figure": "poll_book", "likely": 432}]


def test_a_reading_that_runs_backwards_is_believed_no_more_than_the_one_before_it():
    wild = readings(("09:00", 61, 63, 2), ("12:00", 900, 904, 4), ("16:00", 330, 333, 2), ("19:00", 420, 424, 3))

    assert (
        "speak against" not in explained(night(stock__unused=960, stubs__next=441, readings=wild)).explanations[0].says
    )


def test_readings_in_any_order_give_the_same_answers():
    figures = night(poll_book=430, readings=QUIET)

    assert explained(figures).as_json() == explained({**figures, "readings": QUIET[::-1]}).as_json()


def fed_at_the_close(*aside):
    """Two ballots waited in the emergency bin from noon and were fed after the close; one check-in too many at four. `aside`: what each reading recorded."""
    rows = readings(("09:00", 61, 63, 2), ("12:00", 200, 206, 4), ("16:00", 330, 335, 2))
    told = [
        {**row, **({"set_aside": {"emergency": n}} if n is not None else {})}
        for row, n in zip(rows, aside, strict=True)
    ]
    box = [{"id": "X", "emergency": {"found": 2, "fed": 2, "hand_counted": 0, "left": 0}}]
    return items(calm(poll_book=432, readings=told, boxes=box), "checked-in-twice")


def test_emergency_ballots_that_waited_at_one_reading_and_were_fed_by_the_next_hide_no_hour():
    assert fed_at_the_close(0, 2, 2)[0]["between"] == ["12:00", "16:00"]


def test_emergency_ballots_that_no_reading_recorded_may_hide_the_hour():
    assert "between" not in fed_at_the_close(None, None, None)[0]
    assert "between" not in fed_at_the_close(0, 1, 1)[0]
