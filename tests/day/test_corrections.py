"""A correction puts a new body in force and leaves the old one legible; a note taken back counts no more."""

READING = "09:00 hourly counter.T1 262 check_ins.P4 233 in_hand 7 by Calloway\n"
CORRECTED = (
    READING + '09:05 correct 1 counter.T1 226 check_ins.P4 233 in_hand 7 because "two digits swapped" by Vance, Renn\n'
)


def test_the_corrected_body_is_in_force(day_of):
    day = day_of(CORRECTED)

    assert 226 == day.last("hourly").body["counter"]["T1"]
    assert 1 == len(day.all("hourly"))
    assert 2 == day.last("hourly").corrected_by


def test_the_old_body_stays_with_who_struck_it_when_and_why(day_of):
    (struck,) = day_of(CORRECTED).last("hourly").struck

    assert 262 == struck.body["counter"]["T1"]
    assert ("Calloway",) == tuple(signer.person for signer in struck.signers)
    assert ("Vance", "Renn") == tuple(signer.person for signer in struck.who)
    assert "two digits swapped" == struck.why
    assert (1, 2) == (struck.said, struck.by)


def test_a_corrected_entry_keeps_its_number_and_its_time(day_of):
    kept = day_of(CORRECTED).last("hourly")

    assert 1 == kept.number
    assert day_of(READING).last("hourly").time == kept.time


def test_a_correction_of_a_correction_strikes_both(day_of):
    day = day_of(
        CORRECTED + '09:07 correct 2 counter.T1 228 check_ins.P4 233 in_hand 5 because "read again" by Vance, Renn'
    )

    assert 228 == day.last("hourly").body["counter"]["T1"]
    assert [262, 226] == [struck.body["counter"]["T1"] for struck in day.last("hourly").struck]
    assert [(1, 2), (2, 3)] == [(struck.said, struck.by) for struck in day.last("hourly").struck]


def test_a_correction_may_move_an_entry_to_another_tabulator(day_of):
    day = day_of(
        '05:30 zero-tape T1 public 0 by Calloway, Renn\n05:40 correct 1 at T2 public 0 because "the other one" by Calloway, Renn'
    )

    assert [] == day.all("zero-tape:T1")
    assert 1 == day.last("zero-tape:T2").number


def test_words_that_the_correction_leaves_alone_stay(day_of):
    day = day_of('10:00 incident why "lamp fell" n 1 by Renn')
    kept = day.last("incident")

    assert "lamp fell" == kept.word("why")


def test_a_note_taken_back_is_dropped_and_stays_legible(day_of):
    day = day_of("10:15 spoiled style 4A by Renn\n10:20 spoiled style 4A by Renn\n10:20 take back 2")

    assert [1] == [kept.number for kept in day.all("spoiled")]
    assert 3 == day.entry(2).taken_back


def test_correcting_a_note_taken_back_does_not_bring_it_back(day_of):
    day = day_of('10:15 spoiled style 4A by Renn\n10:15 take back 1\n10:20 correct 1 style 4A because "slip" by Renn')

    assert [] == day.all("spoiled")
    assert 1 == len(day.entry(1).struck)


def test_a_correction_of_an_entry_that_is_not_there_changes_nothing(day_of):
    day = day_of('10:15 spoiled style 4A by Renn\n10:20 correct 9 style 4A because "slip" by Renn')

    assert [1] == [kept.number for kept in day.all("spoiled")]
    assert 2 == day.length


def test_a_later_countersignature_is_shown_as_later(day_of):
    kept = day_of("05:30 zero-tape T1 public 0 by Calloway\n06:40 countersigned of 1 by Renn").last("zero-tape:T1")

    assert ("Calloway",) == tuple(signer.person for signer in kept.signers)
    assert ("Renn",) == tuple(signer.person for signer, _ in kept.later)


def test_a_correction_of_a_correction_of_a_relief_reaches_the_people(day_of):
    day = day_of("""
        06:00 oath person Renn row 1 by Renn
        06:00 oath person Pellow row 2 by Pellow
        12:00 relief out Renn by Calloway, Pellow
        12:01 correct 3 out Pellow because "the other one" by Calloway, Renn
        12:02 correct 4 out Renn because "no, as first written" by Calloway, Pellow
    """)

    assert {"Renn"} == set(day.people.relieved)
