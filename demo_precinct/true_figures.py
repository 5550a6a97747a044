"""What really happened in one invented day: the figures that the officials will read off screens, tapes and piles.

Made from a seed for the demo, or around the tape figures of a published results file. Nothing here knows how the product adds up.
"""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from webapp.precinct.place.place import Contest, Place

SHARE = (0.13, 0.08, 0.06, 0.06, 0.08, 0.08, 0.06, 0.06, 0.07, 0.11, 0.12, 0.07, 0.02)


@dataclass
class Truth:
    """One place's day. Ballots by precinct; contests by tabulator in the balance's shapes; what was set aside; how the day filled up."""

    place: Place
    tapes: dict[str, dict[str, int]]  # tabulator -> precinct -> ballots
    contests: dict[str, dict[str, dict]]  # tabulator -> contest -> {ballots, votes, write_in, under, over}
    spoiled: dict[str, int] = field(default_factory=dict)  # style -> ballots in the envelope
    provisional: int = 0
    left: int = 0
    taken: int = 0
    unnoted_taken: int = 0  # carried off and noted by nobody: the story's gap
    found: int = 0  # left in a booth or given back unmarked: spoiled with no other given, in the spoiled envelope
    drop_off: int = 0  # sealed absentee envelopes handed in
    moved: dict[str, int] = field(
        default_factory=dict
    )  # style -> resupply less what was sent on, less what packs lacked
    planned: dict[str, int] = field(default_factory=dict)  # notes that a made-up day will hold, by kind
    emergency: dict[str, int] = field(default_factory=dict)  # box -> ballots that waited and were fed
    write_in_bin: dict[str, int] = field(default_factory=dict)  # box -> ballots in its write-in bin
    lifetime: dict[str, int] = field(default_factory=dict)
    apart: dict[str, dict[str, dict[str, dict]]] = field(
        default_factory=dict
    )  # tabulator -> precinct -> contest -> row, where its tape prints them so

    @property
    def ballots(self) -> int:
        return sum(n for rows in self.tapes.values() for n in rows.values())

    def on_tape(self, tabulator: str) -> int:
        return sum(self.tapes[tabulator].values())

    def check_ins(self) -> dict[str, int]:
        """By precinct: who cast a ballot here, and who left without; provisional voters where the place puts them into the book."""
        found = {p.id: sum(rows.get(p.id, 0) for rows in self.tapes.values()) for p in self.place.precincts}
        first = next(iter(found))
        found[first] += (
            self.left
            + self.taken
            + self.unnoted_taken
            + self.found
            + (self.provisional if self.place.rules.provisional_in_poll_book else 0)
        )
        return found

    def unused(self) -> dict[str, int]:
        """By style: what came less what was drawn. Styles follow precincts in their order."""
        drawn = {s.style: self.spoiled.get(s.style, 0) for s in self.place.stock}
        for style in self.place.styles:
            if style.id in drawn:
                drawn[style.id] += sum(rows.get(p, 0) for rows in self.tapes.values() for p in style.precincts)
        first = next(iter(drawn))
        drawn[first] += self.taken + self.unnoted_taken + self.provisional
        return {s.style: s.received + self.moved.get(s.style, 0) - drawn[s.style] for s in self.place.stock}

    def by_hour(self, part: float) -> dict[str, int]:
        """Public counters when this part of the day is over."""
        return {t: round(self.on_tape(t) * part) for t in self.tapes}


def parts(count: int) -> list[float]:
    """How much of the day is over at each reading: mornings and evenings are busy."""
    shape = [SHARE[i % len(SHARE)] for i in range(count + 1)]
    total, run, found = sum(shape), 0.0, []
    for share in shape[:count]:
        run += share / total
        found.append(run)
    return found


def invented(place: Place, seed: int) -> Truth:
    """A day of about 600 ballots for the demo's place."""
    rng = random.Random(seed)
    tapes, contests, apart = {}, {}, {}
    for i, tabulator in enumerate(place.tabulators):
        tapes[tabulator.id] = {p.id: rng.randint(120, 190) - 20 * i for p in place.precincts}
        if place.split():
            apart[tabulator.id] = by_precinct(place, tapes[tabulator.id], rng)
            rows = [row for mine in apart[tabulator.id].values() for row in mine.items()]
            ids = dict.fromkeys(id for id, _ in rows)
            contests[tabulator.id] = {id: together([row for other, row in rows if other == id]) for id in ids}
            continue
        contests[tabulator.id] = {
            c.id: contest_row(c, carrying(place, c, tapes[tabulator.id]), rng) for c in place.typed_contests()
        }
    write_ins = {
        t.box: min(sum(row.get("write_in", 0) for row in contests[t.id].values()), sum(tapes[t.id].values()))
        for t in place.tabulators
    }
    return Truth(place, tapes, contests, write_in_bin=write_ins, lifetime=lifetimes(place), apart=apart)


def by_precinct(place: Place, tape: Mapping[str, int], rng: random.Random) -> dict[str, dict[str, dict]]:
    """Rows of each precinct for the contests on its ballots."""
    return {
        p: {c.id: contest_row(c, n, rng) for c in place.typed_contests() if carrying(place, c, {p: n})}
        for p, n in tape.items()
    }


def together(rows: Sequence[dict]) -> dict:
    """Figures of one contest added up over precincts."""
    found: dict = {"ballots": 0, "votes": {}, "under": 0, "over": 0}
    for row in rows:
        for key in ("ballots", "under", "over", *(("write_in",) if "write_in" in row else ())):
            found[key] = found.get(key, 0) + row[key]
        found["votes"] = {choice: found["votes"].get(choice, 0) + n for choice, n in row["votes"].items()}
    return found


def lifetimes(place: Place) -> dict[str, int]:
    """Protective counters when the equipment left the office."""
    return {t.id: t.lifetime if t.lifetime is not None else 9000 + 417 * i for i, t in enumerate(place.tabulators)}


def carrying(place: Place, contest: Contest, tape: Mapping[str, int]) -> int:
    """Ballots of these precincts whose style carries the contest."""
    return sum(n for p, n in tape.items() if any(p in s.precincts and contest.id in s.contests for s in place.styles))


def contest_row(contest: Contest, ballots: int, rng: random.Random) -> dict:
    """A tape's figures for one contest that add up: n votes a ballot, some undervotes, a few overvoted ballots."""
    over, places = (rng.randint(0, 2) if ballots > 20 else 0), contest.n * ballots
    left = places - over * contest.n
    under = rng.randint(0, left // 8)
    write_in = rng.randint(0, max(left // 40, 1)) if contest.write_in and left > under else 0
    votes, rest = {}, left - under - write_in
    for i, choice in enumerate(contest.choices):
        share = rest if i == len(contest.choices) - 1 else min(rest, round(rest * rng.uniform(0.3, 0.6)))
        votes[choice.id], rest = share, rest - share
    row = {"ballots": ballots, "votes": votes, "under": under, "over": over}
    return row | ({"write_in": write_in} if contest.write_in else {})
