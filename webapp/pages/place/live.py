"""What an open page asks every few seconds: the laptop's clock, whether anything changed, what is due or waits for a signature.

It gives headings only, the same as Now, so nothing that is hidden. Asking does not count as a touch of the holder's
and changes nothing.
"""

from dataclasses import dataclass

from flask import Blueprint, current_app, g, jsonify
from flask.typing import ResponseReturnValue

from webapp.pages.place.now import state_of
from webapp.pages.place.site.place_site import PlaceSite
from webapp.precinct.reports.now_state import NowState, fingerprint

page = Blueprint("live", __name__)


@dataclass(frozen=True, slots=True)
class Strip:
    """One line for a page that is being typed on: what is so, and where its link leads."""

    id: str
    says: str
    href: str
    do: str


def strips(site: PlaceSite, state: NowState) -> list[Strip]:
    """What somebody on another page should know: the loudest alert, what waits for a signature, the reading that is due, what is overdue."""
    found = []
    if state.main:
        found.append(Strip(state.main.id, f"Look now: {state.main.says}.", state.main.href or "/now", "Look"))
    for one in (*((state.signs,) if state.signs else ()), *state.waiting):
        found.append(
            Strip(f"sign-{one.id}", f"{one.title}: waits for a signature.", f"/sign/{one.id}", "Read and sign")
        )
    for task in (*((state.offered,) if state.offered else ()), *state.due):
        if task.late or task.step.id == "hourly":
            how = "is overdue" if task.late else "is due"
            found.append(
                Strip(
                    f"due-{task.key}",
                    f"“{task.title}” {how}.",
                    f"/step/{task.key}",
                    site.button_words(task),
                )
            )
    return found[:3]


@page.get("/live")
def live() -> ResponseReturnValue:
    site = current_app.extensions["room"]
    state = state_of(site, g.now)
    return jsonify(
        now=g.now,
        runs=site.clock.runs,
        length=site.ledger.length,
        state=fingerprint(state, site.ledger.length),
        waiting=[one.id for one in (*((state.signs,) if state.signs else ()), *state.waiting)],
        strips=[{"id": s.id, "says": s.says, "href": s.href, "do": s.do} for s in strips(site, state)],
    )
