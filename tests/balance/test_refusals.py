"""What cannot be read is refused in one sentence that names the key; nothing foreign leaks through."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.balance.cast import CLEAN, night
from tests.matrix import examples
from webapp.precinct.balance.balance import Unreadable
from webapp.precinct.balance.figure_tabulators import MOST
from webapp.precinct.explain.explain import explained

REFUSED = {
    "more unused than there were": (night(stock={"received": 1400, "unused": 1401}), "stock.unused"),
    "more unused than were left after sending some away": (
        night(stock={"received": 1400, "sent": 500, "unused": 961}),
        "stock.unused",
    ),
    "more held back than unused": (night(stock__held_back=962), "stock.held_back"),
    "below zero": (night(stock__received=-1), "stock.received"),
    "true for a number": (night(poll_book=True), "poll_book"),
    "a broken number": (night(T1__tape=431.0), "tabulators[0].tape"),
    "text for a number": (night(T1__counter_at_close="431"), "tabulators[0].counter_at_close"),
    "a number without end": (night(poll_book=10**40), "poll_book"),
    "a kind without flags": (night(set_aside__voided=1), "set_aside.voided"),
    "cast set aside": (night(set_aside__cast=1), "set_aside.cast"),
    "a new kind with three flags": (
        night(dispositions=[{"id": "voided", "from_stock": True, "in_poll_book": False, "counted": False}]),
        "dispositions[0].in_bin",
    ),
    "a flag that is no yes or no": (
        night(dispositions=[{"id": "provisional", "in_poll_book": 1}]),
        "dispositions[0].in_poll_book",
    ),
    "a kind given twice": (night(dispositions=[{"id": "provisional"}, {"id": "provisional"}]), "dispositions"),
    "flags of cast": (night(dispositions=[{"id": "cast", "from_stock": False}]), "dispositions[0].id"),
    "an origin that is counted": (night(dispositions=[{"id": "card", "counted": True}]), "dispositions[0].counted"),
    "an unknown origin cast": (night(cast_from={"carton": 3}), "cast_from.carton"),
    "an unknown origin in a row": (
        night(set_aside={"spoiled": [{"origin": "carton", "n": 1}]}),
        "set_aside.spoiled[0].origin",
    ),
    "the paper stock as another pile": (night(other_stock={"paper": {}}), "other_stock.paper"),
    "an unknown pile": (night(other_stock={"carton": {}}), "other_stock.carton"),
    "an unknown kind included": (
        night(voters=[{"id": "slips", "n": 5, "includes": ["strangers"]}]),
        "voters[0].includes",
    ),
    "an unknown kind in a reading": (
        night(readings=[{"at": "09:00", "set_aside": {"lost": 1}}]),
        "readings[0].set_aside.lost",
    ),
    "an unknown part": ({**CLEAN, "weather": 1}, "weather"),
    "an unknown key inside a part": (night(stock__colour="red"), "stock.colour"),
    "an unknown key of a row": (night(poll_book=[{"precint": "P3", "n": 1}]), "poll_book[0].precint"),
    "an unknown rule": (night(rules={"overvotes": "marks"}), "rules.overvotes"),
    "a pack of no sheets": (night(rules={"pack": 0}), "rules.pack"),
    "a row without its number": (night(poll_book=[{"precinct": "P3"}]), "poll_book[0].n"),
    "sheet 0": (night(poll_book=[{"sheet": 0, "n": 1}]), "poll_book[0].sheet"),
    "no counts": (night(stock__unused={"counts": []}), "stock.unused.counts"),
    "the poll book twice": (night(voters=[{"id": "poll_book", "n": 1}]), "poll_book"),
    "more cancelled than checked in": (
        {"voters": [{"id": "poll_book", "n": 5, "cancelled": 6}]},
        "voters[0].cancelled",
    ),
    "two tabulators of one name": (night(tabulators=[{"id": "T1"}, {"id": "T1"}]), "tabulators"),
    "a tabulator without a name": (night(tabulators=[{"tape": 1}]), "tabulators[0].id"),
    "runs beside plain counters": (
        night(T1__runs=[{"unit": "A", "counter": [0, 431]}]),
        "tabulators[0].counter_at_zero",
    ),
    "a counter with three ends": (
        night(tabulators=[{"id": "T1", "runs": [{"counter": [0, 1, 2]}]}]),
        "tabulators[0].runs[0].counter",
    ),
    "the emergency bin among the bins": (night(T1__bins={"main": 431, "emergency": 0}), "tabulators[0].bins.emergency"),
    "fed again without a number": (night(T1__fed_again={"on": "T2"}), "tabulators[0].fed_again.n"),
    "stubs that run backwards": (night(stubs={"first": 440, "next": 1}), "stubs.next"),
    "a missing stub outside the numbers": (night(stubs__missing=[440]), "stubs.missing"),
    "a missing stub twice": (night(stubs__missing=[7, 7]), "stubs.missing"),
    "a pack without its count": (night(stock__packs=[{"nominal": 100}]), "stock.packs[0].counted"),
    "a contest for nobody": ({"contests": [{"id": "SEN", "n": 0}]}, "contests[0].n"),
    "a vote below zero": (
        {"contests": [{"id": "SEN", "n": 1, "tapes": {"T1": {"votes": {"A": -1}}}}]},
        "contests[0].tapes.T1.votes.A",
    ),
    "a list for an object": (night(stock=[1]), "stock"),
    "an object for a list": (night(tabulators={"id": "T1"}), "tabulators"),
    "a batch with one end": ({"board": {"batches": [{"id": "B1", "counter": [1]}]}}, "board.batches[0].counter"),
    "a day twice": ({"days": [{"id": "1"}, {"id": "1"}]}, "days"),
}


@pytest.mark.parametrize(("figures", "key"), REFUSED.values(), ids=REFUSED)
def test_a_refusal_is_one_sentence_that_names_the_key(figures, key):
    with pytest.raises(Unreadable) as refused:
        explained(figures)

    said = str(refused.value)
    assert said.startswith(key) and "\n" not in said and said.endswith(".")
    path, sentence = refused.value.path, refused.value.sentence
    assert said == (f"{path}: {sentence}" if path else sentence) and (path.startswith(key) or not path)


@pytest.mark.parametrize("figures", [None, [], 7, "night"])
def test_figures_that_are_no_object_are_refused(figures):
    with pytest.raises(Unreadable):
        explained(figures)


def test_null_means_not_there_yet_in_any_part():
    parts = (
        "rules",
        "dispositions",
        "stock",
        "other_stock",
        "stubs",
        "poll_book",
        "voters",
        "cast_from",
        "set_aside",
        "tabulators",
        "boxes",
        "containers",
        "contests",
        "seals",
        "seal_stock",
        "recounts",
        "days",
        "board",
        "readings",
    )

    assert explained(dict.fromkeys(parts)).as_json()["lines"] == []


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-3, 10**15)
    | st.floats(allow_nan=False)
    | st.sampled_from(["", "P3", "spoiled", "card", "T1"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["n", "id", "tape", "received", "unused", "spoiled", "counts", "main", "at"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=12,
)
PARTS = (
    "stock",
    "stubs",
    "poll_book",
    "voters",
    "set_aside",
    "cast_from",
    "tabulators",
    "boxes",
    "containers",
    "contests",
    "seals",
    "days",
    "board",
    "readings",
    "rules",
)


@settings(max_examples=examples(300), deadline=None)
@given(part=st.sampled_from(PARTS), value=JSON)
def test_any_json_in_any_part_ends_as_a_balance_or_as_a_refusal(part, value):
    try:
        found = explained({**CLEAN, part: value})
    except Unreadable as refused:
        assert str(refused).startswith(part) or part in str(refused)
    else:
        json.dumps(found.as_json())


def test_more_tabulators_than_any_place_has_are_refused_before_they_are_held_against_each_other():
    few, many = ({"tabulators": [{"id": f"T{n}", "tape": n} for n in range(count)]} for count in (MOST, MOST + 1))

    assert explained(few).unchecked
    with pytest.raises(Unreadable, match="tabulators lists 1,001; at most 1,000 are read"):
        explained(many)
