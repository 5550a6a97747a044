"""Arranges a balance for a screen or paper: a heading, each open line with its two sides, the lines that agree in a few words.

Sentences of single lines are in `line_sentences`, those of causes in `explain.sentences`; tablet and desk use this one arrangement.
Thousands are marked here; `line_sentences` leaves numbers as typed, since a seal's number may be among them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.all_lines import EXPLAINED
from webapp.precinct.balance.balance import Balance, Line, Unchecked
from webapp.precinct.balance.figure_words import MISSING
from webapp.precinct.balance.line_words import LINES

NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
NOTHING = (
    "No one, two or three usual mistakes give exactly these gaps. Read the typed figures again from the paper, and let another pair count again what was counted by hand. "
    "If nothing is found, the remark says so: cause unknown is an answer."
)


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a line: its figure, its noun, and what it is made of."""

    n: int
    words: str
    parts: str


@dataclass(frozen=True, slots=True)
class OpenLine:
    """A line that is off: both sides, the gap in words, notes; `within` are its scopes (precincts, styles) that are off too."""

    line: Line
    title: str
    left: Side
    right: Side
    way: str
    within: tuple["OpenLine", ...] = ()

    @property
    def short(self) -> str:
        """One of several scopes in a sentence: "Style 3A: 280 against 279, 1 more ballot drawn than accounted for"."""
        return f"{capital(', '.join(line_sentences.scope_words(self.line.scope)))}: {self.left.n:,} against {self.right.n:,}, {self.way[:1].lower() + self.way[1:]}."

    @property
    def worse(self) -> bool:
        """Whether parts go two ways and one of them is off by more than the sum: a crossed pair that the sum hides."""
        gaps = [part.line.gap for part in self.within]
        return (
            bool(self.line.gap)
            and bool(gaps)
            and max(map(abs, gaps)) > abs(self.line.gap)
            and min(gaps) < 0 < max(gaps)
        )

    @property
    def worst_first(self) -> tuple["OpenLine", ...]:
        """The parts, the farthest off first."""
        return tuple(sorted(self.within, key=lambda part: -abs(part.line.gap)))

    @property
    def do(self) -> str:
        """What to do next, where no explanation says it."""
        said = LINES.get(self.line.id.split(":")[0])
        return said.do if said else ""

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines shown here, the sum first."""
        return tuple(line for line in (self.line, *(told.line for told in self.within)) if line.gap)


@dataclass(frozen=True, slots=True)
class AgreeingLines:
    """The lines of one kind that agree."""

    title: str
    says: str
    lines: tuple[Line, ...]


def open_lines(balance: Balance) -> tuple[OpenLine, ...]:
    """The lines that are off: each sum with its open scopes under it, so that a gap in both is read once."""
    scoped: dict[str, list[Line]] = {}
    for line in balance.gaps:
        if line.scope and any(line.id == whole.id and not whole.scope for whole in balance.lines):
            scoped.setdefault(line.id, []).append(line)
    open_ones = [
        line
        for line in balance.lines
        if (line.gap and line not in scoped.get(line.id, ())) or (not line.scope and line.id in scoped)
    ]
    return tuple(
        _told(line, tuple(_told(part) for part in (scoped.get(line.id, ()) if not line.scope else ())))
        for line in open_ones
    )


def _told(line: Line, within: tuple[OpenLine, ...] = ()) -> OpenLine:
    words = LINES[line_sentences.key_of(line.id, line.scope)]
    return OpenLine(
        line,
        title(line.id, line.scope),
        _side(line.left, words.left, line.left_of, line.id),
        _side(line.right, words.right, line.right_of, line.id),
        capital(line_sentences.way(line.id, line.gap, line.scope)),
        within,
    )


def _side(n: int, words: tuple[str, str], of: Sequence[tuple[str, int]], id: str) -> Side:
    made = [
        f"{'less ' if part < 0 else ''}{abs(part):,} {line_sentences.figure(key, part, id)}" for key, part in of if part
    ]
    return Side(n, capital(line_sentences.some(n, words).split(" ", 1)[1]), ", ".join(made) if len(made) > 1 else "")


def capital(words: str) -> str:
    """Returns these words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def title(id: str, scope: Any = None) -> str:
    """A line as a title: "Poll book, precinct P3"."""
    kind, _, of = id.partition(":")
    about = line_sentences.scope_words(scope)
    return ", ".join(
        [
            (LINES[kind].title if kind in LINES else capital(kind)).format(
                of=line_sentences.subject(kind, of).replace(":", " on ")
            ),
            *about,
        ]
    )


def after_title(line: Line) -> str:
    """The sentence of a line after its title, which names its precinct or style already."""
    return capital(line.says.removeprefix(", ".join(line_sentences.scope_words(line.scope)) + ": "))


def _plural(title: str) -> bool:
    """Whether a title names several things: "Bins of T1" and "People by slips" do, "Public counter of T1" does not. The words before "of" decide."""
    noun = (
        title.partition(",")[0]
        .partition(" of ")[0]
        .partition(" by ")[0]
        .partition(" issued")[0]
        .partition(" set aside")[0]
        .partition(" unfolded")[0]
    )
    return noun.endswith(("s", "People", "after all")) and not noun.endswith("ss")


def way(line: Line) -> str:
    """A gap in words, for after a title: "1 more check-in than ballots"."""
    return line_sentences.way(line.id, line.gap, line.scope)


def heading(balance: Balance, remarked: bool = False) -> str:
    """What the page says first: how many lines are off, by how many and which way; what is not checked yet; seals apart from ballots.

    `remarked`: every gap has its signed remark. A part of the lines never speaks for all of them.
    """
    off = open_lines(balance)
    ballots, seals = [one for one in off if not of_seals(one)], [one for one in off if of_seals(one)]
    lacking = len(balance.unchecked)
    lacks = f", {lacking:,} not checked yet" if lacking else ""
    if not off:
        agree = len(balance.lines)
        if not agree:
            return "No line can be checked yet" if lacks else "Every line agrees"
        return f"{agree:,} line{' agrees' if agree == 1 else 's agree'}{lacks}" if lacks else "Every line agrees"
    if remarked:
        n = len(off)
        return f"{NUMBERS[n] if n < len(NUMBERS) else n} gap{'' if n == 1 else 's'}, {('', 'with a signed remark', 'both with a signed remark')[n] if n < 3 else 'each with a signed remark'}"
    parts = [part for part in (_off(ballots), _seals_off(seals)) if part]
    lack = f"; {lacking:,} line{' is' if lacking == 1 else 's are'} not checked yet" if lacking else ""
    return capital("; ".join(parts)) + lack


def of_seals(one: OpenLine) -> bool:
    """Whether a line is about seals: those have a heading of their own."""
    return one.line.id.split(":")[0] in ("seals", "seal-stock")


def _seals_off(seals: Sequence[OpenLine]) -> str:
    if not seals:
        return ""
    differ = sum(one.line.id.startswith("seals:") for one in seals)
    missing = [f"{differ} seal{' differs' if differ == 1 else 's differ'}"] if differ else []
    stock = next((one for one in seals if one.line.id == "seal-stock"), None)
    return " and ".join([*missing, *([f"seals issued are off by {abs(stock.line.gap):,}"] if stock else [])])


def _off(off: Sequence[OpenLine]) -> str:
    """The lines of ballots that are off. Parts that are worse than their sum are said first: a crossed pair hides in a sum."""
    if not off:
        return ""
    crossed = next((one for one in off if one.worse), None)
    if crossed:
        names = [capital(", ".join(line_sentences.scope_words(part.line.scope))) for part in crossed.worst_first[:2]]
        said = f"{' and '.join(names)} are off against each other" if len(names) > 1 else f"{names[0]} is off"
        rest = len(off) - 1
        return f"{crossed.title}: {said}" + (f"; {rest} more line{' is' if rest == 1 else 's are'} off" if rest else "")
    gaps = [one.line.gap for one in off]
    number = NUMBERS[len(off)] if len(off) < len(NUMBERS) else f"{len(off):,}"
    sizes = {abs(gap) for gap in gaps}
    if len(off) == 1:
        are, do = ("are", "do") if _plural(off[0].title) else ("is", "does")
        return f"{off[0].title} {f'{are} off by {abs(gaps[0]):,}' if gaps[0] else f'{do} not agree part by part'}"
    if len(sizes) == 1 and 0 not in sizes:
        return f"{number} lines are off by {sizes.pop():,}, {'the same way' if len({gap > 0 for gap in gaps}) == 1 else 'not all the same way'}"
    return f"{number} lines are off"


def level(balance: Balance) -> tuple[AgreeingLines, ...]:
    """The lines that agree, by kind. Scopes of a line whose sum is off are left to the full sentences."""
    kinds: dict[str, list[Line]] = {}
    for line in balance.lines:
        kinds.setdefault(line.id.split(":")[0], []).append(line)
    found = []
    for kind, lines in kinds.items():
        agree = tuple(line for line in lines if not line.gap)
        sums = [line for line in lines if not line.scope or set(line.scope) & {"unit", "box", "after", "sheet"}]
        mine = [line for line in sums if not line.gap]
        if agree and (mine or not sums):
            words = LINES[kind].agree if kind in LINES else (capital(kind), "{k} of {all}")
            found.append(
                AgreeingLines(
                    words[0],
                    words[1].format(
                        n=f"{sum(line.left for line in mine):,}", k=len(mine or agree), all=len(sums or lines)
                    ),
                    agree,
                )
            )
    return tuple(found)


def lacking(lack: Unchecked) -> str:
    """A line that is not drawn yet, and what it misses, in words."""
    missing = [MISSING.get(key.split(".")[-1], key.replace("_", " ")) for key in lack.missing]
    scope = {key: value for key, value in (lack.scope or {}).items() if value is not None}
    return f"{title(lack.id, scope)}: missing {', '.join(dict.fromkeys(missing))}"


def eyebrow(balance: Balance) -> str:
    """The line above the strongest explanation: how many mistakes for how many gaps, or that none is usual."""
    open_ones = [one for one in open_lines(balance) if one.line.id.split(":")[0] in EXPLAINED]
    if not open_ones:
        return ""
    if not balance.explanations:
        return "Consistent with no usual mistake"
    n = len(balance.explanations[0].because)
    return f"Consistent with {'the gap' if len(open_ones) == 1 else 'both gaps' if len(open_ones) == 2 else 'all of these gaps'}, by {('one mistake', 'two mistakes', 'three mistakes')[n - 1]}"
