"""The words for what an open batch is consistent with, and where to look."""

from collections.abc import Mapping, Sequence
from typing import Any

CANNOT_TELL = "These figures cannot tell which."
NONE = (
    "No one or two usual mistakes give exactly these gaps. Another pair counts the batch again and reads the counter again. "
    "If nothing is found, the remark says so: cause unknown is an answer."
)

# what happened (one ballot, several), and where to look
WORDS: Mapping[str, tuple[str, str, str]] = {
    "left-in-envelope": (
        "{n} ballot of {batch} left in its envelope",
        "{n} ballots of {batch} left in their envelopes",
        "Look into every envelope of the tray of {batch}, against the light.",
    ),
    "aside-unlogged": (
        "{n} ballot of {batch} set aside and not written down",
        "{n} ballots of {batch} set aside and not written down",
        "Look in the tray of the problem table for a ballot of {batch}.",
    ),
    "not-fed": (
        "{n} ballot of {batch} not fed",
        "{n} ballots of {batch} not fed",
        "Look in the feeder, in the tabulator's tray and under the tabulator for a ballot of {batch}.",
    ),
    "empty-unlogged": (
        "{n} empty envelope of {batch} not written down",
        "{n} empty envelopes of {batch} not written down",
        "Count the empty envelopes of {batch} that were kept apart.",
    ),
    "two-unlogged": (
        "{n} ballot of {batch} that came as a second one in an envelope and was not written down",
        "{n} ballots of {batch} that came as a second one in an envelope and were not written down",
        "Ask the table of {batch} for an envelope with two ballots, and look for a note on an envelope.",
    ),
    "fed-twice": (
        "{n} ballot of {batch} fed twice",
        "{n} ballots of {batch} fed twice",
        "Ask the pair that fed {batch}: was a jam fed again?",
    ),
    "aside-fed": (
        "{n} ballot of {batch} listed as set aside and fed all the same",
        "{n} ballots of {batch} listed as set aside and fed all the same",
        "Compare the list of ballots set aside from {batch} with those that are still in the tray.",
    ),
    "header-counted": (
        "the header sheet of {batch} counted as a ballot",
        "",
        "Is the header sheet of {batch} there? Look in the tabulator's tray.",
    ),
    "batch-fed-twice": (
        "the {n} ballot of {batch} fed twice",
        "the {n} ballots of {batch} fed twice as a whole",
        "Read the operator's log at {batch}. Stop this tabulator and call the office: only its order takes the batch off the tape.",
    ),
    "batch-not-listed": (
        "{n} ballot fed between {after} and {batch} without an entry",
        "{n} ballots fed between {after} and {batch} without an entry",
        "Look for a batch card without an entry, between {after} and {batch}.",
    ),
    "fed-again-later": (
        "the {n} ballot of {of} fed again before {batch}",
        "the {n} ballots of {of} fed again before {batch}",
        "Find the ballots of {of} and the operator's log. Stop this tabulator and call the office: only its order takes them off the tape.",
    ),
    "order": (
        "the entries of {batch} and {with} exchanged",
        "",
        "Read the log of {batch} and {with}: which was fed first, and whose counter is whose?",
    ),
    "counter-reset": (
        "the counter set back to 0 before {batch}",
        "",
        "Did the tabulator lose power before {batch}? Read its zero tape and its protective counter, and call the office.",
    ),
    "strayed": (
        "{n} ballot of {batch} fed with {to}",
        "{n} ballots of {batch} fed with {to}",
        "Look in both trays, of {batch} and of {to}.",
    ),
}
MISCOUNTED = {
    "ballots-miscounted": ("ballots", "Count the ballots of {batch} again, by another pair."),
    "envelopes-miscounted": ("envelopes", "Count the envelopes of {batch} again, by another pair."),
}


def explanation(mistakes: Sequence[Any], tied: bool) -> str:
    """One sentence for a set of mistakes, and what limits it."""
    told = " and ".join(what(mistake) for mistake in mistakes)
    return f"Consistent with {told}.{' ' + CANNOT_TELL if tied else ''}"


def what(mistake: Any) -> str:
    """What happened, by one mistake."""
    if mistake.code in MISCOUNTED:
        by = mistake.get("by")
        return (
            f"the {MISCOUNTED[mistake.code][0]} of {mistake.batch} counted {abs(by)} too {'high' if by > 0 else 'low'}"
        )
    if mistake.code == "counter-misread":
        return f"the counter {mistake.get('figure')} {mistake.batch} read wrong: {mistake.get('likely')} should stand there"
    one, many, _ = WORDS[mistake.code]
    n = mistake.get("ballots") or 1
    return (one if n == 1 else many).format(n=n, batch=mistake.batch, **named(mistake))


def where_to_look(mistakes: Sequence[Any]) -> str:
    """The places to look at for these mistakes, each once, in one text."""
    return " ".join(dict.fromkeys(look_at(mistake) for mistake in mistakes))


def look_at(mistake: Any) -> str:
    if mistake.code in MISCOUNTED:
        return MISCOUNTED[mistake.code][1].format(batch=mistake.batch)
    if mistake.code == "counter-misread":
        return f"Read the tabulator's own log for {mistake.batch}, or its counter at the next batch."
    return WORDS[mistake.code][2].format(batch=mistake.batch, **named(mistake))


def named(mistake: Any) -> dict[str, str]:
    """The other batches that a mistake names; the counter at zero has words of its own."""
    found = {key: str(mistake.get(key)) for key in ("after", "of", "with", "to")}
    return {**found, "after": "the start" if found["after"] == "zero" else found["after"]}
