"""The deck measured on drawn place files: `python tests/deck/measures.py [N [FIRST]]` plays every fault on places FIRST to N (0 to 200) and prints what it finds.

For each place: every ordinary fault in the tests' own tabulator must change the tape; ballots against the least number; and from each of some
faulty tapes the true fault must come among the first three answers of the comparison.
"""

import random
import sys
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

from deck.drawn_places import drawn_place  # noqa: E402 - found through the path above
from deck.fault_player import Reader, as_counter, as_typed, count, faults, memories, programmed  # noqa: E402
from webapp.deck import comparison, diagnosis  # noqa: E402
from webapp.deck.deck import Deck, build  # noqa: E402
from webapp.deck.plan import plan  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402

EXTRA = ("precinct", "tabulator", "refuse")


@dataclass
class Measured:
    """What one or many places gave."""

    places: int = 0
    played: int = 0
    hidden: list[str] = field(default_factory=list)
    wrong_tapes: list[int] = field(default_factory=list)
    ratios: list[float] = field(default_factory=list)
    straight: list[float] = field(default_factory=list)  # the same with straight party
    asked: int = 0
    missed: list[str] = field(default_factory=list)


def deck_of(text: str) -> Deck:
    return build(plan(place_file.read(text.encode())))


def count_ballots(deck: Deck, into: Measured) -> None:
    """The ballots of a deck against the least number, without those of further precincts, of the tabulators, and the cards."""
    least = sum(style["minimum"] for style in deck.as_json()["styles"])
    (into.straight if deck.plan.straight else into.ratios).append(
        sum(row.kind not in EXTRA for row in deck.rows) / least
    )


def measure(seed: int, into: Measured, ask: int = 10) -> None:
    """Play every fault on one drawn place, and ask the comparison about some of the tapes."""
    text = drawn_place(seed)
    deck = deck_of(text)
    program, shown = programmed(tomllib.loads(text)), deck.as_json()
    rows = [row for row in shown["rows"] if row["kind"] != "refuse"]
    right = count(program, rows, "T1", Reader())
    into.places += 1
    if right != as_counter(shown["expected"]["T1"]):
        into.wrong_tapes.append(seed)
    count_ballots(deck, into)
    tapes = []
    for name, faulty in faults(program, rows):
        tape = faulty(rows, right)
        into.played += 1
        if tape == right:
            into.hidden.append(f"{seed}: {name}")
        elif name.split()[0] not in ("deck", "card"):  # the comparison names a ballot, not a whole deck
            tapes.append((name, tape))
    for name, together, tape in memories(program, rows, list(deck.plan.tabulators)):
        into.played += 1
        if together != as_counter(shown["expected"]["together"]):
            into.wrong_tapes.append(seed)
        if tape == together:
            into.hidden.append(f"{seed}: {name}")
    rng = random.Random(seed)
    kinds: dict[str, list] = {}
    for name, tape in tapes:
        kinds.setdefault(name.split()[0], []).append((name, tape))
    for _ in range(ask):
        name, tape = rng.choice(kinds[rng.choice(sorted(kinds))])
        _ask(deck, seed, name, as_typed(tape, shown["expected"]["T1"], "T1"), into)


def _ask(deck: Deck, seed: int, name: str, typed: dict, into: Measured) -> None:
    """Whether the true fault is among the first three answers: an answer that gives exactly the typed tape and names the same kind."""
    into.asked += 1
    found = diagnosis.explain(deck, comparison.compare(deck, typed))[:3]
    said = [one.fault for one in found if one.exact]
    if not any(_names(name, one, found) for one in said):
        into.missed.append(f"{seed}: {name} -> {[one.as_json(deck.plan) for one in found]}")


PRODUCT_KIND = {"missing": "contest-missing", "contests": "contests-exchanged", "report": "report-contests"}


def _names(name: str, one, found) -> bool:
    """Whether an answer is this fault, or a twin that is the same program."""
    kind = name.split()[0]
    facts = repr(one.as_json())
    if kind in ("exchange", "shift", "reversed", "rearranged", "labels"):
        twins = ("exchange", "shift", "reversed", "order", "rearranged", "labels")
        return one.kind in twins and _overlaps(name, facts)
    if kind == "read-as":  # where each of the line's ballots marks the choice too, it is the very tape of a dead line
        return one.kind in ("read-as", "dead") and _overlaps(name, facts)
    if kind in ("row-missed", "row-twice"):  # the first of the ballots like it is named
        return one.kind == kind
    if "counted" in name:
        return one.kind == "style"
    if "filed" in name or "exchanged" in name:
        return one.kind in ("precinct", "precincts-exchanged")
    return one.kind == PRODUCT_KIND.get(kind, kind) and _overlaps(name, facts)


def _overlaps(name: str, facts: str) -> bool:
    """Whether the answer names a contest of the fault."""
    return (
        any(
            f"'{word}'" in facts
            for word in name.replace("(", " ").replace(")", " ").replace(",", " ").replace("'", " ").split()
            if word[:1] in "KS"
        )
        or "shift-all" in facts
    )


def main(places: int, first: int = 0) -> None:
    into = Measured()
    for seed in range(first, places):
        measure(seed, into)
    print(
        f"{into.places} places, {into.played} faults played, {len(into.hidden)} hidden; expected tapes wrong: {into.wrong_tapes}"
    )
    print(f"ballots over the least: median {median(into.ratios):.3f}, worst {max(into.ratios):.3f}")
    print(f"with straight party: median {median(into.straight):.3f}, worst {max(into.straight):.3f}")
    print(f"true fault among the first three: {1 - len(into.missed) / into.asked:.4f} of {into.asked}")
    print(*into.hidden[:20], *into.missed[:20], sep="\n")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]) if len(sys.argv) > 1 else (200,))
