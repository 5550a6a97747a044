"""One line of a contest before and after: between two editions, or before and after a recount."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ChangedLine:
    """Votes of one line; None: it was in no figure, or is not on the paper."""

    words: str
    before: int | None
    after: int | None

    @property
    def apart(self) -> int:
        """How many more there are after than before."""
        return (self.after or 0) - (self.before or 0)
