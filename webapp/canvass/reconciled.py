"""The reconciliation report out of the rows of reconciliation.csv: columns in words, what is off at each place, over and under net and gross.

By place and for the county: Wash. Rev. Code 29A.60.235 (1); Tex. Elec. Code 127.131 (f). Over and under are never only added up (`canvass_board`).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

COUNTY = "county"
HEADS = {
    "state": "State",
    "registered": "Registered",
    "check_ins": "Check-ins",
    "ballots": "Ballots",
    "spoiled": "Spoiled",
    "provisional_issued": "Provisional issued",
    "provisional_accepted": "Provisional accepted",
    "provisional_rejected": "Provisional rejected",
    "provisional_open": "Provisional open",
    "credited": "Voters credited",
    "received": "Ballots received",
    "unused": "Unused",
    "gap_poll_book": "Gap to poll book",
    "gap_stock": "Gap of stock",
    "gap_credited": "Gap to voters credited",
    "agree": "Agree",
}
SAID = {
    "gap_poll_book": (("ballot", "ballots", "than check-ins"), ("check-in", "check-ins", "than ballots")),
    "gap_stock": (
        ("ballot", "ballots", "accounted for than drawn"),
        ("ballot", "ballots", "drawn than accounted for"),
    ),
    "gap_credited": (("ballot", "ballots", "than voters credited"), ("voter", "voters", "credited than ballots")),
}
"""What a gap says: above 0 the right side has more in `PlaceComparison` (over), below 0 the left one. As the canvass page has it."""
STATES = {
    "in": "in",
    "paper": "from paper",
    "unproven": "not proven",
    "held": "held out",
    "awaited": "not in",
    "none": "no file",
}
STATE_SAYS = {
    "paper": "its figures are from paper",
    "unproven": "its packet is not proven",
    "held": "its packets are held out of the totals",
    "awaited": "it is not in",
    "none": "no place file was issued for it",
}
CORRECTED = {
    "yes": "includes figures the desk corrected.",
    "withdrawn": "a figure the desk had corrected was withdrawn, and is not counted.",
}
WORDS = frozenset({"place", "name", "state", "agree", "remarked", "restored", "packet", "corrected"})
"""Columns of the file that hold no figure. A column that is neither here nor in `HEADS` is a way of voting."""


@dataclass(frozen=True, slots=True)
class ReportRow:
    """One place or the county: `cells` by column as printed, `said` sentences about what is off."""

    place: str
    name: str
    cells: Mapping[str, str]
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """`columns` in order with their `heads`; `over_under` a sentence for the poll book and one for the stock."""

    columns: tuple[str, ...]
    heads: Mapping[str, str]
    rows: tuple[ReportRow, ...]
    over_under: tuple[str, ...]


def report(rows: Sequence[Mapping[str, str]], registered: Mapping[str, int]) -> Report:
    """The report. `rows` as the file has them, the county last; `registered`: voters by the place's name, where the edition knows them."""
    file_columns = list(rows[0]) if rows else []
    ways = [name for name in file_columns if name not in HEADS and name not in WORDS]
    columns = [*HEADS]
    columns[columns.index("spoiled") : columns.index("spoiled")] = ways
    heads = {**HEADS, **{way: way.replace("_", " ").capitalize() for way in ways}}
    made = tuple(_row(row, columns, registered, sum(registered.values())) for row in rows)
    places = [row for row in rows if row["place"] != COUNTY]
    used = tuple(name for name in columns if any(one.cells.get(name) for one in made))
    return Report(used, heads, made, tuple(_over_under(places)))


def _row(row: Mapping[str, str], columns: Sequence[str], registered: Mapping[str, int], whole: int) -> ReportRow:
    county = row["place"] == COUNTY
    known = (whole or None) if county else registered.get(row["name"])
    cells = {name: _printed(row.get(name, "")) for name in columns if name not in ("state", "registered", "agree")}
    cells |= {
        "state": STATES.get(row["state"], row["state"]),
        "registered": "" if known is None else f"{known:,}",
        "agree": row["agree"].replace("-", ", "),
    }
    return ReportRow(row["place"], row["name"], cells, () if county else tuple(_said(row)))


def _printed(text: str) -> str:
    return f"{int(text):,}" if text.lstrip("-").isdigit() else text


def _said(row: Mapping[str, str]) -> Iterator[str]:
    for name, (over, under) in SAID.items():
        gap = int(row.get(name) or 0)
        if gap:
            remark = ", with a signed remark" if row["remarked"] else ", not every gap has a remark"
            remark = "" if name == "gap_credited" else remark  # the place's remarks know nothing of it
            one, many, than = under if gap > 0 else over
            yield f"{abs(gap):,} more {one if abs(gap) == 1 else many} {than}{remark}."
    if row["state"] not in ("in", ""):
        yield STATE_SAYS.get(row["state"], row["state"]) + "."
    if row["restored"]:
        yield "its record was restored on another laptop."
    for word in (row.get("corrected") or "").split():
        yield CORRECTED.get(word, word)


def _over_under(places: Sequence[Mapping[str, str]]) -> Iterator[str]:
    for name, (over_words, under_words) in SAID.items():
        if not all(name in row for row in places):
            continue
        gaps = [int(row[name] or 0) for row in places]
        known = sum(row[name] != "" for row in places)
        part = f" Of {known:,} of {len(places):,} places." if name == "gap_credited" and known < len(places) else ""
        over, under = sum(-gap for gap in gaps if gap < 0), sum(gap for gap in gaps if gap > 0)
        net = over - under
        words = f"{abs(net):,} {'over' if net > 0 else 'under'}" if net else "0"
        words_of = [f"more {many} {than}" for _, many, than in (over_words, under_words)]
        yield f"{HEADS[name]}: over {over:,} ({words_of[0]}), under {under:,} ({words_of[1]}); net {words}, gross {over + under:,}.{part}"
