"""What the gate keeps of a PIN or a slip code: enough to recognize it, too little to find it out.

`argon2id(HMAC-SHA-256(pepper, secret))`, 19 MiB, 2 passes, 1 lane: the smallest of the settings that the OWASP
Password Storage Cheat Sheet (section Argon2id) gives for equal strength. The pepper is in `gate.db` only; a stolen
record or backup stick gives nothing to guess against. Two computations run at a time: a queue of tries costs time,
never the laptop's memory.
"""

import hashlib
import hmac
import threading
import unicodedata

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

MEMORY_KIB = (
    19 * 1024
)  # tests alone may lower these two, to be quick: `verifier.MEMORY_KIB = 64`, `verifier.PASSES = 1`
PASSES = 2
AT_A_TIME = 2

_turn = threading.BoundedSemaphore(AT_A_TIME)


def make(pepper: bytes, secret: str) -> str:
    """The verifier to store for this secret: a PHC string with its own 16-byte salt and its parameters."""
    with _turn:
        return _hasher().hash(_peppered(pepper, secret))


def holds(pepper: bytes, secret: str, verifier: str) -> bool:
    """Whether this is the secret the verifier was made of. A verifier that cannot be read holds for nobody."""
    try:
        with _turn:
            return _hasher().verify(verifier, _peppered(pepper, secret))
    except (VerificationError, InvalidHashError):
        return False


def _hasher() -> PasswordHasher:
    return PasswordHasher(time_cost=PASSES, memory_cost=MEMORY_KIB, parallelism=1, hash_len=32, salt_len=16)


def _peppered(pepper: bytes, secret: str) -> bytes:
    return hmac.digest(pepper, unicodedata.normalize("NFC", secret).encode(), hashlib.sha256)
