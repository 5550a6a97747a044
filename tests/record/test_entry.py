import hashlib
from dataclasses import replace

import pytest

from tests.record.story import OKORO, SIX, VEGA, act, id_of, salt_of
from webapp.record import cbor
from webapp.record.cbor import Malformed
from webapp.record.entry import Claim, Entry, Signer, Text, quarter_hour

ENTRY = Entry(
    bytes(range(16)),
    1,
    41,
    id_of(7),
    "reading",
    {"counter": 412, "at": "T1"},
    SIX + 900,
    SIX,
    SIX + 1000,
    -100,
    "A",
    9,
    "vega",
    (VEGA, OKORO),
)


def items(**changes):
    """The items of an entry's bytes, some of them replaced by number."""
    line = cbor.decode(ENTRY.pack())
    for at, item in changes.items():
        line[int(at[1:])] = item
    return cbor.encode(line)


def test_an_entry_is_an_array_of_fifteen_items_in_the_order_of_the_format():
    assert [
        1, bytes(range(16)), 1, 41, id_of(7), "reading", {"counter": 412, "at": "T1"}, SIX + 900, SIX, SIX + 1000, -100, "A", 9, "vega",
        [["vega", "chair", "plum", "pin"], ["okoro", "inspector", "slate", "pin"]],
    ] == cbor.decode(ENTRY.pack())  # fmt: skip


def test_an_entry_is_read_back_as_it_was_packed():
    assert ENTRY == Entry.unpack(ENTRY.pack())
    assert replace(ENTRY, holder=None, signers=()) == Entry.unpack(replace(ENTRY, holder=None, signers=()).pack())


@pytest.mark.parametrize("at", range(14))
@pytest.mark.parametrize("item", [None, True, 1, -1, "x", b"x", [], {}])
def test_an_item_of_another_type_is_refused(at, item):
    line = cbor.decode(ENTRY.pack())
    if type(item) is type(line[at]) or at == 13 and item is None:
        return
    with pytest.raises(Malformed):
        Entry.unpack(items(**{f"_{at}": item}))


@pytest.mark.parametrize(
    "changes",
    [
        {"_0": 2}, {"_0": 0}, {"_1": b"short"}, {"_2": 0}, {"_3": 0}, {"_3": -5}, {"_4": bytes(15)}, {"_5": ""}, {"_7": -1}, {"_8": -1}, {"_9": -1},
        {"_11": ""}, {"_12": -1}, {"_14": None}, {"_14": {}}, {"_14": [[]]}, {"_14": ["vega"]}, {"_14": [["vega", "chair", "plum"]]},
        {"_14": [["vega", "chair", "plum", "pin", 1]]}, {"_14": [["vega", "chair", 3, "pin"]]}, {"_14": [["vega", "chair", "plum", "phone"]]},
        {"_14": [["", "chair", "plum", "pin"]]}, {"_14": [["vega", "chair", "plum", "pin"], ["vega", "inspector", "slate", "ink"]]},
    ],
)  # fmt: skip
def test_an_item_with_an_impossible_value_is_refused(changes):
    with pytest.raises(Malformed):
        Entry.unpack(items(**changes))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xf6",
        b"\x80",
        cbor.encode({"entry": 1}),
        cbor.encode([1] * 14),
        cbor.encode([1] * 16),
        ENTRY.pack() + b"\x00",
    ],
)
def test_bytes_that_are_no_entry_are_refused(data):
    with pytest.raises(Malformed):
        Entry.unpack(data)


def test_an_entry_of_a_later_format_says_so():
    with pytest.raises(Malformed, match="an entry of format 2; this program reads format 1"):
        Entry.unpack(items(_0=2))


def test_a_text_is_known_by_the_digest_of_salt_and_words():
    """SHA-256 by the standard library, over the bytes that the format names."""
    assert hashlib.sha256(salt_of(3) + "geöffnet".encode()).digest() == Text(salt_of(3), "geöffnet").digest


def test_half_a_character_is_refused_in_a_sentence():
    with pytest.raises(Malformed, match="half a character"):
        Text(salt_of(1), "\ud83d").digest


def test_words_enter_the_body_by_their_digests():
    claim = act(words={"why": "torn"}).claim

    assert {"counter": 101, "words": {"why": hashlib.sha256(salt_of(1) + b"torn").digest()}} == claim.full_body
    assert {"counter": 101} == act().claim.full_body


def test_a_claim_is_kind_body_happened_tablet_and_line():
    claim = act(words={"why": "torn"}).claim

    assert hashlib.sha256(cbor.encode(["reading", claim.full_body, SIX, "A", 1])).digest() == claim.digest()


def test_a_coarse_claim_forgets_the_minute():
    early, late = (act(kind="spoiled", at=SIX + minutes * 60_000).claim for minutes in (1, 14))

    assert early.digest() != late.digest()
    assert early.digest(coarse=True) == late.digest(coarse=True) == act(kind="spoiled", at=SIX).claim.digest()


def test_every_part_of_a_claim_tells():
    claim = act().claim
    others = [replace(claim, kind="zero"), replace(claim, body={}), replace(claim, happened=1), replace(claim, tablet="B"), replace(claim, seq=2),
              replace(claim, words={"why": Text(salt_of(1), "x")})]  # fmt: skip

    assert 7 == len({claim.digest(), *(other.digest() for other in others)})
    assert claim.digest() == replace(claim, id=id_of(99)).digest()


def test_words_given_twice_are_refused():
    with pytest.raises(Malformed, match="give them once"):
        Claim(
            id_of(1), "remark", {"words": {"why": bytes(32)}}, SIX, "A", 1, {"why": Text(salt_of(1), "torn")}
        ).full_body


@pytest.mark.parametrize(("minute", "start"), [(0, 0), (14, 0), (15, 15), (29, 15), (44, 30), (59, 45)])
def test_a_moment_falls_into_its_quarter_hour(minute, start):
    assert SIX + start * 60_000 == quarter_hour(SIX + minute * 60_000 + 59_999)


def test_a_signature_names_its_person():
    assert Signer("vega", "chair", "plum", "pin") == VEGA
