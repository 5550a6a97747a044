"""The lists of totals that one contest may have in the pattern, least number of ballots first, and that least number.

One contest of c choices, L write-in lines, vote for n: with totals M in sum and T the greatest, it needs max(T, ceil(M / n)) ballots,
since nobody is marked twice on a ballot; dealing the marks round reaches this, so the number is exact.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import count, islice

from webapp.deck.positions import DeckContest

Totals = tuple[int, ...]  # of each position: choices, then lines
MOST_PARTITIONS = 30  # surpluses tried for one window, line total and number of further votes
LARGEST_WINDOW = 1000  # ballots; a contest that needs more is refused


def least_totals(choices: int, lines: int, step: int = 0) -> Totals:
    """The least totals: lines 1 + step each; choices the smallest numbers that rise, exceed a line and differ from the lines' sum."""
    line = 1 + step if lines else 0
    written = lines * line
    found: list[int] = []
    number = line + 1
    while len(found) < choices:
        if number != written or not lines:
            found.append(number)
        number += 1
    if found and found[-1] < written:
        found[-1] = written + 1
    return (*found, *[line] * lines)


def window(totals: Sequence[int], n: int) -> int:
    """Ballots that these totals need: the greatest total, or their sum dealt n a ballot."""
    return max(max(totals, default=0), -(-sum(totals) // n))


def partitions(total: int, parts: int, largest: int, flat: bool = False) -> Iterator[tuple[int, ...]]:
    """Partitions of a number into at most so many falling parts, the largest first part first; `flat`: the smallest first."""
    if total == 0:
        yield ()
        return
    least, most = -(-total // parts) if parts else total + 1, min(total, largest)
    for first in range(least, most + 1) if flat else range(most, least - 1, -1):
        for rest in partitions(total - first, parts - 1, first, flat):
            yield (first, *rest)


@lru_cache(maxsize=4096)
def candidates(choices: int, lines: int, n: int, ballots: int, straight: bool = False) -> tuple[Totals, ...]:
    """Lists of totals whose window is exactly this many ballots, in canonical order: line step, further votes, their partition.

    `straight`: where straight votes come on top, further votes are also spread evenly, so that the first choices too may grow.
    """
    found: list[Totals] = []
    for step in count() if lines else (0,):
        least = least_totals(choices, lines, step)
        if window(least, n) > ballots:
            break
        for further in range(n * ballots - sum(least) + 1 if choices else 1):
            for flat in (False, True) if straight else (False,):
                found += _with_surplus(least, choices, n, ballots, further, flat)
    return tuple(found)


def _with_surplus(least: Totals, choices: int, n: int, ballots: int, further: int, flat: bool) -> list[Totals]:
    """The first lists that spread these further votes over the choices, the last choice most, and fill exactly the window."""
    room = ballots - max(least)  # what the greatest total may still grow
    if -(-(sum(least) + further) // n) == ballots:
        ways = partitions(further, choices, room, flat)
    elif room:  # then only the greatest total can fill the window
        ways = (
            (room, *rest) for rest in partitions(further - room, choices - 1, room, flat) if further >= room and choices
        )
    else:
        ways = iter([()] if not further else [])
    found = []
    for way in islice(ways, MOST_PARTITIONS):
        totals = list(least)
        for i, more in enumerate(way):
            totals[choices - 1 - i] += more
        found.append(tuple(totals))
    return found


def all_candidates(choices: int, lines: int, n: int, straight: bool = False) -> Iterator[tuple[int, Totals]]:
    """(window, totals) for every list of totals, least window first, up to the largest window."""
    for ballots in range(window(least_totals(choices, lines), n), LARGEST_WINDOW + 1):
        for totals in candidates(choices, lines, n, ballots, straight):
            yield ballots, totals


def least_window(contests: Sequence[DeckContest], parties: Sequence[str] = ()) -> int:
    """The least number of pattern ballots for these contests on one style.

    m contests of one shape must have m different lists of totals, else two of them exchanged as a whole would change no figure.
    `parties`: of the straight-party contest; the i-th gives each of its choices i + 2 votes, and figures differ with and without them.
    """
    alike: dict[tuple[int, int, int, Totals], int] = {}
    for contest in contests:
        given = tuple(_straight_votes(contest, p, parties) for p in range(len(contest.choices)))
        key = (len(contest.choices), contest.lines, contest.n, given if any(given) else ())
        alike[key] = alike.get(key, 0) + 1
    return max((_nth_window(*key, many) for key, many in alike.items()), default=0)


def _straight_votes(contest: DeckContest, choice: int, parties: Sequence[str]) -> int:
    return sum(i + 2 for i, party in enumerate(parties) if choice in contest.party_positions(party))


def _nth_window(choices: int, lines: int, n: int, given: Totals, many: int) -> int:
    found = 0
    for ballots, totals in all_candidates(choices, lines, n, bool(given)):
        cells = [*map(sum, zip(totals, given, strict=False)), *((sum(totals[choices:]),) if lines else ())]
        found += not given or len(set(cells)) == len(cells)
        if found == many:
            return ballots
    return LARGEST_WINDOW
