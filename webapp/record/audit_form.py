"""The form of each entry, written down a second time and on its own: types, times, runs, signatures, free words, and that it is filed under its own id and line, once."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

from webapp.record.audit_links import Wrong

QUARTER = 900_000  # ms
_HELD = (int, bytes, int, int, bytes, str, dict, int, int, int, int, str, int, str, list)
_UNHELD = (*_HELD[:13], type(None), list)
_SIGNER = (str, str, str, str)
_HOWS = frozenset(("pin", "desk", "ink"))

Texts = Mapping[int, Mapping[str, tuple[bytes, bytes]]]
"""Entry number -> name of the words -> (salt, text in UTF-8)."""


class EntryForm:
    """Checks each entry, in order, against the form; collects what is to be said of the whole at the end."""

    def __init__(self, texts: Texts, coarse: frozenset[str]):
        self._texts = texts
        self._coarse = coarse
        self._run = 1
        self._kept = 0
        self._withheld = 0
        self._ids: set[bytes] = set()
        self._lines: dict[str, set[int]] = defaultdict(set)
        self._signatures: list[list[str]] = []

    def check(self, row: tuple[Any, ...], item: list[Any]) -> None:
        """Raises Wrong where this entry breaks the form. row: number, entry, prev, head, tablet, seq and id as they are filed."""
        number = row[0]
        types = tuple(map(type, item))
        if types != _HELD and types != _UNHELD or item[0] != 1:
            raise Wrong(number, f"Entry {number} is not of format 1: an item has another type.")
        _, _, run, _, id, kind, body, made, happened, kept, offset, tablet, seq, _, signers = item
        if len(id) != 16 or not kind or not tablet or seq < 0 or made < 0 or happened < 0:
            raise Wrong(number, f"Entry {number} lacks an id of 16 bytes, a kind or a tablet, or counts below 0.")
        if (tablet.encode(), seq, id) != row[4:]:
            raise Wrong(number, f"Entry {number} is filed under an id, tablet or line that is not its own.")
        if id in self._ids:
            raise Wrong(number, f"Entry {number} carries the id of an earlier entry.")
        self._ids.add(id)
        if seq:
            lines = self._lines[tablet]
            if seq in lines:
                raise Wrong(number, f"Entry {number} carries a line of its tablet ({seq}) that an earlier entry has.")
            lines.add(seq)
        if run != self._run:
            self._next_run(number, run, kind, body)
        told = body.get("kind") if kind == "given-back" else kind
        if kept < self._kept or told in self._coarse:
            self._times(number, told, made, happened, kept, offset)
        elif made % QUARTER or happened % QUARTER or kept % QUARTER or offset:
            self._kept = kept
        if signers:
            self._signers(number, signers)
        if (
            kind != "check-words" and "words" in body
        ) or number in self._texts:  # check words are a figure of that entry, no free words
            self._words(number, body.get("words", {}))

    def notes(self) -> Iterable[str]:
        """Findings that are no fault: withheld words, lines that a tablet has not sent."""
        if self._withheld == 1:
            yield "The words of 1 remark are withheld from this copy."
        elif self._withheld:
            yield f"The words of {self._withheld} remarks are withheld from this copy."
        for tablet, lines in sorted(self._lines.items()):
            missing = sorted(set(range(1, max(lines) + 1)) - lines) if max(lines) != len(lines) else []
            if missing:
                some = ", ".join(map(str, missing[:5])) + (" ..." if len(missing) > 5 else "")
                yield f"Tablet {tablet} has not sent its lines {some}: ask it what it still holds."

    def _next_run(self, number: int, run: int, kind: str, body: Mapping[str, Any]) -> None:
        if run != self._run + 1 or kind != "restored":
            raise Wrong(
                number,
                f"Entry {number} is of run {run} after run {self._run}; a run begins with a restore and is one more.",
            )
        if body.get("first", number) != number:
            raise Wrong(number, f"Entry {number} begins run {run} and says that it begins with entry {body['first']}.")
        self._run = run

    def _times(self, number: int, kind: str, made: int, happened: int, kept: int, offset: int) -> None:
        """Coarse times are quarter hours, and only they may be earlier than the entry before: by less than a quarter of an hour."""
        rough = not (made % QUARTER or happened % QUARTER or kept % QUARTER or offset)
        if kind in self._coarse and not rough:
            raise Wrong(number, f"Entry {number} carries a finer time than the quarter hour that its kind allows.")
        if kept < self._kept - self._kept % QUARTER or not rough and kept < self._kept:
            raise Wrong(
                number, f"Entry {number} was kept before an earlier entry: the clock of a record never goes back."
            )

    def _words(self, number: int, digests: Any) -> None:
        if type(digests) is not dict or any(type(d) is not bytes or len(d) != 32 for d in digests.values()):
            raise Wrong(number, f"Entry {number} names words without a digest of 32 bytes.")
        beside = self._texts.get(number, {})
        for name, (salt, text) in beside.items():
            if digests.get(name) != sha256(salt + text).digest():
                raise Wrong(number, f'The words "{name}" beside entry {number} are not those that were signed.')
        self._withheld += len(digests) - len(beside)

    def _signers(self, number: int, signers: list[Any]) -> None:
        """Few people sign, and often: a signature that was looked at once is known again."""
        for signer in signers:
            if signer in self._signatures:
                continue
            if type(signer) is not list or tuple(map(type, signer)) != _SIGNER:
                raise Wrong(number, f"A signature of entry {number} is not person, role, party and how, all texts.")
            if not signer[0] or signer[3] not in _HOWS:
                raise Wrong(
                    number, f"A signature of entry {number} names no person, or was made by neither pin, desk nor ink."
                )
            if len(self._signatures) < 30:
                self._signatures.append(signer)
        if len(signers) > 1 and len({signer[0] for signer in signers}) != len(signers):
            raise Wrong(number, f"One person signed entry {number} twice.")
