"""Codes of held entries: their text and what it carries, pinned by a stored example; every code is needed; hostile ones end in one sentence.

Independent: base45 (a library of its own) for RFC 9285, cbor2 for the bytes of RFC 8949, zlib for the sums.
"""

import itertools
import json
import random
import re
import struct
import zlib
from pathlib import Path

import base45 as other_base45
import cbor2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.packet import held_frames
from webapp.packet.cose import PacketRefused
from webapp.packet.held_frames import LOAD, HeldCollector, HeldRow, HeldSet, codes_in, read, split, unpack

STORED = json.loads((Path(__file__).parent / "stored" / "held-codes.json").read_text(encoding="utf-8"))


def stored_set() -> HeldSet:
    said = STORED["set"]
    return HeldSet(
        bytes.fromhex(said["record"]),
        said["tablet"],
        said["clock"],
        tuple(
            HeldRow(
                r["seq"],
                bytes.fromhex(r["id"]),
                bytes.fromhex(r["salt"]),
                r["kind"],
                r["at"],
                r["form"],
                r["made"],
                r["holder"],
            )
            for r in said["entries"]
        ),
    )


def collected(texts):
    desk = HeldCollector()
    for text in texts:
        assert desk.add(text) in ("new", "again")
    return desk


def test_the_stored_codes_are_read_and_written_as_they_lie_there():
    assert len(STORED["codes"]) > 1
    assert collected(STORED["codes"]).whole() == stored_set()
    assert split(stored_set().pack()) == tuple(STORED["codes"])


def test_the_stored_codes_read_with_other_libraries_say_the_same():
    """Each code taken apart by hand, after the description in webapp/pages/tablets/README.md."""
    loads = {}
    for text in STORED["codes"]:
        body = other_base45.b45decode(text.removeprefix("TH1:"))
        assert zlib.crc32(body[:-4]) == struct.unpack(">I", body[-4:])[0]
        form, index, count, whole = struct.unpack(">BBBI", body[:7])
        assert (form, count) == (1, len(STORED["codes"])) and len(text) <= 600
        loads[index] = body[7:-4]
    data = b"".join(loads[index] for index in range(len(loads)))
    assert zlib.crc32(data) == whole and [len(loads[i]) for i in range(len(loads) - 1)] == [LOAD] * (len(loads) - 1)
    said = cbor2.loads(data)
    assert (
        said[0] == 1
        and said[1].hex() == STORED["set"]["record"]
        and said[2:4] == [STORED["set"]["tablet"], STORED["set"]["clock"]]
    )
    assert [[r[0], r[1].hex(), r[2].hex(), *r[3:]] for r in said[4]] == [
        [r[k] for k in ("seq", "id", "salt", "kind", "at", "form", "made", "holder")] for r in STORED["set"]["entries"]
    ]
    assert cbor2.dumps(said, canonical=True) == data


def test_the_code_shown_to_builders_carries_the_entry_shown_to_builders():
    told = (Path(__file__).parents[2] / "webapp" / "pages" / "tablets" / "README.md").read_text(encoding="utf-8")
    entry = json.loads(
        next(
            block
            for block in re.findall(r"^```json\n(.*?)^```$", told, re.DOTALL | re.MULTILINE)
            if '"seq": 33' in block
        )
    )
    text = re.search(r"^(TH1:.*)$", told, re.MULTILINE)[1]
    said = collected([text]).whole()
    (row,) = said.rows
    assert said.record.hex() == entry["saw"][0] and (row.seq, row.id.hex(), row.salt.hex(), row.made) == (
        entry["seq"],
        entry["id"],
        entry["salt"],
        entry["made"],
    )
    assert (row.kind, row.at, row.form, row.holder) == (
        entry["kind"],
        entry["at"],
        entry["form"],
        entry["holder"],
    ) and split(said.pack()) == (text,)


texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=40)
rows = st.builds(
    HeldRow,
    st.integers(1, 2**53),
    st.binary(min_size=16, max_size=16),
    st.binary(min_size=16, max_size=16),
    texts,
    texts,
    st.dictionaries(texts, texts, max_size=8),
    st.integers(0, 2**53),
    st.none() | texts,
)
sets = st.builds(
    HeldSet, st.binary(min_size=16, max_size=16), texts, st.integers(0, 2**53), st.lists(rows, max_size=12).map(tuple)
)


@given(sets, st.randoms())
def test_whatever_a_tablet_holds_comes_back_in_any_order_and_with_repeats(held, chance):
    codes = list(split(held.pack())) * 2
    chance.shuffle(codes)
    assert collected(codes).whole() == held


def test_every_code_is_wanted_and_named_until_it_is_in():
    codes = STORED["codes"]
    for lost in range(len(codes)):
        desk = collected(code for at, code in enumerate(codes) if at != lost)
        assert desk.missing == (lost + 1,) and not desk.complete
        with pytest.raises(PacketRefused):
            desk.whole()
    assert HeldCollector().count == 0 and not HeldCollector().complete


def test_each_changed_character_of_a_code_is_noticed():
    chance, code = random.Random(3), STORED["codes"][-1]
    for at in range(len(code)):
        changed = code[:at] + chance.choice([c for c in held_frames.base45.ALPHABET if c != code[at]]) + code[at + 1 :]
        with pytest.raises(PacketRefused) as why:
            read(changed)
        assert str(why.value).endswith((".", "?"))


def made(body: bytes) -> str:
    return "TH1:" + other_base45.b45encode(body + struct.pack(">I", zlib.crc32(body))).decode()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a code of held entries"),
        ("TS1:0000", "not a code of held entries"),
        ("TH2:0000", "not a code of held entries"),
        ("th1:00", "not a code of held entries"),
        ("TH1:", "holds 0 bytes"),
        ("TH1:é", "holds characters"),
        ("TH1:0", "holds characters"),
        ("TH1::::", "holds characters"),
        (made(b"\1\0\1" + bytes(4)), "holds 11 bytes"),
        (made(b"\1\0\1" + bytes(4) + bytes(LOAD + 1)), f"holds {LOAD + 12} bytes"),
        (made(b"\2\0\1" + bytes(5)), "form 2"),
        (made(b"\1\1\1" + bytes(5)), "do not fit together"),
        (made(b"\1\0\0" + bytes(5)), "do not fit together"),
        (made(b"\1\0\2" + bytes(5)), "do not fit together"),
    ],
)
def test_what_is_no_code_of_held_entries_is_refused_in_a_sentence(text, says):
    with pytest.raises(PacketRefused) as why:
        read(text)
    assert says in str(why.value)
    assert says in HeldCollector().add(text)


GOOD = [1, bytes(16), "A", 5, [[1, bytes(16), bytes(16), "left", "", {"why": "x"}, 7, None]]]


def spoilt():
    yield b"", b"\xa0", b"\xff", cbor2.dumps(GOOD)[:-1], cbor2.dumps(GOOD) + b"\0"
    for at, value in itertools.product(range(5), (None, -1, 1.5, "x", b"", [], {}, True)):
        yield (
            (cbor2.dumps([*GOOD[:at], value, *GOOD[at + 1 :]]),)
            if value != GOOD[at]
            and not (at == 2 and value == "x")
            and not (at == 4 and value == [])
            and not (at == 3 and value == -1)
            else ()
        )
    for at, value in itertools.product(range(8), (1.5, [], True, b"x", {"a": 1}, ["x"])):
        yield (cbor2.dumps([*GOOD[:4], [[*GOOD[4][0][:at], value, *GOOD[4][0][at + 1 :]]]]),)
    yield (
        cbor2.dumps(cbor2.CBORTag(55799, GOOD)),
        cbor2.dumps([*GOOD[:4], [GOOD[4][0][:-1]]]),
        cbor2.dumps([*GOOD[:4], [[*GOOD[4][0], 0]]]),
        bytes.fromhex("9f01ff"),
    )


def test_bytes_that_are_no_set_of_entries_are_refused_though_their_sums_hold():
    assert unpack(cbor2.dumps(GOOD)).rows[0].form == {"why": "x"}
    seen = 0
    for data in itertools.chain.from_iterable(spoilt()):
        with pytest.raises(PacketRefused):
            unpack(data)
        seen += 1
    assert seen > 70


def test_codes_of_two_sets_are_told_apart_and_a_code_with_other_contents_is_refused():
    desk = collected(STORED["codes"][:1])
    other = split(HeldSet(bytes(16), "B", 1, stored_set().rows).pack())
    assert "of another set" in desk.add(other[0]) and desk.count == len(STORED["codes"])
    first = read(STORED["codes"][0])
    forged = held_frames.HeldFrame(first.index, first.count, first.set, bytes(LOAD)).text
    assert "with other contents" in desk.add(forged)
    both = HeldCollector()
    assert both.add(forged) == "new" and [both.add(text) for text in STORED["codes"][1:]] == ["new"] * (
        len(STORED["codes"]) - 1
    )
    with pytest.raises(PacketRefused, match="do not give the entries"):
        both.whole()


def test_r31_a_set_takes_255_codes_and_not_one_byte_more():
    assert len(split(bytes(255 * LOAD))) == 255
    with pytest.raises(PacketRefused, match="carry 1 to"):
        split(bytes(255 * LOAD + 1))
    with pytest.raises(PacketRefused):
        split(b"")


def test_what_a_hand_scanner_types_is_taken_apart_line_by_line_or_run_together():
    codes = STORED["codes"]
    for typed in (
        "\n".join(codes),
        "\r\n".join(codes) + "\r\n",
        "\t".join(codes),
        "".join(codes),
        "\n\n".join(code.lower() for code in codes),
    ):
        assert codes_in(typed) == tuple(codes)
    assert codes_in("  \n\t\n") == () and codes_in("hello\n" + codes[0]) == ("hello", codes[0])
    spaced = next(code for code in split(stored_set().pack() + bytes(5000)) if code.endswith(" ") or " " in code)
    assert codes_in(spaced) == (spaced,)
