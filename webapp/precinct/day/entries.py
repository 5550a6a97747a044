"""Every entry of a day as it is now, by number and by task, with corrections applied and notes taken back dropped.

One pass, entry by entry; each costs the same whether the record holds ten or ten thousand. Nothing here knows what an
entry means, except those that change another one: correction, taken-back, countersigned, counted-again; and a blind
first keying, whose figures stay out of everything until the second is in.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from operator import attrgetter
from typing import Any

from webapp.precinct.day.blind_keying import BlindKeying, Keying
from webapp.precinct.day.current_entry import NO_WORDS, CurrentEntry, corrected, counted_again, countersigned, kept_from
from webapp.precinct.day.people import KINDS as PEOPLE_KINDS
from webapp.precinct.day.people import People
from webapp.precinct.day.projection import Projection
from webapp.precinct.day.restores import GIVEN_BACK, SIGNED, folded
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry

NUMBER = attrgetter("number")
CHANGES = frozenset({"correction", "taken-back", "countersigned", "counted-again"})


class Entries:
    """Every entry of a day. entries: all in order, superseded bodies and notes taken back included. kept: only what counts, by task key."""

    def __init__(self, place: Place):
        self.place = place
        self.people = People(place)
        self.entries: list[CurrentEntry] = []
        self.kept: dict[str, list[CurrentEntry]] = {}  # by task key, in order
        self.keyings = BlindKeying()
        self.marks: list[tuple[int, str]] = []  # (number, check words)
        self.run = self.length = 0
        self.head = b""  # set by the room that folds: nothing is hashed here
        self.version = ""  # of the program that last wrote here
        self._index: dict[int, int] = {}  # number -> index in entries
        self._ats: dict[str, list[str]] = {}  # kind -> keys under which it was kept
        self._roots: dict[int, int] = {}  # number of a correction -> number of the entry it corrects
        self._sheets: dict[str, list[Projection]] = {}  # kind -> the sheets that list it
        self._begins_again = {name.partition(".")[0] for step in steps(place) for name in step.again_with}
        self.returned: dict[int, CurrentEntry] = {}  # what was given back of a run before, by the number it came under
        self.acts: dict[
            bytes, int
        ] = {}  # id -> number under which it was kept here or given back, whichever came first

    def add(self, entry: Entry, texts: Mapping[str, str] = NO_WORDS, head: bytes = b"") -> None:
        """Fold one more entry, in the order of the record."""
        self.run, self.length, self.head = entry.run, entry.number, head
        kept = kept_from(entry, texts)
        self._index[entry.number] = len(self.entries)
        self.entries.append(kept)
        self.acts.setdefault(entry.id, entry.number)
        special = _SPECIAL.get(entry.kind)
        if special:
            special(self, entry, texts)
            return
        if entry.kind in PEOPLE_KINDS:
            self.people.add(entry, texts)
        elif entry.kind in self._begins_again:
            self.keyings.begin_again()
        elif entry.kind in ("record-opened", "started"):
            self.version = entry.body.get("version", "")
        self._put(kept)

    def entry(self, number: int) -> CurrentEntry | None:
        """The entry of that number as it is now."""
        index = self._index.get(number)
        return None if index is None else self.entries[index]

    def known(self, number: int) -> CurrentEntry:
        """The entry of a number that the record has. Raises KeyError."""
        return self.entries[self._index[number]]

    def all(self, key: str) -> list[CurrentEntry]:
        """The entries under a task key that count, in order."""
        return self.kept.get(key, [])

    def last(self, key: str) -> CurrentEntry | None:
        """The newest entry kept under a task key."""
        found = self.kept.get(key)
        return found[-1] if found else None

    def of(self, kind: str) -> list[CurrentEntry]:
        """Everything of one kind, wherever it was done, in order."""
        keys = self._ats.get(kind, ())
        return (
            self.kept.get(keys[0], [])
            if len(keys) == 1
            else sorted((k for key in keys for k in self.kept[key]), key=NUMBER)
        )

    def root(self, number: int) -> int:
        """The number of the entry that this one corrects, through any chain of corrections; the number itself if none."""
        return self._roots.get(number, number)

    def speaks_of(self, entry: Entry) -> int:
        """The number of the entry that this one changes in whatever way; its own if it changes none."""
        return self.root(entry.body["of"]) if entry.kind in CHANGES else entry.number

    # --- how each entry moves what is kept

    def _put(self, kept: CurrentEntry) -> None:
        key = kept.key
        found = self.kept.get(key)
        if found is None:
            self.kept[key] = [kept]
            self._ats.setdefault(kept.kind, []).append(key)
        else:
            found.append(kept)
        self._open(self.keyings.settle(key))
        for sheet in self._sheets.get(kept.kind, ()):
            sheet.add(kept)

    def everything(self, kinds: Iterable[str]) -> Iterable[CurrentEntry]:
        """All of these kinds in force, in order."""
        return sorted(
            (kept for kind in kinds for key in self._ats.get(kind, ()) for kept in self.kept[key]), key=NUMBER
        )

    def _swap(self, old: CurrentEntry, new: CurrentEntry, counts: bool) -> None:
        """Put the newer leaf in the older one's place."""
        self.entries[self._index[old.number]] = new
        for sheet in self._sheets.get(old.kind, ()):
            sheet.amend()
        leaves = self.kept.get(old.key, [])
        at = bisect_left(leaves, old.number, key=NUMBER)
        if at < len(leaves) and leaves[at] is old:
            if counts and new.key == old.key:
                leaves[at] = new
                return
            del leaves[at]
        if counts:
            self._put(new)
            self.kept[new.key].sort(key=NUMBER)

    def _correct(self, entry: Entry, texts: Mapping[str, str]) -> None:
        root = self._roots[entry.number] = self.root(entry.body["of"])
        old = self.entry(root)
        if old is None:
            return
        if old.kind == "keying":  # a set is keyed again, never corrected: its figures may still wait
            self.entries[-1] = replace(self.entries[-1], body={"of": entry.body["of"]})
            return
        if old.kind in PEOPLE_KINDS:
            self.people.add(replace(entry, body={**entry.body, "of": root}), texts)
        self._swap(old, corrected(old, entry, texts), old.taken_back is None)

    def _take_back(self, entry: Entry, texts: Mapping[str, str]) -> None:
        old = self.entry(self.root(entry.body["of"]))
        if old is None or old.taken_back is not None:
            return
        if old.kind in PEOPLE_KINDS:
            self.people.add(entry, texts)
        self._swap(old, replace(old, taken_back=entry.number), False)

    def _countersign(self, entry: Entry, texts: Mapping[str, str]) -> None:
        old = self.entry(self.root(entry.body["of"]))
        if old is not None:
            self._swap(old, countersigned(old, entry), old.taken_back is None)

    def _count_again(self, entry: Entry, texts: Mapping[str, str]) -> None:
        old = self.entry(self.root(entry.body["of"]))
        if old is not None:
            self._swap(old, counted_again(old, entry), old.taken_back is None)

    def _key(self, entry: Entry, texts: Mapping[str, str]) -> None:
        bare: dict[str, Any] = {name: entry.body[name] for name in ("of", "at") if name in entry.body}
        self.entries[-1] = replace(self.entries[-1], body=bare, texts=NO_WORDS)
        self._open(self.keyings.add(entry))

    def _open(self, sets: Iterable[Keying]) -> None:
        """Show the figures of sets that no longer wait in the list of entries."""
        for keying in sets:
            index = self._index[keying.number]
            kept = self.entries[index]
            if "figures" not in kept.body:
                self.entries[index] = replace(kept, body={**kept.body, "figures": keying.figures})

    def _return(self, entry: Entry, texts: Mapping[str, str]) -> None:
        self.returned[entry.number] = self.entries[-1]
        self.acts.setdefault(Entry.unpack(entry.body["entry"]).id, entry.number)
        self._put(self.entries[-1])

    def _read_back(self, entry: Entry, texts: Mapping[str, str]) -> None:
        """Two parties signed a list of what was given back: from now on each entry in it counts, once."""
        self._put(self.entries[-1])
        numbers = {kept.body["was"]: number for number, kept in self.returned.items()}
        for number in entry.body["given_back"]:
            kept = self.returned.get(number)
            if kept is None or self.entry(number) is not kept:
                continue
            inner = folded(kept, numbers)
            if inner is None or self._done_again(inner):
                continue
            special = _SPECIAL.get(inner.kind)
            if special:
                special(self, inner, kept.texts)
                continue
            if inner.kind in PEOPLE_KINDS:
                self.people.add(inner, kept.texts)
            self._swap(kept, kept_from(inner, kept.texts), True)
            for sheet in self._sheets.get(inner.kind, ()):
                sheet.amend()

    def _done_again(self, inner: Entry) -> bool:
        """Whether this run has that very act, since its form was sent again, or has done that step by itself: then the one from before does not count."""
        if self.acts[inner.id] != inner.number:
            return True
        step = next((step for step in steps(self.place) if step.id == inner.kind), None)
        last = self.last(kept_from(inner, NO_WORDS).key)
        return (
            step is not None
            and not step.note
            and not step.repeats
            and last is not None
            and last.number > min(self.returned)
        )

    def _mark(self, entry: Entry, texts: Mapping[str, str]) -> None:
        self.marks.append((entry.body["number"], entry.body["words"]))
        self._put(self.entries[-1])


_SPECIAL: dict[str, Callable[[Entries, Entry, Mapping[str, str]], None]] = {
    "correction": Entries._correct,
    "taken-back": Entries._take_back,
    "countersigned": Entries._countersign,
    "keying": Entries._key,
    "check-words": Entries._mark,
    "counted-again": Entries._count_again,
    GIVEN_BACK: Entries._return,
    SIGNED: Entries._read_back,
}
