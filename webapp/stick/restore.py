"""Restores a record from a stick as its next run: checks every entry, and reports what is there and no more.

Nothing is invented: an entry that is not on the stick stays lost until somebody who saw it gives it back.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from webapp.record import audit, restoration
from webapp.record.check_words import check_words, compare, comparison_sentence
from webapp.record.refusals import RecordRefused
from webapp.stick.folder import StickFound
from webapp.stick.history import History

NOTHING = (
    "Nothing is back: this is a new record. Everybody takes the oath again. Pair the tablets: each shows an alarm, since it remembers the record before. "
    "Two officials of different parties sign under What was restored; then tablets give back what they hold."
)
FAR_BEHIND = 120_000  # ms that a clock may lie behind the last entry before it is said


class AnotherHistory(Exception):
    """Words from paper that this stick contradicts: both are kept, nothing is written. One sentence."""


@dataclass(frozen=True, slots=True)
class RestoreOutcome:
    """A restored record. head: after its first entry. words: check words after `last`. proven_by: how many words from paper agreed.

    behind: ms by which the laptop's clock is behind the last entry, where that is too far, else 0.
    """

    record: Path
    run: int
    last: int
    first: int
    head: bytes
    words: str
    entries: int
    torn: int
    apart: int
    source: str
    proven_by: int
    behind: int

    @property
    def says(self) -> str:
        """Returns what came back in sentences for people: entries, check words, run, and what is missing."""
        if self.source == "nothing":
            return NOTHING
        kept = (
            f"{self.entries} entries are back, the last one is entry {self.last}"
            if self.entries != 1
            else "1 entry is back"
        )
        parts = [
            f"{kept}; its check words are {self.words}." if self.entries else "No entry is back.",
            f"The record goes on as run {self.run} with entry {self.first}.",
        ]
        if self.torn:
            parts.append(
                f"{self.torn} bytes at the end of a file on the stick could not be read: what they held may come back from tablets."
            )
        if self.apart:
            parts.append(
                f"{self.apart} entries on the stick come after a gap and were not taken: `tapeseal record give-back` brings them in."
            )
        if self.behind:
            parts.append(
                f"This laptop's clock is {self.behind // 60_000} minutes behind the last entry: set it before anybody signs."
            )
        return " ".join(parts)


def restore(
    found: StickFound,
    record: Path,
    *,
    seen: int | None,
    expect: Sequence[tuple[int, str]],
    kit: str,
    coarse: frozenset[str],
    now: int,
    laptop: str = "dead",
    source: str = "",
) -> RestoreOutcome:
    """Writes the record of the next run to the new file `record`. seen: the highest number anybody saw, None when nobody knows. now: ms UTC.

    Raises AnotherHistory where words from paper differ, RecordRefused where the stick's entries do not check or
    something is there already.
    """
    history, source = found.history, source or found.source
    agreed = held_against_paper(history, expect)
    facts = {
        "seen": seen,
        "source": source,
        "stick": found.stick or None,
        "torn": history.torn,
        "laptop": laptop,
        "kit": kit,
    }
    made = restoration.lay_down(record, history.record_id, history.stored, facts, now)
    try:
        verdict = audit.verify(made.draft, coarse=coarse)
        if not verdict.ok:
            raise RecordRefused(
                f"What is on the stick does not check: {verdict.says} Nothing was laid down; keep the stick, and try the other one."
            )
        restoration.settle(made, record)
    finally:
        made.draft.unlink(missing_ok=True)
    behind = made.behind if made.behind > FAR_BEHIND else 0
    return RestoreOutcome(
        record,
        made.entry.run,
        history.end.number,
        made.entry.number,
        made.head,
        check_words(history.end.head),
        len(history.entries),
        history.torn,
        len(history.apart),
        source,
        agreed,
        behind,
    )


def held_against_paper(history: History, expect: Iterable[tuple[int, str]]) -> int:
    """How many of these (number, words) agree; those beyond the end cannot be checked. Raises AnotherHistory, or RecordRefused for a slip in copying."""
    heads: Mapping[int, bytes] = {one.stored.number: one.stored.head for one in history.entries}
    agreed = 0
    for number, words in expect:
        if number not in heads:
            continue
        own = check_words(heads[number])
        likeness = compare(words, own)
        if likeness == "slip":
            raise RecordRefused(comparison_sentence(likeness, number, words, own))
        if likeness == "other":
            raise AnotherHistory(comparison_sentence(likeness, number, words, own))
        agreed += 1
    return agreed
