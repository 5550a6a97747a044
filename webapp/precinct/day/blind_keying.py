"""Figures keyed blind by two people: nothing of the first set is shown until the second is in.

Until then only who has keyed which step can be asked. Once a second person has keyed, or the step itself is recorded,
both sets may be seen side by side for the comparison with the paper.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.record.entry import Entry


@dataclass(frozen=True, slots=True)
class Keying:
    """One person's set of figures, open to be read. `time` in milliseconds UTC."""

    number: int
    of: str  # the step's id
    at: str
    by: str
    time: int
    figures: Mapping[str, Any]


class BlindKeying:
    """Sets by task key. `by(key)` names who has keyed; `open(key)` gives the sets, and none while one waits for the second."""

    def __init__(self) -> None:
        self._sets: dict[str, list[Keying]] = {}
        self._settled: set[str] = set()

    def add(self, entry: Entry) -> tuple[Keying, ...]:
        """Fold one `keying` entry; the sets that it opens. A person who keys again before the second set is in replaces their own set."""
        body = entry.body
        keying = Keying(
            entry.number,
            body["of"],
            body.get("at") or "",
            entry.signers[0].person,
            entry.happened,
            body.get("figures") or {},
        )
        key = f"{keying.of}:{keying.at}" if keying.at else keying.of
        sets = self._sets.setdefault(key, [])
        if len(sets) == 1 and sets[0].by == keying.by and key not in self._settled:
            sets.clear()
        sets.append(keying)
        return self.open(key)

    def settle(self, key: str) -> tuple[Keying, ...]:
        """The step itself was recorded: its sets wait for nobody any longer, and may be seen."""
        self._settled.add(key)
        return self.open(key)

    def begin_again(self) -> None:
        """Another round: what was keyed before it is no set of the next one."""
        self._sets.clear()
        self._settled.clear()

    def by(self, key: str) -> tuple[str, ...]:
        """Who has keyed this step, in order."""
        return tuple(keying.by for keying in self._sets.get(key, ()))

    def open(self, key: str) -> tuple[Keying, ...]:
        """The sets, oldest first; empty while the only set waits for the second."""
        sets = self._sets.get(key, ())
        return tuple(sets) if len(sets) > 1 or key in self._settled else ()

    def waiting(self) -> tuple[str, ...]:
        """Keys of the steps that one person has keyed and that wait for the second."""
        return tuple(key for key, sets in self._sets.items() if len(sets) == 1 and key not in self._settled)
