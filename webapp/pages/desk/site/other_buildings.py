"""What the office's server knows of desks apart: which desk each place came from, what has not been merged; and, where this is such a desk, what it has not seen."""

from collections import Counter

from webapp.merging import desk_apart, desk_folder, histories
from webapp.merging.brought import BUNDLED, MERGED
from webapp.merging.desk_apart import DeskApart
from webapp.merging.origins import called
from webapp.pages.desk.site.office_state import OfficeState
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.numbers import few

Row = tuple[str, str, list[tuple[str, str, str]]]
OFFICE_ALONE = frozenset(
    {"/posting", "/certify", "/totals/since", "/recount", "/reconciliation", "/wall", "/compare", "/merge", "/offices"}
)
"""Pages that need the whole: a desk apart has only its own part."""


class OtherBuildings:
    """Part of the office's site."""

    def __init__(self, site: OfficeState):
        self.site = site

    def came_from(self, place: str) -> str:
        """The desk that received what counts for a place, in words: "desk north", or two of them; "" where no desk apart was merged, or nothing counts."""
        if not self.site.brought.from_desk or not (found := self.site.tray.counts(place)):
            return ""
        keyed = [one.number for one in self.site.tray.papers.get(place, ()) if one.digest == found[0]]
        taken = self.site.desks[place].of("packet-received")
        numbers = keyed or [kept.number for kept in taken if bytes(kept.body["digest"]) == found[0]]
        return " and ".join(called(desk) for desk in sorted({self.site.brought.desk_of(number) for number in numbers}))

    def came_words(self, number: int) -> str:
        """ "At desk north, its entry 5." of an entry that came from there; "" for the office's own."""
        found = self.site.brought.from_desk.get(number)
        return f" At desk {found.desk}, its entry {found.number}." if found else ""

    def rows(self) -> list[Row]:
        """What Totals, Places and Canvass say of desks apart."""
        if self.site.apart:
            words = f"This is desk {self.site.apart.id}, apart. It shows what was taken in here alone; what came to the office and to other desks it has not seen. {self._to_bring()}"
            return [("look", words, [("bundle", "What goes to the office", "/bundle")])]
        issued = self.issued()
        rows: list[Row] = []
        if self.site.brought.chains:
            inn = Counter(self.came_from(place) for place in self.site.tray.in_totals_now())
            said = [self._merged(desk, inn) for desk in self.site.brought.chains]
            rows.append(("done", "Includes what desks apart kept:", said))
        if lacking := [desk for desk in issued if desk not in self.site.brought.chains]:
            rows.append(
                ("half", "Not merged yet, nothing of it is here:", [_link(desk, called(desk)) for desk in lacking])
            )
        if waits := [desk for desk in issued if any(self.waiting(desk))]:
            rows.append(("held", "A bundle waits for an earlier one:", [_link(desk, called(desk)) for desk in waits]))
        rows += self._histories(inn if self.site.brought.chains else Counter())
        if against := [one.office for one in self.site.reported.standings() if one.against]:
            named = [(one.id, one.name, f"/offices#office-{one.id}") for one in against]
            rows.append(("look", "Two files of another office say different things under one number:", named))
        return rows

    def _histories(self, inn: Counter[str]) -> list[Row]:
        """Two histories of one desk: not settled yet, or settled against the one that was merged while it still counts. `inn`: places by where they came from."""
        told = {desk: histories.settled(self.site.day, desk) for desk in histories.forked(self.site.day)}
        still = [desk for desk, one in told.items() if one and not one.body["merged"] and _places(desk, inn)]
        rows: list[Row] = []
        if unknown := [desk for desk, one in told.items() if one is None]:
            words = "Another history was refused, and which of the two is true is not known here:"
            rows.append(("look", words, [(desk, called(desk), f"/merge#history-{desk}") for desk in unknown]))
        if still:
            words = "Counted from a history that is not the desk’s own, to be set aside:"
            rows.append(("look", words, [(desk, called(desk), f"/merge#history-{desk}") for desk in still]))
        return rows

    def issued(self) -> dict[str, list[DeskApart]]:
        """Every desk apart that this office certified, by id; {} at such a desk."""
        if self.site.apart or not (self.site.folder / desk_apart.FOLDER).is_dir():
            return {}
        return desk_apart.issued(self.site.folder, desk_folder.office_publics(self.site.folder))

    def waiting(self, desk: str) -> list[str]:
        """Files of this desk that wait for an earlier one."""
        return sorted(path.name for path in (self.site.folder / desk_apart.FOLDER / desk).glob("waiting-*.bundle"))

    def merged_of(self, desk: str) -> list[CurrentEntry]:
        """What was merged from a desk, bundle by bundle."""
        return [kept for kept in self.site.day.of(MERGED) if kept.body["desk"] == desk]

    def last_bundled(self) -> int:
        """The entry up to which this desk made its last bundle; 0 for none."""
        return max((kept.body["to"] for kept in self.site.day.of(BUNDLED)), default=0)

    def _to_bring(self) -> str:
        """What was kept since the last bundle; the entry that says that it was made is none of it."""
        told = max((kept.number for kept in self.site.day.of(BUNDLED)), default=0)
        left = self.site.ledger.length - told
        return f"{few(left, 'entry', 'entries')} since the last bundle." if told else "No bundle was made yet."

    def _merged(self, desk: str, inn: Counter[str]) -> tuple[str, str, str]:
        places = _places(desk, inn)
        return _link(desk, f"{desk}, {few(places, 'place')}, to its entry {self.site.brought.chains[desk].last}")


def _places(desk: str, inn: Counter[str]) -> int:
    """Places that count by what came from this desk."""
    return sum(n for words, n in inn.items() if called(desk) in words.split(" and "))


def _link(desk: str, words: str) -> tuple[str, str, str]:
    return desk, words, f"/merge#{desk}"
