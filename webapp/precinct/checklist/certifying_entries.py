"""What the office's entries of the recount and of certifying say in a line. Votes are in no list; who signs sees them on the page."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.place.place import Place

TITLES = {
    "recount-ordered": "A recount was ordered",
    "recount-opened": "A container was opened for a recount",
    "recounted": "Ballots recounted",
}
BY = {"law": "law", "petition": "petition", "court": "a court", "board": "the canvass board"}
HOW = {"hand": "by hand", "machine": "on a tabulator"}


def said(kind: str, body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """What stands behind the title of such an entry; "" for any other kind."""
    tell = _SAYS.get(kind)
    return tell(body, place, texts) if tell else ""


def _ordered(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return (
        f"{', '.join(body['units'])}, {', '.join(body['ways'])}: {', '.join(body['contests'])}, "
        f"{HOW.get(body['how'], body['how'])}, by {BY.get(body['by'], body['by'])}, order {body['order']}"
    )


def _opened(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    counts = " and ".join(f"{n:,}" for n in body["ballots"]["counts"])
    seal = "whole, with its number" if body["seal_right"] else "broken, or with another number"
    papers = ", ".join(body["number_in"]) or "no paper"
    return f"{_unit(body, place)}, container {body['container']}, seal {body['seal']} {seal}, number in {papers}, {counts} ballots"


def _recounted(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    part = f", part {body['part']}" if body["part"] > 1 else ""
    aside = "".join(f", {n:,} {name.replace('_', ' ')}" for name, n in (body.get("set_aside") or {}).items())
    again = " It takes the place of the recount before." if body.get("amends") else ""
    note = f" {texts['note']}" if texts.get("note") else ""
    return f"{_unit(body, place)}, {body['way']}{part}: {', '.join(body['contests'])}, {body['ballots']:,} ballots{aside}.{again}{note}"


def _unit(body: Mapping[str, Any], place: Place) -> str:
    return place.name if place.id == body["unit"] else f"{body['unit']}"


_SAYS = {"recount-ordered": _ordered, "recount-opened": _opened, "recounted": _recounted}
