"""One figure of a paper as two people keyed it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyedTwice:
    """One figure of a paper: its control's name, its section, its line, and the two keyings (None: left empty)."""

    name: str
    section: str
    label: str
    first: int | None
    second: int | None

    @property
    def differs(self) -> bool:
        return self.first != self.second
