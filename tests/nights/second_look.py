"""The list of answers beside every answer there is: are the cheapest shown, is anything ruled out that may well be so?"""

from __future__ import annotations

from nights.costs import Item, cost_of_all, one_ballot
from nights.effects import effect
from nights.judge import bare, same_set
from nights.mistakes import Night
from nights.second_opinion import answers, opposed

MOST, LEAST = 10, 5  # how many answers are to be shown


def _ordinary(item: Item) -> bool:
    return not (one_ballot(item) and item["ballots"] >= 5)


def _same_name(one: Item, other: Item) -> bool:
    return bare(one) == bare(other) and one.get("scope") == other.get("scope")


def second_look(night: Night, out: dict) -> list[str]:
    """What an exhaustive search would have done otherwise; the readings' order is left to the product."""
    known = answers(night.figures)
    found = _ruled_out(night, out, known)
    wanted = [(bits, items) for bits, items in known if not opposed(items, night.figures)]
    shown = [e["because"] for e in out["explanations"]]
    if len(shown) < min(LEAST, len(wanted)):
        found.append(f"{len(shown)} answers shown, {len(wanted)} add up")
    if night.figures.get("readings"):
        return found
    groups = _bits_of_ties(out)
    if groups != sorted(groups):
        found.append(f"not the cheapest first: {groups}")
    limit = groups[-1] if len(shown) >= MOST else float("inf")
    found += [
        f"{bits} bits, not shown: {items}"
        for bits, items in wanted
        if bits < limit and not any(same_set(answer, tuple(items)) for answer in shown)
    ]
    return found


def _bits_of_ties(out: dict) -> list[float]:
    """The bits of each tie in the order shown; a twin stands beside a cheaper one and counts as that."""
    bits: dict[int, float] = {}
    for e in out["explanations"]:
        bits[e["tie"]] = min(cost_of_all(e["because"]), bits.get(e["tie"], float("inf")))
    return list(bits.values())


def _ruled_out(night: Night, out: dict, known: list[tuple[float, list[Item]]]) -> list[str]:
    found = []
    usual = [items for _, items in known if all(map(_ordinary, items)) and not opposed(items, night.figures)]
    open_lines = {line: gap for line, gap in night.gaps.items() if gap}
    for entry in out["ruled_out"]:
        claim = {key: value for key, value in entry.items() if key not in ("line", "says", "between")}
        stands = next((items for items in usual if any(_same_name(claim, item) for item in items)), None)
        if stands:
            found.append(f"ruled out, though it stands in {stands}: {claim}")
        moved = effect([claim], night.figures)
        if not any(moved.get(line) == gap for line, gap in open_lines.items()):
            found.append(f"ruled out, though it would close no open line: {claim}")
        if all(gap == moved.get(line, 0) for line, gap in night.gaps.items() if line[0] == entry["line"]):
            found.append(f"ruled out by {entry['line']}, which it would not contradict: {claim}")
    return found
