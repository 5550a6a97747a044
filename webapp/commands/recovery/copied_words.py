"""Check words as typed from the paper."""

from webapp.commands import Stop


def copied(text: str) -> tuple[int, str]:
    """`41:XXXX-XXXX-XXXX` as (41, words). Raises Stop."""
    number, colon, words = text.partition(":")
    if not colon or not number.isascii() or not number.isdecimal() or len(number) > 15 or not words.strip():
        raise Stop(
            f"--expect {text[:60]}: write the entry's number, a colon and the words from the paper, as 41:XXXX-XXXX-XXXX."
        )
    return int(number), words.strip()
