"""Seals: each one's life by tabulator, container and case; what is in each container; who has keys and memory devices; the account of all seals issued."""

from typing import Any

from flask import Blueprint, current_app, render_template

from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared.task_words import InitialsBox
from webapp.precinct.checklist import checklist
from webapp.precinct.day import seal_log
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.reports import carry_slip, seal_history

page = Blueprint("seals", __name__)


@page.get("/seals")
def seals() -> str:
    room = current_app.extensions["room"]
    place, day = room.place, room.day
    groups, held = seal_history.groups(place, day), seal_history.containers(place, day)
    keys = [row for row in carry_slip.keys(place, day) if not row[0].startswith("Security")] + list(
        seal_history.security_keys(place, day)
    )
    now_on = sum(life.on for group in groups for life in group.lives) + sum(bool(one.seal) for one in held)
    return render_template(
        "place/seals.html",
        groups=[(group, box_rows(room, group.box)) for group in groups],
        containers=held,
        account=seal_history.account(place, day),
        amiss=seal_log.amiss(place, day),
        next=seal_log.next_unused(place, day),
        keys=keys,
        memory=carry_slip.memory(place, day),
        on=seal_log.on_now(place, day),
        now_on=now_on,
        signed=lambda number: signed(room, number),
    )


def signed(room: PlaceSite, number: int) -> list[InitialsBox]:
    """Initials of those who signed the newest entry that speaks of a seal; none for the office's list."""
    kept = room.day.entry(number) if number else None
    return (
        [InitialsBox(room.initials(s.person), room.party_word(s.party), "signed") for s in kept.signers] if kept else []
    )


def box_rows(room: PlaceSite, box: str) -> list[tuple[Any, ...]]:
    """(entry, heading, figures) of everything recorded of a box, except what is hidden."""

    def told(kept: CurrentEntry) -> str:
        return checklist.summary(kept.kind, kept.body, room.place, room.day, kept.texts, room.day.unseen(kept))

    return [(kept, room.kind_words(kept), told(kept)) for kept in seal_history.boxes(room.day, box)] if box else []
