"""The paper side of a day's figures: what came, what was added and sent, packs whose number was not the printed one, stubs, what is unused.

Shapes are those of the balance. A figure that cannot be (more unused than there ever was) is left out, and the sentence says so.
"""

from typing import Any

from webapp.precinct.day.day import Day
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

Rows = list[dict[str, Any]]


def plain(value: Any) -> int:
    """The number in force: of several hand counts the last."""
    return value[-1] if isinstance(value, list | tuple) else (value or 0)


def counted(value: Any) -> Any:
    """A hand count as the balance wants it: the one number, or all counts in order."""
    return {"counts": list(value)} if isinstance(value, list | tuple) else value


def stock(place: Place, day: Day) -> dict[str, Any]:
    """The part `stock`: rows by style where the place has several."""
    found: dict[str, Any] = {"received": _by_style(place, _received(place, day))}
    moved = {
        name: [_moved(place, k) for k in day.of(name) if not k.not_so and k.body.get("origin") != "copy"]
        for name in ("resupply", "sent")
    }
    found |= {name: rows for name, rows in moved.items() if rows}
    if packs := _packs(place, day):
        found["packs"] = packs
    unused = _unused(place, day)
    if unused is not None and not too_many_unused(place, day):
        found["unused"] = _by_style(place, {style: counted(n) for style, n in unused.items()})
    opening = day.last("packs")
    if opening and opening.body.get("masters") is not None:
        found["held_back"] = opening.body["masters"]
    return found


def too_many_unused(place: Place, day: Day) -> str:
    """The sentence when more is unused than ever came; "" else."""
    unused, closing = _unused(place, day), day.last("unused")
    if unused is None or closing is None:
        return ""
    came = sum(_received(place, day).values()) - sum(p["nominal"] - p["counted"] for p in _packs(place, day))
    for name, sign in (("resupply", 1), ("sent", -1)):
        came += sign * sum(
            plain(k.body["ballots"]) for k in day.of(name) if not k.not_so and k.body.get("origin") != "copy"
        )
    left = sum(map(plain, unused.values()))
    if left <= came:
        return ""
    return (
        f"{few(left, 'ballot is', 'ballots are')} unused and {few(came, 'ballot')} came, resupply and ballots sent elsewhere reckoned in: {left - came:,} more "
        f"than there ever were. Count again, and correct entry {closing.corrected_by or closing.number}."
    )


def _received(place: Place, day: Day) -> dict[str, int]:
    """By the place file, or as counted at the opening where that differed."""
    opening = day.last("packs")
    other = opening.body.get("received", {}) if opening else {}
    return {s.style: other.get(s.style, s.received) for s in place.stock}


def _unused(place: Place, day: Day) -> dict[str, Any] | None:
    """The closing count, once every style is in it."""
    closing = day.last("unused")
    found = closing.body.get("unused", {}) if closing else {}
    wanted = [s.style for s in place.stock]
    return {style: found[style] for style in wanted} if wanted and all(style in found for style in wanted) else None


def _by_style(place: Place, figures: dict[str, Any]) -> Any:
    if len(place.stock) == 1:
        return next(iter(figures.values()))
    return [{"style": style, "n": n} for style, n in figures.items()]


def _moved(place: Place, kept: Any) -> dict[str, Any]:
    return {**({"style": kept.body["style"]} if len(place.stock) > 1 else {}), "n": plain(kept.body["ballots"])}


def _packs(place: Place, day: Day) -> Rows:
    """Opened packs whose true number is not the nominal one. If the received number was counted again at the opening, the first pack is in it."""
    nominal, opening = {s.style: s.pack for s in place.stock}, day.last("packs")
    said = opening.body if opening else {}
    opened = [
        (style, nominal.get(style), n)
        for style, n in said.get("opened_counted", {}).items()
        if style not in said.get("received", {})
    ]
    opened += [
        (k.body.get("style"), k.body.get("nominal"), k.body["counted"])
        for k in day.of("pack-opened")
        if "counted" in k.body
    ]
    return [
        {**({"style": style} if style and len(place.stock) > 1 else {}), "nominal": wanted, "counted": plain(n)}
        for style, wanted, n in opened
        if wanted and plain(n) != wanted
    ]


def copies(day: Day) -> dict[str, Any]:
    """The part `other_stock`: copies made here, once those left over are counted."""
    made = [plain(k.body["ballots"]) for k in day.of("resupply") if not k.not_so and k.body.get("origin") == "copy"]
    closing = day.last("unused")
    if not made or closing is None or "copies_unused" not in closing.body:
        return {}
    return {"copy": {"received": sum(made), "unused": plain(closing.body["copies_unused"])}}


def cast_from(day: Day) -> dict[str, int]:
    """Cast ballots that were never in the stock: cards of the device, absentee ballots fed here."""
    closing = day.last("unused")
    named = (("card", "cards_cast"), ("absentee", "absentee_fed"))
    return {origin: closing.body[key] for origin, key in named if closing and closing.body.get(key) is not None}


def stubs(place: Place, day: Day) -> Rows:
    """The part `stubs`: by style, once every style has its first and its next stub; a new row where a pack begins with another number."""
    first, closing = day.last("first-stub"), day.last("unused")
    begun, ended = (k.body.get(key, {}) if k else {} for k, key in ((first, "first"), (closing, "next")))
    styles = [s.style for s in place.stock]
    if not styles or any(style not in begun or style not in ended for style in styles):
        return []
    rows = [row for style in styles for row in _stub_rows(place, day, style, begun[style], ended[style])]
    return [] if any(row["next"] < row["first"] for row in rows) else rows


def _stub_rows(place: Place, day: Day, style: str, begin: int, end: int) -> Rows:
    """Numbers run on from pack to pack; where they jump, the pack before ends after the sheets that were really in it."""
    gone = sorted(
        {
            n
            for key in ("first-stub", "unused")
            if (k := day.last(key))
            for n in k.body.get("missing", {}).get(style, [])
        }
    )
    opening = day.last("packs")
    size = plain(opening.body.get("opened_counted", {}).get(style)) if opening else 0
    size = size or next((s.pack or 0 for s in place.stock if s.style == style), 0)
    ranges, start = [], begin
    for kept in day.of("pack-opened"):
        stub = kept.body.get("stub") if kept.body.get("style") == style else None
        if stub is None:
            continue
        runs_on = start < stub <= start + max(size, kept.body.get("nominal") or 0) + len(gone) + 1
        if size and not runs_on:
            ranges.append((start, start + size + sum(start <= n < start + size + len(gone) for n in gone)))
            start = stub
        elif runs_on:
            size += plain(kept.body.get("counted"))
            continue
        size = plain(kept.body.get("counted"))
    ranges.append((start, end))
    several = {"style": style} if len(place.stock) > 1 else {}
    return [{**several, "first": a, "next": b, "missing": [n for n in gone if a <= n < b]} for a, b in ranges]
