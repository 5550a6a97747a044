"""A file of entries is read up to its last right item, whatever a pulled stick left behind it."""

import cbor2
import pytest

from tests.record import story
from tests.stick import nights
from webapp.stick.cbor_sequence import item_end
from webapp.stick.segment import NotASegment, pack_entry, pack_header, read_segment

# RFC 8949, appendix A: the encodings of its examples that have a definite length and no tag.
RFC_8949 = (
    "00",
    "17",
    "1818",
    "1903e8",
    "1a000f4240",
    "1b000000e8d4a51000",
    "3903e7",
    "f4",
    "f6",
    "40",
    "4401020304",
    "60",
    "6449455446",
    "62c3bc",
    "80",
    "83010203",
    "8301820203820405",
    "98190102030405060708090a0b0c0d0e0f101112131415161718181819",
    "a0",
    "a201020304",
    "a26161016162820203",
    "826161a161626163",
)
RFC_8949_REFUSED = (
    "5f42010243030405ff",
    "7f657374726561646d696e67ff",
    "9fff",
    "bf61610161629f0203ffff",
    "c074323031332d30332d32315432303a30343a30305a",
    "fb3ff199999999999a",
    "f97e00",
)


@pytest.mark.parametrize("item", RFC_8949)
def test_the_end_of_an_item_is_found_in_the_published_examples(item):
    data = bytes.fromhex(item)

    assert item_end(data, 0) == len(data)
    assert item_end(b"\x00" + data + b"\xff\x00", 1) == 1 + len(data)
    assert all(item_end(data[:cut], 0) is None for cut in range(len(data)))


@pytest.mark.parametrize("item", RFC_8949_REFUSED)
def test_an_item_without_a_definite_length_or_with_a_tag_or_a_float_has_no_end(item):
    assert item_end(bytes.fromhex(item), 0) is None


@pytest.mark.parametrize("claims", ["9b7fffffffffffffff", "bb7fffffffffffffff", "5b7fffffffffffffff", "9a00ffffff00"])
def test_a_length_that_no_file_holds_ends_at_once(claims):
    assert item_end(bytes.fromhex(claims), 0) is None


@pytest.fixture
def night(ledger, record):
    """A night of twelve entries as one segment's bytes, and where each item ends."""
    nights.keep(ledger, 12)
    stored = nights.all_of(record)
    ends = [len(pack_header(nights.header()))]
    for entry in stored:
        ends.append(ends[-1] + len(pack_entry(entry)))
    return nights.segment_bytes(stored), ends


def test_what_was_written_is_read_back_byte_for_byte(ledger, record):
    nights.keep(ledger, 12)

    read = read_segment(nights.segment_bytes(nights.all_of(record)))

    assert [one.stored for one in read.entries] == nights.all_of(record)
    assert (read.header, read.torn) == (nights.header(), 0)


def test_another_library_reads_the_same_items(night):
    """cbor2 alone, without this program's reader: RFC 8742 asks for nothing but items one behind the other."""
    data, ends = night
    with_ends = [cbor2.loads(data[a:b]) for a, b in zip([0, *ends], ends)]

    assert with_ends[0][0] == "tapeseal/stick/1"
    assert all(len(item) == 3 for item in with_ends[1:])


@pytest.mark.parametrize(
    "behind",
    [b"", b"\x00" * 300, bytes(range(256)), b"\x83" + bytes(80), b"\xff" * 40, b"\x83X \x00"],
    ids=["cut", "zeros", "noise", "half", "ones", "begun"],
)
def test_every_prefix_with_anything_behind_gives_the_longest_run_of_whole_items(night, behind):
    data, ends = night
    for cut in range(ends[0], len(data) + 1):
        whole = sum(end <= cut for end in ends) - 1
        read = read_segment(data[:cut] + behind)

        assert len(read.entries) == whole, cut
        assert read.torn == cut - ends[whole] + len(behind), cut


def test_every_prefix_of_the_header_is_no_segment(night):
    data, ends = night
    for cut in range(ends[0]):
        with pytest.raises(NotASegment):
            read_segment(data[:cut])


def test_a_flipped_bit_loses_the_item_it_lies_in_and_what_follows_and_nothing_before(night):
    data, ends = night
    for at in range(ends[0], len(data)):
        changed = bytearray(data)
        changed[at] ^= 1 << at % 8
        read = read_segment(bytes(changed))

        assert len(read.entries) == sum(end <= at for end in ends) - 1, at


def test_words_that_are_not_those_that_were_signed_do_not_come_back(ledger, record):
    nights.keep(ledger, 3, first=3)
    first, *rest = nights.all_of(record)
    name, salt, _ = first.words[0]
    altered = type(first)(first.number, first.head, first.data, ((name, salt, "Another remark."),))

    assert read_segment(nights.segment_bytes([altered, *rest])).entries == ()


def test_words_may_be_withheld(ledger, record):
    nights.keep(ledger, 3, first=3)
    bare = [type(one)(one.number, one.head, one.data) for one in nights.all_of(record)]

    assert len(read_segment(nights.segment_bytes(bare)).entries) == 3


def test_entries_of_another_record_do_not_continue(ledger, record):
    nights.keep(ledger, 3)
    data = pack_header(nights.header(record_id=bytes(16))) + b"".join(map(pack_entry, nights.all_of(record)))

    assert read_segment(data).entries == ()


def test_a_left_out_doubled_or_swapped_entry_ends_the_segment(ledger, record):
    nights.keep(ledger, 4)
    a, b, c, d = nights.all_of(record)

    assert [
        len(read_segment(nights.segment_bytes(list(order))).entries)
        for order in ((a, c, d), (a, a, b), (b, a, c), (a, b, d))
    ] == [1, 1, 0, 2]


def test_a_header_that_is_none_is_refused_in_a_sentence():
    for data in (
        b"",
        b"\x00",
        b"hello",
        cbor2.dumps(["tapeseal/stick/2", *[0] * 11]),
        cbor2.dumps(["tapeseal/stick/1"]),
    ):
        with pytest.raises(NotASegment, match="not a file of entries"):
            read_segment(data)


def test_the_header_of_the_page_is_these_bytes():
    """The whole example of webapp/stick/BACKUP.md."""
    head = bytes.fromhex("e97f6b8f") + bytes(28)
    made = nights.header(head=head)

    assert (
        pack_header(made)
        .hex()
        .startswith(
            "8c70"
            + b"tapeseal/stick/1".hex()
            + "50"
            + story.RECORD_ID.hex()
            + "65"
            + b"place".hex()
            + "64"
            + b"FERN".hex()
        )
    )
