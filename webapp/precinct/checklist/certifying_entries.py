"""What the office's entries of the recount and of certifying say in a line. Votes are in no list; the signers see them on the page."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.place.place import Place

TITLES = {
    "recount-ordered": "A recount was ordered",
    "recount-opened": "A container was opened for a recount",
    "recounted": "Ballots recounted",
    "place-without-return": "A place is excused",
    "narrative": "Narrative of the canvass",
    "signed-over": "Certified in spite of a question",
    "small-shown": "Few ballots shown, so that nobody is left out",
    "board-met": "The canvass board met",
    "certified": "A member signed the canvass",
    "reopened": "The certified canvass was opened again",
    "certificate-sealed": "Certificate signed in ink and sealed",
}
BY = {"law": "law", "petition": "petition", "court": "a court", "board": "the canvass board"}
HOW = {"hand": "by hand", "machine": "on a tabulator"}


def describe(kind: str, body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    """The words that follow the title of such an entry; "" for any other kind."""
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


def _excused(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"{place.name if place.id == body['place'] else body['place']}. {texts.get('why') or 'Words withheld'}"


def _narrative(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    out = " is left out of the document" if body["out"] else ""
    return f"{body['about']}{out}: {texts.get('text') or 'words withheld'}"


def _over(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    facts = f" ({', '.join(f'{fact}' for fact in body['facts'])})" if body["facts"] else ""
    return f"{body['question']}{facts}. {texts.get('why') or 'Words withheld'}"


def _small(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"{body['contest']}: {', '.join(body['atoms'])}, {body['ballots']:,} ballots. {texts.get('why') or 'Words withheld'}"


def _met(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    votes = [vote for _, vote in body["votes"]]
    against = "".join(
        f" {name.partition('.')[2]}: {text}" for name, text in texts.items() if name.startswith("dissent.")
    )
    return f"{len(body['present'])} present, {body['quorum']} make a quorum, {votes.count('for')} for, {votes.count('against')} against.{against}"


def _certified(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    rows = ", ".join(f"{person} {vote}" for person, vote in body["members"])
    statement = f". {texts['dissent']}" if texts.get("dissent") else ""
    return f"edition {body['edition']}: {rows}{statement}"


def _reopened(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    return f"edition {body['edition']}, because of {body['because']}, order {body['order']}"


def _sealed(body: Mapping[str, Any], place: Place, texts: Mapping[str, str]) -> str:
    copies = f", copies for {', '.join(body['copies'])}" if body["copies"] else ""
    return f"edition {body['edition']}, digest {body['digits']} read off the paper{copies}"


def _unit(body: Mapping[str, Any], place: Place) -> str:
    return place.name if place.id == body["unit"] else f"{body['unit']}"


_SAYS = {
    "recount-ordered": _ordered,
    "recount-opened": _opened,
    "recounted": _recounted,
    "place-without-return": _excused,
    "narrative": _narrative,
    "signed-over": _over,
    "small-shown": _small,
    "board-met": _met,
    "certified": _certified,
    "reopened": _reopened,
    "certificate-sealed": _sealed,
}
