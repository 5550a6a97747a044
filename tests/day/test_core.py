"""The core of a packet: its keys, what each step says, contests in ballot order, and the balance drawn again from it."""

import json

import pytest

from day.cast import TWO
from day.story import HARROW, Story
from day.whole_day import DAY
from webapp.packet import contents, figures_from_core
from webapp.packet.figures_from_core import cast
from webapp.precinct.account import figures_of_day
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.balance import night_figures
from webapp.precinct.balance.balance import balance
from webapp.record import cbor

KEYS = {
    "v",
    "place",
    "place_digest",
    "mode",
    "number",
    "amends",
    "made",
    "hours",
    "run",
    "length",
    "head",
    "marks",
    "steps",
    "readings",
    "stock",
    "aside",
    "emergency",
    "people",
    "tabulators",
    "contests",
    "seals",
    "containers",
    "gaps",
    "remarks",
}
WHERE_THERE_ARE_ANY = {"boxes", "stubs", "other_stock", "cast_from", "write_ins", "seal_stock", "drop_off"}


def told(text, place=HARROW):
    day = fold(place, Story(place).entries(text))
    day.head = bytes(32)
    return day


def core_of(text, place=HARROW):
    return contents.core(place, told(text, place), 1, None, place.at(place.closes))


def steps(core, name):
    return [step for step in core["steps"] if step[0] == name]


def test_every_key_is_there_from_the_first_entry_on():
    assert set(core_of("05:00 arrivals present.Calloway 05:00")) == KEYS


def test_other_parts_stand_under_their_own_names_where_there_are_any():
    assert set(core_of(DAY)) - KEYS <= WHERE_THERE_ARE_ANY


def test_a_core_is_written_in_the_one_form_of_the_record():
    core = core_of(DAY)

    assert core == cbor.decode(cbor.encode(core))


def test_a_core_without_the_head_of_its_record_is_not_made():
    day = fold(HARROW, Story().entries(DAY))

    with pytest.raises(ValueError, match="Day.head"):
        contents.core(HARROW, day, 1, None, 0)


def test_hours_are_opening_closing_and_last_ballot():
    assert [HARROW.at(HARROW.opens), HARROW.at(HARROW.closes) + 240_000, HARROW.at(HARROW.closes) + 180_000] == core_of(
        DAY
    )["hours"]


def test_a_step_says_who_signed_by_role_party_and_how():
    assert [["chair", "elm", "pin"], ["witness", "heron", "pin"]] == steps(core_of(DAY), "zero-tape")[0][3]


def test_flags_tell_what_was_not_as_it_should_be():
    core = core_of("""
        05:30 zero-tape T1 not_so.found yes by Calloway, Renn
        05:40 goods rolls 2 by Calloway
        05:41 correct 2 rolls 3 because "counted again" by Calloway
        05:50 countersigned of 2 by Renn
    """)

    assert contents.NOT_SO == steps(core, "zero-tape")[0][4]
    assert contents.CORRECTED + contents.COUNTERSIGNED == steps(core, "goods")[0][4]
    assert ["witness", "heron", "pin/later"] == steps(core, "goods")[0][3][-1]


def test_a_short_signed_step_is_flagged_and_its_reason_is_in_the_remarks():
    story = Story()
    entry, texts = story.entry("20:22 book-count check_ins.P4 433 by Calloway")
    entry.body["short"] = [{"seat": "other", "why": "absent", "told_at": HARROW.at(HARROW.closes)}]
    day = fold(HARROW, [(entry, {**texts, "told": "the duty clerk"})])
    day.head = bytes(32)

    assert contents.SHORT == contents.core(HARROW, day, 1, None, 0)["steps"][0][4]
    assert [
        [
            1,
            "book-count",
            None,
            [["other", "absent", HARROW.at(HARROW.closes)]],
            "the duty clerk",
            [["chair", "elm", "pin"]],
        ]
    ] == contents.remarks(HARROW, day)["short"]


def test_how_a_signer_was_admitted_goes_with_the_signature():
    """A walk-in, and a lost PIN that two others vouched for: from then on, not before."""
    core = core_of("""
        05:10 goods rolls 2 by Renn
        05:20 vouched person Renn party heron role witness why lost-pin by Calloway, Pellow
        05:30 power T1 mains yes by Renn
        05:40 vouched person W1 party elm role inspector why walk-in name Somebody by Calloway, Pellow
        05:50 access sign_up yes by W1
    """)

    assert ["pin", "pin/lost-pin", "pin/walk-in"] == [
        steps(core, name)[0][3][0][2] for name in ("goods", "power", "access")
    ]


def test_contest_rows_are_votes_in_ballot_order_then_the_totals_and_null_for_what_is_missing():
    core = core_of(DAY)

    assert [201, 190, 13, 26, 2, 432] == core["contests"]["GOV"]
    assert [300, 280, 200, None, 84, None, 432] == core["contests"]["CLERK"]
    assert "contests" not in core["tabulators"][0]


def test_two_tapes_carry_their_own_rows_and_the_room_their_sum():
    core = core_of(
        """
        20:45 tape-typed T1 ballots.P3 200 ballots.P4 0 contests.GOV.ballots 200 contests.GOV.votes.A 120 contests.GOV.votes.B 70 contests.GOV.write_in 0 contests.GOV.under 10 contests.GOV.over 0 by Calloway, Renn
        20:46 tape-typed T2 ballots.P3 99 ballots.P4 132 contests.GOV.ballots 231 contests.GOV.votes.A 100 contests.GOV.votes.B 120 contests.GOV.write_in 1 contests.GOV.under 10 by Calloway, Renn
    """,
        TWO,
    )

    assert [220, 190, 1, 20, None, 431] == core["contests"]["GOV"]
    assert [[120, 70, 0, 10, 0, 200], [100, 120, 1, 10, None, 231]] == [
        t["contests"]["GOV"] for t in core["tabulators"]
    ]


def test_a_contest_typed_on_one_of_two_tapes_is_drawn_on_that_tape():
    day = told(
        """
        20:45 tape-typed T1 ballots.P3 200 ballots.P4 0 by Calloway, Renn
        20:46 tape-typed T2 ballots.P3 99 ballots.P4 132 contests.GOV.ballots 231 contests.GOV.votes.A 100 contests.GOV.votes.B 120 contests.GOV.write_in 1 contests.GOV.under 10 contests.GOV.over 0 by Calloway, Renn
    """,
        TWO,
    )

    assert {"T2"} == set(contents.figures(contents.core(TWO, day, 1, None, 0), TWO)["contests"][0]["tapes"])


def test_the_figures_come_back_as_they_went():
    day = told(DAY)

    assert json.dumps(figures_of_day.checked(HARROW, day).figures, sort_keys=True) == json.dumps(
        contents.figures(contents.core(HARROW, day, 1, None, 0), HARROW), sort_keys=True
    )


def test_the_desk_draws_the_same_lines_and_the_same_gaps():
    core = cbor.decode(cbor.encode(core_of(DAY)))
    drawn = balance(contents.figures(core, HARROW))

    assert [["stock", 1], ["poll-book", 2]] == core["gaps"]
    assert [(line.id, line.gap) for line in told(DAY).balance.lines] == [(line.id, line.gap) for line in drawn.lines]


def test_the_containers_are_those_that_travel_with_their_seals():
    assert [
        {"id": "C1", "seal": "40222", "ballots": 403},
        {"id": "C2", "seal": "40224", "ballots": 29},
        {"id": "T1-bag", "seal": "40226", "ballots": None},
        {"id": "case", "seal": "40225", "ballots": None},
    ] == core_of(DAY)["containers"]


def test_the_remarks_digests_are_those_of_the_record():
    entry, _ = next((entry, texts) for entry, texts in Story().entries(DAY) if entry.kind == "remark")

    assert [entry.body["words"]["remark"]] == core_of(DAY)["remarks"]


def test_the_remarks_name_lines_gaps_words_and_signers_by_role():
    (remark,) = contents.remarks(HARROW, told(DAY))["remarks"]

    assert (["stock", "poll-book"], [1, 2], "One voter left with a ballot; seen too late.") == tuple(remark[1:4])
    assert [["chair", "elm", "pin"], ["witness", "heron", "pin"]] == remark[5]


def test_a_row_of_another_length_is_of_another_edition():
    core = core_of(DAY)
    core["contests"]["GOV"] = [1, 2, 3]

    with pytest.raises(ValueError, match="contest GOV has 6 figures by the place file, and this row has 3"):
        contents.figures(core, HARROW)


def test_a_packet_that_amends_names_the_one_before():
    assert b"x" * 32 == contents.core(HARROW, told(DAY), 2, b"x" * 32, 0)["amends"]


@pytest.mark.parametrize(
    "typed, counts_as",
    [("ballots.P4 431", 431), ("ballots.P4 431 subtract 1", 430), ("ballots.P4 431 earlier_ballots 212", 431)],
)
def test_the_ballots_that_count_are_the_tapes_less_what_was_fed_again(typed, counts_as):
    core = core_of(f"""
        11:00 tabulator-out T1 public 212 lifetime 9212 by Vance, Renn
        11:20 tabulator-in T1 serial B-77 how fed-again public 0 lifetime 4000 fed_again 212 by Vance, Renn
        20:45 tape-typed T1 {typed} by Calloway, Renn
    """)

    assert counts_as == cast(core)


NOT_FROM_A_PLACE = {"recounts"}
WRITTEN_ANEW = {
    "rules",
    "dispositions",
    "poll_book",
    "tabulators",
    "boxes",
    "seals",
    "containers",
    "contests",
    "board",
    "days",
}
"""Parts that `figures` puts together itself: out of the place file, or out of keys of other shapes."""


def test_every_part_of_the_balance_travels_in_the_packet():
    """Else the place signs a line that the desk cannot draw."""
    carried = {name for name, _, _ in figures_from_core.RENAMED} | set(figures_from_core.OWN_NAMES)
    lacks = set(night_figures.PARTS) - carried - WRITTEN_ANEW - NOT_FROM_A_PLACE
    assert not lacks, (
        f"{sorted(lacks)}: not in the packet. Name it in packet/figures_from_core.py: OWN_NAMES, or the desk cannot draw its lines."
    )
