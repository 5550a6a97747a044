"""The words for what a gap is consistent with, and where to look. Never a finding: the sentence says "consistent with"."""

from collections.abc import Mapping, Sequence
from typing import Any

CANNOT_TELL = "These figures cannot tell which."
AGAINST = "The readings of the day speak against it."

# what happened (one ballot, several), where to look; {kind} {was} {written} {figure} {at} are filled from the mistake
WORDS: Mapping[str, tuple[str, str, str]] = {
    "unrecorded": ("{n} {kind} ballot not written down", "{n} {kind} ballots not written down", "Count the {kind} ballots or envelopes against their list."),
    "recorded-twice": ("{n} {kind} ballot written down twice", "{n} {kind} ballots written down twice", "Read the {kind} list for an entry made twice."),
    "misfiled": ("{n} {was} ballot written in the list of {written}", "{n} {was} ballots written in the list of {written}", "Compare the lists of {was} and {written} with what lies in the envelopes."),
    "not-checked-in": ("{n} voter given a ballot and not checked in", "{n} voters given a ballot and not checked in", "Compare signed applications or slips with the poll book."),
    "checked-in-twice": ("{n} voter checked in twice", "{n} voters checked in twice", "Look in the poll book for a name twice, and at ballots given out anew."),
    "double-scan": ("{n} ballot counted twice by {at}", "{n} ballots counted twice by {at}", "Read the jam notes of {at}: the counter before and after each."),
    "uncounted-in-bin": ("{n} ballot in the bin of {at} that it did not count", "{n} ballots in the bin of {at} that it did not count", "Read the jam notes of {at} and count its bins by hand."),
    "left-in-bin": ("{n} ballot left in a compartment of {at}", "{n} ballots left in a compartment of {at}", "Open every compartment, shelf and slot of {at}; two people, of different parties."),
    "strays-in-bin": ("{n} sheet in the bin of {at} that was not cast today", "{n} sheets in the bin of {at} that were not cast today", "Look in the bins of {at} for test or stray ballots."),
    "emergency-scanned": ("{n} emergency ballot fed and still listed as waiting", "{n} emergency ballots fed and still listed as waiting", "Ask when the emergency bin was fed, and count what is left in it."),
    "provisional-scanned": ("{n} provisional ballot fed and still listed", "{n} provisional ballots fed and still listed", "Count the provisional envelopes against their log; look for an empty one."),
    "bin-fed-again": ("the {n} ballot of the write-in bin of {at} fed again", "the {n} ballots of the write-in bin of {at} fed again", "Ask who emptied the write-in bin of {at}, and what the counter read before and after."),
    "tape-missing": ("a tape with {n} ballot is not in", "a tape with {n} ballots is not in", "Compare the list of tabulators with the tapes; ask for every memory."),
    "zero-not-zero": ("{at} started with {n} ballot on its counter", "{at} started with {n} ballots on its counter", "Read the zero tape of {at} and its protective counter at the opening."),
    "short-pack": ("a pack short by {n} sheet", "a pack short by {n} sheets", "Read the pack log; count what is left of opened packs."),
    "over-pack": ("a pack with {n} sheet too many", "a pack with {n} sheets too many", "Read the pack log; count what is left of opened packs."),
    "resupply-unlogged": ("{n} ballot delivered and not logged", "{n} ballots delivered and not logged", "Look for a delivery receipt."),
    "sent-unlogged": ("{n} ballot sent to another place and not logged", "{n} ballots sent to another place and not logged", "Ask the other place for its receipt."),
    "spoiled-with-unused": ("{n} spoiled ballot lying with the unused", "{n} spoiled ballots lying with the unused", "Go through the unused pile for a marked ballot."),
    "card-as-paper": ("{n} printed card taken for a ballot from stock", "{n} printed cards taken for ballots from stock", "Compare the device's count of cards with the card line."),
    "absentee-unmarked": ("{n} absentee fed here and not marked in the book", "{n} absentees fed here and not marked in the book", "Compare the absentee list with the marks in the book."),
    "wrong-precinct": ("{n} ballot of precinct {was} counted in {written}", "{n} ballots of precinct {was} counted in {written}", "Compare the ballots given out by precinct; both precincts are off by the same number."),
}
LOOK_COUNTED = "Count {figure} again, by another pair."
LOOK_KEYED = "Read {figure} again from the paper it was typed from."


def explanation(mistakes: Sequence[Any], contradicted: bool, tied: bool) -> str:
    """One sentence for a set of mistakes, and what limits it."""
    listed = [happened(mistake) for mistake in mistakes]
    told = listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"
    parts = [f"Consistent with {told}."]
    return " ".join(parts + [AGAINST] * contradicted + [CANNOT_TELL] * tied)


def happened(mistake: Any) -> str:
    """What happened, by one mistake: with its scope, and when it showed."""
    return f"{what(mistake)}{in_scope(mistake.family.scope)}{when(mistake.between)}"


def what(mistake: Any) -> str:
    if mistake.code == "miscounted":
        way = "too high" if mistake.n > 0 else "too low"
        return f"{figure_of(mistake)} counted {abs(mistake.n)} {way}"
    if mistake.code == "miskeyed":
        written = mistake.family.size.written
        return f"{figure_of(mistake)} typed as {written} where {written - mistake.n} should stand"
    one, many, _ = WORDS[mistake.code]
    return (one if mistake.n == 1 else many).format(n=mistake.n, **filled(mistake))


def look(mistakes: Sequence[Any]) -> str:
    """Where to look, each place once."""
    return " ".join(dict.fromkeys(look_at(mistake) for mistake in mistakes))


def look_at(mistake: Any) -> str:
    if mistake.code in ("miscounted", "miskeyed"):
        return (LOOK_COUNTED if mistake.code == "miscounted" else LOOK_KEYED).format(figure=figure_of(mistake))
    return WORDS[mistake.code][2].format(n=mistake.n, **filled(mistake))


def filled(mistake: Any) -> dict[str, str]:
    keys = dict(mistake.family.keys)
    return {"kind": keys.get("disposition", ""), "was": keys.get("from", ""), "written": keys.get("to", ""), "at": keys.get("tabulator", "the tabulator")}


def figure_of(mistake: Any) -> str:
    """A figure as people call it: the unused ballots, the tape of T1, the public counter of T1 at close."""
    keys = dict(mistake.family.keys)
    figure, at = keys["figure"], keys.get("tabulator", "")
    names = {
        "unused": "the unused ballots", "received": "the ballots received", "poll_book": "the check-ins", "tape": f"the tape of {at}",
        "counter_at_zero": f"the public counter of {at} at zero", "counter_at_close": f"the public counter of {at} at close",
        "lifetime_at_zero": f"the protective counter of {at} at zero", "lifetime_at_close": f"the protective counter of {at} at close",
    }
    return names.get(figure, f"the {figure} bin of {at}" if at else f"the {figure} ballots")


def in_scope(scope: Sequence[tuple[str, str]]) -> str:
    return "".join(f", {dimension} {value}" for dimension, value in scope)


def when(between: tuple[str | None, str | None] | None) -> str:
    """Between which readings it showed."""
    if between is None or between == (None, None):
        return ""
    first, last = between
    if first is None:
        return f", before {last}"
    return f", after {first}" if last is None else f", between {first} and {last}"


def ruled_out(mistake: Any, line: Any) -> str:
    """Why a mistake that would close one line is not it."""
    return f"Not {happened(mistake)}: then {line.id.replace(':', ' of ', 1)}{in_scope(tuple((line.scope or {}).items()))} would not read {line.left} against {line.right}."
