"""How usual a mistake is, in bits: the order of section 5 of the balance's page, read a second time."""

from __future__ import annotations

Item = dict[str, object]

PLAIN = {
    "not-checked-in": 3,
    "left-in-bin": 3,
    "checked-in-twice": 4,
    "double-scan": 4,
    "bin-fed-again": 4,
    "uncounted-in-bin": 5,
    "emergency-scanned": 5,
    "provisional-scanned": 5,
    "resupply-unlogged": 5,
    "tape-missing": 5,
    "short-pack": 6,
    "zero-not-zero": 6,
    "spoiled-with-unused": 6,
    "strays-in-bin": 6,
    "over-pack": 7,
    "sent-unlogged": 7,
    "card-as-paper": 7,
    "absentee-unmarked": 7,
    "wrong-precinct": 7,
    "miskeyed": 9,
}
UNRECORDED = {"spoiled": 3, "provisional": 4, "left": 5, "taken": 6, "emergency": 6}
RECORDED_TWICE = {"spoiled": 6, "provisional": 7}
MISCOUNTED = {"unused": 4, "main": 6, "write-in": 6, "received": 8}
ONE_BALLOT = {
    "not-checked-in",
    "checked-in-twice",
    "double-scan",
    "uncounted-in-bin",
    "unrecorded",
    "recorded-twice",
    "misfiled",
    "provisional-scanned",
    "strays-in-bin",
    "spoiled-with-unused",
    "card-as-paper",
    "absentee-unmarked",
    "wrong-precinct",
}
PACKS = {"short-pack", "over-pack", "sent-unlogged"}
SECOND = 2.0  # for each mistake after the first


def base(item: Item) -> float:
    """Bits of the mistake at its smallest size."""
    code = item["code"]
    if code == "unrecorded":
        return UNRECORDED.get(item["disposition"], 7)
    if code == "recorded-twice":
        return RECORDED_TWICE.get(item["disposition"], 8)
    if code == "misfiled":
        return 7 if {item["from"], item["to"]} == {"spoiled", "provisional"} else 9
    if code == "miscounted":
        return MISCOUNTED[item["figure"]]
    return PLAIN[code]


def one_ballot(item: Item) -> bool:
    return item["code"] in ONE_BALLOT and not (item["code"] == "unrecorded" and item["disposition"] == "emergency")


def cost(item: Item) -> float:
    """Bits of one mistake with its size."""
    code, n = item["code"], item.get("ballots", 1)
    if code == "miscounted":
        return base(item) + (2 if abs(item["by"]) > 1 else 0)
    if one_ballot(item):
        return base(item) + (10 if n >= 5 else 2.5 * (n - 1))
    if code in PACKS:
        return base(item) + min(4.5, 1.5 * (n - 1))
    if code in ("left-in-bin", "zero-not-zero") and n > 1:
        return base(item) + 2
    return base(item)


def cost_of_all(items: list[Item]) -> float:
    return sum(cost(item) for item in items) + SECOND * (len(items) - 1)
