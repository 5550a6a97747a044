"""What figures and piles of a night are called inside a sentence."""

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


ONE = {"votes": "vote", "write-ins": "write-in", "undervotes": "undervote", "overvotes": "overvote"}

# a figure that a line waits for
MISSING = {
    "bins": "the hand count of its bins",
    "lifetime": "its protective counter",
    "counter": "its public counter",
    "stubs": "the first and the next stub number",
    "containers": "the ballots in each container",
    "lifetime_at_zero": "its protective counter at the opening",
    "lifetime_at_close": "its protective counter at the close",
    "counter_at_zero": "its public counter at the opening",
    "counter_at_close": "its public counter at the close",
    "poll_book": "the check-ins",
    "received": "the ballots received",
    "unused": "the unused ballots",
    "rows by precinct": "a figure of it by precinct, or of the tape's total",
    "sum": "its total on the tape",
    "under": "its undervotes",
    "over": "its overvotes",
    "ballots": "its ballots",
    "write_in": "its write-ins",
    "write_in_tally": "the hand tally of its write-ins",
    "found": "the number found there",
    "applied": "the number applied there",
    "tape": "the tape",
    "batches": "the batches",
    "problems": "what became of the ballots set aside",
    "precinct": "the precinct of each batch",
}

# what was counted by hand, in a note on its counts
COUNTED = {
    "unused": "the unused ballots",
    "received": "the ballots received",
    "spoiled": "the spoiled ballots",
    "provisional": "the provisional envelopes",
    "set-apart": "the ballots set apart",
    "main": "the main bin",
    "write-in": "the write-in bin",
    "poll_book": "the check-ins",
}
PACKS = ("that opened packs were short", "more in opened packs")
