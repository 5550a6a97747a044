"""Every sentence about the balance's lines, in one place. A sentence has both figures, the difference, and which way."""

from collections.abc import Mapping, Sequence
from typing import Any

AGREE = "they agree"

# what the left and the right side count (one, many), and what there is one more of when left (right) is the greater
WORDS: Mapping[str, tuple[tuple[str, str], tuple[str, str], tuple[str, str], tuple[str, str]]] = {
    "stock": (("ballot drawn from stock", "ballots drawn from stock"), ("ballot accounted for", "ballots accounted for"),
              ("ballot drawn than accounted for", "ballots drawn than accounted for"), ("ballot accounted for than drawn", "ballots accounted for than drawn")),
    "poll-book": (("check-in", "check-ins"), ("ballot with a voter in the book", "ballots with a voter in the book"),
                  ("check-in than ballots", "check-ins than ballots"), ("ballot than check-ins", "ballots than check-ins")),
    "voters": (("person counted", "people counted"), ("ballot", "ballots"), ("person than ballots", "people than ballots"), ("ballot than people", "ballots than people")),
    "paper-to-book": (("ballot drawn beyond the check-ins", "ballots drawn beyond the check-ins"), ("set aside outside the book", "set aside outside the book"),
                      ("ballot drawn than check-ins and set-aside ballots explain", "ballots drawn than check-ins and set-aside ballots explain"),
                      ("check-in or set-aside ballot than ballots drawn", "check-ins or set-aside ballots than ballots drawn")),
    "bins": (("ballot counted out of the bins", "ballots counted out of the bins"), ("ballot on the tape", "ballots on the tape"),
             ("ballot in the bins than on the tape", "ballots in the bins than on the tape"), ("ballot on the tape than in the bins", "ballots on the tape than in the bins")),
    "counter": (("ballot by the public counter", "ballots by the public counter"), ("ballot on the tape", "ballots on the tape"),
                ("ballot by the counter than on the tape", "ballots by the counter than on the tape"), ("ballot on the tape than by the counter", "ballots on the tape than by the counter")),
    "lifetime": (("ballot by the protective counter", "ballots by the protective counter"), ("by the public counter", "by the public counter"),
                 ("by the protective counter than by the public one", "by the protective counter than by the public one"),
                 ("by the public counter than by the protective one", "by the public counter than by the protective one")),
    "stubs": (("ballot used by the stub numbers", "ballots used by the stub numbers"), ("ballot drawn from stock", "ballots drawn from stock"),
              ("ballot by the stubs than by the count", "ballots by the stubs than by the count"), ("ballot by the count than by the stubs", "ballots by the count than by the stubs")),
    "aside": (("counted from the envelope", "counted from the envelope"), ("on the log", "on the log"),
              ("in the envelope than on the log", "in the envelope than on the log"), ("on the log than in the envelope", "on the log than in the envelope")),
    "emergency": (("ballot found in the emergency bin", "ballots found in the emergency bin"), ("fed, counted by hand or left there", "fed, counted by hand or left there"),
                  ("ballot found than accounted for", "ballots found than accounted for"), ("ballot accounted for than found", "ballots accounted for than found")),
    "containers": (("ballot in sealed containers", "ballots in sealed containers"), ("ballot counted", "ballots counted"),
                   ("ballot in the containers than counted", "ballots in the containers than counted"), ("ballot counted than in the containers", "ballots counted than in the containers")),
    "contest": (("choice on the tape", "choices on the tape"), ("choice the ballots carry", "choices the ballots carry"),
                ("choice than the ballots carry", "choices than the ballots carry"), ("choice carried by the ballots than on the tape", "choices carried by the ballots than on the tape")),
    "write-ins": (("write-in counted by machine", "write-ins counted by machine"), ("in the hand tally", "in the hand tally"),
                  ("by machine than in the tally", "by machine than in the tally"), ("in the tally than by machine", "in the tally than by machine")),
    "seal-stock": (("seal issued", "seals issued"), ("applied, returned or damaged", "applied, returned or damaged"),
                   ("issued than accounted for", "issued than accounted for"), ("accounted for than issued", "accounted for than issued")),
    "carry": (("at the day's end", "at the day's end"), ("at the next day's start", "at the next day's start"),
              ("at the end than at the next start", "at the end than at the next start"), ("at the next start than at the end", "at the next start than at the end")),
    "sheets": (("later sheet accounted for", "later sheets accounted for"), ("given out", "given out"), ("came back than were given out", "came back than were given out"),
               ("given out than came back", "given out than came back")),
    "carriers": (("carrier received", "carriers received"), ("opened", "opened"), ("received than opened", "received than opened"), ("opened than received", "opened than received")),
    "envelopes": (("ballot expected from the envelopes", "ballots expected from the envelopes"), ("in the batches", "in the batches"),
                  ("expected than in the batches", "expected than in the batches"), ("in the batches than expected", "in the batches than expected")),
    "batch": (("ballot in the batch", "ballots in the batch"), ("fed or set aside", "fed or set aside"),
              ("in the batch than fed or set aside", "in the batch than fed or set aside"), ("fed or set aside than in the batch", "fed or set aside than in the batch")),
    "batch before": (("on the counter before this batch", "on the counter before this batch"), ("after the last one", "after the last one"),
                     ("before this batch than after the last", "before this batch than after the last"), ("after the last batch than before this one", "after the last batch than before this one")),
    "recount": (("in the second count", "in the second count"), ("in the first", "in the first"), ("in the second count than in the first", "in the second count than in the first"),
                ("in the first count than in the second", "in the first count than in the second")),
}


def some(n: int, words: tuple[str, str]) -> str:
    """A number with its word: 1 check-in, 2 check-ins."""
    return f"{n} {words[0] if abs(n) == 1 else words[1]}"


def few(n: int, one: str, many: str = "") -> str:
    """A number with its word, for other pages' sentences: 1 ballot, 1,204 ballots."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def line(id: str, left: int, right: int, left_of: Sequence[tuple[str, int]], right_of: Sequence[tuple[str, int]], scope: Mapping[str, Any] | None, notes: Sequence[str]) -> str:
    """The sentence of one line, its figures spelled out where a side is a sum, its notes after it."""
    key = "batch before" if id.startswith("batch:") and scope else id.split(":")[0]
    count_left, count_right, more_left, more_right = WORDS[key]
    gap = left - right
    way = AGREE if not gap else f"{abs(gap)} more {(more_left if gap > 0 else more_right)[abs(gap) != 1]}"
    first = f"{place(id, scope)}{some(left, count_left)}{behind(left_of)}, {some(right, count_right)}{behind(right_of)}: {way}."
    return " ".join((first, *notes))


def behind(figures: Sequence[tuple[str, int]]) -> str:
    """The figures a side is made of, in brackets; nothing where one figure is all of it."""
    told = [(key, n) for key, n in figures if n]
    if len(told) < 2:
        return ""
    return " (" + ", ".join(f"{key.replace('_', ' ')} {n}" if n >= 0 else f"less {key.replace('_', ' ')} {-n}" for key, n in told) + ")"


def place(id: str, scope: Mapping[str, Any] | None) -> str:
    """What a line is about, before its figures: a tabulator, a contest, a precinct."""
    about = [part for part in id.split(":")[1:]]
    about += [f"{key} {value}" for key, value in (scope or {}).items()]
    return ", ".join(about) + ": " if about else ""


def seal(at: str, applied: str, found: str) -> str:
    if applied == found:
        return f"{at}: seal {found} found, {applied} applied last: {AGREE}, 0 differ (0 may)."
    return f"{at}: seal {found} found, {applied} applied last: 1 seal differs where 0 may. Stop, do not open it, and call the office."


def unsettled(key: str, counts: Sequence[int]) -> str:
    """Hand counts whose last two differ."""
    listed = ", ".join(str(n) for n in counts)
    return f"The last two counts of {key.replace('_', ' ')} differ ({listed}): the last, {counts[-1]}, stands; count again until two in a row agree."


def not_returned(n: int, sheet: str) -> str:
    ordinal = {"2": "second", "3": "third", "4": "fourth"}.get(sheet, f"number {sheet}")
    return f"{n} {ordinal} sheet{'' if n == 1 else 's'} not returned."


def overvotes(way: Any) -> str:
    """Which way overvotes were counted, and how that is known."""
    how = {
        "stated": "as the rules state",
        "more-lines-agree": f"{way.agree_as_votes} contest lines agree as votes, {way.agree_as_ballots} as ballots",
        "every-figure-a-multiple": "both ways agree equally often and every overvote figure is a multiple of its vote-for",
        "not-every-figure-a-multiple": "both ways agree equally often and some overvote figure is no multiple of its vote-for",
    }[way.known]
    counted = "ballots (each costs all its votes)" if way.overvotes == "ballots" else "lost votes"
    return f"Overvotes taken as {counted}: {how}."
