"""Which entries of a step count now, where a note starts the work again: what was recorded before it stays in the record and no longer counts."""

from collections.abc import Sequence

from webapp.precinct.place.step import DayView, EntryView, Step, all_of, task_key


def began(day: DayView, step: Step) -> int:
    """Number of the newest note after which this step is to be done again; 0 where there is none."""
    found = (
        kept.number
        for name in step.again_with
        for kept in all_of(day, name.partition(".")[0])
        if name.partition(".")[2] in ("", kept.body.get("part"))
    )
    return max(found, default=0)


def counting(day: DayView, step: Step, at: str) -> Sequence[EntryView]:
    """What is kept of this step here and counts, in order."""
    kept = day.kept.get(task_key(step.id, at), ())
    if not step.again_with and not step.stale_with:
        return kept
    since = max(began(day, step), _said(day, step.stale_with, at))
    return [k for k in kept if k.number > since]


def _said(day: DayView, step: str, at: str) -> int:
    """Number of the entry that said last what this step says here: its newest, or the newest correction of it."""
    kept = day.kept.get(task_key(step, at), ()) if step else ()
    return max((getattr(k, "corrected_by", None) or k.number for k in kept), default=0)
