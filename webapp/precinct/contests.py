"""Contests on the tapes: votes, undervotes and overvotes against ballots, in whichever way the report counts overvotes.

Two conventions are published: an overvoted ballot adds N lost votes, or it adds one ballot. They coincide only for N = 1.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from webapp.precinct import says
from webapp.precinct.figures import known, listed, number, text
from webapp.precinct.lines import Found, Lacks, Line
from webapp.precinct.night import Night

TAPE = ("ballots", "votes", "write_in", "under", "over")


@dataclass(frozen=True, slots=True)
class Sums:
    """One contest on one tape: votes with write-ins, undervotes, overvotes as printed, ballots that carry it."""

    n: int
    votes: int
    under: int
    over: int
    ballots: int

    def left(self, convention: str) -> int:
        return self.votes + self.under + self.over * (self.n if convention == "ballots" else 1)

    @property
    def right(self) -> int:
        return self.ballots * self.n


def contest_convention(rows: Iterable[Sums]) -> str:
    """Which convention a whole file follows: the one under which more lines are 0; equal: votes if every overvote figure is a multiple of N."""
    rows = list(rows)
    zero = {c: sum(row.left(c) == row.right for row in rows) for c in ("votes", "ballots")}
    if zero["votes"] != zero["ballots"]:
        return max(zero, key=zero.get)
    return "votes" if all(row.over % row.n == 0 for row in rows) else "ballots"


def _tapes(night: Night):
    for item in listed(night.data.get("contests", []), "contests"):
        known(item, ("id", "title", "n", "tapes", "write_in_tally", "write_ins"), "contests")
        name = text(item.get("id"), "contests.id")
        n = number(item.get("n", 1), f"contests.{name}.n")
        if n < 1:
            from webapp.precinct.figures import Unreadable

            raise Unreadable(f"contests.{name}.n is 0: write how many may be voted for, from 1 up.")
        for tape, figures in known(item.get("tapes", {}), item.get("tapes", {}), f"contests.{name}.tapes").items():
            yield item, name, n, tape, known(figures, TAPE, f"contests.{name}.tapes.{tape}")


def _sums(name: str, n: int, figures: Mapping) -> Sums | tuple[str, ...]:
    lacks = tuple(key for key in ("ballots", "votes", "under", "over") if figures.get(key) is None)
    if lacks:
        return lacks
    votes = sum(number(v, f"contests.{name}.votes") for v in figures["votes"].values()) + number(figures.get("write_in") or 0, f"contests.{name}.write_in")
    return Sums(n, votes, *(number(figures[k], f"contests.{name}.{k}") for k in ("under", "over", "ballots")))


def contest(night: Night) -> Found:
    """votes + undervotes + overvotes (x N where they are ballots) = ballots carrying it x N, tape by tape."""
    read = [(item, name, tape, _sums(name, n, figures)) for item, name, n, tape, figures in _tapes(night)]
    stated = night.rules.get("overvotes")
    convention = stated or contest_convention(s for _, _, _, s in read if isinstance(s, Sums))
    known_by = "as the place file states" if stated else "told from these figures"
    for item, name, tape, sums in read:
        id_ = f"contest:{name}:{tape}"
        if not isinstance(sums, Sums):
            yield Lacks(id_, sums)
            continue
        title = str(item.get("title", name))
        yield Line(id_, sums.left(convention), sums.right, says.contest(title, sums.left(convention), sums.right, sums.ballots, sums.n, convention, known_by),
                   "Votes, undervotes, overvotes", f"Ballots x {sums.n}")


def write_ins(night: Night) -> Found:
    """Machine write-ins = listed + others + no name + ruled invalid."""
    for item in listed(night.data.get("contests", []), "contests"):
        tally = item.get("write_in_tally")
        machine = [f.get("write_in") for f in item.get("tapes", {}).values()]
        name = str(item.get("id"))
        if tally is None:
            if any(machine):
                yield Lacks(f"write-ins:{name}", ("write_in_tally",))
            continue
        known(tally, ("listed", "other", "no_name", "invalid"), f"contests.{name}.write_in_tally")
        if not machine or None in machine:
            yield Lacks(f"write-ins:{name}", ("write_in",))
            continue
        listed_votes = tally.get("listed", {})
        right = sum(number(v, "listed") for v in (listed_votes.values() if isinstance(listed_votes, Mapping) else [listed_votes]))
        right += sum(number(tally.get(k, 0), f"write_in_tally.{k}") for k in ("other", "no_name", "invalid"))
        left = sum(machine)
        yield Line(f"write-ins:{name}", left, right, says.plain(left, right, f"Write-ins of {item.get('title', name)} on the tape", "tallied by hand", "write-in"), "Write-ins on the tape", "Tallied by hand")
