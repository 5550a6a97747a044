"""RFC 8949: Appendix A, the deterministic form of section 4.2.1, and what is not well-formed in the manner of Appendix F.

Short vectors are restated from the RFC; the whole list is read from the shared standards where they lie beside the clone.
"""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.record import cbor
from webapp.record.cbor import Malformed

APPENDIX_A = [
    ("00", 0), ("17", 23), ("1818", 24), ("1903e8", 1000), ("1a000f4240", 1_000_000), ("1b000000e8d4a51000", 1_000_000_000_000),
    ("1bffffffffffffffff", 18_446_744_073_709_551_615), ("3bffffffffffffffff", -18_446_744_073_709_551_616), ("20", -1), ("3903e7", -1000),
    ("f4", False), ("f5", True), ("f6", None), ("40", b""), ("4401020304", b"\1\2\3\4"), ("60", ""), ("6449455446", "IETF"), ("62225c", '"\\'),
    ("62c3bc", "ü"), ("63e6b0b4", "水"), ("64f0908591", "\U00010151"), ("80", []), ("83010203", [1, 2, 3]), ("8301820203820405", [1, [2, 3], [4, 5]]),
    ("a0", {}), ("a26161016162820203", {"a": 1, "b": [2, 3]}), ("826161a161626163", ["a", {"b": "c"}]),
    ("a56161614161626142616361436164614461656145", {"a": "A", "b": "B", "c": "C", "d": "D", "e": "E"}),
]  # fmt: skip

NO_PLACE_HERE = {
    "f90000": "a float 0.0 (Appendix A)", "fb3ff199999999999a": "a float 1.1 (Appendix A)", "f97e00": "NaN (Appendix A)", "f7": "undefined (Appendix A)",
    "f0": "simple(16) (Appendix A)", "f8ff": "simple(255) (Appendix A)", "c249010000000000000000": "a bignum (Appendix A)",
    "c349010000000000000000": "a negative bignum (Appendix A)", "c11a514b67b0": "a time (Appendix A)", "d74401020304": "tag 23 (Appendix A)",
    "d818456449455446": "embedded CBOR (Appendix A)", "a201020304": "a map with numbers as keys (Appendix A)", "a1410001": "a map with bytes as keys",
    "d81c81d81d00": "an array that holds itself (tags 28 and 29)", "d9d9f700": "the self-described tag", "c24101": "a bignum that fits in a byte",
}  # fmt: skip

BROKEN = {
    "": "nothing at all", "18": "a head without its octet", "1c": "reserved additional information", "5f4100": "indefinite bytes without an end",
    "9f": "an indefinite array without an end", "a1": "a map without its items", "ff": "a break outside", "f800": "a simple value in two octets",
    "1f": "a number of indefinite length", "62": "a text cut off", "5bffffffffffffffff": "bytes of a length nobody has",
    "9bffffffffffffffff": "an array of a length nobody has", "bbffffffffffffffff": "a map of a length nobody has", "61ff": "a text that is no UTF-8",
    "63eda080": "a text with a lone surrogate", "0000": "bytes left over", "81" * 40 + "00": "arrays forty deep", "81" * 100_000: "arrays without end",
}  # fmt: skip

ANOTHER_FORM = {
    "1817": "23 in two octets", "190017": "23 in three", "1b00000000000003e8": "1000 in nine", "5801ff": "a short length in two octets",
    "5f4101ff": "bytes of indefinite length", "7f6161ff": "text of indefinite length", "9f01ff": "an array of indefinite length",
    "bf616101ff": "a map of indefinite length", "a2616202616101": "keys out of order", "a262616101616202": "the longer key first",
    "a2616101616102": "a key twice", "81a2616202616101": "keys out of order, deeper",
}  # fmt: skip


@pytest.mark.parametrize(("hex", "value"), APPENDIX_A)
def test_the_examples_of_appendix_a_that_have_a_place_here_go_both_ways(hex, value):
    assert bytes.fromhex(hex) == cbor.encode(value)
    assert value == cbor.decode(bytes.fromhex(hex))
    assert type(value) is type(cbor.decode(bytes.fromhex(hex)))


@pytest.mark.parametrize("hex", [*NO_PLACE_HERE, *BROKEN, *ANOTHER_FORM])
def test_every_other_form_ends_in_one_refusal(hex):
    with pytest.raises(Malformed):
        cbor.decode(bytes.fromhex(hex))


def test_all_of_appendix_a_is_read_or_refused(shared):
    vectors = json.loads(shared("standards/rfc8949-appendix-a.json").read_text())["vectors"]
    for vector in vectors:
        data = bytes.fromhex(vector["hex"])
        if has_a_place(vector):
            assert vector.get("decoded", cbor.decode(data)) == cbor.decode(data)
            assert data == cbor.encode(cbor.decode(data))
        else:
            with pytest.raises(Malformed):
                cbor.decode(data)
    assert (82, 36) == (len(vectors), sum(map(has_a_place, vectors)))


def has_a_place(vector):
    """By the first octet: no tag, no float or simple value but false, true and null, the usual form, and not {1: 2, 3: 4}."""
    data = bytes.fromhex(vector["hex"])
    return vector["roundtrip"] and (data[0] < 0xC0 or data[0] in (0xF4, 0xF5, 0xF6)) and data[:2] != b"\xa2\x01"


@pytest.mark.parametrize("kind", ["not_well_formed", "not_deterministic"])
def test_the_derived_negatives_are_refused(shared, kind):
    for item in json.loads(shared("standards/rfc8949-derived-negative.json").read_text())[kind]:
        with pytest.raises(Malformed):
            cbor.decode(bytes.fromhex(item["hex"]))


@pytest.mark.parametrize(
    "value",
    [
        1.0,
        float("nan"),
        2**64,
        -(2**64) - 1,
        {1: 2},
        {b"a": 1},
        {None: 1},
        {1, 2},
        object(),
        "\ud800",
        {"\udfff": 1},
        bytearray(b"a"),
        [[{"a": 0.5}]],
    ],
)
def test_what_has_no_place_in_a_record_is_not_written(value):
    with pytest.raises(Malformed):
        cbor.encode(value)


def test_what_is_written_sixteen_deep_is_read_and_no_deeper():
    value = 0
    for _ in range(cbor.DEPTH):
        value = [value]

    assert value == cbor.decode(cbor.encode(value))
    with pytest.raises(Malformed):
        cbor.encode([value])
    with pytest.raises(Malformed):
        cbor.decode(b"\x81" + cbor.encode(value))


def test_keys_stand_in_the_bytewise_order_of_their_encoding():
    """RFC 8949 section 4.2.1: the shorter encoding first, and "ü" (two bytes) after "z" and before "aaa"."""
    assert bytes.fromhex("a4617a0162616102" + "62c3bc03" + "6361616104") == cbor.encode(
        {"aaa": 4, "ü": 3, "z": 1, "aa": 2}
    )


values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**64), 2**64 - 1) | st.text(max_size=8) | st.binary(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4),
    max_leaves=12,
)


@given(values)
def test_whatever_is_written_is_read_back_the_same(value):
    assert value == cbor.decode(cbor.encode(value))


@given(st.binary(max_size=40))
def test_whatever_is_read_is_written_back_to_the_same_bytes(data):
    try:
        value = cbor.decode(data)
    except Malformed:
        return
    assert data == cbor.encode(value)


@given(values, st.data())
def test_a_changed_byte_never_leaves_the_same_value(value, data):
    good = cbor.encode(value)
    at = data.draw(st.integers(0, len(good) - 1))
    changed = bytes([*good[:at], good[at] ^ data.draw(st.integers(1, 255)), *good[at + 1 :]])
    try:
        assert repr(value) != repr(cbor.decode(changed)) or value != cbor.decode(changed)
    except Malformed:
        pass
