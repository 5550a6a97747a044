"""One figure of a paper as two people keyed it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyedTwice:
    """Its control's name, the section of the paper it stands in, its line, and the two keyings (None: left empty)."""

    name: str
    section: str
    label: str
    first: int | None
    second: int | None

    @property
    def differs(self) -> bool:
        return self.first != self.second
