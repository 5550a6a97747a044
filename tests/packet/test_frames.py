"""Frames: their bytes, any sufficient part of them, and what is refused and why."""

import itertools
import os
import random
import zlib
from dataclasses import replace

import base45 as written_elsewhere
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.packet import frames
from webapp.packet.cose import PacketRefused


def collected(texts):
    box = frames.Collector()
    for text in texts:
        assert "new" == box.add(text)
    return box


def test_a_frame_lies_in_its_bytes_as_the_format_says(sealed, texts):
    """Read by hand, with a base45 that others wrote."""
    body = written_elsewhere.b45decode(texts[0][4:])

    assert ("TS1:", 426, 281) == (texts[0][:4], len(texts[0]), len(body))
    assert (1, 0) == (body[0], body[1])
    assert sealed.digest[:8] == body[2:10]
    k, n, index, last = body[10], body[11], body[12], int.from_bytes(body[13:15])
    assert (len(sealed.parts[0]) - (k - 1) * 262, k + max(2, -(-k // 3)), 0) == (last, n, index)
    assert sealed.parts[0][:262].ljust(262, b"\0") == body[15:277]
    assert zlib.crc32(body[:277]) == int.from_bytes(body[277:])


def test_the_last_data_frame_is_filled_up_with_zeros(sealed, texts):
    one = frames.read(texts[frames.read(texts[0]).k - 1])
    assert one.payload[one.last :] == bytes(262 - one.last)


@pytest.mark.parametrize("k, spare", [(1, 2), (2, 2), (6, 2), (7, 3), (9, 3), (10, 4), (188, 63)])
def test_a_third_as_many_again_is_spare_and_never_fewer_than_two(k, spare):
    texts = frames.split((os.urandom(262 * k), b"x"))
    assert (k + spare, 3) == (frames.read(texts[0]).n, len(texts) - k - spare)


def test_a_part_that_needs_more_than_255_codes_is_refused():
    with pytest.raises(PacketRefused, match="the codes of a packet carry"):
        frames.split((bytes(262 * 192), b"x"))


@pytest.mark.parametrize("k", range(1, 6))
def test_every_pattern_of_losses_up_to_the_spare_codes_restores_the_packet(k):
    parts = os.urandom(262 * k - 5), b"remarks"
    texts = frames.split(parts)
    n = frames.read(texts[0]).n
    for lost in itertools.combinations(range(n), n - k):
        assert parts == collected([text for place, text in enumerate(texts) if place not in lost][::-1]).parts()


@settings(max_examples=examples(25), deadline=None)
@given(st.data())
def test_any_sufficient_codes_in_any_order_with_repeats_restore_both_parts(data):
    chance = random.Random(data.draw(st.integers(0, 2**32)))
    parts = chance.randbytes(data.draw(st.integers(1, 9000))), chance.randbytes(data.draw(st.integers(1, 3000)))
    box, kept = frames.Collector(), []
    for part in (0, 1):
        mine = [text for text in frames.split(parts) if frames.read(text).part == part]
        kept += chance.sample(mine, frames.read(mine[0]).k)
    chance.shuffle(kept)
    for text in kept + kept[:3]:
        assert box.add(text) in ("new", "again")

    assert (True, parts, ()) == (box.complete, box.parts(), box.missing)


def test_one_code_too_few_names_those_wanted():
    parts = os.urandom(262 * 4), b"remarks"  # k 4, n 6; then codes 7 to 9
    texts = frames.split(parts)
    box = collected([texts[1], texts[3], texts[5], texts[8]])

    assert ((1, 3, 5), ()) == box.wanted
    assert "1 more of the codes 1, 3 and 5 is still wanted: any of them will do." == box.says
    with pytest.raises(PacketRefused, match="codes 1, 3 and 5"):
        box.parts()
    assert "new" == box.add(texts[2])
    assert parts == box.parts()


def test_codes_are_counted_on_through_the_remarks():
    texts = frames.split((os.urandom(262 * 4), os.urandom(262 * 2)))
    box = collected([*texts[:4], texts[9]])
    assert (7, 8, 9) == box.missing


def test_of_a_part_nobody_read_the_first_three_codes_are_named():
    texts = frames.split((os.urandom(262 * 4), b"remarks"))

    assert (1, 2, 3) == frames.Collector().missing
    assert (7, 8, 9) == collected(texts[:4]).missing
    assert "No code of the remarks was read yet: they begin at code 7." == collected(texts[:4]).says


def test_remarks_first_cannot_be_numbered_and_says_so():
    texts = frames.split((os.urandom(262 * 4), os.urandom(262 * 2)))
    box = collected(texts[6:7])
    assert ((1, 2, 3), ()) == box.wanted
    assert "their numbers show once a code of the figures is read" in box.says


def test_codes_of_another_packet_are_refused_by_both_names(texts):
    box, other = collected(texts[:1]), frames.split((b"another", b"packet"))[0]
    assert (
        box.add(other)
        == f"This code is of packet {frames.read(other).digest.hex()}, the others are of {frames.read(texts[0]).digest.hex()}. Read one packet at a time."
    )


def test_a_foreign_code_is_foreign_and_a_repeat_is_again(texts):
    box = collected(texts[:1])
    assert ["foreign", "foreign", "again", "again"] == [
        box.add(text) for text in ("https://example.org", "", texts[0], texts[0] + "\r\n")
    ]


def test_a_changed_character_anywhere_is_never_taken(texts):
    for place in range(4, 426):
        spoilt = texts[0][:place] + ("0" if texts[0][place] != "0" else "1") + texts[0][place + 1 :]
        assert (
            frames.Collector()
            .add(spoilt)
            .endswith(("Read it again.", "Read it again, or check the scanner's keyboard layout."))
        )


def test_a_swallowed_space_is_never_taken(texts):
    spaced = next(text for text in texts if " " in text)
    assert frames.Collector().add(spaced.replace(" ", "", 1)) not in ("new", "again", "foreign")


def _frame(texts, **changes):
    return replace(frames.read(texts[0]), **changes).text


@pytest.mark.parametrize("changes", [{"part": 2}, {"k": 0}, {"n": 9}, {"index": 200}, {"last": 0}, {"last": 263}])
def test_numbers_that_do_not_fit_together_are_refused_though_the_check_sum_holds(texts, changes):
    assert "do not fit together" in frames.Collector().add(_frame(texts, **changes))


def test_a_later_form_is_named():
    body = bytes([2]) + bytes(276)
    text = "TS1:" + written_elsewhere.b45encode(body + zlib.crc32(body).to_bytes(4)).decode()
    assert (
        "This code is of form 2; this desk reads form 1. Read it with the newer Tape & Seal."
        == frames.Collector().add(text)
    )


def test_a_code_that_counts_its_part_otherwise_is_refused(texts):
    box = collected(texts[:1])
    one = frames.read(texts[0])
    assert "Set both aside" in box.add(_frame(texts, index=1, last=one.last - 1))


def test_a_whole_packet_is_taken_as_all_its_codes_and_what_was_read_before_counts_once(sealed, texts):
    whole, mixed = frames.Collector(), frames.Collector()
    assert whole.take_parts(sealed.parts) == ("new",) * len(texts) and frames.count(sealed.parts) == len(texts)
    assert whole.complete and whole.parts() == sealed.parts and whole.frames == collected(texts).frames
    assert mixed.add(texts[1]) == "new"
    assert mixed.take_parts(sealed.parts) == ("new", "again", *("new",) * (len(texts) - 2))
    other = frames.Collector()
    other.add(texts[0])
    said = other.take_parts((sealed.parts[1], sealed.parts[0]))
    assert all(text.startswith("This code is of packet") for text in said) and other.read == 1


def test_the_same_number_with_other_contents_is_refused(texts):
    box = collected(texts[:1])
    assert "read before with other contents" in box.add(_frame(texts, payload=bytes(262)))


def test_codes_that_do_not_give_the_packet_they_name_are_refused(texts):
    box = frames.Collector()
    for text in texts:
        frame = frames.read(text)
        box.add(_frame([text], payload=bytes(262)) if frame.part == 0 else text)
    with pytest.raises(PacketRefused, match="do not give the packet"):
        box.parts()
