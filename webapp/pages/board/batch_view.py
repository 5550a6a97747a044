"""One batch as a page shows it: its two rows as brackets, its place in the counters, its ballots set aside. Pure: a board's day in, facts out."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from webapp.board.board_day import BoardBatch, BoardDay, ProblemBallot
from webapp.board.stops import batch_stops
from webapp.precinct.numbers import few

LAST, SOME = 20, 60  # batches of one tabulator that a list shows; of all of them together
KINDS = {"first": "out of the envelopes", "duplicates": "duplicates", "again": "fed after all"}


@dataclass(frozen=True, slots=True)
class BatchView:
    """`envelope_gap`: ballots expected from its envelopes less those in it, None where it has none; `counter_gap`: ballots less fed less set aside, None before
    it is fed; `jump`: its counter before less the last one's after."""

    batch: BoardBatch
    envelope_gap: int | None
    counter_gap: int | None
    jump: int | None
    before: str  # the batch that was fed before it there
    problems: tuple[ProblemBallot, ...]

    @property
    def expected(self) -> int:
        return (self.batch.envelopes or 0) - self.batch.empty + self.batch.extra

    @property
    def fed(self) -> int:
        return self.batch.fed.after - self.batch.fed.before if self.batch.fed else 0

    @property
    def aside(self) -> int:
        return sum(self.batch.fed.aside.values()) if self.batch.fed else 0

    @property
    def open(self) -> bool:
        return bool(self.envelope_gap or self.counter_gap or self.jump)

    @property
    def says(self) -> str:
        """The state of the batch in a few words."""
        if self.batch.again:
            return f"fed {len(self.batch.again) + 1} times"
        if self.envelope_gap:
            return gap_words(self.envelope_gap, "in it than its envelopes give")
        if self.counter_gap:
            return gap_words(-self.counter_gap, "in it than fed and set aside")
        if self.jump:
            return (
                f"counter {few(abs(self.jump), 'ballot')} {'above' if self.jump > 0 else 'below'} that of {self.before}"
            )
        return "agrees" if self.batch.fed else "waits"


def gap_words(gap: int, than: str) -> str:
    return f"{few(abs(gap), 'ballot')} {'fewer' if gap > 0 else 'more'} {than}"


@dataclass(frozen=True, slots=True)
class Beside:
    """What each batch is shown with: the one that was fed before it on its tabulator that day, and its ballots set aside. Collected once for a whole list."""

    before: Mapping[str, BoardBatch]
    problems: Mapping[str, tuple[ProblemBallot, ...]]


def beside(day: BoardDay) -> Beside:
    before: dict[str, BoardBatch] = {}
    last: dict[tuple[str, str], BoardBatch] = {}
    for batch in sorted((b for b in day.batches.values() if b.fed), key=lambda b: b.fed.turn if b.fed else 0):
        on = (batch.fed.at, batch.fed.day) if batch.fed else ("", "")
        if on in last:
            before[batch.id] = last[on]
        last[on] = batch
    problems: dict[str, list[ProblemBallot]] = {}
    for one in day.problems.values():
        problems.setdefault(one.batch, []).append(one)
    return Beside(before, {id: tuple(sorted(some, key=lambda one: one.position)) for id, some in problems.items()})


def view(day: BoardDay, id: str, known: Beside | None = None) -> BatchView | None:
    """One batch; `known` where several are looked at. None where there is none of this id."""
    batch = day.batches.get(id)
    if batch is None:
        return None
    known = known or beside(day)
    envelopes = None if batch.envelopes is None else batch.envelopes - batch.empty + batch.extra - batch.ballots
    fed = batch.fed
    counter = None if fed is None else batch.ballots - (fed.after - fed.before) - sum(fed.aside.values())
    earlier = known.before.get(id)
    jump = fed.before - earlier.fed.after if fed and earlier and earlier.fed else None
    return BatchView(batch, envelopes, counter, jump, earlier.id if earlier else "", known.problems.get(id, ()))


@dataclass(frozen=True, slots=True)
class BatchList:
    """What a list shows: batches that do not agree, those that wait, the last ones of each tabulator, newest first; and how many there are in all."""

    stopped: tuple[BatchView, ...]
    waiting: tuple[BatchView, ...]
    last: tuple[BatchView, ...]
    made: int
    fed: int


def listed(day: BoardDay, at: str = "", only_open: bool = False, among: Collection[str] | None = None) -> BatchList:
    """`at`: of one tabulator only; `among`: only these, None for all. What was remarked and settled is among the last ones."""
    known = beside(day)
    off = {id for id in off_ids(day) if (not at or on(day, id, at)) and (among is None or id in among)}
    waiting = [batch.id for batch in day.batches.values() if batch.fed is None and batch.id not in off and (among is None or batch.id in among)]  # fmt: skip
    fed = sorted((b for b in day.batches.values() if b.fed), key=lambda b: -b.fed.turn if b.fed else 0)
    last: list[str] = []
    for tabulator in dict.fromkeys(b.fed.at for b in fed if b.fed):
        if not at or tabulator == at:
            most = LAST if at else max(SOME // max(len(day.fed_on), 1), 5)
            mine = day.fed_on[tabulator] if among is None else [id for id in day.fed_on[tabulator] if id in among]
            last += [id for id in reversed(mine[-LAST:]) if id not in off][:most]
    shown: tuple[list[str], list[str]] = ([], []) if only_open else (waiting[:SOME], last)
    stopped, wait, newest = (tuple(v for id in ids if (v := view(day, id, known))) for ids in (sorted(off), *shown))
    return BatchList(stopped, wait, newest, len(day.batches), len(fed))


def on(day: BoardDay, id: str, at: str) -> bool:
    fed = day.batches[id].fed
    return fed is None or fed.at == at


def off_ids(day: BoardDay) -> Iterator[str]:
    """Batches that do not agree and have no remark about it, in either row."""
    yield from (batch.id for batch in day.batches.values() if batch.fed is None and batch_stops(day, batch))
    for ids in day.fed_on.values():
        last, on = 0, ""
        for id in ids:
            batch = day.batches[id]
            fed = batch.fed
            if fed is None:
                continue
            gap = batch.ballots - (fed.after - fed.before) - (sum(fed.aside.values()) if fed.aside else 0)
            jump = on == fed.day and last != fed.before
            last, on = fed.after, fed.day
            if ((gap or jump or batch.again) and f"batch:{id}" not in day.remarked) or batch_stops(day, batch):
                yield id
