"""A packet and its codes as they were once written: later versions must read both, byte for byte, for ever."""

import hashlib
from pathlib import Path

from webapp.packet import envelope, frames, keyboard_scanner

STORED = Path(__file__).with_name("stored")
DIGEST = "23d94f3f8c71e91554077eef53ddab2abda8af8ad1d99d157cadd543847ced5d"


def test_the_stored_packet_opens_with_its_key(keys):
    parts = envelope.parts_of((STORED / "packet.cose").read_bytes())
    opened = envelope.open_packet(parts, keys, "practice")

    assert (DIGEST, True, "P004", 2) == (
        opened.digest.hex(),
        opened.verified,
        opened.core["place"],
        opened.core["number"],
    )
    assert [0, 11, 22, 33, 44, 55, 66, 3, 15, 4, 431] == opened.core["contests"]["c0"]
    assert "Cause unknown. The book was searched twice by both parties." == opened.remarks["remarks"][0][3]


def test_the_stored_bytes_never_change():
    """SHA-256 of both files, worked out with sha256sum."""
    sums = {name: hashlib.sha256((STORED / name).read_bytes()).hexdigest() for name in ("packet.cose", "frames.txt")}
    assert {
        "packet.cose": "f88048f8dec0aff7fee3a83edb137510b267124f7169f32f479649b4316d662b",
        "frames.txt": "e64be0bafe8460051f12581ddbb2279f70ef4e5f969aef07cb7345b6b14ac9ad",
    } == sums


def test_the_stored_packet_still_gives_the_stored_codes():
    assert keyboard_scanner.codes_in((STORED / "frames.txt").read_text()) == frames.split(
        envelope.parts_of((STORED / "packet.cose").read_bytes())
    )


def test_the_stored_codes_still_give_the_stored_packet_with_all_that_may_be_lost():
    stored = (STORED / "frames.txt").read_text().splitlines()
    box = frames.Collector()
    for part in (0, 1):
        mine = [text for text in stored if frames.read(text).part == part]
        for text in mine[-frames.read(mine[0]).k :]:
            box.add(text)

    assert envelope.parts_of((STORED / "packet.cose").read_bytes()) == box.parts()


WORKED = (
    "d2844da20127044821fe31dfa154a261a0585d78da5b9a58c698929b9f929a515094985c92999c9a5a9093989c9a146e9c96579a9b945ac49857949a9b58945d1c9f92999e5a5c12a1c0c498"
    "f56bcfae05b2a5e7b227fb7a182888fdb8dc975f18f82f30fdd40c9e9557940098e7235d58402916b9f8a331d13073b8ad967471a5aafbee141505b21da60082d3ca364410b1cac7ab328670"
    "a7010e378e618cac7c558e08a3b8a5d5327ef373f9da0a0a3302",
    "d2844da20127044821fe31dfa154a261a05278da5b985e949a9b58945ddc00001928047e58404ebf6a9def458b504c99c9f80d08ee4b5e1585f9c064a0ce9fb76240754f22d053e141f81229"
    "48d90c7714d38c552adc92ecbc283964bff673e16680bef1ed01",
)
"""The worked example of webapp/packet/README.md, byte for byte."""


def test_the_worked_example_of_the_handbook_opens_and_gives_its_codes(keys):
    parts = tuple(map(bytes.fromhex, WORKED))
    opened = envelope.open_packet(parts, keys, "practice")
    first = frames.split(parts)[0]

    assert (1, "W3", "practice", 1) == tuple(opened.core[name] for name in ("v", "place", "mode", "number"))
    assert ({"remarks": []}, "4cfe5337d056d57a1e1a3a0e371692c2763db1a7b0c3f05173d0b5f220cf2991") == (
        opened.remarks,
        opened.digest.hex(),
    )
    assert ("TS1:V500X9INA9FQK:QY50000DRMTWGSLK/-4F5936W9CSLVAHFCV7BNCF5QB1AB", "0000%10 RTN3", 6) == (
        first[:64],
        first[-12:],
        len(frames.split(parts)),
    )
