"""Tapes typed at a test against the deck: rounds, sums, what the answers of each step must be, ticks of ballots."""

from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from checklist.cast import LINDEN, Day
from webapp.deck import step_checks
from webapp.deck.deck import build
from webapp.deck.plan import plan
from webapp.deck.ticked_rows import TickedRows, ballots, ticked
from webapp.deck.typed_tapes import Round

TEST = replace(LINDEN, kind="test", steps=())
DECK = build(plan(TEST))


def typed(tabulator: str, **changes: int) -> dict[str, Any]:
    """A body of `tape-typed` as the chart has it, with some figures otherwise: GOV_A=3."""
    tape = DECK.expected[tabulator]
    contests = {c: {**row, "votes": dict(row["votes"])} for c, row in tape["contests"].items()}
    for name, figure in changes.items():
        contest, _, choice = name.partition("_")
        contests[contest]["votes"][choice] = figure
    return {"public": tape["ballots"], "lifetime": 9100, "ballots": dict(tape["precincts"]), "contests": contests}


def now(**tapes: dict[str, Any]) -> Round:
    day = Day(TEST, "10:00")
    for tabulator, body in tapes.items():
        day.keep("tape-typed", tabulator, **body)
    return Round(TEST, day, DECK)


def wrong(one: Round, step: str, at: str = "", **body: Any) -> dict[str, str]:
    return step_checks.wrong(one, step, at, body, lambda: 211)


def test_a_tape_as_the_chart_has_it_agrees_in_every_figure():
    found = now(T1=typed("T1")).compared("T1")

    assert found.equal and not found.missing and len(found.compared) == len(DECK.cells["T1"])


def test_a_figure_that_differs_stands_in_the_body_and_holds_the_step():
    wanted = DECK.expected["T1"]["contests"]["GOV"]["votes"]["A"]
    one = now(T1=typed("T1", GOV_A=wanted + 1))

    body = step_checks.worked_out(one, "compared", "T1", {})
    assert body["differ"] == [
        {"tabulator": "T1", "contest": "GOV", "cell": "A", "expected": wanted, "typed": wanted + 1}
    ]
    assert "1 figure differs" in wrong(one, "compared", "T1", **body)["not_so"]
    assert wrong(one, "compared", "T1", **body, not_so={"found": True}) == {}


def test_a_figure_that_was_not_typed_is_missing_and_holds_the_step():
    body = typed("T1")
    del body["contests"]["GOV"]["under"]
    one = now(T1=body)

    assert step_checks.worked_out(one, "compared", "T1", {})["missing"] == [{"contest": "GOV", "cell": "under"}]
    assert "1 figure was not typed" in wrong(one, "compared", "T1")["not_so"]


def test_what_was_typed_before_a_change_is_not_compared():
    one = now(T1=typed("T1"))
    one.day.keep("changed", part="program")

    assert one.compared("T1") is None and one.number == 2
    assert "not typed in this round" in wrong(one, "compared", "T1")[""]


def test_the_sums_are_those_of_the_tabulators_that_were_tested():
    """One that stays shut was fed nothing; together is then the sum of the others."""
    one = now()
    whole = DECK.expected["together"]["ballots"]
    assert wrong(one, "sums", ballots=whole, contests={}) == {}
    assert str(whole) in wrong(one, "sums", ballots=whole - 1, contests={})["ballots"]

    one.day.keep("zero-tape", "T2", not_so=True)
    assert wrong(one, "sums", ballots=DECK.expected["T1"]["ballots"], contests={}) == {}
    one.day.keep("zero-tape", "T1", not_so=True)
    assert "No tabulator was tested" in wrong(one, "sums", ballots=0, contests={})[""]


def test_a_memory_read_in_twice_and_one_not_at_all_are_named_on_the_sums():
    """The sums alone show it: T2 was fed one ballot more than T1, so that the report differs by one ballot."""
    tapes = {t: DECK.expected[t] for t in ("T1", "T2")}
    twice = {
        "ballots": 2 * tapes["T2"]["ballots"],
        "contests": {c: _twice(row) for c, row in tapes["T2"]["contests"].items()},
    }
    said = wrong(now(), "sums", **twice)[""]
    assert said.startswith("Consistent with the memory of T2 loaded twice and that of T1 not at all.")

    alone = {"ballots": tapes["T1"]["ballots"], "contests": tapes["T1"]["contests"]}
    assert "T2" in wrong(now(), "sums", **alone)[""] and "not loaded" in wrong(now(), "sums", **alone)[""]
    none = {"ballots": 3, "contests": {}}
    assert "No single fault gives these sums" in wrong(now(), "sums", **none)[""]


def _twice(row):
    return {key: _twice(value) if isinstance(value, dict) else 2 * value for key, value in row.items()}


def test_a_figure_of_the_sums_leads_to_its_control():
    row = {**DECK.expected["together"]["contests"]["GOV"]}
    row["votes"] = {**row["votes"], "A": row["votes"]["A"] + 1}
    found = wrong(now(), "sums", ballots=DECK.expected["together"]["ballots"], contests={"GOV": row})

    assert list(found) == ["", "contests.GOV.votes.A"]


COUNTED = len(ballots(DECK))
BAD = {
    "a sheet of another edition": ("deck-made", "", {"rows": len(DECK.rows) - 1, "faults": 211}, "rows"),
    "faults of another deck": ("deck-made", "", {"rows": len(DECK.rows), "faults": 9}, "faults"),
    "a ballot not marked": ("marked", "", {"rows": COUNTED - 1}, "rows"),
    "a ballot not checked": ("marks-checked", "", {"rows": COUNTED - 1, "differing": 0}, "rows"),
    "more wrong than checked": ("marks-checked", "", {"rows": COUNTED, "differing": COUNTED + 1}, "differing"),
    "no row by the device": ("device-marked", "", {"rows": 0}, "rows"),
    "a ballot not fed": ("deck-fed", "T1", {"rows": DECK.feeds["T1"].ballots + 2, "counter": DECK.feeds["T1"].ballots}, "rows"),
    "a counter that is behind": ("deck-fed", "T2", {"rows": DECK.feeds["T2"].ballots + 3, "counter": 3}, "counter"),
    "a ballot that is missing": ("deck-away", "", {"rows": len(DECK.rows) - 1, "until": "2028-11-03"}, "rows"),
    "a day that is none": ("deck-away", "", {"rows": len(DECK.rows), "until": "2028-13-03"}, "until"),
    "a day before the election": ("deck-away", "", {"rows": len(DECK.rows), "until": "2026-10-03"}, "until"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_an_answer_that_is_not_the_decks_is_one_sentence_at_its_control(case):
    step, at, body, name = BAD[case]
    found = wrong(now(), step, at, **body)

    assert list(found) == [name] and found[name].endswith(".")


def test_a_protective_counter_never_runs_back_over_the_test():
    assert "lifetime" in wrong(now(T1=typed("T1")), "zeroed", "T1", lifetime=9099)
    assert wrong(now(T1=typed("T1")), "zeroed", "T1", lifetime=9100) == {}


def test_ballots_of_observers_that_do_not_agree_hold_the_certificate():
    one = now()
    one.day.keep("own-ballots", not_so=True, ballots=12)
    assert "observers" in wrong(one, "certificate")["not_so"]


@dataclass
class Ticking:
    body: dict
    holder: str
    tablet: str = "A"
    number: int = field(default=1)


def told(*rows: tuple[str, str, list[str]]) -> TickedRows:
    return ticked([Ticking({"what": what, "rows": ids}, who) for who, what, ids in rows])


def test_whoever_marked_a_ballot_does_not_check_it():
    found = told(("renn", "marked", ["1", "2"]))

    assert "same person" in found.refusal("checked", ["1"], "renn")
    assert found.refusal("checked", ["1"], "vance") == ""
    assert "not ticked as marked" in found.refusal("checked", ["3"], "vance")
    assert "at least one" in found.refusal("marked", [], "renn")


def test_a_ballot_made_anew_loses_both_ticks():
    found = told(("renn", "marked", ["1", "2"]), ("vance", "checked", ["1", "2"]), ("vance", "again", ["2"]))

    assert set(found.marked) == set(found.checked) == {"1"}


def test_whoever_ticks_one_ballot_ticks_them_all_before_the_step_is_signed():
    one = now()
    one.day.kept["rows-ticked"] = [Ticking({"what": "marked", "rows": [ballots(DECK)[0]]}, "renn")]

    assert ballots(DECK)[1] in wrong(one, "marked", rows=COUNTED)["rows"]
    one.day.kept["rows-ticked"] = [Ticking({"what": "marked", "rows": list(ballots(DECK))}, "renn")]
    assert wrong(one, "marked", rows=COUNTED) == {}
