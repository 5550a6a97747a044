"""Whether an answer is the truth, is as good as the truth, or does not add up at all. Shares nothing with the product."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import permutations

from nights.costs import Item, cost_of_all
from nights.effects import effect
from nights.lines import Line, explained, gaps_of
from nights.mistakes import Night

TWINS = (
    ({"code": "checked-in-twice"}, {"code": "unrecorded", "disposition": "left"}),
    ({"code": "unrecorded", "disposition": "taken"}, {"code": "unrecorded", "disposition": "emergency"}),
    ({"code": "emergency-scanned"}, {"code": "recorded-twice", "disposition": "emergency"}),
)
# How check-ins less counter moves by one ballot while the readings run, -1 a fall; codes not named leave no mark.
DRIFT = {
    "not-checked-in": -1,
    "checked-in-twice": 1,
    "double-scan": -1,
    "uncounted-in-bin": 1,
    "emergency-scanned": -1,
    "bin-fed-again": -1,
    "zero-not-zero": -1,
    "absentee-unmarked": -1,
}


def bare(item: Item) -> Item:
    """The item without what is only said beside it."""
    return {key: value for key, value in item.items() if key not in ("between", "scope")}


def _scopes_agree(one: Item, other: Item) -> bool:
    ours, theirs = one.get("scope", {}), other.get("scope", {})
    return all(ours[key] == theirs[key] for key in ours.keys() & theirs.keys())


def _twin(one: Item, other: Item) -> bool:
    size = {"ballots"}
    for a, b in TWINS:
        for first, second in ((a, b), (b, a)):
            if one == first | {key: one.get(key) for key in size} and other == second | {
                key: other.get(key) for key in size
            }:
                return one["ballots"] == other["ballots"]
    return False


def same(one: Item, other: Item) -> bool:
    """One mistake named twice, or twins that the page lets stand for each other."""
    return _scopes_agree(one, other) and (bare(one) == bare(other) or _twin(bare(one), bare(other)))


def same_set(answer: list[Item], truth: tuple[Item, ...]) -> bool:
    return len(answer) == len(truth) and any(
        all(same(a, t) for a, t in zip(order, truth)) for order in permutations(answer)
    )


def drift(items: list[Item] | tuple[Item, ...], f: dict) -> int | None:
    """How far check-ins and counter drift apart by these mistakes; None where no readings could show it."""
    if not f.get("readings"):
        return None
    total = 0
    in_book = any(row["id"] == "provisional" and row.get("in_poll_book") for row in f.get("dispositions", ()))
    for item in items:
        by, code = DRIFT.get(item["code"], 0), item["code"]
        if code == "unrecorded" and item["disposition"] not in ("spoiled", "provisional" * (not in_book)):
            by = 1
        if code == "provisional-scanned" and not in_book:
            by = -1
        total += by * item.get("ballots", 0)
    return total


def adds_up(answer: list[Item], night: Night) -> bool:
    """The effects of the set are exactly the gaps of the lines it has to close; what points nowhere adds up to nothing."""
    open_gaps = {line: gap for line, gap in night.gaps.items() if gap}
    try:
        return explained(effect(answer, night.figures)) == open_gaps
    except LookupError:
        return False


@dataclass(frozen=True)
class Verdict:
    """Where in the list of answers the truth stands, from 0; None where it does not."""

    as_good: int | None
    very: int | None
    told: int | None  # like very, but a tie only by the product's own tie number
    faults: tuple[str, ...]


def _first(places: list[bool]) -> int | None:
    return places.index(True) if True in places else None


def verdict(night: Night, out: dict) -> Verdict:
    """Judge the JSON of `tapeseal balance` for this night."""
    sets = [e["because"] for e in out["explanations"]]
    ties = [e["tie"] for e in out["explanations"]]
    bits, moved = cost_of_all(list(night.truth)), drift(night.truth, night.figures)
    hold = [adds_up(answer, night) for answer in sets]
    costs = [cost_of_all(answer) for answer in sets]
    very = [same_set(answer, night.truth) for answer in sets]
    number = {tie for tie, hit in zip(ties, very) if hit}
    alike = [
        hit or (ok and c == bits and len(answer) == len(night.truth) and drift(answer, night.figures) == moved)
        for hit, ok, c, answer in zip(very, hold, costs, sets)
    ]
    return Verdict(
        _first([ok and c <= bits for ok, c in zip(hold, costs)]),
        _first(alike),
        _first([tie in number for tie in ties]),
        tuple(faults(night, out, hold)),
    )


def faults(night: Night, out: dict, hold: list[bool]) -> list[str]:
    """What may never happen, whatever the ranking."""
    found = [f"does not add up: {e['because']}" for e, ok in zip(out["explanations"], hold) if not ok]
    for entry in out["ruled_out"]:
        claim = {key: value for key, value in entry.items() if key not in ("line", "says", "between")}
        if any(bare(claim) == bare(item) and _scopes_agree(claim, item) for item in night.truth):
            found.append(f"a true cause is ruled out: {claim}")
    for e in out["explanations"]:
        found += shape_faults(e)
    if len(out["explanations"]) > 10:
        found.append(f"{len(out['explanations'])} answers, at most ten are to be shown")
    found += wrong_lines(night, out) + wrong_between(night, out)
    return found


def shape_faults(explanation: dict) -> list[str]:
    """The promises on the form of one answer."""
    because, found = explanation["because"], []
    for item in because:
        n = item.get("ballots")
        if item["code"] not in ("miskeyed", "miscounted") and not (isinstance(n, int) and n > 0):
            found.append(f"ballots is not a positive whole number: {item}")
    names = [
        tuple(sorted((k, str(v)) for k, v in item.items() if k not in ("ballots", "by", "likely", "between")))
        for item in because
    ]
    if len(set(names)) < len(names):
        found.append(f"one mistake twice in one answer: {because}")
    if not isinstance(explanation["tie"], int) or explanation["tie"] < 1:
        found.append(f"tie is {explanation['tie']!r}")
    return found


def shown_lines(out: dict) -> dict[Line, int]:
    return {
        (line["id"], "/".join(line["scope"].values()) if "scope" in line else ""): line["gap"] for line in out["lines"]
    }


def wrong_lines(night: Night, out: dict) -> list[str]:
    """Lines of the product that differ from the lines worked out here."""
    ours, theirs = gaps_of(night.figures), shown_lines(out)
    return [
        f"line {line}: {ours.get(line, 'not drawn')} here, {theirs.get(line, 'not drawn')} there"
        for line in sorted(ours.keys() | theirs.keys())
        if ours.get(line) != theirs.get(line)
    ]


def _hours(clock: str) -> float:
    hours, minutes = clock.split(":")
    return int(hours) + int(minutes) / 60


def wrong_between(night: Night, out: dict) -> list[str]:
    """A stated span of time that leaves out the moment of a one-ballot mistake."""
    found = []
    for e in out["explanations"]:
        for item in e["because"]:
            for true, moved in zip(night.truth, night.moved):
                if "between" in item and len(night.truth) == 1 and len(set(moved)) == 1 and bare(item) == bare(true):
                    first, last = item["between"]
                    if not (first is None or _hours(first) <= moved[0]) or not (
                        last is None or moved[0] <= _hours(last)
                    ):
                        found.append(f"{item} was at {moved[0]:.2f}")
    return found


def codes(truth: tuple[Item, ...]) -> Counter:
    return Counter(item["code"] for item in truth)
