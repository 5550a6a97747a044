"""The kit of a spare laptop opens with its code alone, and says in a sentence why not."""

import cbor2
import pytest
from argon2.low_level import Type, hash_secret_raw
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp.gate import kit
from webapp.gate.refusals import GateRefused

CODE = "7K3M-0QXT-94HB"
KEYS = {
    "own": bytes(range(50, 82)),
    "office": bytes(32),
    "pepper": b"\x07" * 32,
    "tls_key": b"key",
    "tls_leaf": b"leaf",
    "authority": b"authority",
}


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(kit, "MEMORY_KIB", 64)


@pytest.fixture
def made():
    return kit.Kit("FERN", "live", bytes(range(32)), KEYS, {"vega": "$argon2id$vega", "okoro": "$argon2id$okoro"})


def test_what_was_locked_in_comes_out(made):
    assert kit.opened(kit.locked(made, CODE), CODE) == made


@pytest.mark.parametrize("typed", ["7k3m0qxt94hb", "7K3M OQXT 94HB", " 7k3m-0qxt-94hb "])
def test_the_code_is_read_as_a_tired_hand_types_it(made, typed):
    assert kit.opened(kit.locked(made, CODE), typed) == made


def test_anybody_reads_whom_it_is_for(made):
    assert kit.named_in(kit.locked(made, CODE)) == ("FERN", "live", bytes(range(32)))


def test_nothing_of_it_lies_open(made):
    data = kit.locked(made, CODE)

    assert not any(
        secret in data for secret in (*KEYS.values(), b"argon2id", b"vega") if len(secret) > 3 and secret != bytes(32)
    )


def test_two_kits_of_one_place_share_neither_salt_nor_nonce(made):
    one, other = (cbor2.loads(kit.locked(made, CODE)) for _ in range(2))

    assert one[4] != other[4] and one[5] != other[5]


@pytest.mark.parametrize(
    ("code", "says"),
    [("7K3M-0QXT-94HC", "does not open"), ("7K3M-0QXT", "12 letters and digits"), ("", "12 letters and digits")],
)
def test_another_code_is_refused_in_a_sentence(made, code, says):
    with pytest.raises(GateRefused, match=says):
        kit.opened(kit.locked(made, CODE), code)


def test_every_cut_and_every_changed_byte_is_refused(made):
    data = kit.locked(made, CODE)
    for cut in range(0, len(data), 7):
        with pytest.raises(GateRefused):
            kit.opened(data[:cut], CODE)
    for at in range(0, len(data), 5):
        changed = bytearray(data)
        changed[at] ^= 1
        with pytest.raises(GateRefused):
            kit.opened(bytes(changed), CODE)


def test_it_is_argon2id_and_aes_gcm_as_its_page_says(made, monkeypatch):
    """Opened by the two primitives alone (RFC 9106; NIST SP 800-38D), without this program's reader."""
    monkeypatch.setattr(kit, "MEMORY_KIB", 128 * 1024)
    name, place, mode, digest, salt, nonce, hidden = cbor2.loads(kit.locked(made, CODE))
    key = hash_secret_raw(
        b"7K3M0QXT94HB", salt, time_cost=3, memory_cost=131072, parallelism=1, hash_len=32, type=Type.ID, version=19
    )
    inside = cbor2.loads(AESGCM(key).decrypt(nonce, hidden, cbor2.dumps([name, place, mode, digest], canonical=True)))

    assert (name, inside["keys"], sorted(inside["slips"])) == ("tapeseal/kit/1", KEYS, ["okoro", "vega"])


def test_a_file_that_is_none_is_refused(tmp_path):
    for data in (
        b"",
        b"hello",
        cbor2.dumps(["tapeseal/kit/2", "F", "live", bytes(32), bytes(16), bytes(12), b"x"]),
        b"\x00" * 70_000,
    ):
        with pytest.raises(GateRefused, match="not a kit"):
            kit.named_in(data)
    with pytest.raises(GateRefused, match="cannot be read"):
        kit.read(tmp_path / "none.kit")
