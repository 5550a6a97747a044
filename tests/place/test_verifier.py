"""What is kept of a secret, held against an independent Argon2id and HMAC, and the alphabet of slip codes against Crockford's page."""

import base64
import threading
import time

import pytest
from cryptography.hazmat.primitives import hashes, hmac
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from webapp.gate import slip_code, verifier

PEPPER = bytes(range(32))


def test_a_verifier_is_argon2id_of_the_peppered_secret(real_cost):
    """OWASP Password Storage Cheat Sheet, Argon2id: 19 MiB, 2 passes, 1 lane; computed again with OpenSSL's Argon2id (RFC 9106)."""
    made = verifier.make(PEPPER, "471 159")
    _, kind, version, parameters, salt, digest = made.split("$")
    peppered = hmac.HMAC(PEPPER, hashes.SHA256())
    peppered.update(b"471 159")

    again = Argon2id(salt=_bytes(salt), length=32, iterations=2, lanes=1, memory_cost=19 * 1024).derive(
        peppered.finalize()
    )

    assert (kind, version, parameters) == ("argon2id", "v=19", "m=19456,t=2,p=1")
    assert _bytes(digest) == again and len(_bytes(salt)) == 16


def test_a_verifier_holds_for_its_secret_and_pepper_alone(quick):
    made = verifier.make(PEPPER, "471159")

    assert verifier.holds(PEPPER, "471159", made)
    assert not verifier.holds(PEPPER, "471158", made) and not verifier.holds(bytes(32), "471159", made)


def test_an_accent_typed_in_two_ways_is_one_secret(quick):
    assert verifier.holds(PEPPER, "Ze\u0301", verifier.make(PEPPER, "Z\u00e9"))


@pytest.mark.parametrize(
    "broken", ["", "471159", "$argon2id$v=19$m=64,t=1,p=1$AAAA", "$argon2i$v=19$m=64,t=1,p=1$AAAAAAAAAAA$AAAAAAAAAAA"]
)
def test_a_verifier_that_cannot_be_read_holds_for_nobody(broken):
    assert not verifier.holds(PEPPER, "471159", broken)


def test_two_are_computed_at_a_time(monkeypatch):
    running, most, lock = 0, 0, threading.Lock()

    class Counting:
        def hash(self, secret):
            nonlocal running, most
            with lock:
                running += 1
                most = max(most, running)
            time.sleep(0.01)
            with lock:
                running -= 1
            return "made"

    monkeypatch.setattr(verifier, "_hasher", Counting)
    threads = [threading.Thread(target=verifier.make, args=(PEPPER, "1")) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert most == 2


def test_a_slip_code_has_twelve_symbols_shown_in_fours():
    """crockford.com/base32.html: digits and letters without I, L, O and U."""
    codes = {slip_code.mint() for _ in range(200)}

    assert len(codes) == 200
    for code in codes:
        assert [len(part) for part in code.split("-")] == [4, 4, 4] and not set(code) & set("ILOUilou")
        assert slip_code.normal(code) == code.replace("-", "")


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("7k3m 0qxt 94hb", "7K3M0QXT94HB"),
        (" 7K3MOQXT94HB ", "7K3M0QXT94HB"),
        ("iLoO-0000\u20130000", "110000000000"),
        ("7K3M-0QXT-94H", None),
        ("7K3M-0QXT-94HBX", None),
        ("7K3M-0QXT-94HU", None),
        ("", None),
        ("７K3M-0QXT-94HB", None),
    ],
)
def test_a_code_is_read_as_a_tired_hand_types_it(typed, read):
    """I and L read as 1, O as 0, dashes and case are nothing (crockford.com/base32.html)."""
    assert slip_code.normal(typed) == read


def _bytes(text):
    return base64.b64decode(text + "=" * (-len(text) % 4))
