"""The day: every entry of one record folded into what is true now.

One pass, entry by entry, and each entry costs the same whether the record holds ten or ten thousand: a page on the warm laptop folds
only what came since. Nothing here decides what is right; the checklists, the counts and the custody of seals read from it.
A blind first keying is left out of everything until the second stands: only who has keyed which step is told.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import replace
from operator import attrgetter

from webapp.precinct import balance, counts
from webapp.precinct.kept import NO_WORDS, Kept, corrected, countersigned, kept_from
from webapp.precinct.keyings import Keyings
from webapp.precinct.people import KINDS as PEOPLE_KINDS
from webapp.precinct.people import People
from webapp.precinct.place import Place
from webapp.record.entry import Entry

COUNTED_BLIND = ("unused", "aside-counts", "book-count")
NUMBER = attrgetter("number")


class Day:
    """What is true now. `entries` holds every entry in order, struck bodies and notes taken back included; `kept` only what counts."""

    def __init__(self, place: Place):
        self.place = place
        self.people = People(place)
        self.entries: list[Kept] = []
        self.kept: dict[str, list[Kept]] = {}               # by task key, in order
        self.keyings = Keyings()
        self.marks: list[tuple[int, str]] = []              # (number, check words)
        self.run = self.length = 0
        self.head = b""                                     # set by the room that folds: nothing is hashed here
        self._index: dict[int, int] = {}                    # number -> index in entries
        self._ats: dict[str, list[str]] = {}                # kind -> keys under which it was kept
        self._roots: dict[int, int] = {}                    # number of a correction -> number of the entry it corrects
        self.version = ""                                   # of the program that last wrote here
        self._blind = _blind(place)
        self._balance: tuple[int, balance.Balance] | None = None

    def add(self, entry: Entry, texts: Mapping[str, str] = NO_WORDS, head: bytes = b"") -> None:
        """Fold one more entry, in the order of the record."""
        self.run, self.length, self.head = entry.run, entry.number, head
        kept = kept_from(entry, texts)
        self._index[entry.number] = len(self.entries)
        self.entries.append(kept)
        special = _SPECIAL.get(entry.kind)
        if special:
            special(self, entry, texts)
            return
        if entry.kind in PEOPLE_KINDS:
            self.people.add(entry, texts)
        elif entry.kind in ("record-opened", "started"):
            self.version = entry.body["version"]
        self._put(kept)

    def entry(self, number: int) -> Kept | None:
        """The entry of that number as it stands now."""
        index = self._index.get(number)
        return None if index is None else self.entries[index]

    def all(self, key: str) -> list[Kept]:
        """What is kept under a task key, in order."""
        return self.kept.get(key, [])

    def last(self, key: str) -> Kept | None:
        """The newest entry kept under a task key."""
        found = self.kept.get(key)
        return found[-1] if found else None

    def of(self, kind: str) -> list[Kept]:
        """Everything of one kind, wherever it was done, in order."""
        keys = self._ats.get(kind, ())
        return self.kept.get(keys[0], []) if len(keys) == 1 else sorted((k for key in keys for k in self.kept[key]), key=NUMBER)

    def root(self, number: int) -> int:
        """The number of the entry that this one corrects, however many corrections lie between; the number itself if none."""
        return self._roots.get(number, number)

    # --- how each entry moves what is kept

    def _put(self, kept: Kept) -> None:
        key = kept.key
        found = self.kept.get(key)
        if found is None:
            self.kept[key] = [kept]
            self._ats.setdefault(kept.kind, []).append(key)
        else:
            found.append(kept)
        self.keyings.settle(key)

    def _swap(self, old: Kept, new: Kept, counts: bool) -> None:
        """Put the newer leaf in the older one's place."""
        self.entries[self._index[old.number]] = new
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

    def _key(self, entry: Entry, texts: Mapping[str, str]) -> None:
        self.keyings.add(entry)
        bare = {name: entry.body[name] for name in ("of", "at") if name in entry.body}
        self.entries[-1] = replace(self.entries[-1], body=bare)

    def _mark(self, entry: Entry, texts: Mapping[str, str]) -> None:
        self.marks.append((entry.body["number"], entry.body["words"]))
        self._put(self.entries[-1])

    # --- where the day stands

    @property
    def opened(self) -> int | None:
        """When the polls were declared open (milliseconds UTC)."""
        return self._time("polls-open")

    @property
    def closed(self) -> int | None:
        """When the polls were declared closed (milliseconds UTC)."""
        return self._time("polls-closed")

    @property
    def last_ballot(self) -> int | None:
        """When the last ballot was cast (milliseconds UTC), as stated when the polls were closed."""
        closed = self.last("polls-closed")
        return closed.body.get("last_ballot") if closed else None

    def _time(self, kind: str) -> int | None:
        kept = self.last(kind)
        return None if kept is None else kept.body.get("time") or kept.time

    @property
    def phase(self) -> str:
        """before-dawn | opening | voting | closing | hand-over | done."""
        if self.last("depart"):
            return "done"
        if self.last("statement") or self.last("containers-filled") or self.last("packet"):
            return "hand-over"
        if self.last("polls-closed"):
            return "closing"
        if self.last("polls-open"):
            return "voting"
        return "opening" if self.last("arrivals") or self.of("oath") else "before-dawn"

    @property
    def blind_done(self) -> bool:
        """Whether every figure that is counted before anyone looks is signed: stock, set aside, book, emergency bins, counters."""
        return not self.blind_wanted()

    def blind_wanted(self) -> tuple[str, ...]:
        """Keys of the blind figures that nobody has signed yet; steps the place file drops are not waited for."""
        return tuple(key for key in self._blind if not self.kept.get(key))

    # --- what it adds up to

    @property
    def balance(self) -> balance.Balance:
        """Every line of the balance from what is kept so far; worked out once an entry."""
        if self._balance is None or self._balance[0] != self.length:
            self._balance = self.length, balance.balance(counts.figures(self.place, self))
        return self._balance[1]

    @property
    def remarks(self) -> list[Kept]:
        """Remarks in force, in order."""
        return self.of("remark")

    @property
    def unremarked(self) -> tuple[str, ...]:
        """Names of the lines with a gap that no remark speaks of with that very gap."""
        said = {(line, gap) for k in self.remarks for line, gap in zip(k.body.get("lines", ()), k.body.get("gaps", ()), strict=False)}
        return tuple(name for line in self.balance.gaps if ((name := line_name(line)), line.gap) not in said)

    @property
    def packets(self) -> list[Kept]:
        """Packets that two parties signed, in order."""
        return self.of("packet-made")

    @property
    def folded_away(self) -> bool:
        """Whether Count and the tallies of notes are hidden: from the close of the polls until the last blind figure is signed."""
        return self.place.rules.first == "counts" and self.closed is not None and not self.blind_done


def line_name(line: balance.Line) -> str:
    """The name of a line in a remark: its id, and its scope after an at sign."""
    return f"{line.id}@{','.join(line.scope.values())}" if line.scope else line.id


def _blind(place: Place) -> tuple[str, ...]:
    """Keys of all that this place counts before it looks."""
    dropped = {step["id"] for step in place.steps if step.get("drop")}
    wanted = [*COUNTED_BLIND, *(f"emergency-opened:{box.id}" for box in place.boxes if box.emergency),
              *(f"counter-read:{tabulator.id}" for tabulator in place.tabulators)]
    return tuple(key for key in wanted if key.partition(":")[0] not in dropped)


_SPECIAL = {"correction": Day._correct, "taken-back": Day._take_back, "countersigned": Day._countersign, "keying": Day._key,
            "check-words": Day._mark}


def fold(place: Place, entries: Iterable[tuple[Entry, Mapping[str, str]]]) -> Day:
    """The day of a whole record: its entries in order, each with its free words by name."""
    day = Day(place)
    for entry, texts in entries:
        day.add(entry, texts)
    return day
