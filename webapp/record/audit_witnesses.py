"""Compares a record with what others hold of it: check words that were copied onto paper, length and head that a packet states."""

from collections.abc import Mapping, Sequence

from webapp.record.audit_links import Wrong
from webapp.record.check_words import check_words, compare, comparison_sentence


class CopySlip(Exception):
    """Check words that contradict their own last symbol: they show nothing until they are read again."""


def against(
    expect: Sequence[tuple[int, str]], heads: Sequence[tuple[int, bytes]], known: Mapping[int, bytes], last: int
) -> str:
    """Compare in the order of the entries. known: the record's head after each number asked for. last: its last right entry.

    Gives a sentence that says what agreed. Raises Wrong at the first that does not agree, Slip where all else agrees but some words are miscopied.
    """
    agreed = 0
    slips = []
    asked = [(number, words, None) for number, words in expect] + [(number, None, head) for number, head in heads]
    for number, words, head in sorted(asked, key=lambda one: one[0]):
        if number not in known:
            raise Wrong(max(last, 0) + 1, f"The record ends with entry {last}; {_holder(words)} knows entry {number}. "
                        f"{_entries(last + 1, number)} missing at the end, or this is an older copy.")  # fmt: skip
        if words is None:
            if known[number] != head:
                raise Wrong(number, f"The packet states another head after entry {number}: {_since(agreed, number)}")
        else:
            own = check_words(known[number])
            likeness = compare(words, own)
            if likeness == "slip":
                slips.append(comparison_sentence(likeness, number, words, own))
                continue
            if likeness == "other":
                raise Wrong(
                    number, f"{comparison_sentence(likeness, number, words, own)} {_since(agreed, number).capitalize()}"
                )
        agreed = number
    if slips:
        raise CopySlip(" ".join(slips))
    return " ".join(_agreement(name, numbers) for name, numbers in (
        ("check words", [number for number, _ in expect]), ("packet's head", [number for number, _ in heads])) if numbers)  # fmt: skip


def _agreement(name: str, numbers: list[int]) -> str:
    *others, last = map(str, sorted(set(numbers)))
    which = f"entries {', '.join(others)} and {last}" if others else f"entry {last}"
    return f"The {name} after {which} {'are' if name.endswith('s') else 'is'} its own."


def _holder(words: str | None) -> str:
    return "the packet" if words is None else "the paper"


def _entries(first: int, last: int) -> str:
    return f"Entry {first} is" if first == last else f"Entries {first} to {last} are"


def _since(agreed: int, number: int) -> str:
    if agreed + 1 >= number:
        return f"entry {number} is not the one that was kept."
    return f"one of the entries {agreed + 1} to {number} is not the one that was kept."
