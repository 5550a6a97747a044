"""The phrases of every line of the balance: both sides, what is more, what is fewer; names of figures, lines and piles."""

from collections.abc import Mapping

CANNOT_TELL = "These figures cannot tell which."

AGREE = "they agree"
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

# what the left and the right side count (one, many), and what there is one more of when left (right) is the greater
WORDS: Mapping[str, tuple[tuple[str, str], tuple[str, str], tuple[str, str], tuple[str, str]]] = {
    "stock": (
        ("ballot drawn from stock", "ballots drawn from stock"),
        ("ballot accounted for", "ballots accounted for"),
        ("ballot drawn than accounted for", "ballots drawn than accounted for"),
        ("ballot accounted for than drawn", "ballots accounted for than drawn"),
    ),
    "poll-book": (
        ("check-in", "check-ins"),
        ("ballot with a voter in the book", "ballots with a voter in the book"),
        ("check-in than ballots", "check-ins than ballots"),
        ("ballot than check-ins", "ballots than check-ins"),
    ),
    "voters": (
        ("person counted", "people counted"),
        ("ballot", "ballots"),
        ("person than ballots", "people than ballots"),
        ("ballot than people", "ballots than people"),
    ),
    "paper-to-book": (
        ("more ballot drawn than check-ins", "more ballots drawn than check-ins"),
        ("more expected from what was set aside", "more expected from what was set aside"),
        (
            "ballot drawn than check-ins and set-aside ballots explain",
            "ballots drawn than check-ins and set-aside ballots explain",
        ),
        ("check-in or set-aside ballot than ballots drawn", "check-ins or set-aside ballots than ballots drawn"),
    ),
    "bins": (
        ("ballot counted out of the bins", "ballots counted out of the bins"),
        ("ballot on the tape", "ballots on the tape"),
        ("ballot in the bins than on the tape", "ballots in the bins than on the tape"),
        ("ballot on the tape than in the bins", "ballots on the tape than in the bins"),
    ),
    "counter": (
        ("ballot by the public counter", "ballots by the public counter"),
        ("ballot on the tape", "ballots on the tape"),
        ("ballot by the counter than on the tape", "ballots by the counter than on the tape"),
        ("ballot on the tape than by the counter", "ballots on the tape than by the counter"),
    ),
    "lifetime": (
        ("ballot by the protective counter", "ballots by the protective counter"),
        ("by the public counter", "by the public counter"),
        ("by the protective counter than by the public one", "by the protective counter than by the public one"),
        ("by the public counter than by the protective one", "by the public counter than by the protective one"),
    ),
    "stubs": (
        ("ballot used by the stub numbers", "ballots used by the stub numbers"),
        ("ballot drawn by the count of the stock", "ballots drawn by the count of the stock"),
        ("ballot by the stubs than by the count", "ballots by the stubs than by the count"),
        ("ballot by the count than by the stubs", "ballots by the count than by the stubs"),
    ),
    "aside": (
        ("counted from the envelope", "counted from the envelope"),
        ("on the log", "on the log"),
        ("in the envelope than on the log", "in the envelope than on the log"),
        ("on the log than in the envelope", "on the log than in the envelope"),
    ),
    "emergency": (
        ("ballot found in the emergency bin", "ballots found in the emergency bin"),
        ("fed, counted by hand or left there", "fed, counted by hand or left there"),
        ("ballot found than accounted for", "ballots found than accounted for"),
        ("ballot accounted for than found", "ballots accounted for than found"),
    ),
    "containers": (
        ("ballot in sealed containers", "ballots in sealed containers"),
        ("ballot counted", "ballots counted"),
        ("ballot in the containers than counted", "ballots in the containers than counted"),
        ("ballot counted than in the containers", "ballots counted than in the containers"),
    ),
    "contest": (
        ("choice on the tape", "choices on the tape"),
        ("choice the ballots carry", "choices the ballots carry"),
        ("choice than the ballots carry", "choices than the ballots carry"),
        (
            "choice the ballots have room for than the tape shows",
            "choices the ballots have room for than the tape shows",
        ),
    ),
    "precincts": (
        ("in the rows by precinct", "in the rows by precinct"),
        ("in the total of the tape", "in the total of the tape"),
        ("in the rows by precinct than in the total", "in the rows by precinct than in the total"),
        ("in the total than in the rows by precinct", "in the total than in the rows by precinct"),
    ),
    "write-ins": (
        ("write-in counted by machine", "write-ins counted by machine"),
        ("in the hand tally", "in the hand tally"),
        ("by machine than in the tally", "by machine than in the tally"),
        ("in the tally than by machine", "in the tally than by machine"),
    ),
    "seal-stock": (
        ("seal issued", "seals issued"),
        ("applied, returned or damaged", "applied, returned or damaged"),
        ("issued than accounted for", "issued than accounted for"),
        ("accounted for than issued", "accounted for than issued"),
    ),
    "carry": (
        ("at the day's end", "at the day's end"),
        ("at the next day's start", "at the next day's start"),
        ("at the end than at the next start", "at the end than at the next start"),
        ("at the next start than at the end", "at the next start than at the end"),
    ),
    "sheets": (
        ("later sheet accounted for", "later sheets accounted for"),
        ("given out", "given out"),
        ("came back than were given out", "came back than were given out"),
        ("given out than came back", "given out than came back"),
    ),
    "carriers": (
        ("carrier received", "carriers received"),
        ("opened", "opened"),
        ("received than opened", "received than opened"),
        ("opened than received", "opened than received"),
    ),
    "envelopes": (
        ("ballot expected from the envelopes", "ballots expected from the envelopes"),
        ("in the batches", "in the batches"),
        ("expected than in the batches", "expected than in the batches"),
        ("in the batches than expected", "in the batches than expected"),
    ),
    "unfolded": (
        ("ballot unfolded", "ballots unfolded"),
        ("in the batches", "in the batches"),
        ("unfolded than in the batches", "unfolded than in the batches"),
        ("in the batches than unfolded", "in the batches than unfolded"),
    ),
    "batch": (
        ("ballot in the batch", "ballots in the batch"),
        ("fed or set aside", "fed or set aside"),
        ("in the batch than fed or set aside", "in the batch than fed or set aside"),
        ("fed or set aside than in the batch", "fed or set aside than in the batch"),
    ),
    "batch before": (
        ("on the counter before this batch", "on the counter before this batch"),
        ("after the last one", "after the last one"),
        ("before this batch than after the last", "before this batch than after the last"),
        ("after the last batch than before this one", "after the last batch than before this one"),
    ),
    "batch zero": (
        ("on the counter before this batch", "on the counter before this batch"),
        ("at the start", "at the start"),
        ("before this batch than at the start", "before this batch than at the start"),
        ("at the start than before this batch", "at the start than before this batch"),
    ),
    "list": (
        ("voter marked as returned in the absentee list", "voters marked as returned in the absentee list"),
        ("envelope neither rejected nor held", "envelopes neither rejected nor held"),
        ("voter in the list than envelopes", "voters in the list than envelopes"),
        ("envelope than voters in the list", "envelopes than voters in the list"),
    ),
    "batch-envelopes": (
        ("ballot expected from its envelopes", "ballots expected from its envelopes"),
        ("ballot in the batch", "ballots in the batch"),
        ("ballot expected than in the batch", "ballots expected than in the batch"),
        ("ballot in the batch than expected", "ballots in the batch than expected"),
    ),
    "batches": (
        ("ballot by the counter, batch by batch", "ballots by the counter, batch by batch"),
        ("ballot on the tape", "ballots on the tape"),
        ("ballot by the batches than on the tape", "ballots by the batches than on the tape"),
        ("ballot on the tape than by the batches", "ballots on the tape than by the batches"),
    ),
    "problems": (
        ("ballot set aside", "ballots set aside"),
        ("ballot settled or waiting", "ballots settled or waiting"),
        ("ballot set aside than settled or waiting", "ballots set aside than settled or waiting"),
        ("ballot settled or waiting than set aside", "ballots settled or waiting than set aside"),
    ),
    "duplicates": (
        ("ballot duplicated", "ballots duplicated"),
        ("in batches of duplicates", "in batches of duplicates"),
        ("duplicated than in batches of duplicates", "duplicated than in batches of duplicates"),
        ("in batches of duplicates than duplicated", "in batches of duplicates than duplicated"),
    ),
    "again": (
        ("ballot fed after all", "ballots fed after all"),
        ("in batches fed again", "in batches fed again"),
        ("fed after all than in batches fed again", "fed after all than in batches fed again"),
        ("in batches fed again than fed after all", "in batches fed again than fed after all"),
    ),
    "duplicate-serials": (
        ("serial used", "serials used"),
        ("ballot duplicated", "ballots duplicated"),
        ("serial used than ballots duplicated", "serials used than ballots duplicated"),
        ("ballot duplicated than serials used", "ballots duplicated than serials used"),
    ),
    "board": (
        ("ballot out of the envelopes", "ballots out of the envelopes"),
        ("counted, not counted or waiting", "counted, not counted or waiting"),
        (
            "out of the envelopes than counted, not counted or waiting",
            "out of the envelopes than counted, not counted or waiting",
        ),
        (
            "counted, not counted or waiting than out of the envelopes",
            "counted, not counted or waiting than out of the envelopes",
        ),
    ),
    "pile": (
        ("by the record", "by the record"),
        ("in the pile", "in the pile"),
        ("by the record than in the pile", "by the record than in the pile"),
        ("in the pile than by the record", "in the pile than by the record"),
    ),
    "hand-tally": (
        ("ballot settled as counted by hand", "ballots settled as counted by hand"),
        ("on the sheets of hand counts", "on the sheets of hand counts"),
        ("settled as counted by hand than on the sheets", "settled as counted by hand than on the sheets"),
        ("on the sheets than settled as counted by hand", "on the sheets than settled as counted by hand"),
    ),
    "recount": (
        ("in the second count", "in the second count"),
        ("in the first", "in the first"),
        ("in the second count than in the first", "in the second count than in the first"),
        ("in the first count than in the second", "in the first count than in the second"),
    ),
}
