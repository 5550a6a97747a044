"""Base45 against RFC 9285 and against the package `base45`, written by others."""

import json
import os

import base45 as written_elsewhere
import pytest

from webapp.packet import base45

PUBLISHED = (("AB", "BB8"), ("Hello!!", "%69 VD92EX0"), ("base-45", "UJCLQE7W581"), ("ietf!", "QED8WEX0"))
"""RFC 9285 sections 4.3 (examples 1 to 3) and 4.4."""


@pytest.mark.parametrize("plain, text", PUBLISHED)
def test_the_examples_of_the_rfc_come_out_both_ways(plain, text):
    assert text == base45.encode(plain.encode())
    assert plain.encode() == base45.decode(text)


def test_ffff_is_fgw_and_one_more_is_refused():
    """RFC 9285 section 6."""
    assert b"\xff\xff" == base45.decode("FGW")
    with pytest.raises(base45.NotBase45):
        base45.decode("GGW")


def test_every_stored_vector_holds_and_every_stored_mistake_is_refused(shared):
    stored = json.loads(shared("standards/rfc9285-base45.json").read_text())

    assert stored["alphabet"] == base45.ALPHABET
    for vector in stored["vectors"] + stored["derived"]:
        assert vector["base45"] == base45.encode(bytes.fromhex(vector["hex"]))
        assert bytes.fromhex(vector["hex"]) == base45.decode(vector["base45"])
    for vector in stored["invalid"]:
        with pytest.raises(base45.NotBase45):
            base45.decode(vector["base45"])


@pytest.mark.parametrize("length", [0, 1, 2, 3, 280, 281])
def test_what_another_library_writes_is_read_and_what_we_write_it_reads(length):
    data = os.urandom(length)
    assert data == base45.decode(written_elsewhere.b45encode(data).decode())
    assert data == written_elsewhere.b45decode(base45.encode(data))
