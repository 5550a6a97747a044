"""A packet: sealed once, opened only when whole, and nothing inflated for a stranger beyond the limits."""

import hashlib
import os
import zlib

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from packet.conftest import CORE, REMARKS
from webapp.packet import cose, envelope
from webapp.record import cbor


def test_a_packet_comes_back_as_it_was_sealed(sealed, keys, key):
    opened = envelope.open_packet(sealed.data, keys, "practice")

    assert {**CORE, "remarks_digest": opened.core["remarks_digest"]} == opened.core
    assert (REMARKS, True, cose.key_id(key.public_key()), "practice") == (
        opened.remarks,
        opened.verified,
        opened.kid,
        opened.mode,
    )


def test_the_digest_is_that_of_the_first_envelope_and_the_core_names_the_remarks(sealed):
    opened = envelope.open_packet(sealed.parts, None, None)

    assert hashlib.sha256(sealed.parts[0]).digest() == sealed.digest == opened.digest
    assert hashlib.sha256(cose.taken_apart(sealed.parts[1]).payload).digest() == opened.core["remarks_digest"]


def test_the_file_is_both_parts_one_behind_the_other(sealed, tmp_path):
    (tmp_path / "packet.cose").write_bytes(sealed.data)
    assert sealed.parts == envelope.parts_of((tmp_path / "packet.cose").read_bytes())


@pytest.mark.parametrize("given, verified", [(None, None), ({}, False)])
def test_without_its_key_a_packet_is_accepted_and_not_proven(sealed, given, verified):
    opened = envelope.open_packet(sealed.parts, given, "practice")
    assert (verified, "P004") == (opened.verified, opened.core["place"])


def test_a_practice_packet_is_refused_by_a_live_office_with_and_without_its_key(sealed, keys):
    with pytest.raises(envelope.PacketRefused, match="signed for practice, and live"):
        envelope.open_packet(sealed.parts, keys, "live")
    with pytest.raises(envelope.PacketRefused, match="says it is for practice, and live"):
        envelope.open_packet(sealed.parts, {}, "live")


def test_parts_that_change_places_are_refused(sealed, keys):
    with pytest.raises(envelope.PacketRefused, match="does not hold"):
        envelope.open_packet(sealed.parts[::-1], keys, "practice")


def test_remarks_of_another_packet_are_refused_even_under_the_same_key(sealed, key, keys):
    other = envelope.seal_packet(CORE, {"remarks": []}, key, "practice")
    with pytest.raises(envelope.PacketRefused, match="do not belong to these figures"):
        envelope.open_packet((sealed.parts[0], other.parts[1]), keys, "practice")


def test_parts_under_two_keys_are_refused(sealed):
    other = envelope.seal_packet(CORE, REMARKS, Ed25519PrivateKey.generate(), "practice")
    with pytest.raises(envelope.PacketRefused, match="the remarks with"):
        envelope.open_packet((sealed.parts[0], other.parts[1]), None, "practice")


def test_a_core_that_says_another_mode_than_it_was_signed_for_is_refused(key, keys):
    lying = envelope.seal_packet({**CORE, "mode": "live"}, REMARKS, key, "practice")
    with pytest.raises(envelope.PacketRefused, match="says it is for live"):
        envelope.open_packet(lying.parts, keys, "practice")


def test_a_file_cut_anywhere_or_run_on_is_refused(sealed):
    data = sealed.data
    for spoilt in [data[:length] for length in range(0, len(data), 7)] + [
        data + b"\0",
        data + sealed.parts[1],
        sealed.parts[0],
        b"x" * 200_000,
    ]:
        with pytest.raises(envelope.PacketRefused):
            envelope.parts_of(spoilt)


def test_a_changed_byte_anywhere_is_refused(sealed, keys):
    for place in range(len(sealed.data)):
        spoilt = bytearray(sealed.data)
        spoilt[place] ^= 0x10
        with pytest.raises(envelope.PacketRefused):
            envelope.open_packet(bytes(spoilt), keys, "practice")


def _with_payloads(key, core: bytes, remarks: bytes = zlib.compress(cbor.encode({}))):
    contexts = [envelope.context("practice", part) for part in (0, 1)]
    return cose.sign(core, key, contexts[0]), cose.sign(remarks, key, contexts[1])


@pytest.mark.parametrize(
    "payload, sentence",
    [
        (zlib.compress(b"\0" * 40_000_000, 9), "unpack to more than 262144 bytes"),
        (zlib.compress(b"\0" * 262_145, 9), "unpack to more than 262144 bytes"),
        (b"not zlib", "cannot be unpacked"),
        (zlib.compress(cbor.encode({}))[:-3], "cut off or run on"),
        (zlib.compress(cbor.encode({})) + b"\0", "cut off or run on"),
        (zlib.compress(b"\xfb\0\0\0\0\0\0\0\0"), "not in the form this program writes"),
        (zlib.compress(b"\xbf\xff"), "not in the form this program writes"),
        (zlib.compress(b"\x80"), "not a list of named things"),
    ],
)
@pytest.mark.parametrize("known", [True, False])
def test_a_payload_that_is_no_packet_is_refused_signed_or_not(key, keys, payload, sentence, known):
    with pytest.raises(envelope.PacketRefused, match=sentence):
        envelope.open_packet(_with_payloads(key, payload), keys if known else {}, "practice")


def test_nothing_is_inflated_before_the_signature_holds(key, keys, monkeypatch):
    parts = _with_payloads(key, zlib.compress(b"\0" * 40_000_000, 9))
    spoilt = (parts[0][:-1] + bytes([parts[0][-1] ^ 1]), parts[1])
    monkeypatch.setattr(
        envelope.zlib, "decompressobj", lambda: pytest.fail("inflated before the signature was looked at")
    )
    with pytest.raises(envelope.PacketRefused, match="does not hold"):
        envelope.open_packet(spoilt, keys, "practice")


def test_a_part_larger_than_its_codes_is_refused_when_sealing_and_when_opening(key, keys):
    with pytest.raises(envelope.PacketRefused, match="The remarks fill"):
        envelope.seal_packet(CORE, {"remarks": [os.urandom(60_000)]}, key, "practice")
    with pytest.raises(envelope.PacketRefused, match="The figures fill"):
        envelope.seal_packet({**CORE, "steps": ["x" * 300_000]}, REMARKS, key, "practice")
    with pytest.raises(envelope.PacketRefused, match="a packet carries 49152"):
        envelope.open_packet(_with_payloads(key, os.urandom(60_000)), keys, "practice")


def test_a_mode_that_is_neither_live_nor_practice_is_a_mistake_of_the_caller(key):
    with pytest.raises(ValueError):
        envelope.seal_packet(CORE, REMARKS, key, "test")
