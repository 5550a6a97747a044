"""The office's menu: four places of their own, and everything else."""

from typing import Any

from webapp.pages.desk.other_buildings import OFFICE_ALONE
from webapp.pages.shared.site import Link


class DeskMenu:
    """Part of the office's site."""

    place_links: tuple[tuple[str, str, str, bool], ...] = (
        ("/intake", "Intake", "intake", False),
        ("/places", "Places", "places", False),
        ("/totals", "Totals", "totals", False),
        ("/canvass", "Canvass", "compare", False),
    )

    def menu(self: Any) -> list[Link]:
        """Every page; at a desk apart those that need no other desk's figures, and what it brings."""
        own = Link("/bundle", "Bundle for the office") if self.apart else Link("/merge", "Desks apart: merge")
        return [link for link in (own, *self._links()) if not (self.apart and link.href in OFFICE_ALONE)]

    def _links(self: Any) -> list[Link]:
        return [
            Link("/late", "Late places, telephone list"),
            Link("/wall", "Screen for the wall"),
            Link("/refused", "Refused packets and files"),
            Link("/counts", "Ballots counted after the night"),
            Link("/recount", "Recounts"),
            Link("/posting", "Posting: editions for the public"),
            Link("/offices", "Contests of several offices"),
            Link("/totals/precincts", "Totals by precinct"),
            Link("/totals/since", "What changed since the last edition"),
            Link("/reconciliation", "Reconciliation report"),
            Link("/certify", "Certify the canvass"),
            Link("/compare", "Compare with the official file"),
            Link("/papers", "Paper: guide, receipts"),
            Link("/record", "Record"),
            *self.stick_links(),
            Link("/people", "People", small=f"{len(self.people.working())} at work"),
            Link("/ready", "What is ready"),
            Link("/tablets", "Desks", small=f"{len(self.gate.tablets.all())} paired" if self.doors else ""),
            Link("/tablet", "This tablet: who holds it, light"),
        ]
