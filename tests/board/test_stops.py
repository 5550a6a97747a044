"""A batch that does not agree stops itself or its tabulator, and nothing else; a count by another pair or a remark by two parties ends it."""

from datetime import datetime, timedelta

from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import add, board_day
from webapp.board.board_rules import BoardRules
from webapp.board.objections import against
from webapp.board.stops import stopped

RULES = BoardRules(tabulators=("A1", "A2"))
START = datetime(2026, 11, 3, 8)


def entry(minutes, kind, /, **body):
    return BoardEntry(kind, body, START + timedelta(minutes=minutes))


def made(id, ballots=25, envelopes=25, **body):
    return entry(
        0,
        "batch-made",
        batch=id,
        ballots=[ballots],
        envelopes=envelopes,
        precincts={},
        header_checked=True,
        way_round=True,
        **body,
    )


def fed(minutes, id, before, after, at="A1", aside=0):
    return entry(minutes, "batch-fed", at=at, batch=id, before=before, after=after, aside={"torn": aside})


def refused(day, one):
    return [found.says for found in against(day, one) if found.refused]


def test_a_batch_that_does_not_agree_with_its_envelopes_goes_to_no_tabulator():
    day = board_day(RULES, [made("B001", ballots=24), made("B002")])
    says = "B001 goes to no tabulator: 25 ballots expected from its envelopes, 24 in it: 1 ballot too few. Another pair counts it again, or two of different parties sign a remark."
    assert stopped(day) == (says,)
    assert refused(day, fed(5, "B001", 0, 24)) == [says] and refused(day, fed(5, "B002", 0, 25)) == []


def test_a_batch_that_does_not_agree_with_its_counter_holds_up_that_tabulator_alone():
    day = board_day(RULES, [made("B001"), made("B002"), fed(5, "B001", 0, 26)])
    says = "A1 stops after B001: 1 ballot more fed and set aside than in the batch. Another pair counts it again, or two of different parties sign a remark."
    assert stopped(day) == (says,)
    assert refused(day, fed(9, "B002", 26, 51)) == [says] and refused(day, fed(9, "B002", 0, 25, at="A2")) == []


def test_a_counter_that_did_not_go_on_holds_up_the_next_batch():
    day = board_day(RULES, [made("B001"), made("B002"), made("B003"), fed(5, "B001", 0, 25), fed(9, "B002", 50, 75)])
    assert stopped(day)[0].startswith("A1 stops after B002: its counter began at 50, and B001 ended at 25.")


def test_another_count_that_agrees_ends_the_stop():
    day = board_day(RULES, [made("B001", ballots=24)])
    add(day, made("B001", ballots=25))
    assert stopped(day) == ()


def test_a_remark_on_that_line_ends_the_stop_and_one_on_another_does_not():
    day = board_day(RULES, [made("B001"), made("B002", ballots=24), fed(5, "B001", 0, 26)])
    add(day, entry(6, "remark", lines=["batch-envelopes:B009"], gaps=[1]))
    assert len(stopped(day)) == 2
    add(day, entry(7, "remark", lines=["batch:B001@B000", "batch-envelopes:B002"], gaps=[-1, 1]))
    assert stopped(day) == () and refused(day, fed(9, "B002", 26, 50)) == []


def test_a_night_between_does_not_end_a_stop():
    day = board_day(RULES, [made("B001"), made("B002"), fed(5, "B001", 0, 26)])
    add(day, entry(600, "night-close", sleeves={}, envelopes={}))
    add(day, entry(1400, "morning-open", sleeves={}, envelopes={}))
    assert len(stopped(day)) == 1 and refused(day, fed(1500, "B002", 26, 51)) == list(stopped(day))


def test_a_batch_fed_a_second_time_moves_the_counter_and_stops_its_tabulator_once():
    """After the remark the next batch goes on from where the second feeding left the counter; nobody is asked twice for one mishap."""
    told = [
        made("B001"),
        made("B002"),
        made("B003"),
        fed(5, "B001", 0, 25),
        fed(6, "B002", 0, 25, at="A2"),
        fed(9, "B001", 25, 50, at="A2"),
    ]
    day = board_day(RULES, told)
    assert stopped(day)[0].startswith("A2 stops: B001 was fed a second time, counter 25 to 50.")
    add(day, entry(10, "remark", lines=["batch:B001"], gaps=[0]))
    assert stopped(day) == () and against(day, fed(12, "B003", 50, 75, at="A2")) == ()
    (found,) = against(day, fed(12, "B003", 25, 50, at="A2"))
    assert found.says.startswith("A2 stood at 50 after B001, and 25 is written before B003: it is lower by 25 ballots.")
    add(day, fed(12, "B003", 50, 75, at="A2"))
    assert stopped(day) == ()
