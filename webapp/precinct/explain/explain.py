"""Finds what open gaps are consistent with: the cheapest sets of ordinary mistakes that give exactly the gaps seen. Never a finding.

Sets of one or two mistakes; of three only if there is none. Answers the readings contradict come last. Answers that the figures cannot
tell apart share a tie. `ruled_out` names a mistake that another line contradicts, never one that is in any set.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.precinct.balance.balance import Balance, drawn_balance
from webapp.precinct.balance.explanation import Explanation, RuledOut
from webapp.precinct.balance.line import Line
from webapp.precinct.balance.night_figures import NightFigures, read
from webapp.precinct.explain import sentences
from webapp.precinct.explain.against_readings import ReadingResidues, readings_of
from webapp.precinct.explain.lines_to_explain import LinesToExplain
from webapp.precinct.explain.mistakes import Family, Mistake
from webapp.precinct.explain.possible_mistakes import families
from webapp.precinct.explain.search import ENOUGH, Found, Rays, SearchChoice, as_mistakes
from webapp.precinct.explain.search_triples import triples


@dataclass(frozen=True)
class Answer:
    """A set compared with the readings, and what it is ranked by."""

    mistakes: tuple[Mistake, ...]
    cost: float
    contradicted: bool

    @property
    def order(self) -> tuple[Any, ...]:
        """Returns the sort key of answers: not contradicted first, then fewer bits, fewer mistakes, fewer ballots; ties are settled the same way every time."""
        ranks = tuple(mistake.family.rank for mistake in self.mistakes)
        return (
            self.contradicted,
            self.cost,
            len(self.mistakes),
            sum(mistake.ballots for mistake in self.mistakes),
            ranks,
            str([m.as_json() for m in self.mistakes]),
        )


def explained(figures: Mapping[str, Any], hours: int = 24) -> Balance:
    """Every line of these figures and what open gaps are consistent with, in words for a clock of 12 or 24 `hours`. Raises `Unreadable` naming the key."""
    night = read(figures)
    found = drawn_balance(night)
    explanations, ruled_out = explain(night, found.lines, hours)
    return replace(found, explanations=explanations, ruled_out=ruled_out)


def explain(
    night: NightFigures, drawn: Iterable[Line], hours: int
) -> tuple[tuple[Explanation, ...], tuple[RuledOut, ...]]:
    """(explanations, ruled-out mistakes) for the open lines; both empty where no line that can be explained is open."""
    lines = LinesToExplain(drawn)
    if not lines.gaps:
        return (), ()
    here = families(night, lines)
    readings = readings_of(night)
    rays = Rays(here, lines.gaps, readings.fell)
    found = [*rays.singles(), *rays.pairs()]
    excluded = ruled_out(here, rays, lines) if found else ()
    return worded(rank(found or list(triples(rays)), readings), readings, hours), excluded


def rank(found: list[Found], readings: ReadingResidues) -> list[list[Answer]]:
    """Answers in groups that cannot be told apart, the cheapest group first; ten answers at most."""
    answers = cheapest(found, readings)
    by_twin: dict[Any, list[Answer]] = {}
    for answer in answers:
        by_twin.setdefault(twin_key(answer.mistakes), []).append(answer)
    ties: dict[Any, list[Answer]] = {}
    for twins in by_twin.values():
        ties.setdefault((twins[0].contradicted, twins[0].cost), []).extend(twins)
    groups, left = [], ENOUGH
    for key in sorted(ties):
        if left > 0:
            groups.append(sorted(ties[key], key=lambda answer: answer.order)[:left])
            left -= len(groups[-1])
    return groups


def cheapest(found: list[Found], readings: ReadingResidues) -> list[Answer]:
    """The ten best answers, and the twins of those among the rest."""
    found.sort(key=lambda one: one.cost)
    kept: list[Answer] = []
    against: list[Answer] = []
    for n, one in enumerate(found):
        full = len(kept) >= ENOUGH and one.cost > kept[-1].cost
        if full:
            kept += twins_in(found[n:], kept, readings)
            break
        answer = held(one, readings)
        (against if answer.contradicted else kept).append(answer)
    kept.sort(key=lambda answer: answer.order)
    against.sort(key=lambda answer: answer.order)
    return kept + against[:ENOUGH]


def twins_in(rest: list[Found], kept: Sequence[Answer], readings: ReadingResidues) -> list[Answer]:
    """Dearer twins of answers already taken."""
    keys = {twin_key(answer.mistakes) for answer in kept}
    named = {
        TWINS.get((choice.family.code, dict(choice.family.keys).get("disposition")))
        for answer in kept
        for choice in answer.mistakes
    }
    if named == {None}:
        return []
    some = [one for one in rest if any(twin_name(choice.family) for choice in one.choices)]
    return [held(one, readings) for one in some if twin_key(as_mistakes(one)) in keys]


def held(found: Found, readings: ReadingResidues) -> Answer:
    mistakes = as_mistakes(found)
    return Answer(mistakes, found.cost, readings.contradict(mistakes))


TWINS = {
    ("checked-in-twice", None): "one more check-in",
    ("unrecorded", "left"): "one more check-in",
    ("unrecorded", "taken"): "one ballot gone",
    ("unrecorded", "emergency"): "one ballot gone",
}


def twin_name(family: Family) -> str | None:
    """The name that a mistake shares with its twins; None where it has none."""
    return TWINS.get((family.code, dict(family.keys).get("disposition")))


def twin_key(mistakes: Sequence[Mistake]) -> Any:
    """A key that is equal for sets that differ only in twins: mistakes of one effect that no figure can tell apart."""
    return tuple(
        sorted(
            (
                (twin_name(m.family), m.family.effects, m.n, ())
                if twin_name(m.family)
                else (m.code, m.family.effects, m.n, (m.family.keys, m.family.scope))
                for m in mistakes
            ),
            key=str,
        )
    )


def worded(groups: list[list[Answer]], readings: ReadingResidues, hours: int) -> tuple[Explanation, ...]:
    """The answers in words, each mistake with the readings between which it showed."""
    found = []
    for tie, group in enumerate(groups, 1):
        for answer in group:
            mistakes = answer.mistakes if answer.contradicted else readings.between(answer.mistakes)
            says = sentences.explanation(mistakes, answer.contradicted, len(group) > 1, hours)
            alone = sentences.explanation(mistakes, answer.contradicted, False, hours)
            look = sentences.where_to_look(mistakes)
            found.append(Explanation(mistakes, says, look, tie, alone, answer.cost, answer.contradicted))
    return tuple(found)


def ruled_out(here: Iterable[Family], rays: Rays, lines: LinesToExplain) -> tuple[RuledOut, ...]:
    """Single mistakes of ordinary size that close an open line and that another line contradicts; the usual ones first."""
    found = []
    for family in here:
        for n in sizes_that_close(family, lines):
            cost = family.size.cost(n)
            against = next((line for line, effect in family.effects if effect * n != lines.gaps.get(line, 0)), None)
            if cost is None or against is None or rays.has_partner(SearchChoice(cost, family, n)):
                continue
            mistake = Mistake(family, n)
            expected = dict(family.effects)[against] * n
            found.append(
                (
                    cost,
                    family.rank,
                    str(family.scope),
                    RuledOut(
                        mistake, lines.lines[against].id, sentences.ruled_out(mistake, lines.lines[against], expected)
                    ),
                )
            )
    return tuple(one for *_, one in sorted(found, key=lambda entry: entry[:3]))


def sizes_that_close(family: Family, lines: LinesToExplain) -> list[int]:
    """The ordinary sizes in which this mistake is exactly the gap of an open line; a sum only where its own scope is open too."""
    gaps, here = lines.gaps, [(lines.lines[line], line, effect) for line, effect in family.effects]
    shut = {found.id for found, line, _ in here if found.scope and line not in gaps}
    found = {
        gaps[line] // effect
        for found, line, effect in here
        if line in gaps and gaps[line] % effect == 0 and (found.scope or found.id not in shut)
    }
    return sorted(n for n in found if n and family.size.usual(n))
