"""Whether the office's pages show votes yet: by its office file not before the polls have closed at every place."""

from typing import Any


def until(site: Any, now: int) -> int | None:
    """The moment (ms UTC) from which votes are shown, while it is still to come; None: they are shown."""
    if site.roster.office.totals == "always" or not site.roster.places:
        return None
    closed = max(place.at(place.closes) for place in site.roster.places.values())
    return closed if now < closed else None
