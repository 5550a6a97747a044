"""One drill: a night is kept, its stick written in one to three sittings and harmed, the laptop is gone; it is restored, tablets give back what they
have, and what the product then states is held against the truth, which `truth` reads with code of its own.
"""

import random
import shutil
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import cbor2

from tests.drills import truth
from webapp.record import audit
from webapp.record.backup import StoredEntry
from webapp.record.entry import Text
from webapp.record.ledger import Ledger
from webapp.record.restoration import lay_copy
from webapp.stick import returns
from webapp.stick.copier import Copier, CopyTask
from webapp.stick.folder import UnreadableStick, chosen, read_folder
from webapp.stick.restore import restore

HARMS = ("none", "cut", "zeros", "noise", "bit", "last-file", "no-snapshots")
NOW = 1_900_000_000_000  # ms UTC: after every night


@dataclass
class Report:
    """What came of one drill. wrong: a sentence for each thing that was not as it should be."""

    seed: int
    harm: str
    kept: int = 0
    on_stick: int = 0
    given: int = 0
    lost: int = 0
    wrong: list[str] = field(default_factory=list)


def drill(night: Sequence[StoredEntry], record_id: bytes, coarse: frozenset[str], folder: Path, seed: int) -> Report:
    """Play one drill in an empty folder. night: every entry that the laptop kept, in order."""
    rng = random.Random(seed)
    report = Report(seed, rng.choice(HARMS), len(night))
    copied = rng.choice([len(night), rng.randrange(len(night) // 3, len(night) + 1)])
    stick = _written(night[:copied], record_id, folder, rng)
    _harm(chosen(stick), report.harm, rng)
    known = [(one.number, one.data, one.head) for one in night]
    true_last = truth.whole_on(chosen(stick), known)
    seen = rng.choice([len(night), rng.randrange(true_last, len(night) + 1)])
    record = folder / "spare" / "record.db"
    record.parent.mkdir()
    try:
        found = read_folder(chosen(stick))
    except UnreadableStick:
        report.wrong += [] if true_last == 0 else ["nothing was read from a stick that holds entries"]
        return report
    made = restore(found, record, seen=seen, expect=(), kit="spare", coarse=coarse, now=NOW)
    report.on_stick = true_last
    if made.last != true_last:
        report.wrong.append(f"last stated {made.last}, last true {true_last}")
    _give_back(night, record_id, record, coarse, true_last, rng)
    _judge(report, night, record, coarse, true_last, seen)
    return report


def _written(night: Sequence[StoredEntry], record_id: bytes, folder: Path, rng: random.Random) -> Path:
    """The stick after one to three sittings; between two of them it was pulled in the middle of a write, perhaps."""
    stick, laptop = folder / "stick", folder / "laptop"
    stick.mkdir(), laptop.mkdir()
    cuts = sorted(rng.sample(range(1, len(night)), rng.randrange(0, 3))) + [len(night)]
    for upto in cuts:
        (laptop / "record.db").unlink(missing_ok=True)
        lay_copy(laptop / "record.db", record_id, night[:upto])
        copier = Copier(
            CopyTask(laptop / "record.db", record_id, stick, "place", "DRILL", "practice", bytes(32), "0"), lambda: NOW
        )
        while copier.copy_new():
            pass
        if rng.random() < 0.5:
            copier.snapshot()
        if upto != len(night) and rng.random() < 0.5:
            _cut(_last(chosen(stick)), rng)
    shutil.rmtree(laptop)
    return stick


def _harm(folder: Path, harm: str, rng: random.Random) -> None:
    if rng.random() < 0.6 or harm == "no-snapshots":
        for copy in folder.glob("snapshot-?.db"):
            copy.unlink()
    files = sorted(folder.glob("entries-*"))
    file = rng.choice(files) if rng.random() < 0.3 else _last(folder)
    if harm in ("cut", "zeros", "noise"):
        _cut(file, rng)
        if harm != "cut":
            more = bytes(rng.randrange(1, 3000)) if harm == "zeros" else rng.randbytes(rng.randrange(1, 3000))
            file.write_bytes(file.read_bytes() + more)
    elif harm == "bit":
        data = bytearray(file.read_bytes())
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        file.write_bytes(data)
    elif harm == "last-file":
        _last(folder).unlink()


def _last(folder: Path) -> Path:
    return max(folder.glob("entries-*"), key=lambda path: [int(n) for n in path.stem.split("-")[1:]])


def _cut(file: Path, rng: random.Random) -> None:
    data = file.read_bytes()
    file.write_bytes(data[: rng.randrange(len(data) + 1)])


def _give_back(night, record_id, record: Path, coarse, last: int, rng: random.Random) -> None:
    """Tablets give back a random part in random order, some twice, with entries among them that were altered, foreign or restored already."""
    mine = [one for one in night if one.number > last and rng.random() < 0.6]
    sent = mine + rng.sample(mine, len(mine) // 2)
    rng.shuffle(sent)
    items = returns.items_of(sent)
    for one in rng.sample(list(night), min(5, len(night))):
        items.insert(
            rng.randrange(len(items) + 1),
            (rng.choice([one.data[:-1], one.data.replace(record_id, bytes(16)), b"\xff" * 9, b""]), {}),
        )
        if one.number <= last:
            items.insert(rng.randrange(len(items) + 1), (one.data, {}))
    for one in (one for one in mine if one.words and rng.random() < 0.5):
        items.append((one.data, {one.words[0][0]: Text(bytes(16), "Other words.")}))
    with Ledger.open(record, coarse) as ledger:
        for at in range(0, len(items), 7):
            returns.append_returned(ledger, items[at : at + 7], rng.choice("AB"), NOW)


def _judge(report: Report, night, record: Path, coarse, last: int, seen: int) -> None:
    """Everything that must hold, from the record's own rows."""
    rows = [(number, cbor2.loads(data)) for number, data, _ in truth.stored(record)]
    before = {one.number: one.data for one in night}
    run_2 = [(number, entry) for number, entry in rows if entry[2] == 2]
    back = [(entry[6]["was"], entry[6]["entry"]) for _, entry in run_2 if entry[5] == "given-back"]
    with Ledger.read_only(record) as reader:
        stated = returns.account(reader)
    given = {was for was, _ in back}
    top = max([seen, last, *given])
    lost = [number for number in range(last + 1, top + 1) if number not in given]
    report.given, report.lost = len(given), len(lost)
    claims = {
        "given back once": len(back) == len(given),
        "given back byte for byte": all(before.get(was) == data and was > last for was, data in back),
        "lost listed is lost true": stated is not None
        and list(stated.lost) == lost
        and list(stated.given_back) == sorted(given),
        "no number is used twice": len({number for number, _ in rows}) == len(rows)
        and not {n for n, _ in run_2} & set(before),
        "nobody is signed for": all(entry[14] == [] and entry[13] is None for _, entry in run_2),
        "entries before are the same": [data for number, data, _ in truth.stored(record) if number <= last]
        == [before[n] for n in range(1, last + 1)],
        "words came back": _words_right(record, night, last),
        "it verifies": audit.verify(record, coarse=coarse).ok,
    }
    report.wrong += [name for name, holds in claims.items() if not holds]


def _words_right(record: Path, night, last: int) -> bool:
    there, wanted = (
        truth.words(record),
        {one.number: {name: (salt, text) for name, salt, text in one.words} for one in night},
    )
    return all(there.get(number, {}) == wanted[number] for number in range(1, last + 1))


def kept_night(record: Path) -> list[StoredEntry]:
    """The entries of a record that a rehearsal kept, read with SQL alone."""
    with sqlite3.connect(f"{record.as_uri()}?mode=ro", uri=True) as db:
        rows = db.execute("SELECT number, head, entry FROM entries ORDER BY number").fetchall()
    db.close()
    words = truth.words(record)
    return [
        StoredEntry(n, head, data, tuple((name, salt, text) for name, (salt, text) in words.get(n, {}).items()))
        for n, head, data in rows
    ]
