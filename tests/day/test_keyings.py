"""A blind first keying is left out of everything until the second stands; only who has keyed is told (950 CMR 54.06(5): read and recorded by two)."""

FIRST = "20:40 keying T1 of tape-typed figures.tape 431 by Calloway\n"
SECOND = "20:44 keying T1 of tape-typed figures.tape 413 by Renn\n"


def test_who_has_keyed_is_told(day_of):
    day = day_of(FIRST)

    assert ("Calloway",) == day.keyings.by("tape-typed:T1")
    assert ("tape-typed:T1",) == day.keyings.waiting()


def test_the_first_figures_are_nowhere_in_the_day(day_of):
    day = day_of(FIRST)

    assert () == day.keyings.open("tape-typed:T1")
    assert "431" not in repr((day.entries, day.kept))


def test_both_sets_lie_open_once_the_second_stands(day_of):
    first, second = day_of(FIRST + SECOND).keyings.open("tape-typed:T1")

    assert (431, 413) == (first.figures["tape"], second.figures["tape"])
    assert () == day_of(FIRST + SECOND).keyings.waiting()


def test_keying_again_before_the_second_replaces_ones_own_set(day_of):
    day = day_of(FIRST + "20:41 keying T1 of tape-typed figures.tape 432 by Calloway\n")

    assert ("Calloway",) == day.keyings.by("tape-typed:T1")
    assert () == day.keyings.open("tape-typed:T1")
    assert (
        432
        == day_of(FIRST + "20:41 keying T1 of tape-typed figures.tape 432 by Calloway\n" + SECOND)
        .keyings.open("tape-typed:T1")[0]
        .figures["tape"]
    )


def test_a_kept_step_ends_the_waiting(day_of):
    day = day_of(FIRST + "20:50 tape-typed T1 tape 431 by Calloway, Renn")

    assert () == day.keyings.waiting()
    assert 1 == len(day.keyings.open("tape-typed:T1"))


def test_keyings_of_two_tabulators_wait_apart(day_of):
    day = day_of(FIRST + SECOND.replace("T1 of", "of").replace("figures.tape", "at T2 figures.tape"))

    assert {"tape-typed:T1", "tape-typed:T2"} == set(day.keyings.waiting())


def test_the_list_of_entries_shows_the_figures_once_they_lie_open(day_of):
    day = day_of(FIRST + SECOND)

    assert [431, 413] == [kept.body["figures"]["tape"] for kept in day.entries]


def test_the_list_of_entries_shows_a_lone_set_once_the_step_is_kept(day_of):
    assert 431 == day_of(FIRST + "20:50 tape-typed T1 tape 431 by Calloway, Renn").entries[0].body["figures"]["tape"]


def test_words_of_a_waiting_set_wait_too(day_of):
    assert "worn ribbon" not in repr(day_of(FIRST.replace(" by", ' why "worn ribbon" by')).entries)
