"""The menu of a polling place: the pages of its kind, then those that every kind has."""

from flask import current_app

from webapp.pages.place.site import kind_pages
from webapp.pages.place.site.place_words import PlaceWords
from webapp.pages.shared.site import Link


def menu(site: PlaceWords) -> list[Link]:
    """Every page, in the order in which it is listed."""
    return [
        *kind_pages.MENUS[site.kind.id](site),
        Link("/papers", "Paper forms"),
        Link("/record", "Record"),
        *([Link("/restored", "What was restored")] if site.restored_with() else []),
        *site.stick_links(),
        *([Link("/drill", "Drill: the laptop dies")] if site.practice else []),
        Link("/people", "People", small=f"{len(site.people.working())} at work"),
        Link("/ready", "What is ready"),
        Link("/tablet", "This tablet: who holds it, light"),
        *([Link("/tablets", "Tablets", small=tablets_words(site))] if current_app.config["DOOR"] == "laptop" else []),
    ]


def tablets_words(site: PlaceWords) -> str:
    """How many tablets are admitted and how many wait, for the menu."""
    known = [one for one in site.gate.tablets.all() if not one.revoked]
    waiting = sum(not one.admitted for one in known)
    wrong = sum(site.gate.tablets.wrong_codes().values())
    return (
        f"{len(known) - waiting} admitted"
        + (f", {waiting} waiting" if waiting else "")
        + (f", {wrong} wrong code{'s' if wrong > 1 else ''}" if wrong else "")
    )
