"""What the parts of a packet are called at the desk: a refusal names a thing on the table, never a name of the program."""

import re

PARTS = {
    "v": "its version",
    "place": "its place",
    "place_digest": "the place file it was made with",
    "mode": "whether it is live or practice",
    "number": "its number",
    "amends": "the packet it replaces",
    "made": "the time it was made",
    "hours": "the hours of the polls",
    "run": "the laptop it was made on",
    "length": "the length of its record",
    "head": "the end of its record",
    "marks": "check words",
    "steps": "steps",
    "readings": "hourly readings",
    "stock": "stock",
    "other_stock": "copies made here",
    "stubs": "stub numbers",
    "cast_from": "cards and absentee ballots that were fed",
    "aside": "ballots set aside",
    "set_aside": "ballots set aside",
    "emergency": "emergency bins",
    "people": "check-ins",
    "tabulators": "tabulators",
    "contests": "contests",
    "contests_by_precinct": "contests by precinct",
    "boxes": "boxes and bins",
    "board": "batches",
    "seals": "seals",
    "containers": "containers",
    "seal_stock": "seals issued and returned",
    "drop_off": "absentee envelopes dropped off",
    "write_ins": "write-ins",
    "voters": "check-ins",
    "poll_book": "check-ins",
    "recounts": "second counts",
    "days": "days",
    "gaps": "gaps",
    "remarks": "remarks",
    "statements": "statements",
    "short": "short-signed steps",
    "not_so": "steps signed as not so",
}
"""Keys of core and remarks, and of the balance's figures, in words."""
_AT = re.compile(r"([a-z_]+)[\w.\[\]@-]*: (.+)", re.DOTALL)
_TO_WHOEVER_TYPES = ("write ", "give ", "this key", "each row needs", "a pack needs")


def named(keys: list[str]) -> str:
    """Keys of a packet in words: "steps, check words"."""
    return ", ".join(PARTS.get(key, "a part of another form") for key in keys)


def of_the_balance(sentence: str) -> str:
    """A sentence of the balance about a packet's figures: the part in words, and what is wrong with it, without the advice to people who type a file."""
    found = _AT.fullmatch(sentence)
    if not found:
        return sentence
    wrong = found[2].partition(";")[0]
    if wrong.startswith(_TO_WHOEVER_TYPES):
        wrong = "not of the form that a place writes"
    return f"{PARTS.get(found[1], 'a part of it')}: {wrong}"
