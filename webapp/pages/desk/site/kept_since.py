"""What waited for its second signature while another desk signed about the same: the newer one counts, so the older one is looked at first."""

from collections.abc import Mapping
from typing import Any

from webapp.pages.desk.site.office_state import OfficeState
from webapp.record.entry import Claim

ABOUT = {
    "desk-finding": ("place", "figure"),
    "answered": ("place", "question"),
    "place-counts": ("place",),
    "packet-set-aside": ("place", "digest"),
    "envelopes-decided": ("unit", "way"),
    "signed-over": ("question",),
    "narrative": ("about",),
    "count-in": ("unit", "way", "part"),
    "recounted": ("unit", "way", "part"),
    "recount-opened": ("unit",),
    "place-keyed": ("place",),
    "place-without-return": ("place",),
    "history-settled": ("desk",),
}
"""Kinds of which the newest entry counts -> the fields that say what it is about."""


def told(site: OfficeState, claim: Claim) -> str:
    """The sentence where something about the same was kept since this claim was signed first; "" where nothing was."""
    if claim.kind == "pool" and claim.body["id"] in site.added.pools:
        return f"{claim.body['id']} is taken meanwhile: other places counted together have it. Choose another name."
    mine = about(claim.kind, claim.body)
    if not mine:
        return ""
    for kept in site.day.everything([claim.kind]):
        if kept.kept > claim.happened and mine & about(claim.kind, kept.body):
            return f"Entry {kept.number} about the same was kept since this was signed first. Look at it, then fill this in again."
    return ""


def about(kind: str, body: Mapping[str, Any]) -> frozenset[tuple[Any, ...]]:
    """What an entry of this kind is about; nothing for a kind that stands beside others."""
    if kind == "voters-credited":
        return frozenset((place,) for place in body["credited"])
    return frozenset({tuple(body[name] for name in ABOUT[kind])}) if kind in ABOUT else frozenset()
