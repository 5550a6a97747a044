"""A record as it was once written: later versions must read it, byte for byte, for ever."""

import hashlib
import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.record import story
from tests.record.test_chain_and_marks import STORED
from webapp.record.audit import verify
from webapp.record.entry import Entry
from webapp.record.ledger import Ledger

pytestmark = pytest.mark.usefixtures("real_cost")  # the words are stored ones

FILE = Path(__file__).with_name("stored") / "record.db"
ENTRY_2 = bytes.fromhex(STORED["entries"][1]["entry"])


@pytest.fixture
def stored(tmp_path):
    return Path(shutil.copy(FILE, tmp_path / "record.db"))


def test_the_stored_record_verifies_with_its_check_words(stored):
    verdict = verify(stored, [(int(n), words) for n, words in STORED["check_words"].items()], coarse=story.COARSE)

    assert (True, 5, STORED["entries"][4]["head"]) == (verdict.ok, verdict.entries, verdict.head.hex())


def test_the_stored_rows_are_those_of_the_list(stored):
    db = sqlite3.connect(stored)
    assert [(e["number"], e["entry"], e["head"]) for e in STORED["entries"]] == [
        (number, entry.hex(), head.hex())
        for number, entry, head in db.execute("SELECT number, entry, head FROM entries ORDER BY number")
    ]
    assert [(w["number"], w["name"], w["salt"], w["text"]) for w in STORED["words"]] == [
        (number, name, salt.hex(), text)
        for number, name, salt, text in db.execute("SELECT number, name, salt, text FROM words ORDER BY line")
    ]
    db.close()


def test_the_stored_entries_are_read_as_they_were_said(stored):
    with Ledger.read_only(stored) as reader:
        opened, zero, spoiled, remark, corrected = reader.entries()
        assert story.MORNING[3].claim.words["remark"].text == reader.texts(4)["remark"]
    assert ("record-opened", "laptop", 0, None, ()) == (
        opened.kind,
        opened.tablet,
        opened.seq,
        opened.holder,
        opened.signers,
    )
    assert (18_204, (story.VEGA, story.OKORO)) == (zero.body["protective_counter"], zero.signers)
    assert 0 == spoiled.made % 900_000 == spoiled.happened % 900_000 == spoiled.kept % 900_000 == spoiled.offset
    assert ["stock"] == remark.body["lines"]
    assert (2, 18_240) == (corrected.body["of"], corrected.body["body"]["protective_counter"])


def test_the_same_acts_still_give_the_same_bytes_and_heads(path, ledger):
    kept = story.keep_morning(ledger)

    assert [e["entry"] for e in STORED["entries"]] == [entry.pack().hex() for entry in kept]
    assert STORED["entries"][4]["head"] == ledger.head.hex()


def test_the_second_entry_is_these_bytes():
    """Written out item by item after RFC 8949 section 3, as webapp/record/README.md shows it."""
    parts = [
        "8f 01",  # an array of 15; format 1
        "50 5ea1ed00c0de4a7e8000000000000001",  # record_id
        "01 02",  # run 1, number 2
        "50 00000000000040008000000000000002",  # id
        "69 7a65726f2d74617065",  # "zero-tape"
        "a5",  # the body, its five keys in the order of their bytes
        "62 6174 62 5431",  # "at": "T1"
        "66 7072696e7473 02",  # "prints": 2
        "68 616c6c5f7a65726f f5",  # "all_zero": true
        "6e 7075626c69635f636f756e746572 00",  # "public_counter": 0
        "72 70726f746563746976655f636f756e746572 19471c",  # "protective_counter": 18204
        *(f"1b {ms:016x}" for ms in (1_793_705_462_734, 1_793_705_461_234, 1_793_705_472_734)),  # made, happened, kept
        "18f0",  # offset 240
        "61 41 01",  # tablet "A", seq 1
        "64 76656761",  # holder "vega"
        "82 84 64 76656761 65 6368616972 64 706c756d 63 70696e",  # "vega", "chair", "plum", "pin"
        "84 65 6f6b6f726f 69 696e73706563746f72 65 736c617465 63 70696e",  # "okoro", "inspector", "slate", "pin"
    ]
    assert bytes.fromhex("".join(parts).replace(" ", "")) == ENTRY_2


def test_the_stored_record_goes_on(stored):
    with Ledger.open(stored, story.COARSE) as ledger:
        assert ledger.append(story.ZERO, now=story.SIX)[0] == Entry.unpack(ENTRY_2)
        assert [6] == [entry.number for entry in ledger.append(story.act(20), now=story.SIX * 2)]
    assert verify(stored).ok


def test_the_stored_files_never_change():
    """SHA-256 of both, worked out with sha256sum."""
    sums = {
        name: hashlib.sha256(FILE.with_name(name).read_bytes()).hexdigest() for name in ("record.db", "record.json")
    }
    assert {
        "record.db": "5918f6f6d9853001f69219e41557513ab5f66201f84c240971b091d3529a6218",
        "record.json": "7cbd94df9508b002f32e29fe99a39e93c0fde89595dc32a3f7fc6ca687c82704",
    } == sums
