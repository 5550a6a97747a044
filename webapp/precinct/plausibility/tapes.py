"""One keying of a tape by itself: votes are within the ballots times the votes each may hold. Nothing of another keying is asked or told."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.plausibility.asked import Asked, Stop, Stops, apart


def votes_within_ballots(asked: Asked) -> Stops:
    """Votes and write-ins of a contest are at most its ballots times N, by the figures of this keying alone (common practice)."""
    if asked.step != "tape-typed":
        return
    for contest in asked.place.typed_contests():
        row = (asked.body.get("contests") or {}).get(contest.id)
        ballots = _ballots(row, asked.body) if row else None
        if row is None or ballots is None:
            continue
        votes = sum(row.get("votes", {}).values()) + (row.get("write_in") or 0)
        if votes > ballots * contest.n:
            each = "1 vote" if contest.n == 1 else f"{contest.n} votes"
            first = next(iter(row.get("votes", {})), "")
            yield Stop(
                f"contests.{contest.id}.votes.{first}" if first else f"contests.{contest.id}.write_in",
                f"{contest.title}: {votes:,} votes. {ballots:,} ballots with {each} each allow {ballots * contest.n:,}: "
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
