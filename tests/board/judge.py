"""Whether an answer on open batches is the truth, as good as the truth, or does not add up. Shares nothing with the product.

An answer is judged by mending: the figures are put right as the answer says, and then every row of its batches must agree.
"""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import dataclass
from itertools import permutations

from board.days import BY_THE_BALLOT, CODES

Row = tuple[str, str]
TWINS = (
    {"left-in-envelope", "empty-unlogged"},
    {"aside-unlogged", "not-fed"},
    {"fed-twice", "aside-fed"},
    {"batch-not-listed", "fed-again-later"},
)


def total(figure: int | list | None) -> int:
    return sum(row["n"] for row in figure) if isinstance(figure, list) else figure or 0


@dataclass
class Paper:
    """The batches of one day as they are written, with what a mended mistake adds: ballots counted too often, and what ran between two batches."""

    batches: list[dict]
    zero: dict[str, int]
    over: Counter
    between: Counter

    def rows(self) -> dict[Row, int]:
        """Every gap that is not 0: E, envelopes against ballots; G, ballots against the counter; C, the counter against the batch before."""
        found: dict[Row, int] = {}
        last: dict[tuple, int] = {}
        seen: set[str] = set()
        for b in self.batches:
            id, on, n = b["id"], (b["tabulator"], b["day"]), total(b["ballots"])
            before, after = b["counter"]
            if "envelopes" in b:
                found[id, "E"] = b["envelopes"] - b["empty"] + b["extra"] - n
            found[id, "G"] = n - (after - before - self.over[id]) - b["aside"]
            stood = last.get(on) if on in last else None if b["tabulator"] in seen else self.zero[b["tabulator"]]
            if stood is not None:
                found[id, "C"] = before - stood - self.between[id]
            last[on] = after
            seen.add(b["tabulator"])
        return {row: gap for row, gap in found.items() if gap}


def paper(figures: dict) -> Paper:
    return Paper(
        deepcopy(figures["board"]["batches"]),
        {t["id"]: t["counter_at_zero"] for t in figures["tabulators"]},
        Counter(),
        Counter(),
    )


def mend(sheet: Paper, mistakes: list[dict]) -> Paper:
    """The same day with these mistakes put right."""
    new = Paper(deepcopy(sheet.batches), sheet.zero, Counter(sheet.over), Counter(sheet.between))
    by_id = {b["id"]: b for b in new.batches}
    for m in sorted(mistakes, key=lambda m: m["code"] == "order"):
        b, code = by_id[m["batch"]], m["code"]
        n = m.get("ballots", m.get("by", 0))
        if code in ("ballots-miscounted",):
            b["ballots"] = total(b["ballots"]) - n
        elif code in ("left-in-envelope", "envelopes-miscounted"):
            b["envelopes"] -= n
        elif code in ("aside-unlogged", "not-fed", "aside-fed"):
            b["aside"] += -n if code == "aside-fed" else n
        elif code in ("empty-unlogged", "two-unlogged"):
            b["empty" if code == "empty-unlogged" else "extra"] += n
        elif code in ("fed-twice", "header-counted", "batch-fed-twice"):
            new.over[m["batch"]] += n or 1
        elif code == "counter-misread":
            b["counter"][m["figure"] == "after"] = m["likely"]
        elif code in ("batch-not-listed", "fed-again-later"):
            new.between[m["batch"]] += n
        elif code == "strayed":
            b["aside"] += n
            new.over[m["to"]] += n
        elif code == "counter-reset":
            _counted_on(new, m["batch"])
        elif code == "order":
            one, two = (
                next(k for k, found in enumerate(new.batches) if found["id"] == id) for id in (m["batch"], m["with"])
            )
            new.batches[one], new.batches[two] = new.batches[two], new.batches[one]
    return new


def _counted_on(sheet: Paper, id: str) -> None:
    """The counter as it would stand had it not been set back before this batch."""
    on = next((b["tabulator"], b["day"]) for b in sheet.batches if b["id"] == id)
    mine = [b for b in sheet.batches if (b["tabulator"], b["day"]) == on]
    at = next(k for k, b in enumerate(mine) if b["id"] == id)
    stood = mine[at - 1]["counter"][1] if at else sheet.zero[on[0]]
    for b in mine[at:]:
        b["counter"] = [n + stood for n in b["counter"]]


def adds_up(figures: dict, group: dict, because: list[dict]) -> bool:
    """Put right, every row of the group's batches agrees, and no row elsewhere comes apart but where a ballot strayed to."""
    was, now = paper(figures).rows(), mend(paper(figures), because).rows()
    ids = set(group["ids"])
    strayed = {id for m in because if m["code"] == "strayed" for id in (m["batch"], m["to"])}
    exchanged = any(m["code"] == "order" for m in because)
    if any(id in ids for id, _ in now):
        return False
    return (
        all(was.get(row) == gap for row, gap in now.items() if row[0] not in strayed)
        or exchanged
        and set(now) <= set(was)
    )


def bits(because: list[dict]) -> float:
    """The cost of a set, worked out from the page."""
    cost = 2.0 * (len(because) - 1)
    for m in because:
        n = m.get("ballots", 1)
        cost += CODES[m["code"]] + (2 if abs(m.get("by", 1)) > 1 else 0)
        if m["code"] in BY_THE_BALLOT:
            cost += 2.5 * (n - 1) if n <= 4 else 10
    return cost


def same(one: dict, other: dict) -> bool:
    """One mistake named twice, or twins."""
    if one == other:
        return True
    twins = any({one["code"], other["code"]} == pair for pair in TWINS)
    return twins and one["batch"] == other["batch"] and one.get("ballots") == other.get("ballots")


def same_set(answer: list[dict], truth: list[dict]) -> bool:
    return len(answer) == len(truth) and any(
        all(same(a, t) for a, t in zip(order, truth)) for order in permutations(answer)
    )


def of_group(figures: dict, group: dict, truth: list[dict]) -> list[dict]:
    """Those of the true mistakes whose mending moves a row of this group."""
    before = paper(figures).rows()
    found = []
    for true in truth:
        after = mend(paper(figures), [true]).rows()
        if any(before.get(row) != after.get(row) for row in before.keys() | after.keys() if row[0] in group["ids"]):
            found.append(true)
    return found


@dataclass(frozen=True)
class Verdict:
    """Of one day: groups that are open, in how many of them the truth or one as good stood among the first three, and what may never happen."""

    groups: int
    as_good: int
    very: int
    faults: tuple[str, ...]
    misses: tuple[tuple[dict, list[dict]], ...]


def verdict(figures: dict, truth: list[dict], out: dict) -> Verdict:
    """Judge the `batches` of one answer."""
    groups, as_good, very, faults, misses = out.get("batches", []), 0, 0, [], []
    rows = paper(figures).rows()
    if {id for id, _ in rows} != {id for group in groups for id in group["ids"]}:
        faults.append(f"open here {sorted({id for id, _ in rows})}, there {[group['ids'] for group in groups]}")
    for group in groups:
        faults += _faults(figures, group)
        true = of_group(figures, group, truth)
        sets = [e["because"] for e in group["explanations"][:3]]
        good = any(adds_up(figures, group, found) and bits(found) <= bits(true) for found in sets) if true else False
        hit = any(same_set(found, true) for found in sets) or _tied(group, true)
        as_good, very = as_good + (good or hit), very + hit
        if not (good or hit):
            misses.append((group, true))
    return Verdict(len(groups), as_good, very, tuple(faults), tuple(misses))


def _tied(group: dict, true: list[dict]) -> bool:
    """The truth stands in the tie of one of the first three, further down."""
    ties = {e["tie"] for e in group["explanations"][:3]}
    return any(e["tie"] in ties and same_set(e["because"], true) for e in group["explanations"])


def _faults(figures: dict, group: dict) -> list[str]:
    found = [
        f"does not add up: {group['ids']} {e['because']}"
        for e in group["explanations"]
        if not adds_up(figures, group, e["because"])
    ]
    costs = [bits(e["because"]) for e in group["explanations"]]
    firsts = [
        min(c for c, e in zip(costs, group["explanations"]) if e["tie"] == tie)
        for tie in dict.fromkeys(e["tie"] for e in group["explanations"])
    ]
    if firsts != sorted(firsts):
        found.append(f"not the cheapest first: {group['ids']} {costs}")
    if len(group["explanations"]) > 5:
        found.append(f"{len(group['explanations'])} answers, at most five are to be shown")
    return found


def lines(figures: dict) -> dict[str, int]:
    """Every line of a board over its sums, worked out here: id -> gap. Counter rows after a batch are left to `Paper.rows`."""
    board, tapes = figures["board"], {t["id"]: total(t["tape"]) for t in figures["tabulators"]}
    e, p, s = ({k: total(v) for k, v in board[part].items()} for part in ("envelopes", "problems", "serials"))
    batches = [dict(b, n=total(b["ballots"]), fed=b["counter"][1] - b["counter"][0]) for b in board["batches"]]
    of = {kind: sum(b["n"] for b in batches if b["kind"] == kind) for kind in ("first", "duplicates", "again")}
    rest = {key: p.get(key, 0) for key in ("duplicated", "fed-after-all", "hand-counted", "not-counted", "waiting")}
    found = {
        "carriers": board["carriers"]["received"] - board["carriers"]["opened"],
        "list": total(board["list"]) - (e["received"] - e["rejected"] - e["held"]),
        "envelopes": e["received"] - e["rejected"] - e["held"] - e["empty"] + e["extra"] - of["first"],
        "problems": sum(b["aside"] for b in batches) - sum(rest.values()),
        "duplicates": rest["duplicated"] - of["duplicates"],
        "again": rest["fed-after-all"] - of["again"],
        "duplicate-serials": s["next"] - s["first"] - s["void"] - rest["duplicated"],
        "board": of["first"] - sum(tapes.values()) - rest["hand-counted"] - rest["not-counted"] - rest["waiting"],
    }
    for id, tape in tapes.items():
        found[f"batches:{id}"] = sum(b["fed"] for b in batches if b["tabulator"] == id) - tape
    for b in batches:
        found[f"batch:{b['id']}"] = b["n"] - b["fed"] - b["aside"]
        if b["kind"] == "first":
            found[f"batch-envelopes:{b['id']}"] = b["envelopes"] - b["empty"] + b["extra"] - b["n"]
    return found


def wrong_lines(figures: dict, out: dict) -> list[str]:
    """Lines of the product that differ from those worked out here, the counter rows among them."""
    ours = lines(figures)
    theirs = {
        line["id"]: line["gap"] for line in out["lines"] if "scope" not in line and not line["id"].startswith("counter")
    }
    found = [
        f"{id}: {ours.get(id)} here, {theirs.get(id)} there"
        for id in ours.keys() | theirs.keys()
        if ours.get(id) != theirs.get(id)
    ]
    rows = {id: gap for (id, row), gap in paper(figures).rows().items() if row == "C"}
    shown = {line["id"][6:]: line["gap"] for line in out["lines"] if "after" in line.get("scope", {}) and line["gap"]}
    return found + [f"counter rows: {rows} here, {shown} there"] * (rows != shown)
