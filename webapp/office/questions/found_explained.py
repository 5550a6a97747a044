"""What gaps are consistent with once the desk has found a figure otherwise: nothing says that the found figure itself was typed or counted wrong."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from webapp.office.questions.findings import Finding
from webapp.precinct.balance.balance import Balance
from webapp.precinct.balance.explanation import Explanation

SLIPS = frozenset({"miskeyed", "miscounted"})
MOST = 2  # mistakes at once: three beside a figure that two parties just looked at are a guess


def after_findings(balance: Balance, findings: Sequence[Finding]) -> Balance:
    """The balance with the explanations that are left: of two mistakes at most, none of them a slip of a found figure, each sentence once."""
    found, told, left = [one.figure.split("/") for one in findings], set[str](), list[Explanation]()
    for one in balance.explanations or ():
        facts = [mistake.as_json() for mistake in one.because]
        if len(facts) <= MOST and one.says not in told and not any(slip_of(fact, found) for fact in facts):
            told.add(one.says)
            left.append(one)
    return replace(balance, explanations=tuple(left))


def slip_of(fact: Mapping[str, Any], found: Sequence[Sequence[str]]) -> bool:
    """Whether a mistake says that one of these figures (kind, thing, what it is a part of ...) was typed or counted wrong."""
    if fact["code"] not in SLIPS:
        return False
    own = {str(value) for value in fact.get("scope", {}).values()} | {fact[k] for k in ("tabulator",) if k in fact}
    return any(fact.get("figure") in (parts[0], *parts[1:2]) and own <= set(parts) for parts in found)
