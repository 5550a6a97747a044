"""What a gap is consistent with, as facts that a balance carries; the room `explain` finds them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol


class Facts(Protocol):
    """One mistake of an explanation."""

    def as_json(self) -> dict[str, Any]: ...


class MistakeFacts(Facts, Protocol):
    """One at a place. `between`: the clock times of the two readings between which it showed; None where no reading tells."""

    @property
    def between(self) -> tuple[str | None, str | None] | None: ...


@dataclass(frozen=True)
class ConsistentWith:
    """A set of mistakes that adds up, in words, and where to look. Answers with the same `tie` cannot be told apart by these figures."""

    because: Sequence[Facts]
    says: str
    look: str
    tie: int

    def as_json(self) -> dict[str, Any]:
        """The object in `explanations` of `tapeseal balance`."""
        return {
            "because": [mistake.as_json() for mistake in self.because],
            "says": self.says,
            "look": self.look,
            "tie": self.tie,
        }


@dataclass(frozen=True)
class Explanation(ConsistentWith):
    """What the lines of a place are consistent with.

    alone: the words without "cannot be told apart", for a list whose heading says so. cost: in bits; the higher, the
    rarer. contradicted: the readings of the day are against it.
    """

    because: Sequence[MistakeFacts]
    alone: str = ""
    cost: float = 0.0
    contradicted: bool = False


@dataclass(frozen=True)
class RuledOut:
    """A mistake that would close a line, and the line that contradicts it."""

    mistake: MistakeFacts
    line: str
    says: str

    def as_json(self) -> dict[str, Any]:
        """The object in `ruled_out` of `tapeseal balance`."""
        return {**self.mistake.as_json(), "line": self.line, "says": self.says}
