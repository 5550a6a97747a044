"""The office's menu: four places of their own, and everything else."""

from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.other_buildings import OFFICE_ALONE
from webapp.pages.shared.site import Link

PLACES = (
    ("/intake", "Intake", "intake", False),
    ("/places", "Places", "places", False),
    ("/totals", "Totals", "totals", False),
    ("/canvass", "Canvass", "compare", False),
)


def menu(site: OfficeState) -> list[Link]:
    """Every page; at a desk apart those that need no other desk's figures, and what it brings."""
    own = Link("/bundle", "Bundle for the office") if site.apart else Link("/merge", "Desks apart: merge")
    return [link for link in (own, *_links(site)) if not (site.apart and link.href in OFFICE_ALONE)]


def _links(site: OfficeState) -> list[Link]:
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
        *site.stick_links(),
        Link("/people", "People", small=f"{len(site.people.working())} at work"),
        Link("/ready", "What is ready"),
        Link("/tablets", "Desks", small=f"{len(site.gate.tablets.all())} paired" if site.doors else ""),
        Link("/tablet", "This tablet: who holds it, light"),
    ]
