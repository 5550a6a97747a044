"""A day that was kept once and the packet that was made from it, read for ever: `stored/whole_day.json` beside its place file."""

import json
from pathlib import Path

import pytest

from webapp.packet import contents
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.balance.balance import balance
from webapp.precinct.place import place_file
from webapp.record import cbor, chain
from webapp.record.entry import Entry

STORED = Path(__file__).parent / "stored"


@pytest.fixture(scope="module")
def stored():
    return json.loads((STORED / "whole_day.json").read_text())


@pytest.fixture(scope="module")
def place():
    return place_file.read((STORED / "harrow_mill.toml").read_bytes())


@pytest.fixture
def day(stored, place):
    """Folded from the stored bytes; the head is chained from them as well."""
    entries = [bytes.fromhex(line) for line in stored["entries"]]
    told = [Entry.unpack(line) for line in entries]
    folded = fold(place, [(entry, stored["texts"].get(str(entry.number), {})) for entry in told])
    folded.head = chain.first_head(told[0].record_id)
    for entry, line in zip(told, entries, strict=True):
        folded.head = chain.next_head(folded.head, entry.number, chain.leaf(line))
    return folded


def test_the_stored_entries_give_the_stored_core_byte_for_byte(stored, place, day):
    assert stored["core"] == cbor.encode(contents.core(place, day, 1, None, stored["made"])).hex()


def test_the_stored_entries_give_the_stored_remarks_byte_for_byte(stored, place, day):
    assert stored["remarks"] == cbor.encode(contents.remarks(place, day)).hex()


def test_the_stored_core_is_read_as_it_was_meant(stored, place):
    core = cbor.decode(bytes.fromhex(stored["core"]))

    assert (1, "HM4", "practice", 1, None, 46) == tuple(
        core[key] for key in ("v", "place", "mode", "number", "amends", "length")
    )
    assert place.digest == core["place_digest"]
    assert [["stock", 1], ["poll-book", 2]] == core["gaps"]
    assert [201, 190, 13, 26, 2, 432] == core["contests"]["GOV"]
    assert [
        "zero-tape",
        "T1",
        place.at(place.opens) - 80 * 60_000,
        [["chair", "elm", "pin"], ["witness", "heron", "pin"]],
        0,
    ] in core["steps"]


def test_the_desk_draws_its_balance_from_the_stored_core(stored, place):
    drawn = balance(contents.figures(cbor.decode(bytes.fromhex(stored["core"])), place))

    assert {"stock": 1, "poll-book": 2} == {line.id: line.gap for line in drawn.gaps}
    assert {
        "bins:T1",
        "counter:T1",
        "lifetime:T1",
        "stubs",
        "containers",
        "contest:GOV:T1",
        "write-ins:GOV",
        "seals:T1-memory",
        "seal-stock",
    } <= {line.id for line in drawn.lines}


def test_the_stored_core_fits_a_few_codes(stored):
    """A day of one tabulator: well below the 48 kB a part may have."""
    assert len(stored["core"]) // 2 < 5_000
