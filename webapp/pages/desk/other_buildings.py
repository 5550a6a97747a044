"""What the office's room knows of desks apart: which desk each place came from, what has not been merged; and, where this is such a desk, what it has not seen."""

from collections import Counter
from typing import Any

from webapp.merging import desk_apart, desk_folder, histories
from webapp.merging.brought import BUNDLED, MERGED
from webapp.merging.desk_apart import DeskApart
from webapp.merging.origins import called
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.numbers import few

Row = tuple[str, str, list[tuple[str, str, str]]]
OFFICE_ALONE = frozenset(
    {"/posting", "/certify", "/totals/since", "/recount", "/reconciliation", "/wall", "/compare", "/merge", "/offices"}
)
"""Pages that need the whole: a desk apart has only its own part."""


class OtherBuildings:
    """Part of the office's site. `apart`: the desk that this is, None at the office."""

    apart: DeskApart | None

    def came_from(self: Any, place: str) -> str:
        """Where what counts for a place was taken in, in words: "desk north", or two of them; "" where no desk apart was merged, or nothing counts."""
        if not self.brought.from_desk or not (found := self.tray.counts(place)):
            return ""
        keyed = [one.number for one in self.tray.papers.get(place, ()) if one.digest == found[0]]
        taken = self.desks[place].of("packet-received")
        numbers = keyed or [kept.number for kept in taken if bytes(kept.body["digest"]) == found[0]]
        return " and ".join(called(desk) for desk in sorted({self.brought.desk_of(number) for number in numbers}))

    def came_words(self: Any, number: int) -> str:
        """ "At desk north, its entry 5." of an entry that came from there; "" for the office's own."""
        found = self.brought.from_desk.get(number)
        return f" At desk {found.desk}, its entry {found.number}." if found else ""

    def signers_words(self: Any, entry: CurrentEntry) -> str:
        """Who signed, and at which desk apart."""
        return super().signers_words(entry) + self.came_words(entry.number)  # type: ignore[misc]

    def desk_rows(self: Any) -> list[Row]:
        """What Totals, Places and Canvass say of desks apart."""
        if self.apart:
            words = f"This is desk {self.apart.id}, apart. It shows what was taken in here alone; what came to the office and to other desks it has not seen. {self._to_bring()}"
            return [("look", words, [("bundle", "What goes to the office", "/bundle")])]
        issued, rows = self.desks_issued(), []
        if self.brought.chains:
            inn = Counter(self.came_from(place) for place in self.tray.in_totals_now())
            said = [self._merged(desk, inn) for desk in self.brought.chains]
            rows.append(("done", "Includes what desks apart kept:", said))
        if lacking := [desk for desk in issued if desk not in self.brought.chains]:
            rows.append(
                ("half", "Not merged yet, nothing of it is here:", [_link(desk, called(desk)) for desk in lacking])
            )
        if waits := [desk for desk in issued if any(self.waiting_bundles(desk))]:
            rows.append(("held", "A bundle waits for an earlier one:", [_link(desk, called(desk)) for desk in waits]))
        rows += self._histories(inn if self.brought.chains else Counter())
        if against := [one.office for one in self.reported.standings() if one.against]:
            named = [(one.id, one.name, f"/offices#office-{one.id}") for one in against]
            rows.append(("look", "Two files of another office say different things under one number:", named))
        return rows

    def _histories(self: Any, inn: Counter) -> list[Row]:
        """Two histories of one desk: not settled yet, or settled against the one that was merged while it still counts. `inn`: places by where they came from."""
        told = {desk: histories.settled(self.day, desk) for desk in histories.forked(self.day)}
        still = [desk for desk, one in told.items() if one and not one.body["merged"] and _places(desk, inn)]
        rows = []
        if unknown := [desk for desk, one in told.items() if one is None]:
            words = "Another history was refused, and which of the two is true is not known here:"
            rows.append(("look", words, [(desk, called(desk), f"/merge#history-{desk}") for desk in unknown]))
        if still:
            words = "Counted from a history that is not the desk’s own, to be set aside:"
            rows.append(("look", words, [(desk, called(desk), f"/merge#history-{desk}") for desk in still]))
        return rows

    def desks_issued(self: Any) -> dict[str, list[DeskApart]]:
        """Every desk apart that this office certified, by id; {} at such a desk."""
        if self.apart or not (self.folder / desk_apart.FOLDER).is_dir():
            return {}
        return desk_apart.issued(self.folder, desk_folder.office_publics(self.folder))

    def waiting_bundles(self: Any, desk: str) -> list[str]:
        """Files of this desk that wait for an earlier one."""
        return sorted(path.name for path in (self.folder / desk_apart.FOLDER / desk).glob("waiting-*.bundle"))

    def merged_of(self: Any, desk: str) -> list[CurrentEntry]:
        """What was merged from a desk, bundle by bundle."""
        return [kept for kept in self.day.of(MERGED) if kept.body["desk"] == desk]

    def last_bundled(self: Any) -> int:
        """The entry up to which this desk made its last bundle; 0 for none."""
        return max((kept.body["to"] for kept in self.day.of(BUNDLED)), default=0)

    def _to_bring(self: Any) -> str:
        """What was kept since the last bundle; the entry that says that it was made is none of it."""
        told = max((kept.number for kept in self.day.of(BUNDLED)), default=0)
        left = self.ledger.length - told
        return f"{few(left, 'entry', 'entries')} since the last bundle." if told else "No bundle was made yet."

    def _merged(self: Any, desk: str, inn: Counter) -> tuple[str, str, str]:
        places = _places(desk, inn)
        return _link(desk, f"{desk}, {few(places, 'place')}, to its entry {self.brought.chains[desk].last}")


def _places(desk: str, inn: Counter) -> int:
    """Places that count by what came from this desk."""
    return sum(n for words, n in inn.items() if called(desk) in words.split(" and "))


def _link(desk: str, words: str) -> tuple[str, str, str]:
    return desk, words, f"/merge#{desk}"
