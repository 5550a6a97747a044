"""Two more blanks of a count board: the tally of a contest counted by hand, and the board's statement by precinct, in words and digits."""

from webapp.paper.parts.board_heads import head
from webapp.paper.parts.sheet import LEFT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, signatures, table, title
from webapp.precinct.place.place import Contest, Place

ROWS = 22  # choices of a contest that fit beside its other lines on one page
STATEMENT = (
    "Envelopes received", "Rejected, unopened", "Held, unopened", "Empty", "Extra ballots", "Ballots in batches", "On the tapes", "Counted by hand", "Not counted, by law", "Waiting",
)  # fmt: skip


def hand_tallies(sheet: PaperSheet, place: Place) -> None:
    """One blank for each contest, a page each; a long contest goes on."""
    for contest in place.contests:
        sheet.leaf(ruled=False)
        hand_tally(sheet, place, contest)


def hand_tally(sheet: PaperSheet, place: Place, contest: Contest) -> None:
    """Two read, two write, of two parties; a stroke a vote, every fifth across."""
    what = (
        "For ballots that no tabulator reads. Two of two parties read, two of two parties write, each a sheet; compare after every tenth ballot. "
        "A stroke for each vote, the fifth across. Nobody writes down which ballot it was."
    )
    head(sheet, place, "Hand tally of a contest", what)
    captioned(
        sheet, (("precinct", 3), ("ballots counted by hand", 3), ("style", 2), ("sheet, of", 2)), x=LEFT, height=9
    )
    title(sheet, f"{contest.title}: vote for {contest.n}", x=LEFT)
    columns = [Column("", 5), Column("Strokes", 7), Column("First sum", 1.6), Column("Second sum", 1.6)]
    labels = [choice.label for choice in contest.choices]
    labels += (["Write-ins"] if contest.write_in else []) + ["Undervotes", "Overvotes", "Ballots"]
    height = 9.0 if len(labels) <= ROWS else 8.0
    table(
        sheet,
        columns,
        [[label, "", "", ""] for label in labels],
        x=LEFT,
        height=height,
        again=f"{contest.title}, continued",
    )
    votes = f"{contest.n} for each ballot" if contest.n > 1 else "one for each ballot"
    sheet.room(44)
    sheet.say(
        f"Votes, undervotes and overvotes together are {votes}. If not, or if the two sums differ: count again.",
        9.5,
        x=LEFT,
    )
    sheet.down(1)
    signatures(sheet, ("Read", "Read, of another party", "Wrote", "Wrote, of another party"), x=LEFT)


def statement(sheet: PaperSheet, place: Place) -> None:
    """The board's statement: a row a figure, for the whole board in words and digits; then a row a precinct."""
    what = "Filled in when every ballot set aside is settled and the tapes are in. Received less rejected, held and empty, with the extra ones, are the ballots in batches."
    head(sheet, place, "Statement of the board", what)
    columns = [Column("The whole board", 4), Column("In words", 7), Column("In digits", 2)]
    table(sheet, columns, [[words, "", ""] for words in STATEMENT], x=LEFT, height=8)
    title(sheet, "By precinct", x=LEFT)
    small = place.board.small if place.board else 10
    sheet.say(f"A precinct of fewer than {small} ballots is written in one row with its neighbor.", 9, x=LEFT)
    short = ("Received", "Rejected", "Held", "Empty", "Extra", "Ballots", "Tapes", "By hand", "Not counted", "Waiting")
    columns = [Column("Precinct", 2.6), *(Column(words, 1.9 if len(words) > 7 else 1.5) for words in short)]
    names = [precinct.name for precinct in place.precincts][:9]
    table(
        sheet,
        columns,
        [[name, *[""] * len(short)] for name in [*names, *[""] * max(3 - len(names), 1)]],
        x=LEFT,
        height=8,
        again="Statement of the board, continued",
    )
    signatures(sheet, ("Chair", "Witness, of another party"), x=LEFT)
