"""Base45 (RFC 9285): bytes as text of the 45 characters that a QR code packs most tightly.

Two bytes become three characters, a last single byte two.
"""

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
_VALUE = {symbol: value for value, symbol in enumerate(ALPHABET)}


class NotBase45(ValueError):
    """A text that is not base45 of any bytes."""


def encode(data: bytes) -> str:
    """Encode bytes as base45 text (RFC 9285, section 4.2)."""
    symbols = []
    for start in range(0, len(data), 2):
        pair = data[start : start + 2]
        number = int.from_bytes(pair)
        for _ in range(len(pair) + 1):
            number, symbol = divmod(number, 45)
            symbols.append(ALPHABET[symbol])
    return "".join(symbols)


def decode(text: str) -> bytes:
    """Decode base45 text. Raises NotBase45 where no bytes encode to it (RFC 9285, section 6)."""
    out = bytearray()
    for start in range(0, len(text), 3):
        symbols = text[start : start + 3]
        try:
            number = sum(_VALUE[symbol] * 45**place for place, symbol in enumerate(symbols))
        except KeyError:
            raise NotBase45("a character outside the alphabet") from None
        octets = len(symbols) - 1
        if not octets or number >= 256**octets:
            raise NotBase45("characters that stand for no bytes")
        out += number.to_bytes(octets)
    return bytes(out)
