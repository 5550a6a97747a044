"""Lines of the goods: emergency bins, containers, seals, days, sheets, the absentee board, recounts."""

from collections.abc import Mapping

from webapp.precinct import says
from webapp.precinct.figures import count, known, listed, number, text
from webapp.precinct.lines import Found, Lacks, Line
from webapp.precinct.night import Night


def emergency(night: Night) -> Found:
    """found = fed + counted by hand + left, box by box."""
    boxes = [b for b in listed(night.data.get("boxes", []), "boxes") if "emergency" in b]
    for box in boxes:
        item = known(box["emergency"], ("found", "fed", "hand_counted", "left"), f"boxes.{box['id']}.emergency")
        lacks = tuple(f"emergency.{k}" for k in ("found", "fed", "hand_counted", "left") if k not in item)
        if lacks:
            yield Lacks("emergency", lacks)
            continue
        left = count(item["found"], "emergency.found").total
        right = sum(number(item[k], f"emergency.{k}") for k in ("fed", "hand_counted", "left"))
        yield Line("emergency", left, right, says.plain(left, right, "Found in the emergency bin", "fed, counted by hand and left"), "Found in the emergency bin", "Fed, counted by hand, left",
                   {"box": box["id"]} if len(boxes) > 1 else None)


def containers(night: Night) -> Found:
    """Ballots in sealed containers = counted + counted by hand."""
    items = [known(c, ("id", "seal", "ballots"), "containers") for c in listed(night.data.get("containers", []), "containers")]
    known_all = items and all(c.get("ballots") is not None for c in items)
    missing = tuple(name for name, lacks in (("containers", not known_all), ("tape", not night.has_cast)) if lacks)
    if missing:
        yield Lacks("containers", missing)
        return
    left = sum(count(c["ballots"], f"containers.{c['id']}").total for c in items)
    right = night.cast + (night.aside["hand-counted"].total if "hand-counted" in night.aside else 0)
    yield Line("containers", left, right, says.plain(left, right, "Ballots in the sealed containers", "counted"), "Ballots in the containers", "Counted")


def seals(night: Night) -> Found:
    """Found = last applied, as written (gap 0 or 1); issued = applied + returned + damaged."""
    for item in listed(night.data.get("seals", []), "seals"):
        known(item, ("at", "applied", "found"), "seals")
        at = text(item.get("at"), "seals.at")
        if item.get("found") in (None, "") or item.get("applied") in (None, ""):
            yield Lacks(f"seals:{at}", tuple(k for k in ("applied", "found") if item.get(k) in (None, "")))
            continue
        found, applied = text(item["found"], "seals.found"), text(item["applied"], "seals.applied")
        yield Line(f"seals:{at}", int(found != applied), 0, says.seal(at, found, applied), f"Seal at {at} differs", "should")
    stock = night.data.get("seal_stock")
    if stock is not None:
        known(stock, ("issued", "applied", "damaged", "returned"), "seal_stock")
        lacks = tuple(f"seal_stock.{k}" for k in ("issued", "applied", "returned", "damaged") if k not in stock)
        if lacks:
            yield Lacks("seal-stock", lacks)
        else:
            left, right = number(stock["issued"], "seal_stock.issued"), sum(number(stock[k], f"seal_stock.{k}") for k in ("applied", "returned", "damaged"))
            yield Line("seal-stock", left, right, says.plain(left, right, "Seals issued", "applied, returned and damaged", "seal"), "Seals issued", "Applied, returned, damaged")


def carried(night: Night) -> Found:
    """A day's end = the next day's start: unused stock, and each counter."""
    days = [known(d, ("id", "unused_end", "unused_start", "counters_end", "counters_start"), "days") for d in listed(night.data.get("days", []), "days")]
    for before, after in zip(days, days[1:], strict=False):
        if "unused_end" in before and "unused_start" in after:
            left, right = number(after["unused_start"], "days.unused_start"), number(before["unused_end"], "days.unused_end")
            yield Line("carry:unused", left, right, says.plain(left, right, f"Unused at the start of day {after['id']}", f"at the end of day {before['id']}"), "Unused at the start", "Unused at the end before", {"day": str(after["id"])})
        ends, starts = before.get("counters_end", {}), after.get("counters_start", {})
        for name in ends if isinstance(ends, Mapping) and isinstance(starts, Mapping) else ():
            if name in starts:
                left, right = number(starts[name], "days.counters_start"), number(ends[name], "days.counters_end")
                yield Line(f"carry:{name}", left, right, says.plain(left, right, f"Counter of {name} at the start of day {after['id']}", f"at the end of day {before['id']}"), "Counter at the start", "Counter at the end before", {"day": str(after["id"])})


def sheets(night: Night) -> Found:
    """Sheet 1 balances strictly; fewer of a later sheet is a note, more is a gap."""
    last = night.rules.get("sheets", 1)
    for sheet in range(2, last + 1):
        if not night.tapes:
            yield Lacks("sheets", ("tape",))
            return
        first = sum(t.total for t in night.tapes)
        found = sum(t.sheets(sheet) for t in night.tapes)
        if found == 0 and not any(row.sheet == sheet for t in night.tapes for row in t.rows):
            yield Lacks("sheets", (f"tape of sheet {sheet}",))
            continue
        few = says.few(first - found, f"sheet {sheet}", f"of sheet {sheet}")
        note = f"Sheet {sheet}: {found:,} of {first:,}; {few} not returned, which is a note and no gap." if found < first else says.plain(found, first, f"Sheet {sheet}", "ballots")
        yield Line("sheets", max(found, first), first, note, f"Sheet {sheet}", "Sheet 1", {"sheet": str(sheet)} if last > 2 else None)


def board(night: Night) -> Found:
    """The absentee board: carriers opened, envelopes against ballots, each batch fed as it was counted and each counter going on."""
    item = known(night.data.get("board", {}), ("carriers", "envelopes", "batches"), "board")
    if "carriers" in item:
        c = known(item["carriers"], ("received", "opened"), "board.carriers")
        left, right = number(c.get("received"), "board.carriers.received"), number(c.get("opened"), "board.carriers.opened")
        yield Line("carriers", left, right, says.plain(left, right, "Carrier bags received", "opened and shown empty", "bag"), "Received", "Opened")
    batches = [known(b, ("id", "tabulator", "envelopes", "ballots", "aside", "counter"), "board.batches") for b in listed(item.get("batches", []), "board.batches")]
    if "envelopes" in item:
        e = known(item["envelopes"], ("received", "rejected", "empty", "extra", "held"), "board.envelopes")
        if not batches:
            yield Lacks("envelopes", ("board.batches",))
        else:
            left = number(e.get("received"), "board.envelopes.received") + number(e.get("extra", 0), "board.envelopes.extra") - sum(number(e.get(k, 0), f"board.envelopes.{k}") for k in ("rejected", "held", "empty"))
            right = sum(number(b.get("ballots"), "board.batches.ballots") for b in batches)
            yield Line("envelopes", left, right, says.plain(left, right, "Ballots that the envelopes should hold", "in the batches"), "By the envelopes", "In the batches")
    last: dict[str, int] = {}
    for b in batches:
        name = text(b.get("id"), "board.batches.id")
        counter = b.get("counter")
        if not isinstance(counter, list) or len(counter) != 2:
            yield Lacks(f"batch:{name}", ("counter",))
            continue
        before, after = (number(v, f"board.batches.{name}.counter") for v in counter)
        left, right = number(b.get("ballots"), f"board.batches.{name}.ballots"), after - before + number(b.get("aside", 0), f"board.batches.{name}.aside")
        yield Line(f"batch:{name}", left, right, says.plain(left, right, f"Ballots in batch {name}", "fed and set aside"), f"Ballots in batch {name}", "Fed and set aside")
        machine = str(b.get("tabulator", ""))
        if machine in last:
            yield Line(f"batch:{name}", before, last[machine], says.plain(before, last[machine], f"Counter before batch {name}", "after the batch before it", "ballot"), "Counter before", "Counter after the last", {"row": "before"})
        last[machine] = after


def recount(night: Night) -> Found:
    """The second count = the first."""
    for item in listed(night.data.get("recounts", []), "recounts"):
        known(item, ("of", "first", "second"), "recounts")
        left, right = number(item.get("second"), "recounts.second"), number(item.get("first"), "recounts.first")
        yield Line(f"recount:{text(item.get('of'), 'recounts.of')}", left, right, says.plain(left, right, "Second count", "first count"), "Second count", "First count")
