"""What lines, figures and piles are called inside a sentence."""

from collections.abc import Mapping

# what a figure is called behind a side; a number that is taken off has "less" before it
FIGURES: Mapping[str, str] = {
    "poll_book": "check-ins",
    "tape": "on the tape",
    "counter": "by the public counters, tape to come",
    "left": "left without a ballot",
    "found": "found lying",
    "hand-counted": "counted by hand",
    "set-apart": "set apart",
    "emergency": "waiting in the emergency bin",
    "cast card": "printed cards",
    "cast absentee": "absentees fed here",
    "fed again": "fed again",
    "subtracted": "taken off for a failed machine",
    "earlier days": "of earlier days",
    "lifetime close": "at close",
    "lifetime zero": "at zero",
    "close": "at close",
    "zero": "at zero",
    "main": "in the main bin",
    "write-in": "in the write-in bin",
    "no_name": "without a name",
    "other": "other names",
    "invalid": "unusable",
    "listed": "listed names",
    "hand_counted": "counted by hand",
    "taken": "taken from the room",
    "spoiled-not-reissued": "spoiled and not replaced",
    "resupply": "delivered later",
    "sent": "sent elsewhere",
    "after": "after",
    "before": "before",
    "aside": "set aside",
    "fed-after-all": "fed after all",
    "not-counted": "not counted",
    "serials": "given out",
}


PILES_AT_CLOSE = {
    "empty": "empty envelopes",
    "held": "envelopes held",
    "not-counted": "ballots not counted",
    "hand-counted": "ballots counted by hand",
    "originals": "originals of duplicates",
}


PILES = {"copy": "copies", "card": "printed cards", "absentee": "absentee ballots", "paper": "printed ballots"}


# what each kind of line is called in a sentence
NAMES: Mapping[str, str] = {
    "stock": "the stock",
    "poll-book": "the poll book",
    "voters": "the count of {of}",
    "paper-to-book": "paper against the poll book",
    "bins": "the bins of {of}",
    "counter": "the public counter of {of}",
    "lifetime": "the protective counter of {of}",
    "stubs": "the stub numbers",
    "aside": "the envelope of {of}",
    "emergency": "the emergency bin",
    "containers": "the containers",
    "contest": "the contest {of}",
    "precincts": "the rows by precinct of {of}",
    "write-ins": "the write-ins of {of}",
    "seals": "the seal at {of}",
    "seal-stock": "the seals issued",
    "carry": "what was carried over, {of},",
    "sheets": "the later sheets",
    "carriers": "the carriers",
    "envelopes": "the envelopes",
    "unfolded": "the ballots unfolded",
    "batch": "the batch {of}",
    "recount": "the recount of {of}",
    "list": "the absentee list",
    "batch-envelopes": "the envelopes of batch {of}",
    "batches": "the batches of {of}",
    "problems": "the ballots set aside",
    "duplicates": "the duplicates",
    "again": "the ballots fed after all",
    "duplicate-serials": "the serials of duplicates",
    "board": "the board as a whole",
    "pile": "the pile of {of}",
    "hand-tally": "the sheets of hand counts",
}

ONE = {"votes": "vote", "write-ins": "write-in", "undervotes": "undervote", "overvotes": "overvote"}
