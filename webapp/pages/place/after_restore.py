"""What Now says on a laptop that took over: after which entry, and what is still to be done, as far as the record can tell."""

from webapp.precinct.day.restores import restore


def steps(site) -> list[str]:
    """The heading without its full stop, then a sentence for each step that is left; nothing where nothing was restored. `site`: the `PlaceSite`."""
    day, found = site.day, restore(site.day)
    if found is None:
        return []
    done = {kind for kind in ("hourly", "tablet-returned") if any(kept.number > found.first for kept in day.of(kind))}
    parties = {one.party for one in site.place.officials if site.gate.pins.has(one.id)}
    voting = day.opened is not None and day.last("polls-closed") is None
    left = [
        "Everybody takes the oath again and sets a PIN with the second code on their own slip: menu, People."
        if not found.last and len(parties) < 2
        else "Each of you sets a PIN again, with the second code on your own slip: menu, People."
        if len(parties) < 2
        else "",
        "Look at every seal, and take one reading now." if voting and "hourly" not in done else "",
        "Pair the tablets again: menu, Tablets." if day.of("paired") and "tablet-returned" not in done else "",
        "Enter what the paper log says since then.",
        "Two officials of different parties read what was restored and what is lost, and sign, before the packet.",
    ]
    took = f"after entry {found.last}" if found.last else "with a new record: nothing of the one before was left"
    return [f"This laptop took over {took}", *filter(None, left)]
