"""Which ballots of a deck are ticked as marked and as checked, from the entries `rows-ticked`; and what a new tick is refused for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from webapp.deck.deck import Deck
from webapp.precinct.place.step import EntryView

WHATS = ("marked", "checked", "again")


@dataclass
class TickedRows:
    """`marked` and `checked`: row -> who ticked it (a person's id, or the tablet where nobody held it)."""

    marked: dict[str, str] = field(default_factory=dict)
    checked: dict[str, str] = field(default_factory=dict)

    def refusal(self, what: str, rows: Sequence[str], who: str) -> str:
        """Why these rows cannot be ticked by this person; "" when they can."""
        if not rows:
            return "Tick at least one ballot, then record."
        if what == "checked":
            unmarked = [row for row in rows if row not in self.marked]
            if unmarked:
                return f"{listed(unmarked)}: not ticked as marked yet. Mark first, then somebody else checks."
            own = [row for row in rows if self.marked[row] == who]
            if own:
                return f"{listed(own)}: the same person ticked {'it' if len(own) == 1 else 'them'} as marked. Somebody else checks; take the tablet under another name."
        return ""

    def left(self, what: str, rows: Iterable[str]) -> list[str]:
        """Rows that are not ticked so yet."""
        done = self.marked if what == "marked" else self.checked
        return [row for row in rows if row not in done]


def ticked(entries: Iterable[EntryView]) -> TickedRows:
    """What these entries say, in order; a ballot that is made again loses both ticks."""
    found = TickedRows()
    for kept in entries:
        who = str(getattr(kept, "holder", None) or getattr(kept, "tablet", ""))
        for row in kept.body["rows"]:
            if kept.body["what"] == "marked":
                found.marked[row] = who
                found.checked.pop(row, None)
            elif kept.body["what"] == "checked":
                found.checked[row] = who
            else:
                found.marked.pop(row, None)
                found.checked.pop(row, None)
    return found


def ballots(deck: Deck) -> tuple[str, ...]:
    """Ids of all rows that are marked: every one but the three cards."""
    return tuple(row.id for row in deck.rows if not row.is_refused)


def listed(rows: Sequence[str]) -> str:
    """The first of these rows by name, the rest as a number."""
    return ", ".join(rows[:4]) + (f" and {len(rows) - 4} more" if len(rows) > 4 else "")
