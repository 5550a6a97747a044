"""What folding a day costs: a whole record cold, beside decoding it; and what the pages ask of a warm day after one more entry.

Goals: decode and fold together at most 2 times the decode alone; what a page asks at 10,000 entries at most 3 times the same at 100.
Run with `python tests/benchmarks/fold.py [ENTRIES [ROUNDS]]` (10,000 and 7). Interleaved A B A B, the first round thrown away, medians of the
ratios. The entries are invented: a crowded day of notes and readings, packs, bins and seals, with corrections and notes taken back.
"""

import random
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[n]) for n in (1, 2)]

from day.story import HARROW  # noqa: E402
from webapp.precinct.account.balanced_day import BalancedDay, fold  # noqa: E402
from webapp.precinct.checklist import checklist  # noqa: E402
from webapp.precinct.day import seal_log  # noqa: E402
from webapp.record.entry import Entry, Signer, quarter_hour  # noqa: E402

CHAIR, WITNESS = Signer("Calloway", "chair", "elm", "pin"), Signer("Renn", "witness", "heron", "pin")
OPENING = (
    ("oath", {"person": "Calloway", "row": 1}),
    ("oath", {"person": "Renn", "row": 2}),
    ("zero-tape", {"at": "T1", "public": 0, "lifetime": 9000, "all_zero": True}),
    ("polls-open", {"time": HARROW.at(HARROW.opens)}),
)
BALLOTS = ("spoiled", "provisional", "taken", "left", "spoiled", "spoiled")


def invented(number: int, chance: random.Random) -> tuple[str, dict]:
    """The kind and body of one more entry of a crowded day."""
    if number <= len(OPENING):
        return OPENING[number - 1]
    draw = chance.random()
    if draw < 0.02:
        return "correction", {
            "of": chance.randrange(max(5, number - 200), number),
            "body": {"ballots": 1, "style": "4A", "words": {"reason": bytes(32)}},
        }
    if draw < 0.03:
        return "taken-back", {"of": number - 1}
    if draw < 0.04:
        return "seal-broken", {"where": "X1-main", "old": str(40000 + number), "new": str(40001 + number)}
    if draw < 0.045:
        return "bin-emptied", {"at": "X1", "bin": "main", "counters": {"T1": number}, "container": "C1", "ballots": 100}
    if draw < 0.06:
        return "pack-opened", {"style": "4A", "nominal": 100, "counted": 100}
    if draw < 0.065:
        return "hourly", {
            "counters": {"T1": number},
            "check_ins": {"P4": number + 7},
            "in_hand": number % 9,
            "notes_to": number - 1,
        }
    return chance.choice(BALLOTS), {"ballots": 1, "style": "4A", "origin": "paper", "reissued": True}


def crowded(entries: int) -> list[bytes]:
    chance, kept = random.Random(7), []
    for number in range(1, entries + 1):
        kind, body = invented(number, chance)
        at = HARROW.at(HARROW.opens) + number * 4_000
        at = quarter_hour(at) if kind in BALLOTS else at
        kept.append(
            Entry(
                bytes(16),
                1,
                number,
                number.to_bytes(16),
                kind,
                body,
                at,
                at,
                at,
                0,
                "A",
                number,
                "Calloway",
                (CHAIR, WITNESS),
            ).pack()
        )
    return kept


def decode(record: list[bytes]) -> list[Entry]:
    return [Entry.unpack(line) for line in record]


def cold(record: list[bytes]) -> BalancedDay:
    return fold(HARROW, ((Entry.unpack(line), {}) for line in record))


def page(day: BalancedDay, now: int) -> None:
    """What Now, Note, Count, Seals and Balance ask of a day."""
    checklist.tasks(HARROW, day, now)
    (
        day.readings,
        day.notes.noted,
        day.folded_away,
        day.balance,
        seal_log.on_now(HARROW, day),
        seal_log.next_unused(HARROW, day),
    )


def timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def warm(day: BalancedDay, more: Entry, now: int) -> float:
    """One entry came, and a page is drawn."""
    return timed(lambda: (day.add(more), page(day, now)))


def rounds_of(record: list[bytes], rounds: int) -> tuple[list[float], list[float], list[float]]:
    """(fold with decode over decode, page at all entries over page at 100, seconds of a page at all entries)."""
    folds, pages, seconds, now = [], [], [], HARROW.at(HARROW.closes) - 1
    few, many = cold(record[:100]), cold(record)
    for day in (few, many):
        page(day, now)
    for turn in range(rounds + 1):
        alone, both = timed(lambda: decode(record)), timed(lambda: cold(record))
        small, great = [], []
        for number in range(20):
            more = Entry.unpack(crowded_line(len(record) + 20 * turn + number + 1))
            small.append(warm(few, more, now))
            great.append(warm(many, more, now))
        if turn:
            folds.append(both / alone)
            pages.append(statistics.median(great) / statistics.median(small))
            seconds.append(statistics.median(great))
    return folds, pages, seconds


def crowded_line(number: int) -> bytes:
    at = HARROW.at(HARROW.opens)
    return Entry(
        bytes(16),
        1,
        number,
        number.to_bytes(16),
        "spoiled",
        {"ballots": 1, "style": "4A"},
        at,
        at,
        at,
        0,
        "A",
        number,
        "Calloway",
        (CHAIR,),
    ).pack()


if __name__ == "__main__":
    entries, rounds = (int(sys.argv[i]) if len(sys.argv) > i else default for i, default in ((1, 10_000), (2, 7)))
    folds, pages, seconds = rounds_of(crowded(entries), rounds)
    print(
        f"cold fold of {entries:,} entries, with decode: {statistics.median(folds):.2f} times the decode alone (goal 2)"
    )
    print(
        f"a page's questions, one entry since: {statistics.median(pages):.2f} times those at 100 entries (goal 3), {1000 * statistics.median(seconds):.2f} ms"
    )
