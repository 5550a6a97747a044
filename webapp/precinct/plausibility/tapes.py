"""One keying of a tape by itself: votes are within the ballots times the votes each may hold. No other keying is read or shown."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.place.place import Contest
from webapp.precinct.plausibility.asked import Asked, Stop, Stops, apart


def votes_within_ballots(asked: Asked) -> Stops:
    """Votes and write-ins of a contest are at most its ballots times N, by the figures of this keying alone (common practice)."""
    if asked.step != "tape-typed":
        return
    for contest in asked.place.typed_contests():
        row = (asked.body.get("contests") or {}).get(contest.id)
        if row is not None:
            yield from _within(contest, row, _ballots(row, asked.body), f"contests.{contest.id}", contest.title)


def rows_within_precincts(asked: Asked) -> Stops:
    """The rows of each precinct hold at most the votes of that precinct's ballots on this tape."""
    if asked.step != "tape-typed":
        return
    said, whole = asked.body.get("contests_by_precinct") or {}, asked.body.get("ballots") or {}
    for precinct in asked.place.split():
        here = whole.get(precinct.id)
        for contest in asked.place.contests_of(precinct.id):
            row = said.get(precinct.id, {}).get(contest.id)
            if row is None:
                continue
            name, title = f"contests_by_precinct.{precinct.id}.{contest.id}", f"{precinct.name}, {contest.title}"
            ballots = row.get("ballots", here)
            yield from _within(contest, row, ballots, name, title)
            if here is not None and ballots is not None and ballots > here:
                yield Stop(
                    f"{name}.ballots",
                    f"{title}: {ballots:,} ballots, and the tape has {here:,} of this precinct: {apart(ballots, here)}. "
                    "Read both on the tape again; if the tape prints it so, tick that it does.",
                )


def _within(contest: Contest, row: Mapping[str, Any], ballots: int | None, name: str, title: str) -> Stops:
    """One row of a tape: its votes and write-ins within `ballots` times N."""
    if ballots is None:
        return
    votes = sum(row.get("votes", {}).values()) + (row.get("write_in") or 0)
    if votes > ballots * contest.n:
        each = "1 vote" if contest.n == 1 else f"{contest.n} votes"
        first = next(iter(row.get("votes", {})), "")
        yield Stop(
            f"{name}.votes.{first}" if first else f"{name}.write_in",
            f"{title}: {votes:,} votes. {ballots:,} ballots with {each} each allow {ballots * contest.n:,}: "
            f"{apart(votes, ballots * contest.n)}. Read this contest on the tape again; if the tape prints it so, tick that it does.",
        )


def _ballots(row: Mapping[str, Any], body: Mapping[str, Any]) -> int | None:
    """The ballots that this keying gives for a contest: its own line, else the ballots or the public counter of the tape."""
    if isinstance(row.get("ballots"), int):
        return int(row["ballots"])
    whole = body.get("ballots")
    if isinstance(whole, Mapping) and whole:
        return sum(n for n in whole.values() if isinstance(n, int))
    public = body.get("public")
    return whole if isinstance(whole, int) else public if isinstance(public, int) else None
