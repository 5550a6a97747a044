"""The chain by the formulas of the format, worked out here with the standard library alone; the check words by a second Argon2id
library (the hash is RFC 9106, the symbols are Crockford's Base32 with its mod 37 check table, restated from his page)."""

import hashlib
import json
from pathlib import Path

import pytest

from tests.matrix import some
from webapp.record.chain import first_head, leaf, next_head
from webapp.record.check_words import check_words, compare, comparison_sentence

pytestmark = pytest.mark.usefixtures("real_cost")  # the words are stored ones

STORED = json.loads((Path(__file__).with_name("stored") / "record.json").read_text())
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ*~$=U"
HEAD_5 = bytes.fromhex(STORED["entries"][4]["head"])
WORDS_5 = STORED["check_words"]["5"]


def by_hand(record_id, entries):
    """Head after head, as the format's page writes it."""
    head = hashlib.sha256(b"tapeseal/head/1\x00" + record_id).digest()
    for number, entry in enumerate(entries, 1):
        leaf_n = hashlib.sha256(b"\x00" + entry).digest()
        head = hashlib.sha256(b"tapeseal/head/1\x00" + head + number.to_bytes(8, "big") + leaf_n).digest()
        yield head


def test_the_heads_follow_the_formula():
    head = first_head(bytes(16))
    entries = [b"", b"one", bytes(5000)]
    for number, (entry, wanted) in enumerate(zip(entries, by_hand(bytes(16), entries)), 1):
        head = next_head(head, number, leaf(entry))
        assert wanted == head


def test_the_stored_heads_follow_the_formula():
    heads = by_hand(bytes.fromhex(STORED["record_id"]), [bytes.fromhex(e["entry"]) for e in STORED["entries"]])

    assert [e["head"] for e in STORED["entries"]] == [head.hex() for head in heads]
    assert STORED["first_head"] == first_head(bytes.fromhex(STORED["record_id"])).hex()


@pytest.mark.parametrize("number", some("15", "12345"))
def test_the_stored_check_words_are_given_again(number):
    """Pinned from argon2-cffi 25.1.0, the library the product uses; the next test works one out with another."""
    assert STORED["check_words"][number] == check_words(bytes.fromhex(STORED["entries"][int(number) - 1]["head"]))


def test_a_second_library_gives_the_same_check_words():
    argon2 = pytest.importorskip("cryptography.hazmat.primitives.kdf.argon2")
    try:
        digest = argon2.Argon2id(
            salt=b"tapeseal mark 1", length=32, iterations=3, lanes=1, memory_cost=128 * 1024
        ).derive(HEAD_5)
    except Exception as absent:  # noqa: BLE001 (an older OpenSSL has no Argon2)
        pytest.skip(f"the cryptography library here has no Argon2id: {absent}")
    bits = f"{int.from_bytes(digest, 'big'):0256b}"[:55]
    symbols = "".join(CROCKFORD[int(bits[at : at + 5], 2)] for at in range(0, 55, 5)) + CROCKFORD[int(bits, 2) % 37]

    assert WORDS_5 == f"{symbols[:4]}-{symbols[4:8]}-{symbols[8:]}"


@pytest.mark.parametrize(
    "spelled",
    [
        WORDS_5,
        WORDS_5.lower(),
        WORDS_5.replace("-", ""),
        f" {WORDS_5} \n",
        WORDS_5.replace("1", "l"),
        WORDS_5.replace("1", "I"),
    ],
)
def test_case_dashes_and_letters_that_look_like_digits_do_not_matter(spelled):
    assert "same" == compare(spelled, WORDS_5)


def test_o_is_read_as_nought():
    assert "same" == compare("5VJS-MP85-D2O~", "5VJS-MP85-D20~")


@pytest.mark.parametrize("at", [i for i, symbol in enumerate(WORDS_5) if symbol != "-"])
def test_any_one_wrong_symbol_is_a_slip(at):
    for symbol in "0123456789ABCDEFGHJKMNPQRSTVWXYZ":
        copied = WORDS_5[:at] + symbol + WORDS_5[at + 1 :]
        assert ("same" if copied == WORDS_5 else "slip") == compare(copied, WORDS_5)


def test_two_symbols_swapped_are_a_slip():
    for at in range(10):
        symbols = list(WORDS_5.replace("-", ""))
        symbols[at], symbols[at + 1] = symbols[at + 1], symbols[at]
        copied = "".join(symbols)
        assert ("same" if copied == WORDS_5.replace("-", "") else "slip") == compare(copied, WORDS_5)


@pytest.mark.parametrize(
    "copied", ["", "XZZV", WORDS_5[:-1], WORDS_5 + "0", "U" * 12, "????-????-????", "ßßßß-ßßßß-ßßß1"]
)
def test_what_cannot_be_check_words_is_a_slip(copied):
    assert "slip" == compare(copied, WORDS_5)


def test_whole_words_of_another_history_are_told_from_a_slip():
    assert "other" == compare(STORED["check_words"]["4"], WORDS_5)


def test_each_outcome_has_its_sentence():
    other = STORED["check_words"]["4"]

    assert f"The words on paper for entry 5, {WORDS_5}, are the record's own." == comparison_sentence(
        "same", 5, WORDS_5, WORDS_5
    )
    assert "a slip in copying" in comparison_sentence("slip", 5, "XZZV", WORDS_5)
    assert (
        f"The paper says {other} for entry 5, this record says {WORDS_5}: it is another history."
        in comparison_sentence("other", 5, other, WORDS_5)
    )
