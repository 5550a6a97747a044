"""A batch of acts on its way into a record: which of them are entries already, and what bytes and heads the new ones get.

Nothing is written here. The record is asked two things: which entry has an id, and which has a line of a tablet.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from webapp.record.chain import leaf, next_head
from webapp.record.entry import RESTORED, Act, Entry, Malformed, quarter_hour
from webapp.record.reader import Tip
from webapp.record.refusals import RecordRefused


@dataclass(frozen=True, slots=True)
class PreparedEntry:
    """An entry ready to be kept: its bytes, the head before and after it, and the act that brings its words."""

    entry: Entry
    data: bytes
    prev: bytes
    head: bytes
    act: Act


class EntryBatch:
    """Takes acts one by one, in order, and prepares their entries.

    newest: the record's tip, which moves on with each entry. kept: the last exact clock (ms UTC). rough: (kind, body)
    -> whether its times are quarter hours only.
    """

    def __init__(self, record_id: bytes, newest: Tip, kept: int, rough: Callable[[str, Mapping[str, Any]], bool], known: Callable[[bytes], Entry | None],
                 filed: Callable[[str, int], int | None]):  # fmt: skip
        self.record_id = record_id
        self.newest = newest
        self.kept = kept
        self.lines: list[PreparedEntry] = []
        self._rough = rough
        self._known = known
        self._filed = filed
        self._ids: dict[bytes, Entry] = {}
        self._filed_here: dict[tuple[str, int], int] = {}

    def take(self, act: Act, now: int) -> Entry:
        """The entry this act becomes or already is. Raises RecordRefused, or Malformed where a record cannot hold it."""
        claim, rough = act.claim, self._rough(act.claim.kind, act.claim.body)
        known = self._ids.get(claim.id) or self._known(claim.id)
        if known is not None:
            if known.claim_digest not in (
                claim.digest(rough),
                claim.digest(),
            ):  # the finer one was kept before what speaks of a ballot was coarse
                raise RecordRefused(
                    f"Already entry {known.number}, with other figures. To change it, correct {known.number}."
                )
            return known
        line = self._line(act, now, rough)
        self._file(line.entry)
        self.newest = Tip(line.entry.run, line.entry.number, line.head)
        if not rough:
            self.kept = line.entry.kept
        self.lines.append(line)
        return line.entry

    def _file(self, entry: Entry) -> None:
        """Raises RecordRefused where this line of the tablet has come before."""
        if entry.seq:
            place = (entry.tablet, entry.seq)
            taken = self._filed_here.get(place) or self._filed(*place)
            if taken:
                raise RecordRefused(
                    f"Line {entry.seq} of tablet {entry.tablet} is already entry {taken}. Give this one the tablet's next line number."
                )
            self._filed_here[place] = entry.number
        self._ids[entry.id] = entry

    def _line(self, act: Act, now: int, rough: bool) -> PreparedEntry:
        claim = act.claim
        for name, text in claim.words.items():
            if type(text.salt) is not bytes or len(text.salt) != 16 or type(text.text) is not str:
                raise Malformed(f'the words "{name}" need a text and a salt of 16 bytes')
        number, clock = self.newest.number + 1, quarter_hour if rough else _fine
        entry = Entry(
            self.record_id, self.newest.run + (claim.kind == RESTORED), number, claim.id, claim.kind, claim.full_body, clock(act.made),
            clock(claim.happened), clock(max(now, self.kept)), 0 if rough else act.offset, claim.tablet, claim.seq, act.holder, act.signers,
        )  # fmt: skip
        data = entry.pack()
        # Read back by the strict reader before it is kept: nothing goes in that cannot come out.
        return PreparedEntry(
            Entry.unpack(data), data, self.newest.head, next_head(self.newest.head, number, leaf(data)), act
        )


def _fine(ms: int) -> int:
    return ms
