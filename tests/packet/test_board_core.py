"""A count board in a packet's core: the desk draws every line of its sums again, and the list of batches travels as a file that gives all lines."""

import pytest

from tests.board.board_cast import FERRY_2, ferry_2
from webapp.board import batch_table
from webapp.board.batch_table import UnreadableTable
from webapp.office.checking import packet_schema
from webapp.packet import board_core
from webapp.packet.board_words import batches_words
from webapp.precinct.balance.balance import balance

SUMS = {"carriers", "list", "envelopes", "problems", "duplicates", "again", "duplicate-serials", "board", "batches:A1"}
TABULATORS = [{"id": "A1", "runs": [{"unit": "A1", "counter": [0, 474], "lifetime": [0, 474]}], "tape": 474}]


def drawn(figures):
    return {
        (line.id, tuple((line.scope or {}).items())): (line.left, line.right)
        for line in balance(figures).lines
        if line.id in SUMS
    }


def core_of(figures, open_batches=()):
    return {"tabulators": TABULATORS, **board_core.part(figures, open_batches)}


@pytest.mark.parametrize(
    "figures",
    [FERRY_2, ferry_2(B012__ballots=24), ferry_2(envelopes__empty=1)],
    ids=["whole", "a batch off", "a figure off"],
)
def test_the_sums_of_a_core_give_the_lines_of_the_board(figures):
    """The worked board of the room's own example (Ferry 2, 487 envelopes), whole and with a figure that is off."""
    sent = core_of(figures)
    again = {**board_core.figures(sent), "tabulators": figures["tabulators"]}
    assert drawn(again) == drawn(figures)
    assert len(drawn(figures)) >= len(SUMS) - 1


def test_a_core_keeps_no_batch_by_itself_but_those_that_are_open():
    sent = core_of(FERRY_2, [("B012", [["batch:B012", 1]], 7)])
    assert "B011" not in str(sent) and "B012" in str(sent["board"]["open"])
    assert packet_schema.named(**packet_schema.BOARD)(sent["board"])


def test_batches_of_several_precincts_tell_their_ballots_by_precinct():
    """A ballot of another precinct in a tray: both precincts' rows have their ballots, at the desk and on the printed statement."""
    figures = ferry_2(B012__ballots=[{"precinct": "F2", "n": 24}, {"precinct": "F3", "n": 1}], B012__precinct=None)
    figures["board"]["moved"] = [{"from": "F2", "to": "F3", "n": 1}]
    figures["board"]["batches"] = [
        {k: v for k, v in one.items() if v is not None} for one in figures["board"]["batches"]
    ]
    sent = core_of(figures)
    assert sent["board"]["mixed"] == [["A1", "1", "first", {"F2": 24, "F3": 1}]] and packet_schema.board_part(
        sent["board"]
    )
    rows = dict(board_core.by_precinct_rows(sent))
    assert (rows["F2"][5], rows["F3"][5]) == (475, 1) and not rows.get("", [0] * 6)[5]
    again = {**board_core.figures(sent), "tabulators": figures["tabulators"]}
    assert drawn(again) == drawn(figures)
    untold = ferry_2(B012__precinct=None)
    untold["board"]["batches"] = [{k: v for k, v in one.items() if v is not None} for one in untold["board"]["batches"]]
    assert "mixed" not in core_of(untold)["board"], "a batch that tells no precinct belongs to none"


def test_what_is_open_is_said_with_its_remark_or_without():
    remarked, silent = (core_of(FERRY_2, [("B012", [["batch:B012", 1]], n)]) for n in (7, None))
    assert batches_words(core_of(FERRY_2)) == (True, "21 batches, 476 ballots out of the envelopes; each batch agrees")
    assert batches_words(remarked)[0] and "each with a signed remark" in batches_words(remarked)[1]
    assert not batches_words(silent)[0] and "without a remark: B012" in batches_words(silent)[1]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("carriers", [1]),
        ("envelopes", {"received": 3}),
        ("batches", [["A1"]]),
        ("problems", {"waiting": {"": -1}}),
        ("open", "B012"),
    ],
)
def test_a_strangers_board_is_of_its_form_or_refused(name, value):
    board = core_of(FERRY_2)["board"] | {name: value}
    assert not packet_schema.named(**packet_schema.BOARD)(board)


TABLE = (
    "batch,kind,tabulator,day,precincts,envelopes,empty,extra,ballots,aside,before,after,remark\n"
    "B001,first,A1,2,F2,26,1,0,25,1,0,24,\n"
    "B002,first,A1,2,F2:13 F3:12,27,2,0,25,0,24,49,31\n"
    "D001,duplicates,A1,2,,,,,1,0,49,50,\n"
    "B003,first,,,F2,25,0,0,25,,,,\n"
)
"""A list of batches as the first edition wrote it: read for ever."""


def test_a_stored_list_of_batches_is_read():
    assert batch_table.read(TABLE) == [
        {"id": "B001", "kind": "first", "ballots": 25, "precinct": "F2", "envelopes": 26, "empty": 1, "extra": 0, "aside": 1, "tabulator": "A1", "day": "2", "counter": [0, 24]},
        {"id": "B002", "kind": "first", "ballots": [{"precinct": "F2", "n": 13}, {"precinct": "F3", "n": 12}], "envelopes": 27, "empty": 2, "extra": 0, "aside": 0, "tabulator": "A1", "day": "2", "counter": [24, 49]},
        {"id": "D001", "kind": "duplicates", "ballots": 1, "aside": 0, "tabulator": "A1", "day": "2", "counter": [49, 50]},
        {"id": "B003", "kind": "first", "ballots": 25, "precinct": "F2", "envelopes": 25, "empty": 0, "extra": 0},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "names other columns"),
        (TABLE.replace("B001,first", "B001"), "Row 2"),
        (TABLE.replace(",49,50,", ",49,x,"), "Row 4"),
    ],
)
def test_another_file_is_refused_with_the_row(text, says):
    with pytest.raises(UnreadableTable, match=says):
        batch_table.read(text)


def test_small_precincts_are_shown_with_their_neighbor():
    from webapp.office.received.board_packets import rows

    core = {
        "board": {
            "envelopes": {
                "received": {"F1": 40, "F2": 4, "F3": 60, "F4": 3},
                "rejected": {},
                "held": {},
                "empty": {},
                "extra": {},
            },
            "batches": [["A1", "1", "first", p, 1, n, 0, n] for p, n in (("F1", 40), ("F2", 4), ("F3", 60), ("F4", 3))],
            "problems": {"hand-counted": {}, "not-counted": {}, "waiting": {}, "duplicated": {}, "fed-after-all": {}},
        }
    }
    shown = rows(core, 10)
    assert [row.precincts for row in shown] == [("F1", "F2"), ("F3", "F4")]
    assert [row.figures[5] for row in shown] == [44, 63]


def test_a_changed_list_of_batches_is_not_taken(tmp_path):
    from hashlib import sha256

    from webapp.office.received.board_packets import keep_table, table_file
    from webapp.packet.envelope import PacketRefused

    core = {"board": {"table": sha256(TABLE.encode()).digest(), "open": []}}
    (tmp_path / "in").mkdir()
    with pytest.raises(PacketRefused, match="not the list of batches that was signed"):
        keep_table(tmp_path, core, TABLE.replace(",25,1,", ",25,2,").encode())
    keep_table(tmp_path, core, TABLE.encode())
    assert table_file(tmp_path, core["board"]["table"]).read_text() == TABLE
