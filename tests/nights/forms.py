"""What the people of the place write down after the day: the figures of `tapeseal balance`, in one of its many shapes.

Only written marks and counted piles are used here. A figure is a plain number in most places and rows by precinct or by
style in some; the same day can be told in either.
"""

from __future__ import annotations

from collections import Counter
from random import Random

from nights.place import ABSENTEE, CARD, COPY, PAPER, Place
from nights.room import Room, Style, Tabulator

Figures = dict[str, object]


def clock(at: float) -> str:
    return f"{int(at):02d}:{round(at % 1 * 60):02d}"


def _key(place: Place, style: Style) -> dict[str, str]:
    return {"": {}, "precinct": {"precinct": style[0]}, "style": {"style": style[1]}}[place.scope]


def _rows(place: Place, counts: Counter, by: str, of: range | None = None) -> object:
    """Counts by (precinct, style) as one number, or as rows where this place writes rows by this scope."""
    if place.scope != by:
        return counts.total()
    sums: Counter = Counter()
    for style in place.ballots:
        sums[_key(place, style)[by]] += counts[style]
    return [{by: name, "n": n} for name, n in sums.items()]


def _stock(room: Room, rng: Random) -> Figures:
    place, plan = room.plan.place, room.plan
    received = Counter({s: sum(p.nominal) for s, p in plan.piles.items()})
    logged = [d for d in plan.resupply if d.logged]
    if not place.asks_for("resupply apart"):
        received.update({d.style: 0 for d in logged})
        for d in logged:
            received[d.style] += d.sheets
    stock: Figures = {
        "received": _rows(place, received, "style"),
        "unused": _unused(place, Counter({s: p.unused for s, p in plan.piles.items()}), rng),
    }
    if place.asks_for("resupply apart"):
        stock["resupply"] = [{"at": clock(d.at), "style": d.style[1], "n": d.sheets} for d in logged]
    if place.asks_for("sent"):
        stock["sent"] = [{"style": d.style[1], "n": d.sheets} for d in plan.sent if d.logged]
    if place.asks_for("held back"):
        stock["held_back"] = min(10, *(p.unused for p in plan.piles.values()))
    packs = [
        {"style": p.style[1], "nominal": n, "counted": c}
        for p in plan.piles.values()
        for n, c in zip(p.nominal, p.counted)
        if c is not None and c != n
    ]
    if packs:
        stock["packs"] = packs
    return stock


def _unused(place: Place, unused: Counter, rng: Random) -> object:
    plain = _rows(place, unused, "style")
    if not place.asks_for("unused counted twice"):
        return plain
    slip = rng.choice((0, 0, 0, -1, 1, 2))

    def twice(n: int) -> object:
        return {"counts": [n + slip, n, n] if slip and n + slip >= 0 else [n, n]}

    return twice(plain) if isinstance(plain, int) else [r | {"n": twice(r["n"])} for r in plain]


def _stubs(room: Room) -> object:
    piles = list(room.plan.piles.values())
    rows = [
        ({"style": p.style[1]} if len(piles) > 1 or room.plan.place.scope else {})
        | {"first": p.first, "next": p.next}
        | ({"missing": list(p.gone)} if p.gone else {})
        for p in piles
    ]
    return rows[0] if len(rows) == 1 else rows


def _kind(room: Room, kind: str) -> object:
    """One set-aside kind: number, rows, or the log beside the envelope's count."""
    place = room.plan.place
    here = {note: n for note, n in room.log.items() if note[0] == kind}
    if place.scope and not place.asks_for("kinds unscoped") and (here or place.asks_for("zero rows")):
        sums: Counter = Counter({(name, PAPER): 0 for name in _names(place)})
        for (_, precinct, style, origin), n in here.items():
            sums[_key(place, (precinct, style))[place.scope], origin] += n
        return [{place.scope: name} | ({"origin": o} if o != PAPER else {}) | {"n": n} for (name, o), n in sums.items()]
    by_origin: Counter = Counter()
    for (_, _, _, origin), n in here.items():
        by_origin[origin] += n
    if set(by_origin) - {PAPER}:
        return [({"origin": o} if o != PAPER else {}) | {"n": n} for o, n in by_origin.items()]
    return by_origin[PAPER]


def _names(place: Place) -> list[str]:
    return list(dict.fromkeys(_key(place, s)[place.scope] for s in place.ballots))


def _set_aside(room: Room) -> Figures:
    place = room.plan.place
    kinds = list(place.kinds) + (["hand-counted"] if place.asks_for("copies") else [])
    written = {kind: _kind(room, kind) for kind in kinds}
    if place.asks_for("by hand"):
        written["hand-counted"] = _rows(place, room.plan.tabulators[0].tally, place.scope or "style")
    if place.asks_for("envelopes counted") and isinstance(written["spoiled"], int):
        written["spoiled"] = {"logged": written["spoiled"], "counts": [written["spoiled"]] * 2}
    return written


def _tabulator(room: Room, index: int, tabulator: Tabulator) -> Figures:
    place = room.plan.place
    written: Figures = {"id": tabulator.id}
    if place.asks_for("emergency fed"):
        written["box"] = f"X{index + 1}"
    if tabulator.swapped_at:
        written["runs"] = _runs(place, tabulator)
    elif place.asks_for("counters"):
        written |= {"counter_at_zero": tabulator.zero_written, "counter_at_close": tabulator.counter}
    if place.asks_for("lifetimes") and not tabulator.swapped_at:
        written |= {"lifetime_at_zero": tabulator.lifetime_at_zero, "lifetime_at_close": tabulator.lifetime}
    if tabulator.tape == "printed" and not place.asks_for("no tape yet"):
        written["tape"] = _rows(place, tabulator.tally, place.scope or "style")
    if tabulator.subtract:
        written["subtract"] = {"n": tabulator.subtract, "why": "a jam was counted twice; see the jam memo"}
    if tabulator.fed_again_on:
        written["fed_again"] = {"on": tabulator.fed_again_on, "n": tabulator.fed_again}
    if index < place.on_first_box():
        written["box"] = "X1"
    elif place.asks_for("bins"):
        written["bins"] = _bins(place, [tabulator])
    return written


def _bins(place: Place, tabulators: list[Tabulator]) -> Figures:
    """What was counted by hand out of the compartments of one box."""
    main = sum(len(t.main) + t.strays - t.left_behind["main"] for t in tabulators)
    write_in = sum(len(t.write_in) for t in tabulators)
    return {"main": main + write_in} if place.asks_for("whole bins") else {"main": main, "write-in": write_in}


def _first_box(room: Room) -> Figures:
    """A box written apart from its tabulators: shared by two, or emptied in mid-day."""
    plan, on_it = room.plan, room.plan.tabulators[: room.plan.place.on_first_box()]
    box: Figures = {"id": "X1", "bins": _bins(plan.place, on_it)}
    if plan.emptied_at:
        by_counter = not plan.emptying_counted and len(on_it) == 1 and plan.place.asks_for("counters")
        box["emptied"] = [
            {
                "at": clock(plan.emptied_at),
                "counter": room.counter_at_emptying,
                "n": None if by_counter else room.taken_out,
                "container": "C7",
            }
        ]
    return box


def _runs(place: Place, t: Tabulator) -> list[Figures]:
    """Two units carried one memory: the counter runs on, each unit's lifetime counter counts its own part."""
    first, second = t.counter_at_swap, t.counter - t.counter_at_swap
    runs: list[Figures] = [
        {"unit": "A", "counter": [t.zero_written, first]},
        {"unit": "B", "counter": [first, t.counter]},
    ]
    if place.asks_for("lifetimes"):
        runs[0]["lifetime"] = [t.lifetime_at_zero, t.lifetime_at_zero + first]
        runs[1]["lifetime"] = [t.spare_lifetime, t.spare_lifetime + second]
    return runs


def _readings(room: Room) -> list[Figures]:
    rows = []
    for r in room.readings:
        row: Figures = {"at": clock(r.at), "counter": r.counter, "poll_book": r.book, "in_hand": r.in_hand}
        if room.plan.place.asks_for("readings of stock"):
            kinds = {k: sum(n for note, n in r.notes.items() if note[0] == k) for k in room.plan.place.kinds}
            row |= {"unused": r.unused, "set_aside": kinds}
        rows.append(row)
    return rows


def _cast_from(room: Room) -> Figures:
    place = room.plan.place
    by = place.scope or "style"
    cast_from: Figures = {}
    if place.asks_for("cards"):
        cast_from[CARD] = _rows(place, room.cards, by)
    if place.asks_for("absentees"):
        cast_from[ABSENTEE] = _rows(place, Counter(a.own for a in room.plan.absentees), by)
    return cast_from


def _dispositions(place: Place) -> list[Figures]:
    rows: list[Figures] = []
    if place.provisional_in_book:
        rows.append({"id": "provisional", "in_poll_book": True})
    if place.absentee_in_book and place.asks_for("absentees"):
        rows.append({"id": ABSENTEE, "in_poll_book": True})
    return rows


def _book(room: Room, figures: Figures) -> None:
    """The book as one figure, or as one of several people-counts beside the slips handed over at check-in."""
    place = room.plan.place
    book = _rows(place, room.book, "precinct")
    if not place.asks_for("slips"):
        figures["poll_book"] = book
        if place.asks_for("cancelled"):
            del figures["poll_book"]
            figures["voters"] = [{"id": "poll_book", "n": book + 2, "cancelled": 2}]
        return
    provisional = 0 if place.provisional_in_book else sum(v.fate == "provisional" for v in room.plan.voters)
    slips: Figures = {"id": "slips", "n": sum(v.marks_in_book for v in room.plan.voters if room.belongs_in_book(v))}
    slips["n"] += sum(a.marks_in_book for a in room.plan.absentees) + provisional
    figures["voters"] = [{"id": "poll_book", "n": book, "cancelled": 0}, slips | {"includes": ["provisional"]}]


def _boxes(room: Room) -> list[Figures]:
    return [
        {
            "id": f"X{i + 1}",
            "emergency": {
                "found": room.emergency_found[i],
                "fed": room.emergency_found[i] - room.emergency[i],
                "hand_counted": 0,
                "left": room.emergency[i],
            },
        }
        for i in range(len(room.plan.tabulators))
    ]


def written(room: Room, rng: Random) -> Figures:
    """The figures of the night, as JSON data."""
    place = room.plan.place
    figures: Figures = {"stock": _stock(room, rng)}
    if place.asks_for("stubs"):
        figures["stubs"] = _stubs(room)
    _book(room, figures)
    figures["set_aside"] = _set_aside(room)
    if place.asks_for("copies"):
        figures["other_stock"] = {COPY: {"received": room.plan.copies, "unused": room.plan.copies - room.copies_used}}
    cast_from = _cast_from(room)
    if cast_from:
        figures["cast_from"] = cast_from
    if _dispositions(place):
        figures["dispositions"] = _dispositions(place)
    if place.pack not in (25, 50, 100):
        figures["rules"] = {"pack": place.pack}
    if not place.asks_for("by hand"):
        figures["tabulators"] = [
            _tabulator(room, i, t) for i, t in enumerate(room.plan.tabulators) if t.tape != "unlisted"
        ]
    if room.readings:
        figures["readings"] = _readings(room)
    if place.asks_for("emergency fed"):
        figures["boxes"] = _boxes(room)
    if place.on_first_box():
        figures["boxes"] = [_first_box(room)]
    if place.asks_for("containers"):
        figures["containers"] = [
            {
                "id": "C1",
                "seal": "0413",
                "ballots": sum(len(t.main) + len(t.write_in) + t.strays for t in room.plan.tabulators)
                + room.taken_out
                + sum(1 for v in room.plan.voters if v.fate == "hand-counted"),
            }
        ]
    if place.asks_for("seals"):
        figures["seals"] = [{"at": "case", "applied": "4471", "found": "4471"}]
    return figures
