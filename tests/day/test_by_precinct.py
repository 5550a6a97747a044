"""Tapes that print votes by precinct: from what two people type to the balance, the packet's core and back.

That rows add up to their total, and a contest's row to its ballots times N, is common practice at every canvass.
"""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from day.cast import TWO
from webapp.office.checking import packet_schema, split_returns
from webapp.packet import contents
from webapp.packet.figures_from_core import PRECINCTS
from webapp.precinct.account import figures_of_day
from webapp.precinct.balance.balance import balance
from webapp.precinct.checklist import checklist, form_values
from webapp.precinct.day import tape_comparison
from webapp.record import cbor

APART = replace(TWO, rules=replace(TWO.rules, typed="all", votes="by-precinct"))
BOTH = replace(TWO, rules=replace(TWO.rules, typed="all", votes="both"))


def line(where, ballots, a, b, write_in=0, under=0, over=0):
    """A contest's figures as a story tells them."""
    rows = {"ballots": ballots, "votes.A": a, "votes.B": b, "write_in": write_in, "under": under, "over": over}
    return " ".join(f"{where}.GOV.{key} {n}" for key, n in rows.items())


P3 = line("contests_by_precinct.P3", 200, 120, 70, under=10)
P4 = line("contests_by_precinct.P4", 90, 40, 45, under=5)
SUM = line("contests", 290, 160, 115, under=15)


def typed(*parts, at="T1", ballots="ballots.P3 200 ballots.P4 90"):
    return f"20:45 tape-typed {at} {ballots} {' '.join(parts)} by Calloway, Renn"


def core_of(day_of, text, place):
    day = day_of(text, place)
    day.head = bytes(32)
    return contents.core(place, day, 1, None, 0), day


def lines(figures):
    drawn = balance(figures)
    return {one.name: one.gap for one in drawn.lines if one.id.startswith(("contest", "precincts"))}


def test_the_sum_of_the_rows_is_the_place_where_the_tape_prints_rows_alone(day_of):
    core, _ = core_of(day_of, typed(P3, P4), APART)

    assert core["contests"]["GOV"] == [160, 115, 0, 15, 0, 290]
    assert core[PRECINCTS] == {"P3": {"GOV": [120, 70, 0, 10, 0, 200]}, "P4": {"GOV": [40, 45, 0, 5, 0, 90]}}
    assert PRECINCTS not in core["tabulators"][0]


def test_each_row_is_a_line_of_its_own_and_the_office_draws_the_same(day_of):
    core, day = core_of(day_of, typed(P3, P4), APART)
    here, there = figures_of_day.checked(APART, day).figures, contents.figures(core, APART)

    assert json.dumps(here, sort_keys=True) == json.dumps(there, sort_keys=True)
    assert lines(here) == {"contest:GOV:T1": 0, "contest:GOV:T1@P3": 0, "contest:GOV:T1@P4": 0}


def test_rows_that_hide_each_other_are_told(day_of):
    """One vote too many in one precinct, one too few in the other: the place adds up, its precincts do not."""
    wrong = P3.replace("votes.A 120", "votes.A 121"), P4.replace("votes.A 40", "votes.A 39")
    core, _ = core_of(day_of, typed(*wrong), APART)

    assert lines(contents.figures(core, APART)) == {
        "contest:GOV:T1": 0,
        "contest:GOV:T1@P3": 1,
        "contest:GOV:T1@P4": -1,
    }
    assert core["gaps"] == [["contest:GOV:T1@P3", 1], ["contest:GOV:T1@P4", -1]]


def test_where_the_tape_prints_both_the_rows_add_up_to_its_total(day_of):
    core, day = core_of(day_of, typed(P3, P4, SUM), BOTH)

    found = balance(contents.figures(core, BOTH))
    assert lines(contents.figures(core, BOTH))["precincts:GOV:T1"] == 0
    assert not [one for one in found.gaps if one.id.startswith("precincts")]


def test_a_total_that_differs_is_named_figure_by_figure(day_of):
    core, _ = core_of(
        day_of, typed(P3, P4, SUM.replace("votes.A 160", "votes.A 163").replace("votes.B 115", "votes.B 112")), BOTH
    )

    off = {one.name: one for one in balance(contents.figures(core, BOTH)).gaps}
    assert {name: one.gap for name, one in off.items()} == {"precincts:GOV:T1:A": -3, "precincts:GOV:T1:B": 3}
    assert off["precincts:GOV:T1:A"].says.startswith("GOV, T1, A: 160 in the rows by precinct")
    assert core["contests"]["GOV"] == [163, 112, 0, 15, 0, 290], "the place's figures are the tape's own"


def test_a_figure_that_the_total_or_a_row_lacks_leaves_the_line_unchecked(day_of):
    core, _ = core_of(day_of, typed(P3, P4.replace("contests_by_precinct.P4.GOV.over 0", ""), SUM), BOTH)

    drawn = balance(contents.figures(core, BOTH))
    assert ("rows by precinct",) in [one.missing for one in drawn.unchecked if one.id == "precincts:GOV:T1"]


def test_two_tapes_carry_their_own_rows_and_a_precinct_without_ballots_none(day_of):
    one = typed(P3, ballots="ballots.P3 200 ballots.P4 0")
    two = typed(line("contests_by_precinct.P3", 10, 5, 5), P4, at="T2", ballots="ballots.P3 10 ballots.P4 90")
    core, day = core_of(day_of, f"{one}\n{two}", APART)

    assert core["contests"]["GOV"] == [165, 120, 0, 15, 0, 300]
    assert core[PRECINCTS]["P3"]["GOV"] == [125, 75, 0, 10, 0, 210]
    assert [t[PRECINCTS]["P3"]["GOV"][0] for t in core["tabulators"]] == [120, 5]
    assert json.dumps(figures_of_day.checked(APART, day).figures, sort_keys=True) == json.dumps(
        contents.figures(core, APART), sort_keys=True
    )


def test_a_contest_whose_row_of_one_precinct_is_missing_has_no_sum(day_of):
    core, _ = core_of(day_of, typed(P3), APART)

    assert core["contests"] == {} and list(core[PRECINCTS]) == ["P3"]


def test_the_keying_asks_each_precinct_its_own_contests_and_the_total_where_it_prints():
    def sections(place):
        return [title for title, _ in tape_comparison.sections(place)][2:]

    assert sections(APART) == ["Precinct 3: Governor", "Precinct 3: Clerk", "Precinct 4: Governor"]
    assert sections(BOTH) == [*sections(APART), "All precincts: Governor", "All precincts: Clerk"]
    assert sections(TWO) == ["Governor", "Clerk"]


def test_two_keyings_differ_row_by_row():
    figures = {"contests_by_precinct": {"P3": {"GOV": {"votes": {"A": 120}}}}}
    other = {"contests_by_precinct": {"P3": {"GOV": {"votes": {"A": 12}}}}}
    (found,) = (row for row in tape_comparison.compared(figures, other, APART) if row.differs)

    assert (found.name, found.section) == ("contests_by_precinct.P3.GOV.votes.A", "Precinct 3: Governor")
    assert (found.first, found.second) == (120, 12)


def read(place, day, **form):
    step = next(one for one in checklist.steps(place) if one.id == "tape-typed")
    kept = {"how": "blind", "public": "290", "lifetime": "9290", "ballots.P3": "200", "ballots.P4": "90"}
    kept |= {key.replace("__", "."): str(n) for key, n in form.items()}
    return checklist.read_form(checklist.fill(step, place, "T1"), "T1", place, day, kept, place.at(place.closes))


def rows(precinct, ballots, a, b):
    base = f"contests_by_precinct__{precinct}__GOV"
    return {f"{base}__ballots": ballots, f"{base}__votes__A": a, f"{base}__votes__B": b}


def test_the_form_comes_back_as_it_was_typed(day_of):
    day = day_of("", APART)
    body = read(APART, day, **rows("P3", 200, 120, 80), **rows("P4", 90, 45, 45)).body
    step = next(one for one in checklist.steps(APART) if one.id == "tape-typed")

    assert body["contests_by_precinct"]["P4"]["GOV"] == {"ballots": 90, "votes": {"A": 45, "B": 45}}
    assert form_values.typed(step, body, APART.tz)["contests_by_precinct.P4.GOV.votes.A"] == "45"
    assert "Precinct 4, Governor: " in checklist.statement("tape-typed", body, APART)


@pytest.mark.parametrize(
    ("sent", "name", "words"),
    [
        (
            rows("P4", 91, 45, 45),
            "contests_by_precinct.P4.GOV.ballots",
            "91 ballots, and the tape has 90 of this precinct: 1 more",
        ),
        (rows("P4", 90, 60, 45), "contests_by_precinct.P4.GOV.votes.A", "Precinct 4, Governor: 105 votes"),
        ({"contests_by_precinct__P4__GOV__votes__A": 3}, "contests_by_precinct.P4.GOV.votes.B", "Precinct 4"),
    ],
)
def test_a_row_that_cannot_be_is_met_at_its_figure(day_of, sent, name, words):
    assert words in read(APART, day_of("", APART), **sent).mistakes.get(name, "")


def test_a_place_without_the_rule_is_asked_and_keeps_nothing_of_it(day_of):
    sent = read(TWO, day_of("", TWO), **rows("P3", 200, 120, 80))

    assert "contests_by_precinct" not in sent.body
    core, _ = core_of(day_of, typed(SUM), TWO)
    assert PRECINCTS not in core


STORED = json.loads((Path(__file__).parent / "stored" / "by_precinct.json").read_text(encoding="utf-8"))


def test_a_stored_core_is_read_for_good(day_of):
    """What a tape that prints both left in a packet; every later desk draws the same lines out of it and takes the same rows."""
    core = cbor.decode(bytes.fromhex(STORED["core"]))
    governor = next(contest for contest in BOTH.contests if contest.id == "GOV")

    packet_schema.check(core, {"v": 1, "remarks": [], "statements": [], "short": [], "not_so": []})
    assert lines(contents.figures(core, BOTH)) == STORED["lines"]
    assert split_returns.by_precinct(core, BOTH, governor) == (STORED["rows"], "")
    made, _ = core_of(day_of, typed(P3, P4, SUM), BOTH)
    assert made[PRECINCTS] == core[PRECINCTS] and made["contests"] == core["contests"]
