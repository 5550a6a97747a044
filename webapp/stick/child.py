"""The process that copies to the stick: `python -m webapp.stick.child`. Its first line of input says what to copy; it runs until its input ends.

It answers one JSON line whenever something changed: {"state", "number", "stick", "why", "little"}. A record is read
again when its files changed; a stick that is away is looked for every few seconds. When the input ends it copies the
rest and makes a whole copy.
"""

import json
import os
import sys
import threading
import time
from pathlib import Path

from webapp.stick.copier import Copier, CopyTask

LOOK = 0.1  # seconds between two looks at the record's files
CHECK = 1.0  # between two looks whether the stick is still there
AGAIN = {"gone": 2.0, "unwritable": 10.0, "other-history": 10.0, "full": 60.0}
SETTLED = 50_000_000  # ns: a file that changed this short a time before it was looked at may have changed again since


def main() -> int:
    told = json.loads(sys.stdin.readline())
    delay, pace = told.pop("delay", 0.0), told.pop("pace", 1.0)
    task = CopyTask(
        **{
            **told,
            "record": Path(told["record"]),
            "stick": Path(told["stick"]),
            "record_id": bytes.fromhex(told["record_id"]),
            "digest": bytes.fromhex(told["digest"]),
        }
    )
    copier = Copier(task, lambda: time.time_ns() // 1_000_000, lambda: time.sleep(delay) if delay else None)
    ended = threading.Event()
    threading.Thread(target=_until_the_end, args=(ended,), daemon=True).start()
    _copy_until(ended, copier, pace)
    while copier.copy_new():
        _say(copier)
    copier.snapshot()
    _say(copier)
    return 0


def _copy_until(ended: threading.Event, copier: Copier, pace: float) -> None:
    seen, said, checked, tried = None, None, time.monotonic(), float("-inf")
    while True:
        at = time.monotonic()
        if copier.state == "on":
            before = _stamp(copier.task.record)
            if before != seen or before is None:
                while copier.copy_new():
                    said = _say(copier)
                seen = before if before and time.time_ns() - before[0] > SETTLED else None
            if at - checked >= CHECK:
                checked = at
                copier.check()
        elif at - tried >= AGAIN[copier.state] * pace:
            tried, seen = at, None
            copier.copy_new()
        if _status(copier) != said:
            said = _say(copier)
        if ended.wait(LOOK):
            return


def _stamp(record: Path) -> tuple[int, ...] | None:
    """When the record's files changed last (ns), and how large they are."""
    try:
        stats = [os.stat(record)]
    except OSError:
        return None
    try:
        stats.append(os.stat(f"{record}-wal"))
    except OSError:
        pass
    return (
        max(one.st_mtime_ns for one in stats),
        *(number for one in stats for number in (one.st_mtime_ns, one.st_size, one.st_ino)),
    )


def _status(copier: Copier) -> tuple[str, int, str, str, bool]:
    return copier.state, copier.number, copier.stick.hex(), copier.why, copier.little


def _say(copier: Copier) -> tuple[str, int, str, str, bool]:
    status = _status(copier)
    print(json.dumps(dict(zip(("state", "number", "stick", "why", "little"), status))), flush=True)
    return status


def _until_the_end(ended: threading.Event) -> None:
    try:
        while sys.stdin.readline():
            pass
    finally:
        ended.set()


if __name__ == "__main__":
    sys.exit(main())
