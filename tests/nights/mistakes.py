"""Which mistakes happen on a night, how often, and in what size: drawn in proportion to 2 ** -bits of the stated order.

A row of the order (a code with its kind or figure) has the weight of its smallest size; sizes then follow their own extra
bits. `even=True` draws every code alike instead, to see the rare ones often.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from nights.costs import Item, base
from nights.effects import boxed_bins, effect
from nights.forms import Figures, written
from nights.lines import Line, explained, gaps_of
from nights.mistyped import can_be_handed_in, miscounted, miskeyed
from nights.place import Place, a_place
from nights.plan import a_plan
from nights.room import Plan, run
from nights.slips import SLIPS, Slip

BUNDLES = (25, 50, 100)
AT_A_TABULATOR = {
    "double-scan",
    "uncounted-in-bin",
    "left-in-bin",
    "strays-in-bin",
    "bin-fed-again",
    "tape-missing",
    "zero-not-zero",
    "emergency-scanned",
    "provisional-scanned",
}


@dataclass(frozen=True)
class Night:
    """One night: what was handed in, what truly went wrong, and the gaps that the lines should therefore show."""

    seed: int
    place: Place
    figures: Figures
    truth: tuple[Item, ...]
    moved: tuple[tuple[float, ...], ...]  # per mistake: when check-ins and counter drifted apart
    gaps: dict[Line, int]  # the lines to be explained, from these figures

    @property
    def shows(self) -> bool:
        """Whether each mistake moves a line, and all of them together still do."""
        return any(self.gaps.values()) and all(effect([item], self.figures) for item in self.truth)


class Misstaged(AssertionError):
    """The simulation contradicts itself: the gaps of a night are not the effects of its mistakes."""


def rows(place: Place) -> list[Item]:
    """Every row of the order that this place can meet, as an item without its size."""
    found: list[Item] = [{"code": code} for code in SLIPS if code not in ("unrecorded", "recorded-twice", "misfiled")]
    kinds = place.kinds
    found += [{"code": "unrecorded", "disposition": k} for k in kinds]
    found += [{"code": "recorded-twice", "disposition": k} for k in kinds]
    found += [{"code": "misfiled", "from": a, "to": b} for a in kinds for b in kinds if a != b]
    found += [{"code": "miscounted", "figure": name} for name in ("unused", "received", "main", "write-in")]
    typed = (
        "received",
        "unused",
        "poll_book",
        *kinds,
        "tape",
        "counter_at_zero",
        "counter_at_close",
        "lifetime_at_zero",
        "lifetime_at_close",
        "main",
        "write-in",
    )
    found += [{"code": "miskeyed", "figure": name} for name in typed]
    return [row for row in found if _can_happen(row, place)]


def _can_happen(row: Item, place: Place) -> bool:
    """Leaves out what this place's form has no words for."""
    code, kinds = row["code"], {row.get("disposition"), row.get("from"), row.get("to")}
    needs = {
        "card-as-paper": "cards",
        "absentee-unmarked": "absentees",
        "sent-unlogged": "sent",
        "bin-fed-again": "bins",
        "left-in-bin": "bins",
        "strays-in-bin": "bins",
    }
    if place.asks_for("by hand") and code in AT_A_TABULATOR or place.asks_for("no tape yet") and code == "tape-missing":
        return False
    if code in needs and not place.asks_for(needs[code]):
        return False
    if code == "absentee-unmarked" and not place.absentee_in_book:
        return False
    if code == "bin-fed-again" and place.asks_for("whole bins"):
        return False
    if code == "emergency-scanned" or "emergency" in kinds:
        return "emergency" in place.kinds and not place.asks_for("emergency fed")
    return True


def _few(rng: Random, bits: float, most: int = 4) -> int:
    """1, 2, 3 or 4, each further one rarer by so many bits."""
    return rng.choices(range(1, most + 1), [2 ** (-bits * i) for i in range(most)])[0]


def sized(row: Item, place: Place, rng: Random) -> Item:
    """The row with a size drawn for it."""
    code = row["code"]
    if code == "miskeyed":
        return row
    if code == "miscounted":
        by = 1 if rng.random() < 0.8 else rng.choice((2, *BUNDLES, place.pack))
        return row | {"by": by * rng.choice((-1, 1))}
    if code in ("short-pack", "over-pack", "sent-unlogged"):
        n = rng.choices((_few(rng, 1.5), rng.choice((*BUNDLES, place.pack))), (92, 8))[0]
    elif code == "resupply-unlogged":
        n = rng.choice((25, 50, 75, 100, place.pack))
    elif code in ("left-in-bin", "zero-not-zero"):
        n = 1 if rng.random() < 0.8 else rng.randint(2, 60)
    elif code == "emergency-scanned":
        n = rng.choices((_few(rng, 0.5), rng.randint(1, 40)), (60, 40))[0]
    elif code == "unrecorded" and row["disposition"] == "emergency":
        n = rng.choices((_few(rng, 0.5), rng.randint(1, 60)), (60, 40))[0]
    elif code in ("bin-fed-again", "tape-missing"):
        n = 0  # known when the day is over
    else:
        n = _few(rng, 2.5)
    return row | {"ballots": n}


def _clash(one: Item, other: Item) -> bool:
    """One code with the same parameters, or one figure in opposite directions: no sensible pair."""

    def plain(item: Item) -> Item:
        return {k: v for k, v in item.items() if k not in ("ballots", "by", "likely", "scope")}

    codes = {one["code"], other["code"]}
    if "zero-not-zero" in codes and "counter_at_zero" in (one.get("figure"), other.get("figure")):
        return True  # what the zero tape read is then lost
    same_figure = (
        "figure" in one and one["figure"] == other.get("figure") and one.get("tabulator") == other.get("tabulator")
    )
    return plain(one) == plain(other) or same_figure


def draw(place: Place, rng: Random, how_many: int, even: bool) -> list[Item]:
    found = rows(place)
    weights = [2.0 ** -base(row) for row in found]
    if even:
        codes = [row["code"] for row in found]
        weights = [1 / codes.count(code) for code in codes]
    while True:
        chosen = [sized(row, place, rng) for row in rng.choices(found, weights, k=how_many)]
        if not any(_clash(a, b) for i, a in enumerate(chosen) for b in chosen[i + 1 :]):
            return chosen


def _with_scope(item: Item, slip: Slip, place: Place, f: Figures) -> Item:
    """Name the precinct or style where the slip moves a line that is drawn by it."""
    if not place.scope or slip.style is None:
        return item
    lines = gaps_of(f)
    drawn = {line for line, scope in lines if scope}
    moved = {line for line, _ in effect([item], f)}
    return item | {"scope": {place.scope: slip.style[place.scope == "style"]}} if drawn & moved else item


def _settled(slip: Slip) -> Item | None:
    """The item with the size that only the end of the day shows; None where it came to too little to be that mistake."""
    if slip.size is None:
        return slip.item
    least = 10 if slip.item["code"] == "tape-missing" else 1
    return slip.item | {"ballots": slip.size()} if slip.size() >= least else None


def _lived(plan: Plan, rng: Random, chosen: list[Item]) -> tuple[Figures, list[tuple[Item, tuple[float, ...]]]] | None:
    """Live the day with these mistakes; None where one of them found no occasion."""
    slips = [SLIPS[item["code"]](plan, rng, item) for item in chosen if item["code"] in SLIPS]
    if None in slips:
        return None
    plan.emptying_counted = bool(chosen) or plan.tabulators[0].subtract > 0 or rng.random() < 0.5
    room = run(plan, rng)
    if any(t.left_behind["main"] > len(t.main) + t.strays for t in plan.tabulators):
        return None
    f = written(room, rng)
    truth = []
    for slip in slips:
        item = _settled(slip)
        if item is None or not _has_a_place(f, item):
            return None
        truth.append((_with_scope(item, slip, plan.place, f), tuple(slip.moved)))
    for item in chosen:
        if item["code"] in ("miscounted", "miskeyed"):
            made = (miscounted if item["code"] == "miscounted" else miskeyed)(f, rng, item)
            if made is None:
                return None
            truth.append((made, ()))
    return (f, truth) if can_be_handed_in(f) else None


def _has_a_place(f: Figures, item: Item) -> bool:
    """Whether the file lists what the item names: its tabulator, and the write-in bin that was fed again."""
    if "tabulator" not in item:
        return True
    listed = {t["id"]: t.get("bins", {}) for t in f.get("tabulators", ())} | dict(boxed_bins(f))
    return item["tabulator"] in listed and (item["code"] != "bin-fed-again" or "write-in" in listed[item["tabulator"]])


def a_night(seed: int, how_many: int = 0, even: bool = False) -> Night:
    """Night number `seed` with so many mistakes. Raises Misstaged where the simulation contradicts itself."""
    rng = Random(f"{seed}/{how_many}/{even}")
    while True:
        place = a_place(rng)
        chosen = draw(place, rng, how_many, even)
        for _ in range(6):
            lived = _lived(a_plan(place, rng), rng, chosen)
            if lived is not None:
                break
        else:
            continue
        f, made = lived
        truth = tuple(item for item, _ in made)
        if truth and "seals" in f and rng.random() < 0.2:
            f["seals"][0]["found"] = "4417"  # a gap that stands by itself and explains nothing
        gaps = explained(gaps_of(f))
        if {line: gap for line, gap in gaps.items() if gap} != explained(effect(list(truth), f)):
            raise Misstaged(f"Night {seed}: the lines show {gaps}, the mistakes {truth} make {effect(list(truth), f)}.")
        return Night(seed, place, f, truth, tuple(moved for _, moved in made), gaps)
