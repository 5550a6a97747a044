"""The stop: a batch that does not agree with its envelopes goes to no tabulator, and one that does not agree with its counter holds up the next batch there.

It is over when a count by another pair makes the figures agree, or when two parties have signed a remark on that line; "cause unknown" is an answer. The other
tables and tabulators go on.
"""

from collections.abc import Iterator

from webapp.board.board_day import BoardBatch, BoardDay
from webapp.precinct.numbers import few


def stopped(day: BoardDay) -> tuple[str, ...]:
    """What stops at this board now, one sentence each: batches that may not be fed, then tabulators."""
    waiting = (batch_stops(day, batch) for batch in day.batches.values() if batch.fed is None)
    on = dict.fromkeys((*day.rules.tabulators, *(batch.fed.at for batch in day.batches.values() if batch.fed)))
    return tuple(says for says in (*waiting, *(tabulator_stops(day, at) for at in on)) if says)


def batch_stops(day: BoardDay, batch: BoardBatch) -> str:
    """Why this batch may not be fed yet; "" if it may. Its envelopes, less empty, with extra, are as many as its ballots."""
    if batch.envelopes is None:
        return ""
    expected = batch.envelopes - batch.empty + batch.extra
    gap = expected - batch.ballots
    if not gap or f"batch-envelopes:{batch.id}" in day.remarked:
        return ""
    return (
        f"{batch.id} goes to no tabulator: {few(expected, 'ballot')} expected from its envelopes, {batch.ballots:,} in it: "
        f"{few(abs(gap), 'ballot')} too {'few' if gap > 0 else 'many'}. {OVER}"
    )


OVER = "Another pair counts it again, or two of different parties sign a remark."


def tabulator_stops(day: BoardDay, at: str) -> str:
    """Why the next batch waits at this tabulator; "" if it does not. Its last batch and its counter agree, also where that was the day before."""
    if twice := fed_again(day, at):
        return twice
    last = day.batches[day.fed_on[at][-1]] if day.fed_on.get(at) else None
    if last is None or last.fed is None or f"batch:{last.id}" in day.remarked:
        return ""
    found = list(apart(day, last))
    return f"{at} stops after {last.id}: {' and '.join(found)}. {OVER}" if found else ""


def stopping(day: BoardDay, at: str) -> str:
    """The batch on whose page a stop of this tabulator is ended: one that was fed again there, else the one that was fed last; "" before the first."""
    for id in day.twice:
        if any(one.at == at for one in day.batches[id].again) and f"batch:{id}" not in day.remarked:
            return id
    return day.fed_on[at][-1] if day.fed_on.get(at) else ""


def fed_again(day: BoardDay, at: str) -> str:
    """The sentence for a tabulator on which a batch went through once more and nobody has signed a remark; "" where none did."""
    id = stopping(day, at)
    more = next((one for one in day.batches[id].again if one.at == at), None) if id in day.twice else None
    if more is None or f"batch:{id}" in day.remarked:
        return ""
    return (
        f"{at} stops: {id} was fed a second time, counter {more.before:,} to {more.after:,}. Call the office: it says what is taken off the tape. "
        f"Two of different parties sign a remark on {id}."
    )


def apart(day: BoardDay, batch: BoardBatch) -> Iterator[str]:
    """In what a fed batch does not agree with its counter."""
    if batch.fed is None:
        return
    gap = batch.ballots - (batch.fed.after - batch.fed.before) - sum(batch.fed.aside.values())
    if gap:
        yield f"{few(abs(gap), 'ballot')} {'fewer' if gap > 0 else 'more'} fed and set aside than in the batch"
    stood = day.counter_at(batch.fed.at, batch.fed.day, before=batch.fed.turn)
    if stood and stood[1] != batch.fed.before:
        yield f"its counter began at {batch.fed.before:,}, and {stood[0]} ended at {stood[1]:,}"
