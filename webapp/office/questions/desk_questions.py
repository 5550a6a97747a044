"""The open questions of one place: what its packet leaves open, what the goods on the table say, what the desk itself found.

A place is agreed when none is open. A question is closed by `answered`, signed by two parties, about these very facts: where another packet or
another reading changes them, it is open again. Names (`seal/C1`, `tape/T1`, `memory`, `gap/poll-book`, `lacks/contest/GOV`) are kept for good.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.questions import who_carried
from webapp.precinct.checklist.field_options import NOT_ON_ROLL
from webapp.precinct.numbers import few

Fact = str | int
OUTCOMES = (("explained", "It is explained, as written"), ("unexplained", "We looked into it, and nothing explains it"))
SORTS = (
    "Short-signed",
    "Figures",
    "Tape",
    "Memory",
    "Containers",
    "Seals",
    "Envelopes",
    "Missing",
    "Not so",
    "Packet",
    "Carriers",
)
"""In the order in which they are asked."""
HOLDING = (
    "memory",
    "tape",
)  # first parts of names; such a question, while open, holds a place out of the totals, or stamps it


@dataclass(frozen=True, slots=True)
class DeskAnswer:
    """`answered`: entry `number`; `facts` as they were when two parties signed; `words` as written."""

    number: int
    question: str
    outcome: str
    facts: tuple[Fact, ...]
    words: str = ""
    kept: int = 0


@dataclass(frozen=True, slots=True)
class DeskQuestion:
    """One question. facts: what it is about, compared with the answer's. settle: the page that closes it where no answer does. answer: None while it is open."""

    name: str
    sort: str
    says: str
    facts: tuple[Fact, ...] = ()
    settle: str = ""
    answer: DeskAnswer | None = None

    @property
    def open(self) -> bool:
        return self.answer is None

    @property
    def holds(self) -> bool:
        """Whether it bears on the totals of the place: a memory device not loaded, a tape that says otherwise than the packet."""
        return self.name.split("/")[0] in HOLDING


def answered(questions: Iterable[DeskQuestion], answers: Iterable[DeskAnswer]) -> tuple[DeskQuestion, ...]:
    """Each question with the newest answer that was signed about these very facts; in the order of their sorts."""
    newest = {(one.question, one.facts): one for one in sorted(answers, key=lambda one: (one.kept, one.number))}
    found = [replace(one, answer=None if one.settle else newest.get((one.name, one.facts))) for one in _once(questions)]
    return tuple(sorted(found, key=lambda one: SORTS.index(one.sort)))


def _once(questions: Iterable[DeskQuestion]) -> Iterator[DeskQuestion]:
    """Each name once: the first."""
    seen: set[str] = set()
    for one in questions:
        if one.name not in seen:
            seen.add(one.name)
            yield one


def open_ones(questions: Iterable[DeskQuestion]) -> tuple[DeskQuestion, ...]:
    return tuple(one for one in questions if one.open)


def of_entries(kept: Iterable[Any]) -> tuple[DeskAnswer, ...]:
    """The answers that entries of the office's record hold about one place."""
    return tuple(
        DeskAnswer(k.number, k.body["question"], k.body["outcome"], tuple(k.body["facts"]), k.word("answer"), k.kept)
        for k in kept
    )


def of_two_figures(name: str, sort: str, words: str, here: int | None, packet: int | None) -> Iterator[DeskQuestion]:
    """A figure read here against the packet's; none where one of them is missing or both agree."""
    if here is not None and packet is not None and here != packet:
        more = f"{abs(here - packet):,} {'more' if here > packet else 'fewer'} here"
        yield DeskQuestion(name, sort, f"{words}: {here:,} here, {packet:,} in the packet: {more}.", (here, packet))


def of_a_seal(container: str, read: str, said: str) -> Iterator[DeskQuestion]:
    """A seal read on the table against the packet's number; none where both are missing or equal."""
    if read == said:
        return
    words = (
        f"{container}: seal {read} read here, {said} in the packet."
        if read and said
        else f"{container}: the packet has seal {said}, and no seal was read here."
        if said
        else f"{container}: seal {read} read here, and the packet has none."
    )
    yield DeskQuestion(f"seal/{container}", "Seals", words, (read, said))


def of_memory(body: Mapping[str, Any] | None) -> Iterator[DeskQuestion]:
    """Memory devices expected, received and loaded are one number."""
    counts = [body[name] for name in ("expected", "received", "loaded") if body.get(name) is not None] if body else []
    if len(counts) == 3 and len(set(counts)) > 1:
        yield DeskQuestion(
            "memory",
            "Memory",
            f"Memory devices: {counts[0]} expected, {counts[1]} received, {counts[2]} loaded.",
            tuple(counts),
        )


def of_containers(body: Mapping[str, Any] | None, holds: Mapping[str, str]) -> Iterator[DeskQuestion]:
    """A container that is not here or is damaged, and another number on the table than on the carry slip. `holds`: container -> what is in it."""
    here, whole = (body.get(name, {}) if body else {} for name in ("here", "unhurt"))
    for name, words in holds.items():
        if here.get(name) is False:
            yield DeskQuestion(f"container/{name}", "Containers", f"{name} ({words}) is not here.")
        if whole.get(name) is False:
            yield DeskQuestion(f"damaged/{name}", "Containers", f"{name} ({words}) is damaged.")
    slip, there = body.get("on_slip") if body else None, sum(bool(v) for v in here.values())
    if slip is not None and slip != there:
        more = f"{abs(there - slip)} {'more' if there > slip else 'fewer'}"
        yield DeskQuestion(
            "containers",
            "Containers",
            f"{few(there, 'container')} on the table, {slip} on the carry slip: {more}.",
            (there, slip),
        )


def of_carriers(body: Mapping[str, Any] | None, party_of: Mapping[str, str]) -> Iterator[DeskQuestion]:
    """One carrier alone, or two of one party. `party_of`: official -> party."""
    if not body or not body.get("first_carrier"):
        return
    people = who_carried.ids(body)
    unknown = "a carrier who is not on the roll of the place"
    if len(people) == 1:
        alone = f"{unknown[:1].upper()}{unknown[1:]}" if NOT_ON_ROLL in people else "One carrier"
        yield DeskQuestion("carriers", "Carriers", f"{alone} brought the goods alone.", people)
    elif NOT_ON_ROLL in people:
        both = "Neither carrier is on the roll of the place" if people[0] == people[1] else f"One of them is {unknown}"
        yield DeskQuestion("carriers", "Carriers", f"{both}: who sent them, and are they of two parties?", people)
    elif len({party_of.get(one, one) for one in people}) == 1:
        yield DeskQuestion("carriers", "Carriers", "Both carriers are of one party.", people)


def summary(questions: Sequence[DeskQuestion]) -> str:
    """How many are open: "3 questions open", "" for none."""
    n = len(open_ones(questions))
    return f"{n:,} {'question' if n == 1 else 'questions'} open" if n else ""


def as_rows(questions: Sequence[DeskQuestion]) -> list[list[Any]]:
    """Questions as the disposable tables store them."""
    return [[one.name, one.sort, one.says, list(one.facts), one.settle] for one in questions]


def from_rows(rows: Sequence[Sequence[Any]]) -> tuple[DeskQuestion, ...]:
    """Returns questions as `as_rows` stored them; their answers are not stored."""
    return tuple(DeskQuestion(name, sort, says, tuple(facts), settle) for name, sort, says, facts, settle in rows)
