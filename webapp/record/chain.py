"""The hash of the record: each head covers its entry, the entry's number and every entry before it.

    leaf_n = SHA-256(00 || entry_n)
    head_0 = SHA-256("tapeseal/head/1" 00 || record_id)
    head_n = SHA-256("tapeseal/head/1" 00 || head_n-1 || u64be n || leaf_n)

The leading 00 keeps a leaf from being mistaken for anything else that is hashed; the name keeps a head from being one of another
format. Writer and checker share these three functions and nothing more.
"""

from hashlib import sha256

_NAME = b"tapeseal/head/1\x00"


def leaf(entry: bytes) -> bytes:
    """The 32-byte digest of one entry's stored bytes."""
    return sha256(b"\x00" + entry).digest()


def first_head(record_id: bytes) -> bytes:
    """The head of a record of no entries; `record_id` is 16 bytes."""
    return sha256(_NAME + record_id).digest()


def next_head(head: bytes, number: int, leaf: bytes) -> bytes:
    """The head after entry `number` (from 1), from the head before it and its leaf, 32 bytes each."""
    return sha256(_NAME + head + number.to_bytes(8, "big") + leaf).digest()
