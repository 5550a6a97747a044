"""What an open batch is consistent with: each mistake by the gaps it leaves, its cost among the others, twins, groups, and the words."""

import pytest

from board.board_cast import batch, because, board, ferry_2, groups, mistake, open_lines
from webapp.board.batch_mistakes import CODES, COSTS
from webapp.board.batch_words import MISCOUNTED, WORDS


def first(figures):
    return because(figures)[0]


def alone(id="B2", ballots=25, counter=(25, 50), **keys):
    """A batch between two that agree."""
    return board(batch("B1", 25, (0, 25)), batch(id, ballots, counter, **keys), batch("B3", 25, (50, 75)))


def test_a_batch_one_short_of_its_envelopes_and_right_by_the_counter():
    """The worked batch: 25 envelopes, 24 ballots, none aside, counter 312 to 336."""
    figures = board(batch("B12", 24, (312, 336), envelopes=25))
    assert open_lines(figures) == {"batch-envelopes:B12": 1}
    assert because(figures)[:2] == [
        [mistake("left-in-envelope", "B12", ballots=1)],
        [mistake("empty-unlogged", "B12", ballots=1)],
    ]


def test_one_miscount_is_cheaper_than_two_mistakes():
    """The worked batch with the counter at 337: 25 written as 24."""
    figures = board(batch("B12", 24, (312, 337), envelopes=25))
    assert open_lines(figures) == {"batch-envelopes:B12": 1, "batch:B12": -1}
    assert first(figures) == [mistake("ballots-miscounted", "B12", by=-1)]


@pytest.mark.parametrize(
    ("figures", "expected"),
    [
        (alone(counter=(25, 50), ballots=26), mistake("aside-unlogged", "B2", ballots=1)),
        (alone(counter=(25, 50), ballots=23, envelopes=23), mistake("fed-twice", "B2", ballots=2)),
        (alone(counter=(25, 50), ballots=25, envelopes=25, aside=2), mistake("aside-fed", "B2", ballots=2)),
        (alone(counter=(25, 50), ballots=24, envelopes=24), mistake("header-counted", "B2")),
        (alone(envelopes=24), mistake("two-unlogged", "B2", ballots=1)),
        (alone(envelopes=26), mistake("envelopes-miscounted", "B2", by=1)),
        (alone(envelopes=50), mistake("envelopes-miscounted", "B2", by=25)),
        (alone(ballots=32, envelopes=32), mistake("not-fed", "B2", ballots=7)),
    ],
    ids=lambda value: value["code"] if "code" in value else "",
)
def test_a_mistake_is_among_the_first_three_answers_on_its_own_gap(figures, expected):
    assert [expected] in because(figures)[:3]


def test_a_counter_read_wrong_opens_two_batches_that_are_explained_together():
    """336 typed as 363: the batch has 27 too many, and the next begins 27 lower than the last ended."""
    figures = board(batch("B1", 24, (312, 363), envelopes=24), batch("B2", 25, (336, 361)))
    (group,) = groups(figures)
    assert group["ids"] == ["B1", "B2"]
    assert group["gaps"] == [
        {"line": "batch:B1", "gap": -27},
        {"line": "batch:B2", "scope": {"after": "B1"}, "gap": -27},
    ]
    assert group["explanations"][0]["because"] == [mistake("counter-misread", "B1", figure="after", likely=336)]
    assert (
        group["explanations"][0]["says"] == "Consistent with the counter after B1 read wrong: 336 should stand there."
    )


def test_a_batch_whose_own_counter_row_agrees_stands_alone():
    figures = board(batch("B1", 24, (0, 25)), batch("B2", 26, (25, 50)))
    assert [group["ids"] for group in groups(figures)] == [["B1"], ["B2"]]


def test_a_whole_batch_fed_twice_is_named_and_never_called_balanced():
    figures = board(batch("B1", 25, (612, 660), aside=1, envelopes=25))
    (group,) = groups(figures)
    answer = group["explanations"][0]
    assert answer["because"] == [mistake("batch-fed-twice", "B1", ballots=24)]
    assert "call the office: only its order takes the batch off the tape" in answer["look"]


def test_a_batch_fed_without_an_entry_and_one_fed_again_are_twins():
    figures = board(batch("B1", 25, (0, 25)), batch("B2", 25, (50, 75)))
    (group,) = groups(figures)
    told = [(found["tie"], found["because"]) for found in group["explanations"]]
    assert told[:2] == [
        (1, [mistake("batch-not-listed", "B2", ballots=25, after="B1")]),
        (1, [mistake("fed-again-later", "B2", of="B1", ballots=25)]),
    ]
    assert all(found["says"].endswith("These figures cannot tell which.") for found in group["explanations"][:2])


def test_of_several_batches_of_one_size_the_latest_is_named_as_fed_again():
    figures = board(batch("B1", 25, (0, 25)), batch("B2", 25, (25, 50)), batch("B3", 25, (75, 100)))
    assert [mistake("fed-again-later", "B3", of="B2", ballots=25)] in because(figures)


def test_two_entries_exchanged_close_every_counter_row_of_their_group():
    figures = board(
        batch("B1", 25, (0, 25)), batch("B2", 25, (50, 75)), batch("B3", 25, (25, 50)), batch("B4", 25, (75, 100))
    )
    assert [group["ids"] for group in groups(figures)] == [["B2", "B3", "B4"]]
    assert because(figures) == [[mistake("order", "B2", with_="B3")]]


def test_two_entries_exchanged_far_apart_are_named_in_both_groups():
    figures = board(
        *(batch("B1", 25, (0, 25)), batch("B2", 25, (100, 125)), batch("B3", 25, (50, 75)), batch("B4", 25, (75, 100))),
        *(batch("B5", 25, (25, 50)), batch("B6", 25, (125, 150))),
    )
    assert [group["ids"] for group in groups(figures)] == [["B2", "B3"], ["B5", "B6"]]
    assert [group["explanations"][0]["because"] for group in groups(figures)] == [
        [mistake("order", "B2", with_="B5")]
    ] * 2


def test_the_first_two_entries_exchanged_on_a_day_without_a_counter_at_zero():
    figures = board(batch("B1", 25, (25, 50)), batch("B2", 25, (0, 25)), batch("B3", 25, (50, 75)))
    assert first(figures) == [mistake("order", "B1", with_="B2")]


def test_a_counter_set_back_to_nothing():
    figures = board(batch("B1", 25, (0, 25)), batch("B2", 25, (0, 25)), batch("B3", 25, (25, 50)))
    assert first(figures) == [mistake("counter-reset", "B2")]


def test_ballots_fed_with_another_batch_are_told_at_both():
    figures = board(
        batch("B1", 25, (0, 22), envelopes=25),
        batch("B2", 25, (22, 47), envelopes=25),
        batch("B3", 25, (47, 75), envelopes=25),
        batch("B4", 25, (75, 100), envelopes=25),
    )
    one, other = groups(figures)
    strayed = [mistake("strayed", "B1", to="B3", ballots=3)]
    assert strayed in [found["because"] for found in one["explanations"]]
    assert strayed in [found["because"] for found in other["explanations"]]


def test_nothing_strays_to_a_batch_that_has_another_gap_besides():
    figures = board(batch("B1", 25, (0, 22), envelopes=25), batch("B3", 25, (22, 50), envelopes=26))
    assert not any(
        m["code"] == "strayed" for group in groups(figures) for found in group["explanations"] for m in found["because"]
    )


def test_two_mistakes_are_told_where_no_one_gives_the_gaps():
    figures = board(batch("B1", 24, (0, 22), envelopes=25), batch("B2", 25, (22, 47)))
    figures["tabulators"] = [{"id": "A1", "counter_at_zero": 0}]
    pair = [mistake("left-in-envelope", "B1", ballots=1), mistake("aside-unlogged", "B1", ballots=2)]
    assert pair in because(figures) and all(len(found) == 2 for found in because(figures))


def test_a_whole_batch_fed_twice_beside_a_miscount_has_its_true_size():
    """25 ballots written as 24, fed twice: 24 = 50 + 0 - 26."""
    figures = board(batch("B1", 24, (0, 50), envelopes=25))
    assert [mistake("ballots-miscounted", "B1", by=-1), mistake("batch-fed-twice", "B1", ballots=25)] in because(
        figures
    )


def test_gaps_that_no_one_or_two_usual_mistakes_give_have_no_answer():
    figures = board(batch("B1", 31, (0, 11), envelopes=47), batch("B2", 19, (333, 345)))
    (group,) = groups(figures)
    assert group["ids"] == ["B1", "B2"] and group["explanations"] == []


def test_no_explanation_takes_a_counter_below_nothing_or_backwards():
    for figures in (alone(counter=(20, 50)), alone(counter=(25, 57)), alone(counter=(52, 50))):
        for group in groups(figures):
            for found in group["explanations"]:
                for m in found["because"]:
                    assert m.get("likely", 0) >= 0


def test_at_most_five_answers_and_never_caused_by():
    for counter in ((25, 49), (25, 48), (25, 60), (26, 50), (0, 25), (25, 77)):
        for group in groups(alone(counter=counter, envelopes=26, aside=1)):
            assert len(group["explanations"]) <= 5
            for found in group["explanations"]:
                assert found["says"].startswith("Consistent with ") and "caused" not in found["says"] and found["look"]


def test_a_board_that_agrees_has_no_batches_in_its_answer():
    assert groups(ferry_2()) == []


def test_open_batches_never_change_what_is_balanced():
    from webapp.board.answer import answer

    figures = ferry_2(B012__aside=1)
    assert not answer(figures).balanced and [group["ids"] for group in groups(figures)] == [["B012"]]


def test_every_code_has_a_cost_and_its_words():
    assert set(CODES) == set(COSTS) == set(WORDS) | set(MISCOUNTED) | {"counter-misread"}
    assert len(CODES) == 17
