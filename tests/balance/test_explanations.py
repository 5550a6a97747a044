"""What a gap is consistent with: every code with the effect and the place of section 5 of the balance's page, ties, twins, what is ruled out.

The order is our judgement; only its first three ranks have a source (Michigan's state audit of 2017).
"""

import pytest

from tests.balance.cast import because, mistake, night
from webapp.precinct.explain.explain import explained

KINDS = {"spoiled": 2, "provisional": 5, "emergency": 6, "left": 1, "taken": 1}
SCANNED = night(set_aside=KINDS, poll_book=439, stock__unused=955, stubs__next=446)


def bent(base=SCANNED, **changes):
    """The night with figures moved by so much: stock, book, bins, stubs are the gaps that result."""
    figures = {
        **base,
        "stock": dict(base["stock"]),
        "stubs": dict(base["stubs"]),
        "tabulators": [dict(base["tabulators"][0])],
    }
    tabulator = figures["tabulators"][0] = {**figures["tabulators"][0], "bins": dict(base["tabulators"][0]["bins"])}
    moved = {"stock": 0, "stubs": 0, "bins": 0, "lifetime": 0, "counter": 0} | changes
    figures["stock"]["unused"] -= moved["stock"]
    figures["stubs"]["next"] += moved["stock"] + moved["stubs"]
    figures["poll_book"] += moved.pop("book", 0)
    tabulator["bins"]["main"] += moved["bins"]
    tabulator["counter_at_close"] += moved["counter"]
    tabulator["lifetime_at_close"] += moved["counter"] + moved["lifetime"]
    return figures


def first(figures):
    return because(figures)[0]


def test_the_cast_is_clean_and_silent():
    found = explained(SCANNED)

    assert found.balanced and found.explanations == () and found.ruled_out == ()


FIRST = {
    "spoiled not written down": (bent(stock=1), [mistake("unrecorded", disposition="spoiled", ballots=1)]),
    "voter not checked in": (bent(book=-1), [mistake("not-checked-in", ballots=1)]),
    "voter checked in twice": (bent(book=1), [mistake("checked-in-twice", ballots=1)]),
    "ballot left in the bin": (bent(bins=-1), [mistake("left-in-bin", tabulator="T1", ballots=1)]),
    "forty ballots left in the bin": (bent(bins=-40), [mistake("left-in-bin", tabulator="T1", ballots=40)]),
    "a stray sheet in the bin": (bent(bins=1), [mistake("miscounted", figure="main", tabulator="T1", by=1)]),
    "a jam fed twice": (bent(stock=-1, book=-1, bins=-1), [mistake("double-scan", tabulator="T1", ballots=1)]),
    "a jam dropped uncounted": (
        bent(stock=1, book=1, bins=1),
        [mistake("uncounted-in-bin", tabulator="T1", ballots=1)],
    ),
    "the write-in bin fed again": (
        bent(stock=-29, book=-29, bins=-29),
        [mistake("bin-fed-again", tabulator="T1", ballots=29)],
    ),
    "emergency ballots fed and still listed": (bent(stock=-6, book=-6), [mistake("emergency-scanned", ballots=6)]),
    "a second tape missing": (bent(stock=212, book=212), [mistake("tape-missing", ballots=212)]),
    "test ballots written as 0": (
        bent(stock=-7, book=-7, bins=-7, lifetime=-7),
        [mistake("zero-not-zero", tabulator="T1", ballots=7)],
    ),
    "the unused pile one too low": (bent(stock=1, stubs=-1), [mistake("miscounted", figure="unused", by=-1)]),
    "a delivery not logged": (bent(stock=-50, stubs=50), [mistake("resupply-unlogged", ballots=50)]),
    "a spoiled ballot with the unused": (bent(stubs=1), [mistake("spoiled-with-unused", ballots=1)]),
}


@pytest.mark.parametrize(("figures", "answer"), FIRST.values(), ids=FIRST)
def test_the_usual_cause_stands_first(figures, answer):
    assert first(figures) == answer


AMONG = {
    "a ballot taken": (bent(stock=1, book=1), [mistake("unrecorded", disposition="taken", ballots=1)]),
    "an emergency ballot not listed": (
        bent(stock=9, book=9),
        [mistake("unrecorded", disposition="emergency", ballots=9)],
    ),
    "a provisional fed": (bent(stock=-1, book=-1), [mistake("provisional-scanned", ballots=1)]),
    "a pack short": (bent(stock=2, stubs=-2), [mistake("short-pack", ballots=2)]),
    "a pack over": (bent(stock=-2, stubs=2), [mistake("over-pack", ballots=2)]),
    "a spoiled ballot listed twice": (bent(stock=-1), [mistake("recorded-twice", disposition="spoiled", ballots=1)]),
    "a taken ballot in the list of spoiled": (
        bent(book=1),
        [mistake("misfiled", from_="taken", to="spoiled", ballots=1)],
    ),
    "ballots received counted one too high": (
        bent(stock=1, stubs=-1),
        [mistake("miscounted", figure="received", by=1)],
    ),
    "two digits of the check-ins swapped": (bent(book=54), [mistake("miskeyed", figure="poll_book", likely=439)]),
    "the tape typed wrong": (
        {**SCANNED, "tabulators": [{**SCANNED["tabulators"][0], "tape": 413}]},
        [mistake("miskeyed", figure="tape", tabulator="T1", likely=431)],
    ),
    "the public counter typed wrong": (
        bent(counter=3, lifetime=-3),
        [mistake("miskeyed", figure="counter_at_close", tabulator="T1", likely=431)],
    ),
    "a digit of the protective counter misread": (
        bent(lifetime=500),
        [mistake("miskeyed", figure="lifetime_at_close", tabulator="T1", likely=9431)],
    ),
    "a main bin off by a bundle": (bent(bins=25), [mistake("miscounted", figure="main", tabulator="T1", by=25)]),
}


@pytest.mark.parametrize(("figures", "answer"), AMONG.values(), ids=AMONG)
def test_the_rarer_cause_is_among_the_answers(figures, answer):
    assert answer in because(figures)


def test_an_unknown_tape_is_named_with_its_tabulator_where_it_is_listed():
    figures = bent(stock=31, book=31)
    figures["tabulators"].append({"id": "T2"})

    assert first(figures) == [mistake("tape-missing", tabulator="T2", ballots=31)]


def test_test_ballots_written_as_they_were_show_on_the_counter():
    figures = bent(stock=-3, book=-3, bins=-3)
    figures["tabulators"][0] |= {"counter_at_zero": 3, "lifetime_at_close": 9428}

    assert first(figures) == [mistake("zero-not-zero", tabulator="T1", ballots=3)]


def test_cards_and_absentees_are_named_only_where_the_file_names_them():
    def codes(figures):
        return {item["code"] for answer in because(figures) for item in answer}

    assert not {"card-as-paper", "absentee-unmarked", "sent-unlogged"} & (
        codes(bent(stock=-1)) | codes(bent(book=-1)) | codes(bent(stock=1))
    )
    assert "card-as-paper" in codes({**bent(stock=-1), "cast_from": {"card": 0}})
    assert "absentee-unmarked" in codes({**bent(book=-1), "cast_from": {"absentee": 0}})
    sent = bent(stock=1)
    sent["stock"]["sent"] = 0
    assert "sent-unlogged" in codes({key: part for key, part in sent.items() if key != "stubs"})


def test_only_kinds_of_the_file_are_named():
    named = {
        value
        for answer in because(bent(stock=1))
        for item in answer
        for key, value in item.items()
        if key in ("disposition", "from", "to")
    }

    assert named <= set(KINDS)


def test_a_kind_of_the_place_is_named_with_the_effect_of_its_flags():
    figures = {
        **bent(stock=1, book=1),
        "dispositions": [{"id": "voided", "from_stock": True, "in_poll_book": True, "counted": False, "in_bin": False}],
    }

    assert [mistake("unrecorded", disposition="voided", ballots=1)] in because(figures)


def test_two_mistakes_are_found_together_and_no_third_is_looked_for():
    figures = bent(stock=1, bins=-2)
    answers = because(figures)

    assert answers[0] == [
        mistake("unrecorded", disposition="spoiled", ballots=1),
        mistake("left-in-bin", tabulator="T1", ballots=2),
    ]
    assert {len(answer) for answer in answers} == {2}


def test_three_mistakes_are_looked_for_only_where_no_two_add_up():
    figures = bent(stock=1, book=-1, bins=-2, lifetime=3)

    assert [
        mistake("unrecorded", disposition="spoiled", ballots=1),
        mistake("not-checked-in", ballots=1),
        mistake("left-in-bin", tabulator="T1", ballots=2),
    ] not in because(figures)
    assert {len(answer) for answer in because(bent(stock=1, bins=-2, lifetime=3))} == {3}


def test_the_order_is_by_cost_and_a_further_ballot_costs():
    answers = because(bent(stock=3))

    assert answers.index([mistake("unrecorded", disposition="spoiled", ballots=3)]) < answers.index(
        [mistake("unrecorded", disposition="provisional", ballots=3)]
    )


def test_a_large_number_of_one_ballot_mistakes_is_still_looked_for():
    assert [mistake("not-checked-in", ballots=17)] in because(bent(book=-17))


def test_at_most_ten_answers_and_five_where_there_are_five():
    for figures in (bent(stock=1), bent(book=1), bent(stock=-1, book=-1), bent(stubs=1)):
        assert 5 <= len(explained(figures).explanations) <= 10


def test_a_check_in_twice_and_a_voter_who_left_cannot_be_told_apart():
    one, other = explained(bent(book=1)).explanations[:2]

    assert [item.as_json()["because"] for item in (one, other)] == [
        [mistake("checked-in-twice", ballots=1)],
        [mistake("unrecorded", disposition="left", ballots=1)],
    ]
    assert (
        one.tie == other.tie == 1
        and "These figures cannot tell which." in one.says
        and "These figures cannot tell which." in other.says
    )


def test_a_taken_ballot_and_an_emergency_ballot_are_twins_even_at_unequal_cost():
    found = explained(bent(stock=3, book=3)).explanations
    ties = {str(item.as_json()["because"]): item.tie for item in found}

    assert (
        ties[str([mistake("unrecorded", disposition="taken", ballots=3)])]
        == ties[str([mistake("unrecorded", disposition="emergency", ballots=3)])]
    )


def test_an_emergency_ballot_fed_is_not_told_a_second_time_as_listed_twice():
    assert not any(
        item == mistake("recorded-twice", disposition="emergency", ballots=1)
        for answer in because(bent(stock=-1, book=-1))
        for item in answer
    )


def test_answers_of_one_cost_share_a_number_and_numbers_rise():
    for figures in (bent(stock=1), bent(stock=-1, book=-1), bent(bins=-1, book=1)):
        found = explained(figures).explanations
        ties = [item.tie for item in found]
        assert ties == sorted(ties) and ties[0] == 1 and set(ties) == set(range(1, ties[-1] + 1))
        for tie in set(ties):
            told = [item for item in found if item.tie == tie]
            assert all(("cannot tell which" in item.says) == (len(told) > 1) for item in told)


def test_no_answer_bends_one_figure_both_ways_or_names_a_mistake_twice():
    for figures in (bent(stock=1), bent(book=1), bent(stock=2, book=1), bent(bins=3)):
        for answer in because(figures):
            names = [
                tuple(value for key, value in item.items() if key not in ("ballots", "by", "likely")) for item in answer
            ]
            codes = {item["code"] for item in answer}
            assert len(set(names)) == len(names)
            assert not {"not-checked-in", "checked-in-twice"} <= codes and not {"left-in-bin", "strays-in-bin"} <= codes


def test_a_mistake_that_closes_one_line_and_not_another_is_ruled_out_by_that_line():
    found = [item.as_json() for item in explained(bent(stock=1)).ruled_out]
    one = next(item for item in found if item["code"] == "uncounted-in-bin")

    assert {key: one[key] for key in ("code", "tabulator", "ballots", "line")} == {
        "code": "uncounted-in-bin",
        "tabulator": "T1",
        "ballots": 1,
        "line": "poll-book",
    }
    assert one["says"].startswith("Not 1 ballot in the bin of T1")


def test_a_mistake_in_any_set_that_adds_up_is_never_ruled_out():
    """Without a count of the bins, an uncounted ballot and a voter not checked in give the same gap as a spoiled ballot not written down."""
    figures = bent(stock=1)
    del figures["tabulators"][0]["bins"]

    assert not any(item.as_json()["code"] == "uncounted-in-bin" for item in explained(figures).ruled_out)


def test_stubs_tell_a_short_pack_from_a_spoiled_ballot():
    ruled = {item.as_json()["code"] for item in explained(bent(stock=1)).ruled_out}
    unclear = {
        item.as_json()["code"]
        for item in explained({key: part for key, part in bent(stock=1).items() if key != "stubs"}).ruled_out
    }

    assert "short-pack" not in unclear
    assert [mistake("short-pack", ballots=1)] not in because(bent(stock=1))
    assert "uncounted-in-bin" in ruled


def test_an_explanation_is_never_called_a_finding_and_says_where_to_look():
    for item in explained(bent(stock=1, bins=-1)).explanations:
        assert item.says.startswith("Consistent with ") and item.look.endswith(".")


def test_scoped_mistakes_name_their_scope():
    figures = {
        "poll_book": [{"precinct": "P3", "n": 300}, {"precinct": "P4", "n": 131}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "P3", "n": 301}, {"precinct": "P4", "n": 131}]}],
    }

    assert first(figures) == [mistake("not-checked-in", ballots=1, scope={"precinct": "P3"})]


def test_two_precincts_off_the_same_way_are_two_mistakes():
    figures = {
        "poll_book": [{"precinct": "P3", "n": 300}, {"precinct": "P4", "n": 131}],
        "tabulators": [{"id": "T1", "tape": [{"precinct": "P3", "n": 301}, {"precinct": "P4", "n": 132}]}],
    }

    assert first(figures) == [
        mistake("not-checked-in", ballots=1, scope={"precinct": "P3"}),
        mistake("not-checked-in", ballots=1, scope={"precinct": "P4"}),
    ]


def test_without_a_tape_the_mistakes_of_paper_against_book_are_named():
    figures = bent(stock=1)
    del figures["tabulators"][0]["tape"]

    assert [line.id for line in explained(figures).gaps] == ["paper-to-book"]
    assert first(figures) in (
        [mistake("unrecorded", disposition="spoiled", ballots=1)],
        [mistake("not-checked-in", ballots=1)],
    )


def test_a_shared_box_has_its_own_name_in_what_is_left_in_it():
    tabulators = [{"id": "M0", "box": "X", "tape": 212}, {"id": "M1", "box": "X", "tape": 219}]

    assert first({"tabulators": tabulators, "boxes": [{"id": "X", "bins": {"main": 430}}]}) == [
        mistake("left-in-bin", tabulator="X", ballots=1)
    ]


def test_a_pile_of_copies_that_agrees_speaks_against_a_slip_in_their_number():
    """F2 of the simulated nights: 48 copies counted by hand out of 51 less 3; three voters not checked in are no slip in the 48."""
    aside = {"spoiled": 2, "hand-counted": [{"origin": "copy", "n": 48}]}
    figures = {
        "poll_book": 476,
        "set_aside": aside,
        "other_stock": {"copy": {"received": 51, "unused": 3}},
        "tabulators": [{"id": "T1", "tape": 431}],
    }
    without_pile = {key: part for key, part in figures.items() if key != "other_stock"}
    slip = mistake("miskeyed", figure="hand-counted", likely=45, scope={"origin": "copy"})

    assert [slip] in because(without_pile) and [slip] not in because(figures)
    assert any(
        item.as_json()["line"] == "stock"
        for item in explained(figures).ruled_out
        if item.mistake.get("figure") == "hand-counted"
    )


def test_a_pile_of_copies_that_is_off_is_explained_with_its_origin():
    figures = {
        "poll_book": 485,
        "set_aside": {"spoiled": 2, "hand-counted": [{"origin": "copy", "n": 53}]},
        "other_stock": {"copy": {"received": 60, "unused": 6}},
        "tabulators": [{"id": "T1", "tape": 431}],
    }

    assert because(figures)[0] == [
        mistake("unrecorded", disposition="hand-counted", ballots=1, scope={"origin": "copy"})
    ]
    figures["set_aside"]["hand-counted"][0]["n"], figures["other_stock"]["copy"]["unused"] = 54, 5
    assert because(figures)[0] == [mistake("miscounted", figure="unused", by=-1, scope={"origin": "copy"})]


def test_where_the_readings_saw_a_fall_two_opposite_events_may_stand_together():
    """D1 of the simulated nights; jams fed twice and jams dropped uncounted on one machine are the trade's own story (VA 2005)."""
    fell = [
        {"at": "09:00", "counter": 61, "poll_book": 63, "in_hand": 2},
        {"at": "12:00", "counter": 200, "poll_book": 202, "in_hand": 4},
    ]
    figures = {
        key: part for key, part in night(set_aside__taken=0, stock__unused=962, stubs__next=439, poll_book=430).items()
    }
    pair = [mistake("not-checked-in", ballots=2), mistake("checked-in-twice", ballots=1)]

    def codes(figures):
        return [[(item["code"], item.get("ballots")) for item in answer] for answer in because(figures)]

    assert [(item["code"], item["ballots"]) for item in pair] not in codes(figures)
    assert [(item["code"], item["ballots"]) for item in pair] in codes({**figures, "readings": fell})
