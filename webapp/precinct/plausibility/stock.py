"""Packs, bins and seals: what was counted fits what came, what the counter shows, and what was issued."""

from webapp.precinct.day.seal_log import expected
from webapp.precinct.plausibility.asked import NOT_SO, Asked, Stop, Stops, apart, last_count
from webapp.precinct.plausibility.counters import last_public


def packs_make_what_was_received(asked: Asked) -> Stops:
    """What came is the sealed packs and the opened one, by less than a pack; no more packs are here than came with the goods."""
    if asked.step != "packs":
        return
    sealed, opened = asked.body.get("sealed_packs") or {}, asked.body.get("opened_counted") or {}
    goods = next((k.body.get("packs") or {} for k in reversed(asked.before("goods"))), {})
    for stock in asked.place.stock:
        packs, count = sealed.get(stock.style), last_count(opened.get(stock.style))
        came, received = goods.get(stock.style), (asked.body.get("received") or {}).get(stock.style)
        if packs is not None and came is not None and packs > came:
            yield Stop(
                f"sealed_packs.{stock.style}",
                f"Sealed packs of style {stock.style}: {packs}. {came} packs came with the goods: {apart(packs, came)}. "
                f"Count the packs again; if it stays so, {NOT_SO}.",
            )
        if received is None or packs is None or count is None or not stock.pack:
            continue
        whole = packs * stock.pack + count
        if abs(received - whole) >= stock.pack:
            yield Stop(
                f"received.{stock.style}",
                f"Ballots received of style {stock.style}: {received:,}. {packs} sealed packs of {stock.pack} and {count} in the opened one make "
                f"{whole:,}: {apart(received, whole)}. Enter ballots, not packs; if it stays so, {NOT_SO}.",
            )


def no_more_out_of_a_bin_than_was_counted(asked: Asked) -> Stops:
    """Ballots out of the main bin are at most what the counters on this box read, less what was taken out before."""
    out = last_count(asked.body.get("ballots"))
    if asked.step != "bin-emptied" or asked.blind or out is None or asked.body.get("bin") == "emergency":
        return
    on_box = [t.id for t in asked.place.tabulators if t.box == asked.at]
    read = asked.body.get("counters") or {}
    shown = [read.get(t) if isinstance(read.get(t), int) else _seen(asked, t) for t in on_box]
    if not on_box or None in shown:
        return
    before = sum(last_count(k.body.get("ballots")) or 0 for k in asked.before("bin-emptied") if k.at == asked.at)
    most = sum(n for n in shown if n is not None) - before
    if out > most:
        taken = f" less {before:,} taken out before" if before else ""
        yield Stop(
            "ballots",
            f"{out:,} ballots out of the bin, {most + before:,} on the counter{taken}: {apart(out, most)}. "
            f"Count again; if it stays so, {NOT_SO}.",
        )


def _seen(asked: Asked, tabulator: str) -> int | None:
    seen = last_public(asked, tabulator)
    return seen.figure if seen else None


def a_sealed_bin_is_cut_open(asked: Asked) -> Stops:
    """A bin whose door carries a seal is opened by cutting it: its number is written down (common practice)."""
    if asked.step != "bin-emptied" or asked.body.get("old_seal"):
        return
    on = expected(asked.place, asked.day, f"{asked.at}-{asked.body.get('bin', '')}")
    if on:
        yield Stop(
            "old_seal",
            f"The last seal applied to this bin was not cut. Enter the number of the seal that you cut, as printed; if none was there, {NOT_SO}.",
        )


def stubs_are_written(asked: Asked) -> Stops:
    """The entry of the first stubs says whether there are any; where there are, each style has its number (common practice)."""
    if asked.step != "first-stub":
        return
    first, has = asked.body.get("first") or {}, asked.body.get("stubs")
    if has is None and not first:
        yield Stop("stubs", "No stub was written. Say whether the ballots have stubs.")
    for stock in asked.place.stock if has else ():
        if stock.style not in first:
            yield Stop(
                f"first.{stock.style}",
                f"The ballots have stubs, and none is written for style {stock.style}. Enter the first number; if no pack of it is open, {NOT_SO}.",
            )


def seals_add_up(asked: Asked) -> Stops:
    """Issued is applied, returned and damaged together (steps.md, hand-over)."""
    if asked.step != "seals-accounted":
        return
    parts = [asked.body.get(name) for name in ("applied", "returned", "damaged")]
    issued = asked.body.get("issued")
    if isinstance(issued, int) and None not in parts and sum(n for n in parts if n is not None) != issued:
        made = sum(n for n in parts if n is not None)
        yield Stop(
            "returned",
            f"{parts[0]} applied, {parts[1]} going back and {parts[2]} damaged make {made}; {issued} were issued: {apart(made, issued)}. "
            f"Count again; if it stays so, {NOT_SO}.",
        )
