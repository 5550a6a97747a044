"""A packet and its codes as they were once written: later versions must read both, byte for byte, for ever."""

import hashlib
from pathlib import Path

from webapp.packet import envelope, frames, scanner

STORED = Path(__file__).with_name("stored")
DIGEST = "23d94f3f8c71e91554077eef53ddab2abda8af8ad1d99d157cadd543847ced5d"


def test_the_stored_packet_opens_with_its_key(keys):
    parts = envelope.read_file(STORED / "packet.cose")
    opened = envelope.open_packet(parts, keys, "practice")

    assert (DIGEST, True, "P004", 2) == (opened.digest.hex(), opened.verified, opened.core["place"], opened.core["number"])
    assert [0, 11, 22, 33, 44, 55, 66, 3, 15, 4, 431] == opened.core["contests"]["c0"]
    assert "Cause unknown. The book was searched twice by both parties." == opened.remarks["remarks"][0][3]


def test_the_stored_bytes_never_change():
    """SHA-256 of both files, worked out with sha256sum."""
    sums = {name: hashlib.sha256((STORED / name).read_bytes()).hexdigest() for name in ("packet.cose", "frames.txt")}
    assert {"packet.cose": "f88048f8dec0aff7fee3a83edb137510b267124f7169f32f479649b4316d662b", "frames.txt": "e64be0bafe8460051f12581ddbb2279f70ef4e5f969aef07cb7345b6b14ac9ad"} == sums


def test_the_stored_packet_still_gives_the_stored_codes():
    assert scanner.codes_in((STORED / "frames.txt").read_text()) == frames.split(envelope.read_file(STORED / "packet.cose"))


def test_the_stored_codes_still_give_the_stored_packet_with_all_that_may_be_lost():
    stored = (STORED / "frames.txt").read_text().splitlines()
    box = frames.Collector()
    for part in (0, 1):
        mine = [text for text in stored if frames.read(text).part == part]
        for text in mine[-frames.read(mine[0]).k:]:
            box.add(text)

    assert envelope.read_file(STORED / "packet.cose") == box.parts()
