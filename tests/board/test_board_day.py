"""Two days of one board as its entries tell them: the figures they add up to, what speaks against an entry, and what is left at the close."""

from datetime import datetime, timedelta

import pytest

from board.board_cast import open_lines
from webapp.board.answer import answer
from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import add, board_day
from webapp.board.board_figures import figures
from webapp.board.board_rules import BoardRules
from webapp.board.hours_in_force import HoursInForce
from webapp.board.left_open import left_open
from webapp.board.objections import against

SATURDAY, TUESDAY = datetime(2026, 10, 31, 9), datetime(2026, 11, 3, 7, 30)
RULES = BoardRules(
    hours=HoursInForce(
        SATURDAY - timedelta(hours=1), datetime(2026, 11, 3, 7), datetime(2026, 11, 3, 7), datetime(2026, 11, 3, 20)
    ),
    precincts=("F2", "F3", "F7"),
    tabulators=("A1", "A2"),
    joined=(("F3", "F7"),),
)
STAMPS = {"both_numbered": True, "void_stamped": True, "duplicate_stamped": True}
CHECKED = {"header_checked": True, "way_round": True}


def at(start, minutes, kind, /, **body):
    return BoardEntry(kind, {key.rstrip("_"): value for key, value in body.items()}, start + timedelta(minutes=minutes))


def made(start, minutes, id, n, precinct="F2", **body):
    if body.get("kind", "first") == "first":
        body = {"envelopes": n, **body}
    return at(start, minutes, "batch-made", batch=id, precincts={precinct: n}, ballots=[n, n], **body, **CHECKED)


OPENED = [
    at(SATURDAY, 0, "carrier-in", carrier="K1", seal="40871", unhurt=True, slip="R-14", slip_envelopes={"F2": 60}),
    at(
        SATURDAY,
        1,
        "carrier-in",
        carrier="K2",
        seal="40872",
        unhurt=True,
        slip="R-15",
        slip_envelopes={"F3": 24, "F7": 6},
    ),
    at(SATURDAY, 5, "envelopes-counted", carrier="K1", envelopes={"F2": [60, 60]}),
    at(SATURDAY, 6, "envelopes-counted", carrier="K2", envelopes={"F3": [24, 24], "F7": [6, 6]}),
    at(SATURDAY, 7, "carrier-empty", carrier="K1", opened_flat=True),
    at(SATURDAY, 8, "carrier-empty", carrier="K2", opened_flat=True),
    at(SATURDAY, 20, "list-checked", list={"F2": 57, "F3": 24, "F7": 6}),
    at(
        SATURDAY,
        30,
        "tray-open",
        tray="1",
        precincts=["F2"],
        envelopes=60,
        rejected={"no-signature": 2},
        held={"challenged": 1},
        empty=1,
        sleeves=56,
    ),
    at(SATURDAY, 60, "tray-open", tray="2", precincts=["F3", "F7"], envelopes=30, sleeves=30),
    at(SATURDAY, 400, "night-close", sleeves={"F2": [56, 56], "F3": [30, 30]}, envelopes={}, counters={}, unfed=[]),
    at(TUESDAY, -20, "morning-open", sleeves={"F2": [56, 56], "F3": [30, 30]}, envelopes={}),
    at(TUESDAY, 0, "unfold", tray="1", ballots=[57, 57], extra=1, damaged=1),
    at(TUESDAY, 5, "unfold", tray="2", ballots=[30, 30], extra=0, damaged=0),
    made(TUESDAY, 10, "B001", 25, envelopes=26, empty=1),
    made(TUESDAY, 11, "B002", 32, envelopes=31, extra=1),
    at(TUESDAY, 12, "batch-made", batch="B003", precincts={"F3": 24, "F7": 6}, envelopes=30, ballots=[30], **CHECKED),
]
FED = [
    at(
        TUESDAY,
        20,
        "batch-fed",
        at="A1",
        batch="B001",
        before=0,
        aside={"torn": 1},
        after=24,
        header_back=True,
        end_reached=True,
    ),
    at(TUESDAY, 21, "problem", batch="B001", position=9, cause="torn"),
    at(
        TUESDAY,
        24,
        "batch-fed",
        at="A2",
        batch="B003",
        before=0,
        aside={"blank-read": 1},
        after=29,
        header_back=True,
        end_reached=True,
    ),
    at(TUESDAY, 25, "problem", batch="B003", position=30, cause="blank-read"),
    at(
        TUESDAY,
        30,
        "batch-fed",
        at="A1",
        batch="B002",
        before=24,
        aside={},
        after=36,
        header_back=True,
        end_reached=False,
    ),
    at(TUESDAY, 31, "split", of="B002", new="B004", ballots=20),
    at(TUESDAY, 32, "tabulator-out", at="A1"),
    at(
        TUESDAY,
        40,
        "batch-fed",
        at="A2",
        batch="B004",
        before=29,
        aside={"two-in-one": 1},
        after=48,
        header_back=True,
        end_reached=True,
    ),
    at(TUESDAY, 41, "problem", batch="B004", position=3, cause="two-in-one"),
]
SETTLED = [
    at(TUESDAY, 50, "duplicate-made", serial="D-0001", style="2A", cause="torn", **STAMPS),
    at(TUESDAY, 51, "void-serial", serial="D-0001"),
    at(TUESDAY, 55, "duplicate-made", serial="D-0002", style="2A", cause="torn", **STAMPS),
    at(TUESDAY, 56, "settled", batch="B001", position=9, outcome="duplicated", serial="D-0002"),
    at(TUESDAY, 58, "duplicate-checked", from_="D-0001", to="D-0002", agree=True),
    at(TUESDAY, 60, "settled", batch="B003", position=30, outcome="hand-counted"),
    at(TUESDAY, 61, "hand-count", ballots=1, precinct="F3"),
    at(TUESDAY, 65, "settled", batch="B004", position=3, outcome="not-counted"),
    made(TUESDAY, 70, "D001", 1, kind="duplicates"),
    at(
        TUESDAY,
        75,
        "batch-fed",
        at="A2",
        batch="D001",
        before=48,
        aside={},
        after=49,
        header_back=True,
        end_reached=True,
    ),
]
TAPES = [
    {"id": "A1", "counter_at_zero": 0, "counter_at_close": 36, "tape": 36},
    {"id": "A2", "counter_at_zero": 0, "counter_at_close": 49, "tape": 49},
]  # fmt: skip


def day_after(*parts):
    return board_day(RULES, [entry for part in parts for entry in part])


def said(day, entry):
    return [one.says for one in against(day, entry)]


def test_two_days_of_a_board_balance_and_leave_only_what_is_held():
    day = day_after(OPENED, FED, SETTLED)
    found = figures(day, TAPES)
    assert open_lines(found) == {} and answer(found).complete
    assert left_open(day) == ("Tray 1: 1 envelope held (challenged): back to the clerk under seal, with a remark.",)


def test_no_entry_of_those_two_days_is_objected_to():
    day = board_day(RULES, [])
    for entry in (*OPENED, *FED, *SETTLED):
        assert said(day, entry) == [] or entry.body.get("batch") == "B002" and entry.kind == "batch-fed"
        add(day, entry)


def test_a_tabulator_that_goes_down_ends_its_batch_and_the_rest_is_another():
    """12 of 32 went through: the batch stops until the rest has an id of its own, and then both agree."""
    day = day_after(OPENED, FED[:4])
    assert said(day, FED[4])[0].startswith(
        "B002 on A1: 32 ballots in the batch, 12 fed and 0 set aside: 20 ballots too few. Read the counter again, and look for ballots set aside. A1 stops until another pair"
    )
    rows = {row["id"]: row for row in figures(day_after(OPENED, FED))["board"]["batches"]}
    assert (rows["B002"]["ballots"], rows["B002"]["envelopes"], rows["B004"]["ballots"], rows["B004"]["envelopes"]) == (
        12,
        11,
        20,
        20,
    )


def test_the_figures_say_no_envelope_and_no_name():
    text = str(figures(day_after(OPENED, FED, SETTLED), TAPES))
    assert not any(word in text for word in ("R-14", "40871", "position", "no-signature", "2A"))


def test_what_waits_is_waiting_in_the_figures_and_named_at_the_close():
    day = day_after(OPENED, FED)
    assert figures(day)["board"]["problems"]["waiting"] == [{"precinct": "F2", "n": 2}, {"n": 1}]
    assert "B001, number 9: not settled. Settle it, or sign a remark." in left_open(day)


REFUSED = {
    "a batch that was never made": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B099", before=48, after=73), "B099 was not made yet: no table has counted it."),
    "a tabulator that is shut": (at(TUESDAY, 90, "batch-fed", at="A1", batch="B004", before=36, after=56), "A1 is shut since 08:02: feed B004 on another tabulator, or bring A1 back first."),
    "a tabulator of another board": (at(TUESDAY, 90, "batch-fed", at="A9", batch="B004", before=0, after=20), "A9 is not a tabulator of this board. Its tabulators are A1, A2."),
    "a counter that runs backwards": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B004", before=48, after=29), "The counter after B004, 29, is lower than before it, 48: a counter never runs backwards. Read both again."),
    "a position beyond the batch": (at(TUESDAY, 90, "problem", batch="B001", position=31, cause="torn"), "B001 holds 25 ballots: there is no number 31."),
    "a position of no batch": (at(TUESDAY, 90, "problem", batch="B077", position=1, cause="torn"), "B077 is not a batch of this board"),
    "a serial given out twice": (at(TUESDAY, 90, "duplicate-made", serial="D-0002", **STAMPS), "D-0002 was given out already: a serial is used once. Take the next one."),
    "a serial on two originals": (at(TUESDAY, 90, "settled", batch="B001", position=10, outcome="duplicated", serial="D-0002"), "D-0002 is on the original of B001, number 9"),
    "a serial that was voided": (at(TUESDAY, 90, "settled", batch="B001", position=10, outcome="duplicated", serial="D-0001"), "D-0001 was voided"),
    "a duplicate without a serial": (at(TUESDAY, 90, "settled", batch="B001", position=10, outcome="duplicated"), "B001, number 10: write the serial"),
    "a carrier taken in twice": (at(TUESDAY, 90, "carrier-in", carrier="K1", slip_envelopes={"F2": 3}), "Carrier K1 was taken in already"),
    "compared from the last to the first": (at(TUESDAY, 90, "duplicate-checked", from_="D-0002", to="D-0001", agree=True), "D-0002 comes after D-0001"),
    "compared what nobody made": (at(TUESDAY, 90, "duplicate-checked", from_="D-0090", to="D-0099", agree=True), "No duplicate from D-0090 to D-0099 was made yet"),
    "a serial voided twice": (at(TUESDAY, 90, "void-serial", serial="D-0001"), "D-0001 was voided already."),
    "feeding before the hour": (at(SATURDAY, 500, "batch-fed", at="A2", batch="B002", before=48, after=60), "Counting opens Tuesday 3 November, 07:00; it is Saturday 31 October, 17:20 now."),
    "a batch made again after it was fed": (made(TUESDAY, 90, "B001", 25), "B001 was fed at 07:50 on A1: a batch id is used once. Take the next header sheet."),
    "precincts that do not add up": (at(TUESDAY, 90, "batch-made", batch="B005", precincts={"F2": 20}, ballots=[21], **CHECKED), "B005 holds 21 ballots, its precincts add up to 20: 1 ballot too few."),
    "two precincts in one batch": (at(TUESDAY, 90, "batch-made", batch="B005", precincts={"F2": 20, "F3": 5}, ballots=[25], **CHECKED), "B005 would hold F2 and F3: here a batch holds one precinct."),
    "a carrier nobody took in": (at(TUESDAY, 90, "carrier-empty", carrier="K9"), "Carrier K9 was not taken in yet"),
    "a tray nobody opened": (at(TUESDAY, 90, "unfold", tray="9", ballots=[3]), "Tray 9 was not opened yet"),
    "moved to no precinct of the board": (at(TUESDAY, 90, "moved", from_="F2", to="X1", ballots=1), "X1 is not a precinct of this board."),
    "a split larger than its batch": (at(TUESDAY, 90, "split", of="B001", new="B005", ballots=25), "B001 holds 25 ballots: 25 cannot be what is left of it."),
    "a split into a batch that is there": (at(TUESDAY, 90, "split", of="B001", new="B003", ballots=5), "B003 is there already: a batch id is used once."),
}  # fmt: skip


@pytest.mark.parametrize(("entry", "sentence"), REFUSED.values(), ids=REFUSED)
def test_an_entry_that_cannot_be_meant_is_refused_by_one_sentence(entry, sentence):
    found = against(day_after(OPENED, FED, SETTLED), entry)
    assert found[0].refused and found[0].says.startswith(sentence) and found[0].says.endswith(".")


KEPT = {
    "a batch fed twice": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B001", before=49, after=73),
        "B001 was fed at 07:50 on A1, counter 0 to 24. If these ballots went through again, the tape has 24 too many: stop this tabulator and call the office."),
    "fed out of order": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B005", before=50, after=75), "A2 stood at 49 after D001, and 50 is written before B005: 1 ballot ran in between."),
    "a counter lower than before": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B005", before=40, after=65), "A2 stood at 49 after D001, and 40 is written before B005: it is lower by 9 ballots."),
    "a batch that does not agree": (at(TUESDAY, 90, "batch-fed", at="A2", batch="B005", before=49, after=75), "B005 on A2: 25 ballots in the batch, 26 fed and 0 set aside: 1 ballot too many. Read the counter again, and look for ballots set aside. A2 stops"),
    "more opened than received": (at(TUESDAY, 90, "tray-open", tray="3", precincts=["F2"], envelopes=2, sleeves=2), "The trays of F2 hold 62 envelopes with this one, and 60 were received: 2 envelopes too many."),
    "ballots without a sleeve": (at(TUESDAY, 90, "unfold", tray="1", ballots=[58], extra=1), "Tray 1 had 56 sleeves and 1 extra, 58 ballots are here: 1 ballot too many."),
    "sleeves that are fewer in the morning": (at(TUESDAY, -20, "morning-open", sleeves={"F2": [55, 55], "F3": [30]}), "56 sleeves of F2 stayed shut in the evening, 55 are here this morning: 1 sleeve too few. Open none of them."),
    "a header sheet nobody checked": (at(TUESDAY, 90, "batch-made", batch="B006", precincts={"F2": 5}, ballots=[5]), "A second person has not said that the header sheet on top is that of B006"),
    "a serial that is not the next one": (at(TUESDAY, 90, "duplicate-made", serial="D-0009", **STAMPS), "D-0009 is not the next serial: that is D-0003."),
    "a serial of no duplicate": (at(TUESDAY, 90, "settled", batch="B005", position=3, outcome="duplicated", serial="D-0003"), "No duplicate with the serial D-0003 was made yet"),
    "more counted by hand than settled so": (at(TUESDAY, 90, "hand-count", ballots=500), "1 ballot so far is settled as counted by hand, and 501 would stand on the sheets."),
    "a duplicate without its stamps": (at(TUESDAY, 90, "duplicate-made", serial="D-0003", both_numbered=True), "D-0003: the number on both, VOID on the original, DUPLICATE on the copy"),
}  # fmt: skip


@pytest.mark.parametrize(("entry", "sentence"), KEPT.values(), ids=KEPT)
def test_what_did_happen_is_kept_as_not_so_and_says_what_stops(entry, sentence):
    day = day_after(OPENED, FED, SETTLED, [made(TUESDAY, 80, "B005", 25)])
    (found,) = against(day, entry)
    assert not found.refused and found.says.startswith(sentence) and found.says.endswith(".")


def test_a_batch_fed_twice_keeps_its_first_figures():
    day = day_after(OPENED, FED, SETTLED, [KEPT["a batch fed twice"][0]])
    assert day.batches["B001"].fed.after == 24 and day.batches["B001"].again[0].after == 73
    assert [row["counter"] for row in figures(day)["board"]["batches"] if row["id"] == "B001"] == [[0, 24]]


def test_a_slip_that_says_another_number_is_told_by_precinct_and_both_stand():
    day = day_after(OPENED[:2])
    (found,) = against(day, at(SATURDAY, 5, "envelopes-counted", carrier="K2", envelopes={"F3": [24], "F7": [5]}))
    assert found.says == (
        "The slip of carrier K2 says 6 envelopes of F7, 5 were counted: 1 envelope too few. Both figures stay. Call the clerk while the carrier is here."
    )


@pytest.mark.parametrize("joined", [(), (("F3", "F7"),)])
def test_a_small_precinct_is_never_counted_alone_unless_it_is_joined_with_another(joined):
    rules = BoardRules(precincts=("F2", "F3", "F7"), joined=joined)
    day = board_day(rules, OPENED)
    found = said(day, made(TUESDAY, 90, "B009", 6, precinct="F7"))
    assert (found == []) is bool(joined)
    if found:
        assert found[0].startswith("F7 has 6 envelopes, fewer than 10: its ballots are not counted alone.")
    mixed = at(TUESDAY, 90, "batch-made", batch="B009", precincts={"F3": 24, "F7": 6}, ballots=[30], **CHECKED)
    assert said(day, mixed) == []


def test_what_is_left_at_the_close_is_named_in_the_order_of_the_work():
    day = day_after(
        OPENED[:5],
        OPENED[7:8],
        [at(SATURDAY, 40, "tray-open", tray="4", precincts=["F3"], envelopes=20, sleeves=20)],
        [made(TUESDAY, 10, "B001", 25)],
    )
    assert left_open(day) == (
        "Carrier K2 was not shown empty: open it flat before two of different parties.",
        "F3 and F7: 30 envelopes received, 20 worked: 10 envelopes unopened. Find and open them, two of different parties.",
        "Tray 1: 56 sleeves not opened yet.",
        "Tray 1: 1 envelope held (challenged): back to the clerk under seal, with a remark.",
        "Tray 4: 20 sleeves not opened yet.",
        "B001 was made and not fed: 25 ballots.",
    )


def test_ballots_that_were_unfolded_and_lie_in_no_batch_are_left():
    """Told by precinct while the work goes on; more in batches than unfolded only once no sleeve of theirs is shut."""
    two = [at(SATURDAY, 0, "tray-open", tray=n, precincts=["F2"], envelopes=25, sleeves=25) for n in ("1", "2")]
    one, other = (at(TUESDAY, 5, "unfold", tray=n, ballots=[25, 25], extra=0) for n in ("1", "2"))
    rules = BoardRules(precincts=("F2", "F3"))

    def told(*entries):
        return [says for says in left_open(board_day(rules, entries)) if "unfolded" in says]

    assert told(*two, one, made(TUESDAY, 10, "B001", 24)) == [
        "F2: 25 ballots unfolded, 24 in batches. Put the others into batches; look in sleeves, envelopes and on the floor."
    ]
    more = [made(TUESDAY, 10, "B001", 25), made(TUESDAY, 11, "B002", 26)]
    assert told(*two, one, *more) == [], "tray 2 is not unfolded yet"
    assert told(*two, one, other, *more) == [
        "F2: 50 ballots unfolded, 51 in batches. Another pair counts the tray or the batches again."
    ]
    assert told(*two, one, other, more[0], made(TUESDAY, 11, "B002", 25)) == []
    stray = at(
        TUESDAY, 12, "batch-made", batch="B002", precincts={"F2": 24, "F3": 1}, ballots=[25], envelopes=25, **CHECKED
    )
    assert (
        told(*two, one, other, more[0], at(TUESDAY, 9, "moved", **{"from": "F2", "to": "F3", "ballots": 1}), stray)
        == []
    )


def test_a_ballot_set_aside_and_not_noted_and_a_duplicate_nobody_compared_are_left():
    day = day_after(OPENED, FED[:1], SETTLED[2:3])
    found = left_open(day)
    assert "B001: 1 ballot set aside, 0 noted by position. Note each at the problem table." in found
    assert "D-0002: no other pair has compared it with its original yet." in found
