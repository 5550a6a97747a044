"""Attacks that the record and the pages held, made again, with their counts: power cuts, forged histories, the first set of a blind keying.

    python tests/benchmarks/held_things.py [--cuts 300] [--forgeries 60] [--seed 1]

Power cuts: a program keeps entries under strace; at any call the power fails, of what was not synced chance leaves some sectors; everything that had
been answered must be there and the record must open and verify. Forgeries: whoever has the file alone changes a kept day and makes every head anew;
check words on paper and the heads of a packet must name the entry. Blind: every page is searched for the figures of the first keying. Kills are
`durability_kill.py` and `interruptions.py`, slow clients `slow_sockets.py`, hostile bodies `stranger_bodies.py`, a bad disk `bad_disk.py`.
Exit 1 where one did not hold.
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.pages.scene import Playbook, Scene  # noqa: E402 - the folder above must be found first
from tests.pages.test_blind import FIRST, holds, key, sent  # noqa: E402
from tests.pages.walk import pages_of  # noqa: E402
from tests.record import story  # noqa: E402
from tests.record.power_cut import after_power_cut, moments, traced  # noqa: E402
from tests.record.tampering import chained, lay, opened, rows  # noqa: E402
from tests.record.test_power_cut import WRITER  # noqa: E402
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS  # noqa: E402
from webapp.record.audit import verify  # noqa: E402
from webapp.record.check_words import check_words  # noqa: E402
from webapp.record.entry import Entry  # noqa: E402
from webapp.record.ledger import Ledger, RecordRefused  # noqa: E402

WAYS = ("changed", "left out", "added", "cut off", "other signers", "swapped")


def power_cuts(folder: Path, cuts: int, luck: random.Random) -> tuple[str, bool]:
    """So many cuts at random calls of one writer."""
    path, log = folder / "record.db", folder / "calls.txt"
    Ledger.create(path, story.RECORD_ID, story.COARSE).close()
    before = path.read_bytes()
    try:
        traced(WRITER, path, log)
    except (OSError, subprocess.CalledProcessError):
        return "power cuts: strace cannot be used here, none made", True
    calls = sum(1 for _ in moments(log, path, before))
    chosen, counts = Counter(luck.randrange(calls) for _ in range(cuts)), Counter()
    for at, (_, files, said) in enumerate(moments(log, path, before)):
        for number in range(chosen[at]):
            made = folder / f"cut-{at}-{number}"
            made.mkdir()
            for name, data in after_power_cut(files, luck).items():
                (made / name).write_bytes(data)
                os.utime(made / name, (0, 0))
            counts += after_the_cut(made / "record.db", said)
            shutil.rmtree(made)
    told = f"power cuts: {cuts} at {calls} calls; {counts['lost']} lost an answered entry, {counts['shut']} no longer open, {counts['wrong']} do not verify"
    return told, not (counts["lost"] or counts["shut"] or counts["wrong"])


def after_the_cut(record: Path, said: int) -> Counter:
    try:
        with Ledger.open(record, story.COARSE) as again:
            lost = again.length < said
    except RecordRefused:
        return Counter(shut=1)
    return Counter(lost=lost, wrong=not verify(record, quick=True).ok)


def forgeries(record: Path, count: int, luck: random.Random) -> tuple[str, bool]:
    """So many histories made anew of one kept day; alone, against one set of check words, against a packet's heads."""
    with opened(record) as db:
        kept = rows(db)
    with Ledger.read_only(record) as reader:
        record_id = reader.record_id
    last = len(kept)
    words, heads = check_words(kept[-1][3]), [(n, kept[n - 1][3]) for n in (last // 2, last)]
    counts = Counter()
    for number in range(count):
        copy = record.with_name("forged.db")
        shutil.copy(record, copy)
        forge(copy, record_id, WAYS[number % len(WAYS)], luck)
        counts["alone"] += verify(copy, coarse=BALLOT_KINDS, quick=True).ok
        counts["words"] += not verify(copy, [(last, words)], coarse=BALLOT_KINDS).ok
        counts["packet"] += not verify(copy, heads=heads, coarse=BALLOT_KINDS).ok
        copy.unlink()
    told = (
        f"forged histories of {last} entries: {count}; alone {counts['alone']} believed, "
        f"with check words {counts['words']} refused, with a packet {counts['packet']} refused"
    )
    return told, counts["words"] == counts["packet"] == count


def forge(record: Path, record_id: bytes, way: str, luck: random.Random) -> None:
    """Change one entry of this record and make every head after it hold."""
    with opened(record) as db:
        db.execute("DELETE FROM words")
        entries = [row[1] for row in rows(db)]
        signed = [at for at, data in enumerate(entries) if len(Entry.unpack(data).signers) > 1]
        at = luck.choice(signed)
        one = Entry.unpack(entries[at])
        if way == "changed":
            entries[at] = replace(one, body={**one.body, "n": luck.randrange(1000)}).pack()
        elif way == "left out":
            entries = renumbered(entries[:at] + entries[at + 1 :])
        elif way == "added":
            entries = renumbered(
                [
                    *entries[:at],
                    replace(one, id=luck.randbytes(16), tablet="L", seq=0, holder=None, signers=()).pack(),
                    *entries[at:],
                ]
            )
        elif way == "cut off":
            entries = entries[:at]
        elif way == "other signers":
            entries[at] = replace(one, signers=one.signers[::-1]).pack()
        else:
            entries = (
                renumbered([*entries[:at], entries[at + 1], entries[at], *entries[at + 2 :]])
                if at + 1 < len(entries)
                else entries[:at]
            )
        lay(db, chained(record_id, entries))


def renumbered(entries: list[bytes]) -> list[bytes]:
    return [replace(Entry.unpack(data), number=number).pack() for number, data in enumerate(entries, 1)]


def blind(here: Scene) -> tuple[str, bool]:
    """Every page, at the window that keyed and at another, searched for the figures of the first keying."""
    at = here.place.tabulators[0].id
    answers = [("the answer itself", sent(here, key(here, at, "lindqvist", FIRST)))]
    for window in (here.window, here.another()):
        answers += list(pages_of(here, window))
    found = sum(len(holds(page, FIRST)) for _, page in answers)
    return (
        f"blind: {len(answers)} answers searched for {len(FIRST)} figures of the first keying; {found} found",
        not found,
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cuts", type=int, default=300)
    parser.add_argument("--forgeries", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    luck, held = random.Random(options.seed), []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "cuts").mkdir()
        held.append(told(power_cuts(folder / "cuts", options.cuts, luck)))
        book = Playbook(folder / "day")
        try:
            kept, answers, now = book.at("tape-prints")
        finally:
            book.close()
        here = Scene(kept, book.place, book.codes, answers.truth, answers, now).start()
        try:
            held.append(told(blind(here)))
        finally:
            here.stop()
        held.append(told(forgeries(kept / "record.db", options.forgeries, luck)))
    return 0 if all(held) else 1


def told(found: tuple[str, bool]) -> bool:
    print(found[0], flush=True)
    return found[1]


if __name__ == "__main__":
    raise SystemExit(main())
