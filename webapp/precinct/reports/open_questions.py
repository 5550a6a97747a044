"""What is still open when the carriers leave: asked at the desk while they are there, the short-signed steps first.

One list, made from the day as it is. Nothing in it is a verdict: each sentence says what is so and where it can be
read.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.balance import summary
from webapp.precinct.checklist import field_words, statement
from webapp.precinct.day import seal_log
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.hours import wall
from webapp.precinct.day.seats import seats
from webapp.precinct.day.short_signed import WHYS, at_work
from webapp.precinct.numbers import few
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.place import Place
from webapp.precinct.reports import packet_age

SORTS = ("short-signed", "figures", "seals", "exception", "statement", "packet")
"""In this order: what a person can only answer tonight comes first."""


@dataclass(frozen=True, slots=True)
class Question:
    """One open matter: its category of SORTS, a sentence, and the entry it belongs to (0 for no single entry)."""

    sort: str
    says: str
    entry: int = 0


def questions(place: Place, day: BalancedDay) -> tuple[Question, ...]:
    """Every open matter of this day, in the order in which the desk asks. () when nothing is open."""
    found = [
        *_short(place, day),
        *_figures(day),
        *_seals(place, day),
        *_exceptions(place, day),
        *_statements(place, day),
        *_packet(day),
    ]
    return tuple(sorted(found, key=lambda question: SORTS.index(question.sort)))


def shortened(says: str, longest: int) -> str:
    """A sentence made to fit: parentheses are dropped first, so that both figures and the difference stay; then its end."""
    if len(says) > longest:
        says = re.sub(r" \([^()]*\)", "", says)
    return says if len(says) <= longest else says[:longest].rsplit(" ", 1)[0] + " …"


def _short(place: Place, day: BalancedDay) -> Iterator[Question]:
    """Short-signed steps in the order of the record, with the names of those who signed later."""
    for kept in _in_force(day):
        if kept.short and kept.kind not in BALLOT_KINDS:
            yield Question("short-signed", short_words(place, day, kept), kept.number)
    yield from _ballots(
        "short-signed", "short-signed", sum(bool(k.short) for k in _in_force(day) if k.kind in BALLOT_KINDS)
    )


def _ballots(sort: str, what: str, count: int) -> Iterator[Question]:
    """Notes of single ballots as a number; their order and words stay in the record at the place."""
    if count:
        yield Question(
            sort,
            f"{few(count, 'note')} about single ballots {'is' if count == 1 else 'are'} {what}: read {'it' if count == 1 else 'them'} in the record of the place.",
        )


def short_words(place: Place, day: BalancedDay, kept: CurrentEntry) -> str:
    """A short-signed step in words: which, who signed, which seat is empty and why, who was notified and when, who signed later."""
    step = field_words.step_of(kept.kind, place)
    labels = {seat.name: seat.label for seat in seats(step.signs if step and step.signs != "all" else "any")}
    names = {person.id: person.name for person in day.people.everybody}
    signed = " and ".join(f"{s.role}, {_party(place, s.party)}" for s in kept.signers) or "nobody"
    empty = "; ".join(
        f"the seat for {labels.get(row['seat']) or names.get(row['seat'], row['seat'])} is empty ({WHYS.get(row['why'], row['why'])}{at_work(row)})"
        for row in kept.short
    )
    told = next((f" at {wall(place, row['told_at'])}" for row in kept.short if row.get("told_at")), "")
    who = kept.word("told")
    later = "".join(
        f" Signed later by {s.role}, {_party(place, s.party)}, at {wall(place, when)}." for s, when in kept.later
    )
    return f"{field_words.title(kept.kind, kept.at, place)}: signed by {signed}; {empty}; the office was told{told}{f': {who}' if who else ''}.{later}"


def _party(place: Place, party: str) -> str:
    found = place.party(party)
    return found.name if found else "no party"


def _figures(day: BalancedDay) -> Iterator[Question]:
    """Lines that are off, with or without a remark; figures that cannot be; stock and poll book where they are not drawn."""
    open_lines = set(day.unremarked)
    for line in day.balance.gaps:
        name = line.name
        remark = next((k.number for k in reversed(day.remarks) if name in k.body.get("lines", ())), 0)
        said = "No remark is about it yet." if name in open_lines else f"Remark signed, entry {remark}."
        yield Question("figures", f"{summary.capital(line.says)} {said}", 0 if name in open_lines else remark)
    for sentence in day.impossible:
        yield Question("figures", sentence)
    for row in day.figures.get("tabulators", ()):
        if "tape" not in row:
            yield Question("figures", f"No tape of {row['id']} was typed: its ballots are in no sum.")
    for unchecked in day.balance.unchecked:
        if unchecked.id in ("stock", "poll-book") and not unchecked.scope:
            yield Question(
                "figures",
                f"The line {field_words.line_words(unchecked.id)} could not be drawn: {', '.join(unchecked.missing).replace('_', ' ')} missing.",
            )


def _seals(place: Place, day: BalancedDay) -> Iterator[Question]:
    for sentence in seal_log.amiss(place, day):
        yield Question("seals", sentence)
    kept = day.last("seals-accounted")
    names = ("issued", "applied", "returned", "damaged")
    parts = [n for name in names if kept and (n := kept.body.get(name)) is not None]
    if kept and len(parts) == len(names) and parts[0] != sum(parts[1:]):
        gap = parts[0] - sum(parts[1:])
        yield Question(
            "seals",
            f"{parts[0]} seals were issued; applied, going back and damaged make {sum(parts[1:])}: {few(abs(gap), 'seal')} {'missing' if gap > 0 else 'too many'}.",
            kept.number,
        )


def _exceptions(place: Place, day: BalancedDay) -> Iterator[Question]:
    """Steps recorded as not so, with what was found and done."""
    for kept in _in_force(day):
        if kept.not_so and kept.kind not in BALLOT_KINDS:
            found, done = (kept.word(name) or "words withheld" for name in ("found", "done"))
            yield Question(
                "exception",
                f"{field_words.title(kept.kind, kept.at, place)}: not so. Found: {statement.ended(found)} Done: {statement.ended(done)}",
                kept.number,
            )
    yield from _ballots("exception", "kept as not so", sum(k.not_so for k in _in_force(day) if k.kind in BALLOT_KINDS))


def _statements(place: Place, day: BalancedDay) -> Iterator[Question]:
    for kept in day.of("dissent"):
        by = ", ".join(f"{s.role}, {_party(place, s.party)}" for s in kept.signers) or "an official"
        yield Question("statement", f"A separate statement travels with the papers, by {by}.", kept.number)


def _packet(day: BalancedDay) -> Iterator[Question]:
    """A packet that is older than the record."""
    if says := packet_age.newer(day):
        yield Question("packet", says, packet_age.first_after(day, day.packets[-1].number))


def _in_force(day: BalancedDay) -> Iterator[CurrentEntry]:
    return (kept for kept in day.entries if kept.taken_back is None)


SORT_WORDS = {
    "short-signed": "Short-signed",
    "figures": "Figures",
    "seals": "Seals",
    "exception": "Not so",
    "statement": "Statement",
    "packet": "Packet",
}
