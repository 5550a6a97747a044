"""The balance of one night: every line that its figures can draw, what is missing for the others, and whether it adds up.

A pure function of the figures. `balanced`: every listed line is 0. `complete`: stock, poll book and a counter for each tabulator are among them.
"""

import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct import contests, lines, lines_goods, night
from webapp.precinct.contests import Sums, contest_convention
from webapp.precinct.figures import Unreadable, known, listed, number
from webapp.precinct.lines import Lacks, Line

LINES = (lines.stock, lines.other_stock, lines.poll_book, lines.paper_to_book, lines.bins, lines.counter, lines.lifetime, lines.stubs, lines.aside,
         lines_goods.emergency, lines_goods.containers, contests.contest, contests.write_ins, lines_goods.seals, lines_goods.carried, lines_goods.sheets,
         lines_goods.board, lines_goods.recount)
"""All lines, in the order in which they are listed."""


@dataclass(frozen=True)
class Balance:
    """What one night's figures say."""

    lines: tuple[Line, ...]
    unchecked: tuple[Lacks, ...]
    complete: bool
    ms: float
    explanations: tuple = ()
    ruled_out: tuple = ()

    @property
    def balanced(self) -> bool:
        return all(line.gap == 0 for line in self.lines)

    @property
    def gaps(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.gap)

    def as_json(self) -> dict[str, Any]:
        """The object of `tapeseal balance --json`."""
        return {"balanced": self.balanced, "complete": self.complete, "lines": [line.as_json() for line in self.lines],
                "unchecked": [{"id": lack.id, "missing": list(lack.missing)} for lack in self.unchecked],
                "explanations": list(self.explanations), "ruled_out": list(self.ruled_out), "ms": round(self.ms, 3)}


def balance(figures: Mapping[str, Any], explain: bool = True) -> Balance:
    """Draw every line of these figures (the JSON of balance.md, section 4). Raises Unreadable, one sentence that names the key."""
    began = time.perf_counter()
    read = night.read(figures)
    _readings(figures)
    found = [item for line in LINES for item in line(read)]
    drawn = tuple(item for item in found if isinstance(item, Line))
    lacking = tuple(item for item in found if isinstance(item, Lacks))
    ids = {line.id for line in drawn}
    complete = {"stock", "poll-book"} <= ids and all(f"counter:{t.id}" in ids for t in read.tabulators)
    return Balance(drawn, lacking, complete, (time.perf_counter() - began) * 1000)


def _readings(figures: Mapping[str, Any]) -> None:
    """Readings are no line and never change `balanced`; what cannot be one is refused all the same."""
    for item in listed(figures.get("readings", []), "readings"):
        known(item, ("at", "counter", "poll_book", "in_hand", "unused", "set_aside"), "readings")
        for name in ("counter", "poll_book", "in_hand", "unused"):
            if item.get(name) is not None:
                number(item[name], f"readings.{name}")


__all__ = ["Balance", "Lacks", "Line", "Sums", "Unreadable", "balance", "contest_convention"]
