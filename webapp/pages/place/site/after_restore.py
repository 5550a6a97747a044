"""What is still to be done on a laptop that took over, as far as the record can tell: said on Now, and a reading between the hours under Count."""

from webapp.pages.place.site.place_site import PlaceSite
from webapp.precinct.day.restores import restore


def steps(site: PlaceSite) -> list[str]:
    """The heading without its full stop, then a sentence for each step that is left; nothing where nothing was restored. `site`: the `PlaceSite`."""
    day, found = site.day, restore(site.day)
    if found is None:
        return []
    heard = any(kept.number > found.first for kept in day.of("tablet-returned"))
    parties = {one.party for one in site.place.officials if site.gate.pins.has(one.id)}
    reads = waits_for_reading(site)
    left = [
        "Everybody takes the oath again and sets a PIN with the second code on their own slip: menu, People."
        if not found.last and len(parties) < 2
        else "Each of you sets a PIN again, with the second code on your own slip: menu, People."
        if len(parties) < 2
        else "",
        "Look at every seal." if reads else "",
        "Pair the tablets again: menu, Tablets." if day.of("paired") and not heard else "",
        "Two officials of different parties read what was restored and what is lost, and sign, before the packet."
        if not found.signed or found.unsigned
        else "",
        "Enter what the paper log says since then, each line with the time that is written there.",
        "Then take one reading, under Count." if reads else "",
    ]
    took = f"after entry {found.last}" if found.last else "with a new record: nothing of the one before was left"
    return [f"This laptop took over {took}", *filter(None, left)]


def waits_for_reading(site: PlaceSite) -> bool:
    """Whether the polls are open and this laptop, which took over, has no reading of its own yet: until then nobody knows the day's figures."""
    day, found = site.day, restore(site.day)
    if found is None or day.opened is None or day.last("polls-closed"):
        return False
    return not any(kept.number > found.first for kept in day.of("hourly"))


def reading_again(site: PlaceSite, now: int) -> str:
    """The key of the last hour's reading, to be taken once more between the hours; "" where the next is due, or none is asked for."""
    hours = [task for task in site.tasks(now) if task.step.id == "hourly"]
    done = [task.key for task in hours if task.state == "done"]
    due = any(task.state in ("next", "overdue", "open") for task in hours)
    return done[-1] if done and not due and waits_for_reading(site) else ""
