"""A stick that was written before must be read by every later version: stored, never made again. Fifteen invented entries were kept on it.

Its first file is whole (1 to 6), the second was pulled out while entry 10 was written (7 to 9), the third went on from there (10 to 12),
and of a fourth only the file behind a hole is left (14).
"""

import hashlib
from pathlib import Path

from tests.record import story
from tests.stick import nights
from webapp.stick.folder import chosen, read_folder
from webapp.stick.history import numbers

STORED = Path(__file__).with_name("stored")
SHA_256 = {
    "entries-1-000001-1.cborseq": "ab0bf3caa1af482d152b80a2045c3a1c4b1ce14b447a008946a7269550a5b4b3",
    "entries-1-000007-1.cborseq": "4cf0c28da219c8ff3feb1e51cc8655de4af6068213221de3c0e0c30df7473ea0",
    "entries-1-000010-1.cborseq": "e5f9db0ab4f4958dc0141c635f77a3cd15922fe8ab5777b28c5e16c61b7ed245",
    "entries-1-000014-1.cborseq": "a8f5ea8073a717233edd9d005e07db15953f4f2f98bc0d7d96dbed78225d3c27",
    "stick-id": "be45cb2605bf36bebde684841a28f0fd43c69850a3dce5fedba69928ee3a8991",
}


def test_the_stored_files_never_change():
    assert {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in chosen(STORED).iterdir()} == SHA_256


def test_the_stored_stick_is_read_to_its_last_whole_entry_and_says_what_it_lacks():
    found = read_folder(chosen(STORED))

    assert numbers(found.history.entries) == list(range(1, 13))
    assert numbers(found.history.apart) == [14]
    assert (found.history.torn, found.stick, found.source) == (114, nights.STICK, "stick")


def test_its_entries_and_words_are_those_that_were_said():
    entries = read_folder(chosen(STORED)).history.entries

    assert [one.kind for one in entries[:5]] == ["record-opened", "zero-tape", "spoiled", "remark", "correction"]
    assert entries[3].stored.words == (
        ("remark", story.salt_of(4), "Pack 7 held 99 ballots, not 100: counted twice by both of us."),
    )


def test_the_same_entries_still_give_the_same_bytes(ledger, record):
    story.keep_morning(ledger)
    nights.keep(ledger, 9, 6)

    assert (
        nights.segment_bytes(nights.all_of(record)[:6]) == (chosen(STORED) / "entries-1-000001-1.cborseq").read_bytes()
    )


def test_the_bytes_of_the_page_are_those_of_the_stored_stick():
    page = (Path(__file__).parents[2] / "webapp" / "stick" / "README.md").read_text("utf-8")
    data = (chosen(STORED) / "entries-1-000001-1.cborseq").read_bytes().hex()
    example = page.partition("8c      ")[2].partition("```")[0]

    for given in (
        "746170657365616c2f737469636b2f31",
        "5ea1ed00c0de4a7e8000000000000001",
        "5a60a2b3",
        "000001a1a12c56c0",
        "d2d00aa9",
        "8f01505e",
    ):
        assert given in example
        assert given in data
