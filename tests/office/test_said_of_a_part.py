"""Sentences of the desk that speak of all places, or of what is included, where it is so of a part only."""

from tests.office.conftest import tiny
from tests.office.test_counts_page import minute, send
from tests.office.test_desk import do, with_seals
from tests.office.test_findings import find
from tests.office.test_packets_page import digest
from tests.office.test_posting import in_now, post

SPOILED = "aside/spoiled/W3/3A"
INCLUDES = "Includes figures the desk corrected"


def test_the_canvass_says_agree_only_of_places_whose_voters_are_known(night):
    night.hold()
    small = tiny(night.room.roster.places["W3"], 40) | {"containers": []}
    night.take_in("W5", **small)
    assert "Ballots and voters agree at every place that is in" in night.window.get("/canvass").text
    night.take_in("W3", **small | {"people": []})
    text = night.window.get("/canvass?show=all").text
    assert "Ballots and voters agree at 1 of 2 places in" in text and "check-ins or ballots are missing" in text
    assert text.count("every line agrees") == 1


def test_a_finding_that_fits_no_packet_that_counts_is_not_said_to_be_included(night, desk):
    night.hold()
    night.take_in("W3")
    find(night, SPOILED, 9)
    for path in ("/totals", "/canvass?show=all"):
        assert INCLUDES in night.window.get(path).text
    rows = [{**row, "n": 8} if i == 0 else row for i, row in enumerate(desk.opened.core["aside"]["spoiled"])]
    minute(night)
    night.take_in("W3", number=2, amends=digest(night), aside={**desk.opened.core["aside"], "spoiled": rows})
    for path in ("/totals", "/canvass?show=all"):
        assert INCLUDES not in night.window.get(path).text


def test_a_memory_that_takes_a_place_out_of_the_totals_is_among_what_came_since(night):
    night.hold()
    night.take_in("W5")
    night.take_in("W3", **with_seals(night))
    post(night)
    for key in ("carriers-in", "receivers", "containers-in", "seals-read"):
        do(night, key)
    do(night, "memory-in", expected="2", received="1", loaded="0")
    assert list(night.room.board.places) == ["W5"]
    number = night.room.ledger.length
    assert f"/record/{number}" in night.window.get("/totals/since").text


def test_voters_credited_at_some_places_are_said_to_be_of_some(night):
    in_now(night)
    path = "/reconciliation/credited"
    send(night, path, f"{path}?page=0", second="durand", **{"credited.W3": "520"})
    assert "1 of 2 places" in night.window.get("/reconciliation").text
    send(night, path, f"{path}?page=0", second="durand", **{"credited.W5": "520"})
    assert "1 of 2 places" not in night.window.get("/reconciliation").text
