"""Every malformed figure of a board ends in one sentence that names the key and says what to write."""

import json
from copy import deepcopy

import pytest

from board.board_cast import FERRY_2, ferry_2
from webapp.board.answer import answer
from webapp.commands import main
from webapp.precinct.balance.balance import Unreadable

REFUSED = {
    "an id twice": (ferry_2(B002__id="B001"), "board.batches: B001 is here twice: a batch id is used once."),
    "an unknown key": (ferry_2(envelope_numbers=[1]), "board.envelope_numbers: this key is not known."),
    "an unknown key of a batch": (ferry_2(B001__size=25), "board.batches[0].size: this key is not known."),
    "an unknown kind": (ferry_2(B001__kind="second"), "board.batches[0].kind: write one of first, duplicates, again."),
    "one end of a counter": (ferry_2(B001__counter=[0]), "board.batches[0].counter: write two figures here, before and after the batch."),
    "a counter below zero": (ferry_2(B001__counter=[0, -1]), "board.batches[0].counter[1]: -1 is below zero; write a whole number, 0 or more."),
    "envelopes of duplicates": (ferry_2(D001__envelopes=5), "board.batches[19].envelopes: a batch of kind duplicates holds ballots that were opened before"),
    "two precincts said twice": (ferry_2(B001__ballots=[{"precinct": "F3", "n": 25}]), "board.batches[0].precinct: give one precinct for the whole batch"),
    "a row by style": (ferry_2(list=[{"style": "2A", "n": 3}]), "board.list[0].style: this key is not known."),
    "a row without its number": (ferry_2(list=[{"precinct": "F2"}]), "board.list[0].n: each row needs its number n."),
    "an unknown outcome": (ferry_2(problems={"thrown-away": 1}), "board.problems.thrown-away: this key is not known."),
    "words for a number": (ferry_2(envelopes__empty="two"), "board.envelopes.empty: write a whole number in digits"),
    "half a ballot": (ferry_2(B001__aside=0.5), "board.batches[0].aside: write a whole number in digits"),
    "a serial before the first": (ferry_2(serials={"first": 9, "next": 7}), "board.serials.next: 7 comes before the first serial 9"),
    "more void than given out": (ferry_2(serials={"first": 1, "next": 3, "void": 3}), "board.serials.void: 3 serials void, and only 2 were given out"),
    "moved to where it was": (ferry_2(moved=[{"from": "F2", "to": "F2", "n": 1}]), "board.moved[0].to: F2 is the precinct it came from"),
    "moved from nowhere": (ferry_2(moved=[{"to": "F2", "n": 1}]), "board.moved[0].from: write a name in quotes here"),
    "batches that are no list": (ferry_2(batches={}), "board.batches: write a list [...] here"),
    "a batch that is no object": (ferry_2(batches=[7]), "board.batches[0]: write an object {...} here, not 7."),
    "a batch without an id": (ferry_2(batches=[{"ballots": 25}]), "board.batches[0].id: write a name in quotes here"),
    "sleeves below nothing": ({"days": [{"id": "1", "sleeves_end": -1}]}, "days[0].sleeves_end: -1 is below zero"),
}  # fmt: skip


@pytest.mark.parametrize(("figures", "sentence"), REFUSED.values(), ids=REFUSED)
def test_a_malformed_board_is_refused_by_one_sentence_that_names_the_key(figures, sentence):
    with pytest.raises(Unreadable) as refusal:
        answer(figures)
    assert str(refusal.value).startswith(sentence) and str(refusal.value).endswith(".")


def test_nulls_count_as_not_there():
    figures = deepcopy(FERRY_2)
    figures["board"] |= {"moved": None, "list": None}
    figures["board"]["batches"][0] |= {"kind": None, "extra": None}
    assert answer(figures).balanced


@pytest.fixture
def drawn(tmp_path, capsys):
    """The command on these figures: its exit code, what it printed, and what it said aside."""

    def run(*figures, json_too=True):
        paths = []
        for number, one in enumerate(figures):
            paths.append(tmp_path / f"{number}.json")
            paths[-1].write_text(json.dumps(one), encoding="utf-8")
        code = main(["balance", *map(str, paths), *(["--json"] if json_too else [])])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


def test_the_command_answers_for_a_board_with_its_open_batches(drawn):
    code, out, _ = drawn(FERRY_2, ferry_2(B012__aside=1))
    agreeing, open_one = map(json.loads, out.splitlines())
    assert code == 1 and agreeing["balanced"] and agreeing["complete"] and "batches" not in agreeing
    assert [group["ids"] for group in open_one["batches"]] == [["B012"]]
    assert list(open_one) == [
        "balanced",
        "complete",
        "lines",
        "unchecked",
        "explanations",
        "ruled_out",
        "batches",
        "ms",
    ]


def test_the_command_says_in_words_what_a_batch_is_consistent_with(drawn):
    code, out, _ = drawn(ferry_2(B012__aside=1), json_too=False)
    assert code == 1
    assert (
        "  B012:\n    1. Consistent with 1 ballot of B012 listed as set aside and fed all the same." in out
        or "B012:" in out
    )
    assert "Compare the list of ballots set aside from B012 with those that are still in the tray." in out


def test_the_command_refuses_a_batch_id_used_twice_and_answers_the_next_file(drawn):
    code, out, err = drawn(ferry_2(B002__id="B001"), FERRY_2)
    assert code == 2 and "B001 is here twice: a batch id is used once." in err
    assert json.loads(out.splitlines()[0]) == {"error": "board.batches: B001 is here twice: a batch id is used once."}
    assert json.loads(out.splitlines()[1])["balanced"]
