"""The figures of one day in the shapes of the balance: only what is kept, nothing guessed.

`figures` gives the JSON of `tapeseal balance`; `running` the rule of the readings: who is between check-in and tabulator by the figures.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct import balance_table, custody
from webapp.precinct.ballots import BALLOT_KINDS
from webapp.precinct.place import Place
from webapp.precinct.step import Day, Kept, all_of, last, task_key
from webapp.precinct.tasks import clock

ASIDE = ("spoiled", "provisional", "left", "taken", "found")
NOTED = {"spoiled": "spoiled", "provisional": "provisional", "left": "left", "taken": "taken"}


def figures(place: Place, day: Day) -> dict[str, Any]:
    """All parts that this day can give. Rows name their style only where the place has several."""
    parts = {
        "rules": {"overvotes": place.rules.overvotes, "bins_counted": place.rules.bins_counted, "sheets": max((s.sheets for s in place.styles), default=1)},
        "dispositions": dispositions(place), "cast_from": _cast_from(day), "stock": _stock(place, day), "other_stock": _copies(day), "stubs": _stubs(place, day),
        "voters": _voters(place, day), "set_aside": _aside(place, day), "tabulators": [_tabulator(place, day, t.id, t.box) for t in place.tabulators],
        "boxes": [b for box in place.boxes if (b := _box(place, day, box.id))], "containers": _containers(day), "contests": _contests(place, day),
        "seals": [{"at": at, "applied": applied, "found": found} for at, applied, found in custody.found_and_applied(place, day)],
        "seal_stock": _seal_stock(day), "readings": _readings(place, day)}
    return {name: part for name, part in parts.items() if part or name == "set_aside"}


def dispositions(place: Place) -> list[dict[str, Any]]:
    """What the place file says of kinds: whether provisional voters are in the book, and its own kinds with all flags."""
    own = [{"id": k.id, "from_stock": k.from_stock, "in_poll_book": k.in_poll_book, "counted": k.counted, "in_bin": k.in_bin} for k in place.kinds]
    return [{"id": "provisional", "in_poll_book": place.rules.provisional_in_poll_book}, *own]


def _settled(value: Any) -> Any:
    """A count as the balance wants it: several hand counts in order, or the one number."""
    return {"counts": list(value)} if isinstance(value, list | tuple) else value


def plain(value: Any) -> int:
    """The number that stands: of several counts the last."""
    return value[-1] if isinstance(value, list | tuple) else (value or 0)


def _cast_from(day: Day) -> dict[str, int]:
    closing = last(day, "unused")
    named = (("card", "cards_cast"), ("absentee", "absentee_fed"))
    return {origin: closing.body[key] for origin, key in named if closing and closing.body.get(key) is not None}


def _stock(place: Place, day: Day) -> dict[str, Any]:
    packs, closing = last(day, "packs"), last(day, "unused")
    other = packs.body.get("received", {}) if packs else {}
    found: dict[str, Any] = {"received": [{"style": s.style, "n": other.get(s.style, s.received)} for s in place.stock]}
    if closing and "unused" in closing.body:
        found["unused"] = [{"style": style, "n": _settled(n)} for style, n in closing.body["unused"].items()]
    found["resupply"] = [{"at": clock(place, k.time), "style": k.body["style"], "n": plain(k.body["ballots"])}
                         for k in all_of(day, "resupply") if k.body.get("origin") != "copy" and not k.not_so]
    found["sent"] = [{"style": k.body["style"], "n": plain(k.body["ballots"])} for k in all_of(day, "sent") if not k.not_so]
    found["packs"] = _packs(place, day, packs, other)
    return {key: value for key, value in found.items() if value}


def _packs(place: Place, day: Day, packs: Kept | None, other: Mapping[str, int]) -> list[dict[str, Any]]:
    """Opened packs whose true number is not the nominal one. A pack of a style whose received number was counted anew is in that number."""
    nominal = {s.style: s.pack for s in place.stock}
    opened = [(style, nominal.get(style), plain(n)) for style, n in (packs.body.get("opened_counted", {}) if packs else {}).items()]
    opened += [(k.body["style"], k.body.get("nominal"), plain(k.body.get("counted"))) for k in all_of(day, "pack-opened") if "counted" in k.body]
    return [{"style": style, "nominal": want, "counted": have} for style, want, have in opened if want and have != want and style not in other]


def _copies(day: Day) -> dict[str, Any]:
    made = sum(plain(k.body["ballots"]) for k in all_of(day, "resupply") if k.body.get("origin") == "copy")
    closing = last(day, "unused")
    if not made or closing is None or "copies_unused" not in closing.body:
        return {}
    return {"copy": {"received": made, "unused": plain(closing.body["copies_unused"])}}


def _stubs(place: Place, day: Day) -> list[dict[str, Any]]:
    first, closing = last(day, "first-stub"), last(day, "unused")
    begun, ended = (k.body.get(key, {}) if k else {} for k, key in ((first, "first"), (closing, "next")))
    gone = [k.body.get("missing", {}) for k in (first, closing) if k]
    rows = [{"style": style, "first": begun[style], "next": ended[style], "missing": sorted({n for m in gone for n in m.get(style, [])})}
            for style in begun if style in ended]
    return rows if rows and {row["style"] for row in rows} == {s.style for s in place.stock} else []


def _voters(place: Place, day: Day) -> list[dict[str, Any]]:
    kept = last(day, "book-count")
    if kept is None or "check_ins" not in kept.body:
        return []
    several = len(kept.body["check_ins"]) > 1
    rows = [{"precinct": book, "n": _settled(n)} for book, n in kept.body["check_ins"].items()]
    gone = kept.body.get("cancelled", {})
    cancelled = [{"precinct": book, "n": n} for book, n in gone.items()] if several else sum(gone.values())
    found = [{"id": "poll_book", "n": rows if several else rows[0]["n"], "cancelled": cancelled}]
    if kept.body.get("slips") is not None:
        found.append({"id": "slips", "n": kept.body["slips"], "cancelled": 0})
    return found


def noted(day: Day, kind: str) -> int:
    """How many ballots of a kind the day's notes tell of."""
    return sum(k.body.get("ballots", 1) for k in all_of(day, kind))


def _found(place: Place, day: Day, fate: str) -> int:
    return sum(k.body.get("ballots", 1) for k in all_of(day, "found") if k.body.get("becomes", place.rules.found) == fate)


def _aside(place: Place, day: Day) -> dict[str, Any]:
    """Each kind: from the envelopes where they were counted, beside what was noted; else the notes alone."""
    closing = last(day, "aside-counts")
    spoiled_again = [k for k in all_of(day, "spoiled") if k.body.get("reissued", True)]
    not_again = sum(k.body.get("ballots", 1) for k in all_of(day, "spoiled") if not k.body.get("reissued", True)) + _found(place, day, "spoiled-not-reissued")
    again = sum(k.body.get("ballots", 1) for k in spoiled_again)
    aside: dict[str, Any] = {"spoiled": again, "spoiled-not-reissued": not_again, "provisional": noted(day, "provisional"), "left": noted(day, "left"),
                             "taken": noted(day, "taken"), "set-apart": _found(place, day, "set-apart")}
    if closing:
        envelope = sum(plain(n) for n in closing.body.get("spoiled", {}).values())
        if "spoiled" in closing.body:
            # one envelope holds both sorts; what was not re-issued is known from the notes alone
            aside["spoiled"] = {"logged": again, "counts": [max(envelope - not_again, 0)]}
        if "provisional" in closing.body:
            aside["provisional"] = {"logged": aside["provisional"], "counts": [sum(plain(n) for n in closing.body["provisional"].values())]}
        if "set_apart" in closing.body:
            aside["set-apart"] = {"logged": aside["set-apart"], "counts": [plain(closing.body["set_apart"])]}
        aside |= {kind: plain(n) for kind, n in closing.body.get("others", {}).items()}
    opened = all_of(day, "emergency-opened")
    if opened:
        aside["emergency"] = sum(k.body.get("left", 0) for k in opened)
        aside["hand-counted"] = sum(k.body.get("hand_counted", 0) for k in opened)
    else:
        aside["emergency"] = noted(day, "emergency-plus") + _found(place, day, "emergency")
    return aside


def _tabulator(place: Place, day: Day, at: str, box: str) -> dict[str, Any]:
    typed = last(day, "tape-typed", at)
    found: dict[str, Any] = {"id": at, "box": box, "runs": _runs(day, at)}
    if typed and "ballots" in typed.body:
        rows = typed.body["ballots"]
        found["tape"] = [{"precinct": book, "n": n} for book, n in rows.items()] if len(rows) > 1 else sum(rows.values())
        if typed.body.get("subtract"):
            found["subtract"] = {"n": typed.body["subtract"], "why": typed.texts.get("why_subtract", "") if hasattr(typed, "texts") else ""}
    fresh = [k.body["fed_again"] for k in day.kept.get(task_key("tabulator-in", at), ()) if k.body.get("fed_again")]
    if fresh and "tape" in found:
        found["fed_again"] = {"on": at, "n": 0}
    return found


def _runs(day: Day, at: str) -> list[dict[str, Any]]:
    """From zero to each change of the unit to the close, in order of the entries."""
    zero, close = last(day, "zero-tape", at), last(day, "counter-read", at)
    start = (zero.body.get("public"), zero.body.get("lifetime")) if zero else (None, None)
    moves = sorted((k for kind in ("tabulator-out", "tabulator-in") for k in day.kept.get(task_key(kind, at), ())), key=lambda k: k.number)
    runs, unit = [], at
    for move in moves:
        now = (move.body.get("public"), move.body.get("lifetime"))
        if move.kind == "tabulator-out":
            runs.append((unit, start, now))
        elif move.body.get("how") == "memory-moved":
            start, unit = now, move.body.get("serial", unit)
        elif move.body.get("how") == "fed-again":
            runs, start, unit = [], now, move.body.get("serial", unit)
        else:
            start, unit = now, move.body.get("serial", unit)
    runs.append((unit, start, (close.body.get("public"), close.body.get("lifetime")) if close else (None, None)))
    return [{"unit": u, "counter": [a[0], b[0]], "lifetime": [a[1], b[1]]} for u, a, b in runs]


def _box(place: Place, day: Day, box: str) -> dict[str, Any]:
    out, opened = last(day, "bins-out", box), last(day, "emergency-opened", box)
    found: dict[str, Any] = {}
    if out and out.body.get("ballots"):
        found["bins"] = {name: _settled(n) for name, n in out.body["ballots"].items()}
    emptied = [{"at": clock(place, k.time), "counter": sum(k.body.get("counters", {}).values()),
                "n": None if k.body.get("ballots") is None else _settled(k.body["ballots"]), "container": k.body.get("container", "")}
               for k in day.kept.get(task_key("bin-emptied", box), ()) if not k.not_so]
    if emptied:
        found["emptied"] = emptied
    if opened and "ballots_found" in opened.body:
        found["emergency"] = {"found": _settled(opened.body["ballots_found"]), **{key: opened.body.get(key, 0) for key in ("fed", "hand_counted", "left")}}
    return {"id": box, **found} if found else {}


def _containers(day: Day) -> list[dict[str, Any]]:
    filled, sealed = last(day, "containers-filled"), last(day, "containers-sealed")
    if filled is None or "ballots" not in filled.body:
        return []
    numbers = sealed.body.get("seals", {}) if sealed else {}
    return [{"id": name, "seal": numbers.get(name, ""), "ballots": _settled(n)} for name, n in filled.body["ballots"].items()]


def _contests(place: Place, day: Day) -> list[dict[str, Any]]:
    typed = {t.id: k.body["contests"] for t in place.tabulators if (k := last(day, "tape-typed", t.id)) and "contests" in k.body}
    tally = last(day, "write-in-tally")
    found = []
    for contest in place.typed_contests():
        tapes = {at: dict(rows[contest.id]) for at, rows in typed.items() if contest.id in rows and rows[contest.id].get("votes")}
        if not tapes:
            continue
        one = {"id": contest.id, "title": contest.title, "n": contest.n, "tapes": tapes}
        if tally and contest.write_in:
            counts = {key: tally.body.get(key, {}).get(contest.id, 0) for key in ("other", "no_name", "invalid")}
            one["write_in_tally"] = {"listed": tally.body.get("listed", {}).get(contest.id, {}), **counts}
        found.append(one)
    return found


def _seal_stock(day: Day) -> dict[str, int]:
    kept = last(day, "seals-accounted")
    return {key: kept.body[key] for key in ("issued", "applied", "returned", "damaged") if key in kept.body} if kept else {}


def _readings(place: Place, day: Day) -> list[dict[str, Any]]:
    return [{"at": clock(place, k.body.get("hour", k.time)), "counter": sum(k.body.get("counters", {}).values()), "poll_book": sum(k.body.get("check_ins", {}).values()),
             "in_hand": k.body.get("in_hand", 0), **({"unused": sum(k.body["unused"].values())} if k.body.get("unused") else {})}
            for k in all_of(day, "hourly") if "counters" in k.body and "check_ins" in k.body]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading against the rule: `between` = people between check-in and tabulator by the figures; `alarm` a sentence, "" when all is well."""

    number: int
    hour: int
    counter: int
    check_ins: int
    in_hand: int
    aside: int
    alarm: str

    @property
    def between(self) -> int:
        return self.check_ins - self.counter - self.aside


def running(place: Place, day: Day) -> tuple[Reading, ...]:
    """Each reading: 0 <= check-ins - counters - (in the book, on no counter, by then) <= people between. Below zero is the alarm."""
    table = balance_table.table(dispositions(place), [])
    # who is in the book and on no counter: a note's own fate, not one shared with the envelope of another
    weigh = {"left": "left", "taken": "taken", "provisional": "provisional", "emergency-plus": "emergency"}
    notes = sorted((k for kind in BALLOT_KINDS for k in all_of(day, kind)), key=lambda k: k.number)
    found, stuck = [], 0
    for kept in all_of(day, "hourly"):
        if "counters" not in kept.body or "check_ins" not in kept.body:
            continue
        aside = sum(k.body.get("ballots", 1) * table.book(_fate(k, weigh, place)) for k in notes if k.number < kept.number and _fate(k, weigh, place))
        counter, check_ins, in_hand = sum(kept.body["counters"].values()), sum(kept.body["check_ins"].values()), kept.body.get("in_hand", 0)
        between = check_ins - counter - aside
        stuck = stuck + 1 if between > in_hand else 0
        found.append(Reading(kept.number, kept.body.get("hour", kept.time), counter, check_ins, in_hand, aside, _alarm(between, in_hand, stuck)))
    return tuple(found)


def _fate(kept: Kept, weigh: Mapping[str, str], place: Place) -> str:
    if kept.kind == "found":
        return kept.body.get("becomes", place.rules.found)
    if kept.kind == "spoiled" and not kept.body.get("reissued", True):
        return "spoiled-not-reissued"
    return weigh.get(kept.kind, "")


def _alarm(between: int, in_hand: int, stuck: int) -> str:
    if between < 0:
        return f"{-between} more on the counters than people behind them. Look now, two parties together: check-in list, double feeds, counters at zero."
    if between > in_hand:
        return (f"By the figures {between} people are between check-in and tabulator; {in_hand} were counted. "
                + ("It has not fallen since the last reading: look into bins, floor and booths." if stuck > 1 else "Look again at the next reading."))
    return ""
