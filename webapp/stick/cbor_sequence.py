"""Where the next item of a CBOR sequence (RFC 8742) ends, so that it can be read on its own and what follows it cannot harm it."""


def item_end(data: bytes, start: int) -> int | None:
    """The offset behind the item that begins at `start`; None where it is cut off, has no definite length or carries a tag.

    RFC 8949, section 3: the three high bits of the first byte are the kind, the low five a length or where to read it.
    """
    at, wanted = start, 1
    while wanted:
        wanted -= 1
        if at >= len(data):
            return None
        kind, low = data[at] >> 5, data[at] & 31
        size = 0 if low < 24 else 1 << (low - 24) if low < 28 else None  # bytes of the length that follow: 1, 2, 4 or 8
        if size is None or kind == 6 or (kind == 7 and size):
            return None
        count = low if low < 24 else int.from_bytes(data[at + 1 : at + 1 + size], "big")
        at += 1 + size
        if kind in (2, 3):
            at += count
        elif kind in (4, 5):
            wanted += count * (kind - 3)
        if at > len(data) or wanted > len(data) - at:  # an item has one byte at least
            return None
    return at
