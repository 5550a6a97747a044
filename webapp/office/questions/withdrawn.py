"""A finding that two parties withdraw: it changes no figure any more. The record keeps both, and every page shows it as withdrawn.

A withdrawal names findings by the ids of their entries, so that it is a function of the set of entries: which of them
came first changes nothing, and a withdrawal is never taken back. What was right after all is found again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.questions.findings import Finding

KIND = "finding-withdrawn"


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Entry `number` of the office's record, the ids of the findings that it withdraws, and the reason as written."""

    number: int
    findings: frozenset[bytes]
    words: str = ""


def of_entry(entry: Any, words: str = "") -> Withdrawal:
    """A `finding-withdrawn` entry of the office's record as what it withdraws."""
    return Withdrawal(entry.number, frozenset(bytes(row["finding"]) for row in entry.body["findings"]), words)


def by_finding(withdrawals: Sequence[Withdrawal]) -> dict[bytes, Withdrawal]:
    """Id of a finding -> what withdrew it; of several the lowest entry."""
    return {id: one for one in sorted(withdrawals, key=lambda one: -one.number) for id in one.findings}


def in_force(findings: Sequence[Finding], withdrawals: Sequence[Withdrawal]) -> list[Finding]:
    """The findings that nobody withdrew, in their order."""
    gone = by_finding(withdrawals)
    return [one for one in findings if one.id not in gone]


def of_one_act(findings: Sequence[Finding], acts: Mapping[int, bytes], chosen: Finding) -> list[Finding]:
    """The finding and those that were signed with it as one corrected return: what was signed as one is withdrawn as one. `acts`: entry -> its act."""
    act = acts.get(chosen.number)
    return [one for one in findings if one.number == chosen.number or act is not None and acts.get(one.number) == act]


def body_of(place: str, rows: Sequence[tuple[Finding, str]]) -> dict[str, Any]:
    """The body of a withdrawal: each (finding, what its figure is called) with entry and figures, so that it can be read by itself."""
    told = [
        {"finding": f.id, "entry": f.number, "figure": f.figure, "label": label, "was": f.was, "is": f.is_}
        for f, label in rows
    ]
    return {"place": place, "findings": told}
