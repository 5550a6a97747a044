"""A place's key, a packet it sealed, and the same packet as codes."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.packet import envelope, frames

CORE = {
    "v": 1,
    "place": "P004",
    "mode": "practice",
    "number": 2,
    "made": 1_793_757_240_000,
    "contests": {"mayor": [211, 198, 3, 15, 4, 431]},
}
REMARKS = {
    "remarks": [[41, ["poll-book"], [1], "Cause unknown.", 1_793_757_000_000, [["chair", "elm"], ["witness", "heron"]]]]
}


@pytest.fixture(scope="session")
def key():
    """RFC 8032 section 7.1, TEST 1: a secret key that is no secret."""
    return Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    )


@pytest.fixture(scope="session")
def keys(key):
    return {envelope.key_id(key.public_key()): key.public_key()}


@pytest.fixture(scope="session")
def sealed(key):
    """A small packet: k = 2 or less for each part."""
    return envelope.seal_packet(CORE, REMARKS, key, "practice")


@pytest.fixture(scope="session")
def texts(sealed):
    return frames.split(sealed.parts)
