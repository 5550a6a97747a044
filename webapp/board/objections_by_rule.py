"""What the place file's rules say against an entry: two ballots in one envelope, overvotes, ballots read as blank, header cards.

None of these refuses: local law and the office come first, so two of different parties may keep it as an exception, and say why.
"""

from collections.abc import Iterator, Mapping

from webapp.board.board_day import BoardBatch, BoardDay, BoardEntry
from webapp.board.board_rules import AS_IS, COUNT_ALL, COUNT_NONE, TWO_CARDS, BoardRules, Objection
from webapp.precinct.numbers import few

TWO_IN_ONE, OVERVOTE, BLANK = "two-in-one", "overvote", "blank-read"


def batch_fed(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """Nothing is set aside that is fed here as it is; what came two in one envelope is; header cards were fed first where they must be."""
    aside: Mapping[str, int] = entry.body.get("aside", {})
    yield from needless(day.rules, [cause for cause, n in aside.items() if n])
    batch = day.batches.get(entry.body["batch"])
    if batch:
        yield from two_in_one(day.rules, batch, aside.get(TWO_IN_ONE, 0))
    cards = entry.body.get("header_cards", {})
    if day.rules.header == TWO_CARDS and sum(map(bool, cards.values())) < 2:
        yield Objection(
            f"Two header cards, alike, are fed before {entry.body['batch']}, and the count does not start without them. Feed them, then tick both.",
            refused=False,
        )


def needless(rules: BoardRules, causes: list[str]) -> Iterator[Objection]:
    """Causes for which the place file sets nothing aside."""
    told = {
        OVERVOTE: (rules.overvote == AS_IS, "An overvote is fed here as it is: feed it, and accept it on the screen."),
        BLANK: (rules.blank_read == AS_IS, "A ballot read as blank is fed here as it is: feed it, and accept it on the screen."),
        TWO_IN_ONE: (rules.two_in_one == COUNT_ALL, "Two ballots in one envelope all count here: feed them with their batch."),
    }  # fmt: skip
    for cause in causes:
        if cause in told and told[cause][0]:
            yield Objection(told[cause][1], refused=False)


def two_in_one(rules: BoardRules, batch: BoardBatch, aside: int) -> Iterator[Objection]:
    """Where not all of them count, both ballots of such an envelope are set aside: one more than are extra, at least."""
    if rules.two_in_one == COUNT_ALL or not batch.extra or aside > batch.extra:
        return
    why = (
        "none of an envelope with two counts"
        if rules.two_in_one == COUNT_NONE
        else "they wait until the board has decided"
    )
    yield Objection(
        f"{batch.id} was made with {few(batch.extra, 'extra ballot')}, and {aside:,} set aside as two in one envelope: {why}. "
        f"Set all ballots of that envelope aside, {batch.extra + 1:,} at least.",
        refused=False,
    )


def problem(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A ballot is set aside for a cause that is one here."""
    yield from needless(day.rules, [entry.body["cause"]])


def settled(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """What the place file says becomes of a ballot with this cause."""
    one = day.problems.get((entry.body["batch"], entry.body["position"]))
    outcome, cause = entry.body["outcome"], one.cause if one else ""
    where = f"{entry.body['batch']}, number {entry.body['position']}"
    if outcome == "waiting":
        return
    if cause == TWO_IN_ONE and day.rules.two_in_one == COUNT_NONE and outcome != "not-counted":
        yield Objection(
            f"{where} came two in one envelope: by the place file none of them counts. Select “Not counted, by law”.",
            refused=False,
        )
    if cause == BLANK and outcome not in ("fed-after-all", "hand-counted"):
        yield Objection(
            f"{where} was read as blank: truly blank, it is fed after all, as it is; else it is counted by hand. Look again, two of different parties.",
            refused=False,
        )


CHECKS = {"batch-fed": batch_fed, "problem": problem, "settled": settled}
