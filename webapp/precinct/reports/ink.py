"""Who still has to sign on paper, by paper: the zero tapes, the results tapes, the tally of write-ins, the statement; and who left before it.

It says what the record says of ink, and no more: the people who hold the papers look at them. Nothing here shows a
counter or a tally.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.checklist.checklist import fill
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Official, Place
from webapp.precinct.place.step import Step
from webapp.precinct.place.step_places import ats
from webapp.precinct.reports.alerts import Alert

PAPERS = {
    "zero-signed": ("Zero tape of {at}, every print", "prints_signed"),
    "tape-signed": ("Results tape of {at}, every print", "ink"),
    "write-in-tally": ("Tally sheets of the write-ins", "on_paper"),
}
STATEMENT = "statement"
CHANGES = BALLOT_KINDS | {"correction", "taken-back", "counted-again", "pack-opened", "resupply", "sent"}


@dataclass(frozen=True, slots=True)
class InkPaper:
    """One paper. open: somebody still has to sign. who: these people, by name and role. says: how far it is. entry: the number that says so, 0 for none."""

    paper: str
    open: bool
    who: tuple[str, ...]
    says: str
    entry: int = 0


def papers(place: Place, day: Day) -> tuple[InkPaper, ...]:
    """Every paper that is signed in ink at this place, in the order of the day."""
    known = {step.id: step for step in steps(place) if not step.note}
    found = [paper for kind in PAPERS if kind in known for paper in _of_step(place, day, known[kind])]
    return (*found, *(_statement(day) if STATEMENT in known else ()))


def missing(place: Place, day: Day) -> tuple[InkPaper, ...]:
    """The papers that somebody still has to sign."""
    return tuple(paper for paper in papers(place, day) if paper.open)


def unsigned_before_leaving(place: Place, day: Day) -> tuple[Alert, ...]:
    """The alert for papers still unsigned, from the packet until the carriers leave, while people are in the room; () otherwise."""
    found = missing(place, day) if day.packets and day.phase == "hand-over" else ()
    if not found:
        return ()
    head = (
        f"{len(found)} papers are not signed in ink yet" if len(found) > 1 else f"Not signed in ink: {found[0].paper}"
    )
    return (
        Alert(
            f"ink:{len(found)}",
            head,
            tuple(f"{one.paper}: {', '.join(one.who)}." if one.who else f"{one.paper}." for one in found),
            href="/ink",
            button="Who signs what",
        ),
    )


def _of_step(place: Place, day: Day, step: Step) -> Iterator[InkPaper]:
    words, field = PAPERS[step.id]
    for at in ats(step, place):
        kept, title = day.last(f"{step.id}:{at}" if at else step.id), words.replace("{at}", at)
        if kept is None:
            if day.opened is None and step.id != "zero-signed":
                continue
            yield InkPaper(title, True, _two(day), f"The step “{fill(step, place, at).title}” is not signed yet.")
        elif kept.not_so or not kept.body.get(field):
            yield InkPaper(title, True, _two(day), _exception(kept), kept.number)
        else:
            yield InkPaper(title, False, (), "Signed in ink, as two of different parties said.", kept.number)


def _two(day: Day) -> tuple[str, ...]:
    """Chair and witness, where they are at work: any two of different parties may sign in their place."""
    named = [_name(o) for o in day.people.working() if o.role in ("chair", "witness")]
    return tuple(named) if len(named) > 1 else ("two officials of different parties",)


def _name(official: Official) -> str:
    return f"{official.name}, {official.role}"


def _exception(kept: CurrentEntry) -> str:
    said = kept.word("found")
    return f"Kept as an exception{f': {said}' if said else ''}"


def _statement(day: Day) -> Iterator[InkPaper]:
    """Everyone at work signs it. Anybody who left before is named: their row stays empty unless they come back."""
    kept = day.last(STATEMENT)
    ink = (kept.body.get("ink") or {}) if kept else {}
    waits = tuple(_name(o) for o in day.people.working() if not ink.get(o.id))
    entry = kept.number if kept else 0
    if kept is None:
        yield InkPaper("The statement", True, waits, "Everyone at work signs it, in the row of the morning’s oath.")
    elif waits:
        yield InkPaper(
            "The statement", True, waits, _exception(kept) if kept.not_so else "Not ticked as signed.", entry
        )
    else:
        yield InkPaper("The statement", False, (), "Signed in ink by everyone at work.", entry)
    if kept is not None and (later := _changed_after(day, max(kept.number, kept.corrected_by or 0))):
        yield InkPaper(
            "The statement: the record changed after it was signed",
            False,
            (f"entry {later}",),
            "Compare its figures with the record, and write what changed in ink. Kept after it:",
            later,
        )
    gone = tuple(_name(o) for o in day.people.everybody if o.id in day.people.relieved and not ink.get(o.id))
    if gone:
        yield InkPaper(
            "The statement: left before it was signed", False, gone, "Their rows stay empty. Write “left” there."
        )


def _changed_after(day: Day, number: int) -> int:
    """The first entry beyond `number` that may change a figure on paper signed before it; 0 for none."""
    return next((k.number for k in day.entries if k.number > number and k.kind in CHANGES), 0)
