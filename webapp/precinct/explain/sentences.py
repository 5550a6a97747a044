"""Every sentence about a cause, and where to look. Never a finding: it says "consistent with"."""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.precinct.balance import line_sentences, line_words
from webapp.precinct.numbers import on_clock

AGAINST = "The readings of the day speak against it."

# a kind of ballot, one and several, and where to look for one that nobody wrote down, and for one that was written down twice
KINDS: Mapping[str, tuple[str, str]] = {
    "left": ("voter who left", "voters who left"),
    "taken": ("ballot taken from the room", "ballots taken from the room"),
    "found": ("ballot found lying", "ballots found lying"),
    "spoiled-not-reissued": ("ballot spoiled for good", "ballots spoiled for good"),
    "hand-counted": ("ballot counted by hand", "ballots counted by hand"),
    "set-apart": ("ballot set apart", "ballots set apart"),
    "emergency": ("ballot in the emergency bin", "ballots in the emergency bin"),
}
UNNOTED: Mapping[str, str] = {
    "spoiled": "Count the envelope of spoiled ballots again, and look for one that lies elsewhere.",
    "left": "Ask at check-in and at the door who left without a ballot.",
    "provisional": "Count the provisional envelopes again, against their log.",
    "taken": "Look into booths, under tables and along the way out; ask whoever greets at the door.",
    "emergency": "Open every emergency bin, two people, of different parties, and count what is in it.",
    "found": "Look into booths, on the floor and at the tabulator.",
    "hand-counted": "Count the ballots that were counted by hand again.",
    "spoiled-not-reissued": "Go through the spoiled ballots for one that was not replaced.",
    "set-apart": "Count the ballots set apart again.",
}

# what happened (one ballot, several), where to look; {kind} {was} {written} {at} are filled from the mistake
WORDS: Mapping[str, tuple[str, str, str]] = {
    "unrecorded": (
        "{n} {one_kind} not written down",
        "{n} {kind} not written down",
        "Count the {kind} again, against the list.",
    ),
    "recorded-twice": (
        "{n} {one_kind} written down twice",
        "{n} {kind} written down twice",
        "Read the notes of {kind} for one made twice.",
    ),
    "misfiled": (
        "{n} {one_was} written in the list of {written}",
        "{n} {was} written in the list of {written}",
        "Compare the lists of {was} and {written} with what lies in the envelopes.",
    ),
    "not-checked-in": (
        "{n} voter given a ballot and not checked in",
        "{n} voters given a ballot and not checked in",
        "Compare signed applications or slips with the poll book.",
    ),
    "checked-in-twice": (
        "{n} voter checked in twice",
        "{n} voters checked in twice",
        "Look in the poll book for a name listed twice, and at ballots given out anew.",
    ),
    "double-scan": (
        "{n} ballot counted twice by {at}",
        "{n} ballots counted twice by {at}",
        "Read the jam notes of {at}: which ballots were counted, and which were fed again.",
    ),
    "uncounted-in-bin": (
        "{n} ballot in the bin of {at} that it did not count",
        "{n} ballots in the bin of {at} that it did not count",
        "Read the jam notes of {at} and count its bins by hand.",
    ),
    "left-in-bin": (
        "{n} ballot left in a compartment of {at}",
        "{n} ballots left in a compartment of {at}",
        "Open every compartment, shelf and slot of {at}; two people, of different parties.",
    ),
    "strays-in-bin": (
        "{n} sheet in the bin of {at} that was not cast today",
        "{n} sheets in the bin of {at} that were not cast today",
        "Look in the bins of {at} for test or stray ballots.",
    ),
    "emergency-scanned": (
        "{n} emergency ballot fed and still listed as waiting",
        "{n} emergency ballots fed and still listed as waiting",
        "Ask when the emergency bin was fed, and count what is left in it.",
    ),
    "provisional-scanned": (
        "{n} provisional ballot fed and still listed",
        "{n} provisional ballots fed and still listed",
        "Count the provisional envelopes against their log; look for an empty one.",
    ),
    "bin-fed-again": (
        "the {n} ballot of the write-in bin of {at} fed again",
        "the {n} ballots of the write-in bin of {at} fed again",
        "Ask who emptied the write-in bin of {at}, and whether its ballots were fed again.",
    ),
    "tape-missing": (
        "a tape with {n} ballot that is not in",
        "a tape with {n} ballots that is not in",
        "Compare the list of tabulators with the tapes; ask for every memory.",
    ),
    "zero-not-zero": (
        "{n} ballot on the counter of {at} before the first voter",
        "{n} ballots on the counter of {at} before the first voter",
        "Read the zero tape of {at} and its protective counter at the opening.",
    ),
    "short-pack": (
        "a pack short by {n} sheet",
        "a pack short by {n} sheets",
        "Read the pack log; count what is left of opened packs.",
    ),
    "over-pack": (
        "a pack with {n} sheet too many",
        "a pack with {n} sheets too many",
        "Read the pack log; count what is left of opened packs.",
    ),
    "resupply-unlogged": (
        "{n} ballot delivered and not logged",
        "{n} ballots delivered and not logged",
        "Look for a delivery receipt.",
    ),
    "sent-unlogged": (
        "{n} ballot sent to another place and not logged",
        "{n} ballots sent to another place and not logged",
        "Ask the other place for its receipt.",
    ),
    "spoiled-with-unused": (
        "{n} spoiled ballot lying with the unused",
        "{n} spoiled ballots lying with the unused",
        "Go through the unused pile for a marked ballot; do not read its marks.",
    ),
    "card-as-paper": (
        "{n} printed card taken for a ballot from stock",
        "{n} printed cards taken for ballots from stock",
        "Compare the device's count of cards with the number of cards written down.",
    ),
    "absentee-unmarked": (
        "{n} absentee fed here and not marked in the book",
        "{n} absentees fed here and not marked in the book",
        "Compare the absentee list with the marks in the book.",
    ),
    "wrong-precinct": (
        "{n} ballot of precinct {was} counted in {written}",
        "{n} ballots of precinct {was} counted in {written}",
        "Compare the ballots given out by precinct; both precincts are off by the same number.",
    ),
}
LOOK_COUNTED = "Count {figure} again, by another pair."
LOOK_KEYED = "Read {figure} again from the paper."


def explanation(mistakes: Sequence[Any], contradicted: bool, tied: bool, hours: int) -> str:
    """One sentence for a set of mistakes, and what limits it; times on a clock of 12 or 24 `hours`."""
    listed = [happened(mistake, hours) for mistake in mistakes]
    told = listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"
    parts = [f"Consistent with {told}."]
    return " ".join(parts + [AGAINST] * contradicted + [line_words.CANNOT_TELL] * tied)


def happened(mistake: Any, hours: int = 24) -> str:
    """One mistake in words: what happened, with its scope, and when it showed."""
    about = line_sentences.scope_words(dict(mistake.family.scope)) + when(mistake.between, hours)
    return what(mistake) + (f" ({', '.join(about)})" if about else "")


def what(mistake: Any) -> str:
    """One mistake as a noun phrase."""
    if mistake.code == "miscounted":
        way = "too high" if mistake.n > 0 else "too low"
        return f"{figure_of(mistake)} counted {abs(mistake.n)} {way}"
    if mistake.code == "miskeyed":
        written = mistake.family.size.written
        return f"{figure_of(mistake)} typed as {written} where {written - mistake.n} should stand"
    one, many, _ = WORDS[mistake.code]
    return (one if mistake.n == 1 else many).format(n=mistake.n, **filled(mistake))


def where_to_look(mistakes: Sequence[Any]) -> str:
    """The places to look at for these mistakes, each once, in one text."""
    return " ".join(dict.fromkeys(look_at(mistake) for mistake in mistakes))


def look_at(mistake: Any) -> str:
    """Where to look for one mistake."""
    if mistake.code in ("miscounted", "miskeyed"):
        counted = mistake.code == "miscounted"
        return (LOOK_COUNTED if counted else LOOK_KEYED).format(
            figure=figure_of(mistake).removeprefix("the number of ") if counted else figure_of(mistake)
        )
    if mistake.code == "unrecorded" and (kind := dict(mistake.family.keys)["disposition"]) in UNNOTED:
        return UNNOTED[kind]
    return WORDS[mistake.code][2].format(n=mistake.n, **filled(mistake))


def filled(mistake: Any) -> dict[str, str]:
    """The words that fill the template of a code, from the keys of a mistake."""
    keys = dict(mistake.family.keys)
    if mistake.code == "wrong-precinct":
        return {"was": keys["from"], "written": keys["to"]}
    kind, was, written = (kind_words(keys.get(key, "")) for key in ("disposition", "from", "to"))
    return {
        "one_kind": kind[0],
        "kind": kind[1],
        "one_was": was[0],
        "was": was[1],
        "written": written[1],
        "at": keys.get("tabulator", "the tabulator"),
    }


def kind_words(kind: str) -> tuple[str, str]:
    """(one, several) of a kind of ballot, in words."""
    return KINDS.get(kind, (f"{kind} ballot", f"{kind} ballots"))


def figure_of(mistake: Any) -> str:
    """A figure in words: the unused ballots, the tape of T1, the public counter of T1 at close."""
    keys = dict(mistake.family.keys)
    figure, at = keys["figure"], keys.get("tabulator", "")
    names = {
        "unused": "the number of unused ballots",
        "received": "the number of ballots received",
        "poll_book": "the number of check-ins",
        "tape": f"the tape of {at}",
        "counter_at_zero": f"the public counter of {at} at zero",
        "counter_at_close": f"the public counter of {at} at close",
        "lifetime_at_zero": f"the protective counter of {at} at zero",
        "lifetime_at_close": f"the protective counter of {at} at close",
    }
    return names.get(figure, f"the {figure} bin of {at}" if at else f"the number of {kind_words(figure)[1]}")


def when(between: tuple[str | None, str | None] | None, hours: int) -> list[str]:
    """In words, between which readings it showed; none where no reading tells."""
    first, last = (hhmm and on_clock(hhmm, hours) for hhmm in between or (None, None))
    if first is None:
        return [] if last is None else [f"before {last}"]
    return [f"after {first}"] if last is None else [f"between {first} and {last}"]


def ruled_out(mistake: Any, line: Any, expected: int) -> str:
    """Why a mistake that would close one line is not it: what another line would show (`expected`, its gap), and what it shows."""
    shows = f"it shows {line_sentences.way(line.id, line.gap, line.scope)}" if line.gap else "it agrees"
    return f"Not {happened(mistake)}: then {line_sentences.named(line.id, line.scope)} would show {line_sentences.way(line.id, expected, line.scope)}; {shows}, {line.left} against {line.right}."
