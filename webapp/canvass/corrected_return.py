"""A corrected return: which figures of a place's return are written differently, and what in the corrected contests does not add up.

The ballots are either the same, written or read wrong before, or so many more were counted. Each contest that is
touched must fit that: its votes, undervotes and overvotes move by N for each ballot added, and by nothing where none
was.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.precinct.balance.contests import ContestCount
from webapp.precinct.place.place import Contest

Row = Sequence[int | None]
"""Votes in ballot order, then write_in, under, over, ballots; None: the return has no such figure."""

OPENED = {
    "place": "Those who made the return, called in to correct it",
    "desk": "The office, which found the mistake",
    "board": "The canvass board in session, by its order",
}
"""Who opens a correction. Before certifying the board may call in those who made the return; they correct it and change no decision
(N.Y. Elec. Law 9-206)."""


@dataclass(frozen=True, slots=True)
class CorrectedFigure:
    """One figure: `figure` its stored name, `words` as people call it; `was` None where the return has none."""

    figure: str
    words: str
    was: int | None
    is_: int

    @property
    def apart(self) -> int:
        return self.is_ - (self.was or 0)


def out_of_step(
    before: Mapping[str, Row], after: Mapping[str, Row], contests: Sequence[Contest], overvotes: str, added: int
) -> list[str]:
    """A sentence for each corrected contest whose lines do not move with the ballots. `added`: ballots added, below 0 for fewer.

    A contest without undervotes or overvotes cannot be held, and one on other ballots only moves by nothing.
    """
    found = []
    for contest in contests:
        old, new = before.get(contest.id), after.get(contest.id)
        if old is None or new is None or tuple(old) == tuple(new) or None in (*old[-3:-1], *new[-3:-1]):
            continue
        moved = _left(new, contest, overvotes) - _left(old, contest, overvotes)
        both = old[-1] is not None and new[-1] is not None
        own = (new[-1] or 0) - (old[-1] or 0) if both else added if moved else 0
        if own not in (0, added):
            found.append(f"{contest.title}: its ballots move by {own:+,}, and you say: {added_in_words(added)}.")
        if moved != own * contest.n:
            found.append(
                f"{contest.title}: votes, undervotes and overvotes together move by {moved:+,}; "
                f"its ballots move by {own:+,}, which makes {own * contest.n:+,}."
            )
    return found


def added_in_words(added: int) -> str:
    """How many ballots were added, in words."""
    if not added:
        return "the same ballots"
    return f"{abs(added):,} {'ballot' if abs(added) == 1 else 'ballots'} {'more' if added > 0 else 'fewer'}"


def _left(row: Row, contest: Contest, overvotes: str) -> int:
    votes = sum(n or 0 for n in row[:-3])
    return ContestCount(contest.n, row[-1] or 0, votes, row[-3] or 0, row[-2] or 0).left(overvotes)
