"""What the check of an archive found: what agrees, what does not and is named, what was not checked."""

from dataclasses import dataclass, field


@dataclass
class Findings:
    """Sentences; `differs` with the name of the file that is wrong first."""

    agrees: list[str] = field(default_factory=list)
    differs: list[tuple[str, str]] = field(default_factory=list)
    unchecked: list[str] = field(default_factory=list)

    def wrong(self, name: str, words: str) -> None:
        """Adds a difference: `name` is the file or figure it is about, `words` one sentence for people."""
        self.differs.append((name, words))

    @property
    def ok(self) -> bool:
        return not self.differs

    @property
    def named(self) -> set[str]:
        return {name for name, _ in self.differs}
