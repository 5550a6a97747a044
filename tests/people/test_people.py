"""Who may sign, as the record tells it: oath first, nothing after leaving, walk-ins by two vouchers.

Sources: an officer is sworn before working, a replacement before stepping in (950 CMR 54.03, in trade.md 1 and 2). The rest is common practice, no source.
"""


def test_nobody_signs_before_the_oath(roll):
    day = roll()

    assert day.people.why_not("ruiz") == "Ana Ruiz has not taken the oath yet: do the step 'oath' first."
    assert day.people.working() == ()


def test_the_oath_itself_and_the_own_pin_are_signed_by_one_who_is_not_sworn_yet(roll):
    day = roll()

    assert day.people.why_not("ruiz", "oath") is None
    assert day.people.why_not("ruiz", "pin-set") is None
    assert day.people.why_not("ruiz", "zero-tape") is not None


def test_after_the_oath_a_person_signs_and_works(roll):
    day = roll().swear("ruiz")

    assert day.people.why_not("ruiz") is None
    assert day.people.working() == day.of("ruiz")
    assert day.people.sworn == {"ruiz": 1}


def test_a_person_works_from_the_moment_of_the_oath(roll):
    day = roll().swear("ruiz", minute=360).swear("okoye", minute=375)

    assert day.people.working(370 * 60_000) == day.of("ruiz")


def test_somebody_nobody_knows_is_told_how_a_walk_in_is_admitted(roll):
    assert "vouch for a walk-in" in roll().people.why_not("stranger")


def test_nobody_signs_after_leaving(sworn):
    number = sworn.tell("relief", "okoye sato", out="ruiz")

    assert sworn.people.why_not("ruiz") == (
        f"Ana Ruiz was relieved (entry {number}) and signs nothing more; "
        "on coming back, Ana Ruiz takes the oath again first."
    )
    assert "ruiz" not in [o.id for o in sworn.people.working()]
    assert sworn.people.relieved == {"ruiz": number}


def test_coming_back_takes_a_new_oath(sworn):
    sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": None})
    sworn.swear("ruiz")

    assert sworn.people.why_not("ruiz") is None
    assert sworn.people.relieved == {}


def test_relief_alone_makes_nobody_sworn(roll):
    day = roll().swear("ruiz", "okoye")
    day.tell("relief", "ruiz okoye", **{"out": None, "in": "sato"})

    assert "has not taken the oath" in day.people.why_not("sato")


def test_whoever_relieves_the_chair_takes_the_chairs_seat(sworn):
    sworn.tell("relief", "okoye lind", **{"out": "ruiz", "in": "lind"})

    assert sworn.people.official("lind").role == "chair"


def test_a_chair_who_stands_in_for_an_inspector_stays_the_chair(sworn):
    sworn.tell("relief", "okoye sato", **{"out": "lind", "in": "ruiz"})

    assert sworn.people.official("ruiz").role == "chair"


def test_the_seat_goes_back_when_the_chair_returns(sworn):
    sworn.tell("relief", "okoye lind", **{"out": "ruiz", "in": "lind"})
    sworn.swear("ruiz")
    sworn.tell("relief", "okoye lind", **{"out": "lind", "in": "ruiz"})

    assert sworn.people.official("ruiz").role == "chair"
    assert sworn.people.official("lind").role == "inspector"


def test_a_walk_in_is_known_by_the_name_party_and_role_two_people_vouched_for(sworn):
    number = sworn.tell(
        "vouched", "ruiz okoye", texts={"name": "Fay Oduya"}, person="W1", party="B", role="inspector", why="walk-in"
    )
    came = sworn.people.official("W1")

    assert (came.name, came.party, came.role) == ("Fay Oduya", "B", "inspector")
    assert sworn.people.walk_ins == (came,)
    assert "has not taken the oath" in sworn.people.why_not("W1")
    assert sworn.people.vouches[0].by == ("ruiz", "okoye") and sworn.people.vouches[0].entry == number


def test_a_walk_in_whose_name_is_withheld_is_shown_by_id(sworn):
    sworn.tell("vouched", "ruiz okoye", person="W1", party="B", role="inspector", why="walk-in")

    assert sworn.people.official("W1").name == "W1"


def test_a_voucher_cannot_replace_an_official_of_the_place_file(sworn):
    sworn.tell(
        "vouched", "ruiz okoye", texts={"name": "Somebody Else"}, person="lind", party="B", role="chair", why="walk-in"
    )

    assert sworn.people.official("lind").name == "Cora Lind"
    assert sworn.people.walk_ins == ()


def test_each_walk_in_gets_an_id_of_its_own(sworn):
    assert sworn.people.next_walk_in() == "W1"
    sworn.tell(
        "vouched", "ruiz okoye", texts={"name": "Fay Oduya"}, person="W1", party="B", role="inspector", why="walk-in"
    )
    assert sworn.people.next_walk_in() == "W2"


def test_lost_pins_and_resets_are_vouched_for_and_stay_legible(sworn):
    sworn.tell("vouched", "ruiz okoye", person="lind", party="A", role="inspector", why="lost-pin")
    sworn.tell("vouched", "ruiz okoye", person="lind", party="A", role="inspector", why="reset")

    assert [(v.person, v.why) for v in sworn.people.vouches] == [("lind", "lost-pin"), ("lind", "reset")]


def test_how_a_person_was_admitted_is_that_of_the_last_pin(sworn):
    sworn.tell("pin-set", "lind", person="lind", by="slip")
    sworn.tell("pin-set", "lind", person="lind", by="vouched")

    assert sworn.people.admitted == {"lind": "vouched"}


def test_arrivals_are_remembered_with_their_times(roll):
    day = roll()
    day.tell("arrivals", present={"ruiz": 5_400_000})
    day.tell("arrivals", present={"okoye": 5_460_000})

    assert day.people.present == {"ruiz": 5_400_000, "okoye": 5_460_000}


def test_a_correction_of_a_relief_moves_the_relief_to_the_right_person(sworn):
    number = sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": None})
    sworn.tell("correction", "okoye sato", of=number, body={"out": "lind", "in": None})

    assert sworn.people.why_not("ruiz") is None
    assert sworn.people.relieved == {"lind": number}


def test_a_correction_of_a_correction_reaches_the_first_entry(sworn):
    number = sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": None})
    second = sworn.tell("correction", "okoye sato", of=number, body={"out": "lind", "in": None})
    sworn.tell("correction", "okoye sato", of=second, body={"out": "vane", "in": None})

    assert sworn.people.relieved == {"vane": number}


def test_an_entry_taken_back_never_was(sworn):
    number = sworn.tell("relief", "okoye sato", **{"out": "ruiz", "in": None})
    sworn.tell("taken-back", of=number)

    assert sworn.people.why_not("ruiz") is None


def test_a_correction_of_something_else_is_no_matter_of_people(sworn):
    before = sworn.people.working()
    sworn.tell("correction", "okoye sato", of=999, body={"counter": 3})

    assert sworn.people.working() == before
