"""The facts of the printed packet, in plain words and whole numbers, ready to be typeset.

`contents.account` fills them from a packet and its place file; `paper/packet_pages.py` draws them and knows nothing else.
"""

from dataclasses import dataclass

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "- - twenty thirty forty fifty sixty seventy eighty ninety".split()
_THOUSANDS = ((10**9, "billion"), (10**6, "million"), (1000, "thousand"))


def in_words(figure: int) -> str:
    """A whole number from 0 to 10**12 - 1 in words, as on a statement of votes: 431 is "four hundred thirty-one"."""
    if not 0 <= figure < 10**12:
        raise ValueError(f"{figure} has no words here")
    for unit, name in (*_THOUSANDS, (100, "hundred")):
        if figure >= unit:
            above, rest = divmod(figure, unit)
            return f"{in_words(above)} {name}" + (f" {in_words(rest)}" if rest else "")
    tens, ones = divmod(figure, 10)
    return _ONES[figure] if figure < 20 else _TENS[tens] + (f"-{_ONES[ones]}" if ones else "")


@dataclass(frozen=True, slots=True)
class AccountRow:
    """One row of the ballot account or of a contest. `figure` None prints as "not taken"; `total` draws the double rule below."""

    label: str
    figure: int | None
    total: bool = False

    @property
    def words(self) -> str:
        return "not taken" if self.figure is None else in_words(self.figure)


@dataclass(frozen=True, slots=True)
class Gap:
    """A line that is off: a sentence with both figures, and the remark that two parties signed ("" while there is none)."""

    sentence: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """Check words (4-4-4) of the record after this entry, and when they were copied: "zero tape", "noon", "close", "hand-over"."""

    entry: int
    words: str
    when: str = ""


@dataclass(frozen=True, slots=True)
class PrintedSigner:
    """A row to be signed in ink: role and party. The name is written by hand."""

    role: str
    party: str


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark in full: its subject, its words, who signed it (roles and parties) and when."""

    about: str
    text: str
    signed: str = ""


@dataclass(frozen=True, slots=True)
class PrintedContest:
    """One contest as keyed from the tape: title, "vote for n", rows (choices, write-ins, undervotes, overvotes, ballots)."""

    title: str
    n: int
    rows: tuple[AccountRow, ...]


@dataclass(frozen=True, slots=True)
class AccountPages:
    """A whole packet for paper. Times and dates are words in the place's own clock.

    `digest` is 64 hex digits; `amends` such a digest, or "".
    """

    place: str
    county: str
    election: str
    date: str
    number: int
    mode: str  # "live" or "practice": practice is stamped on every page
    digest: str
    made: str
    rows: tuple[AccountRow, ...]
    gaps: tuple[Gap, ...] = ()
    marks: tuple[Mark, ...] = ()
    restored: str = ""  # what happened to the laptop, "" where it was one all night
    signers: tuple[PrintedSigner, ...] = ()
    short_signed: tuple[str, ...] = ()  # one sentence each: which step, who signed, who did not and why
    remarks: tuple[Remark, ...] = ()
    contests: tuple[PrintedContest, ...] = ()
    amends: str = ""
    parts: tuple[PrintedContest, ...] = ()  # a count board's account by precinct
