"""What the entries around a stick and a restore say in a line: the stick's state, the next run, what came back and what did not."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.day.restores import in_words, ranges

TITLES = {
    "stick": "The backup stick",
    "restored": "Record restored on another laptop",
    "given-back": "Given back from the run before",
    "exported": "Record exported",
    "returned-read": "What was restored, read and signed",
    "new-record": "A new record instead of one of which nothing is left",
    "tablet-returned": "A tablet reported from the run before",
}
STICK = {
    "on": "it is being written",
    "back": "it is back",
    "gone": "it is gone",
    "full": "it is full",
    "unwritable": "it cannot be written",
    "other": "another stick is being written",
    "other-history": "it holds another history; nothing is written on it",
}
GONE = {
    "taken": "laptop and stick were taken",
    "destroyed": "laptop and stick are destroyed",
    "unreadable": "nothing on laptop and stick can be read",
}
KITS = {"spare": "with the kit of a spare laptop", "fresh": "without a kit: the key is not known at the office"}


def describe(kind: str, body: Mapping[str, Any]) -> str:
    """The words that follow the title of such an entry; "" for any other kind."""
    if kind == "stick":
        return f"{STICK.get(body['state'], body['state'])}, entries to {body['number']} are on it"
    if kind == "restored":
        if "last" not in body:
            return ""
        torn = f"; {body['torn']} bytes could not be read" if body.get("torn") else ""
        seen = f"; somebody saw entry {body['seen']}" if body.get("seen") is not None else ""
        return f"it goes on after entry {body['last']} with entry {body['first']}, {KITS.get(body.get('kit', ''), '')}{torn}{seen}"
    if kind == "given-back":
        return f"entry {body['was']} of run {body['run']}, from {whence(body['from'])}"
    if kind == "returned-read":
        back = in_words(ranges(body["back"]))
        still = f"; tablets not heard: {', '.join(body['open'])}" if body["open"] else ""
        return f"restored to entry {body['last']}, seen to {body['seen']}; given back: {back}; lost: {in_words(body['lost'])}{still}"
    if kind == "new-record":
        return f"record {bytes(body['record'])[:4].hex().upper()}, run {body['run']}, seen to entry {body['number']}: {GONE.get(body['why'], body['why'])}"
    if kind == "tablet-returned":
        return f"tablet {body['tablet']}, now {body['now']}, saw entry {body['seen']} and gave {body['given']} back"
    if kind == "exported":
        return "" if body.get("with_words", True) else "without its free words"
    return ""


def whence(source: str) -> str:
    """Who brought it: "the old laptop's disk", "a stick" or "tablet A"."""
    return {"disk": "the old laptop’s disk", "stick": "a stick"}.get(source, f"tablet {source}")
