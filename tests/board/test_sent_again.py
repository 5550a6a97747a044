"""Pages of a count board sent again after they were signed: their own entries are never held against them."""

import pytest

from tests.rehearsal.test_board import Board


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    one = Board(tmp_path_factory.mktemp("again") / "county")
    yield one
    one.running.stop()
    one.room.close()


def signed_twice(board, path: str, values: dict, action: str = ""):
    """A form signed by two, then sent once more as it was: the page that answers, and how many entries were added by that."""
    crew = board.days.crew
    form = board.window.get(path).form(action or path.partition("?")[0])
    who = form.controls["signer"].options[0]
    own = {**values, "signer": who, "pin": crew.pins[who]}
    page = board.window.send(form, own)
    assert page.path.startswith("/sign/"), page.said()
    other = page.form(page.path)
    second = other.controls["signer"].options[0]
    page = board.window.send(other, {"signer": second, "pin": crew.pins[second]})
    assert page.status == 200, page.said()
    before = board.room.ledger.length
    page = board.window.send(form, own)
    return page, board.room.ledger.length - before


ROW = {"envelopes": "25", "ballots": "25", "header_checked": "yes", "way_round": "yes"}


def test_batches_that_were_made_by_this_very_page_are_said_to_be_in_the_record(board):
    rows = {f"row1/{name}": value for name, value in ({"batch": "B060"} | ROW).items()}
    page, added = signed_twice(board, "/batches/make?precinct=W3", rows, "/batches/make")
    assert (page.status, page.path, added) == (200, "/batches", 0), page.said()


def test_a_carrier_that_was_taken_in_by_this_very_page_is_said_to_be_in_the_record(board):
    values = {"carrier-in/carrier": "K8", "carrier-in/seal": "40088", "carrier-in/slip_envelopes.W3": "12"}
    values |= {
        "carrier-in/unhurt": "yes",
        "envelopes-counted/envelopes.W3": "12; 12",
        "carrier-empty/opened_flat": "yes",
    }
    page, added = signed_twice(board, "/trays/carrier", values)
    assert (page.status, page.path, added) == (200, "/trays", 0), page.said()


def test_a_batch_that_was_fed_and_counted_again_and_remarked_by_these_very_pages_is_in_the_record(board):
    at = board.days.answers.public("A1")
    rows = {f"row1/{name}": value for name, value in ({"batch": "B070"} | ROW).items()}
    signed_twice(board, "/batches/make?precinct=W3", rows, "/batches/make")
    values = {"batch": "B070", "before": str(at), "after": str(at + 24), "header_back": "yes", "end_reached": "yes"}
    values |= {"not_so": "yes", "found": "one ballot fewer", "done": "counted again"}
    page, added = signed_twice(board, "/feed/A1", values)
    assert (page.status, page.path, added) == (200, "/feed/A1", 0), page.said()
    page, added = signed_twice(board, "/batches/B070", {"remark": "cause unknown"}, "/batches/B070/remark")
    assert (page.status, page.path, added) == (200, "/batches/B070", 0), page.said()
    page, added = signed_twice(board, "/batches/B070/again", {"n": "24"})
    assert (page.status, page.path, added) == (200, "/batches/B070", 0), page.said()


def test_a_remark_is_about_the_gap_that_the_page_showed(board):
    rows = {f"row1/{name}": value for name, value in ({"batch": "B071"} | ROW).items()}
    signed_twice(board, "/batches/make?precinct=W3", rows, "/batches/make")
    at = board.days.answers.public("A2")
    values = {"batch": "B071", "before": str(at), "after": str(at + 24), "header_back": "yes", "end_reached": "yes"}
    signed_twice(board, "/feed/A2", values | {"not_so": "yes", "found": "one fewer", "done": "counted again"})
    form = board.window.get("/batches/B071").form("/batches/B071/remark")
    signed_twice(board, "/batches/B071/again", {"n": "27"})
    signed_twice(board, "/batches/B071/again", {"n": "27"})
    who = form.controls["signer"].options[0]
    page = board.window.send(form, {"remark": "One is missing.", "signer": who, "pin": board.days.crew.pins[who]})
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())
