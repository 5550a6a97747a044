"""Board days of an invented county, played ballot by ballot: what is there, what is done with it, what somebody writes down wrong.

Shares nothing with the product. `a_day(seed, mistakes)` gives the figures as the JSON of `tapeseal balance` and the mistakes that were truly
made. Rates of the everyday events are our own judgement, near the figures of the trade (an unreadable ballot in some 64 sheets).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from random import Random

CODES = {  # bits, as the page gives them: the higher, the rarer
    "ballots-miscounted": 3,
    "left-in-envelope": 3,
    "aside-unlogged": 3,
    "not-fed": 3,
    "empty-unlogged": 4,
    "two-unlogged": 4,
    "envelopes-miscounted": 4,
    "fed-twice": 4,
    "aside-fed": 4,
    "counter-misread": 4,
    "order": 4,
    "header-counted": 5,
    "batch-fed-twice": 5,
    "batch-not-listed": 5,
    "fed-again-later": 5,
    "counter-reset": 6,
    "strayed": 6,
}
OF_ENVELOPES = {"left-in-envelope", "empty-unlogged", "two-unlogged", "envelopes-miscounted"}
BY_THE_BALLOT = OF_ENVELOPES - {"envelopes-miscounted"} | {
    "aside-unlogged",
    "not-fed",
    "fed-twice",
    "aside-fed",
    "strayed",
}


@dataclass
class Batch:
    """What truly lies in a batch: ballots by precinct, and what was done with them."""

    id: str
    kind: str
    tabulator: str
    day: str
    ballots: Counter
    envelopes: int = 0
    empty: int = 0
    twos: int = 0
    aside: int = 0
    written: dict[str, int] = field(default_factory=dict)  # figures written otherwise than they are
    over: int = 0  # the counter moved by so many more than the ballots that should be fed
    listed: bool = True
    refed: int = 0  # ballots of an earlier batch that went through again just before this one
    reset: bool = False
    misread: dict[str, int] = field(default_factory=dict)  # counter figure -> what was written less what it said

    @property
    def n(self) -> int:
        return sum(self.ballots.values())


@dataclass
class Day:
    """The figures as handed in, and what was truly done wrong."""

    figures: dict
    truth: list[dict]
    batch: int


def _precincts(rng: Random) -> dict[str, int]:
    return {f"P{k}": rng.choice((14, 60, 110, 200, 340)) for k in range(1, rng.randint(1, 4) + 1)}


def _first_batches(rng: Random, size: int) -> list[Batch]:
    """Trays of each precinct, made into batches; a small rest goes to the batch before, a small precinct to a batch of the next."""
    found: list[Batch] = []
    for precinct, envelopes in _precincts(rng).items():
        left = envelopes
        while left:
            take = left if left < size * 3 // 2 else size
            empty = sum(rng.random() < 0.006 for _ in range(take))
            twos = sum(rng.random() < 0.004 for _ in range(take))
            found.append(Batch("", "first", "", "", Counter({precinct: take - empty + twos}), take, empty, twos))
            left -= take
    if rng.random() < 0.3 and len(found) > 1 and found[0].n < size:
        small, next_one = found[0], found[1]
        next_one.ballots += small.ballots
        next_one.envelopes, next_one.empty, next_one.twos = (
            next_one.envelopes + small.envelopes,
            next_one.empty + small.empty,
            next_one.twos + small.twos,
        )
        found = found[1:]
    for batch in found:
        batch.aside = sum(rng.random() < 0.02 for _ in range(batch.n))
    return found


def _where_fed(rng: Random, batches: list[Batch]) -> tuple[list[str], list[str]]:
    """Every batch on a tabulator and a day, in the order of feeding."""
    tabulators = [f"A{k}" for k in range(1, rng.choice((1, 1, 2, 3)) + 1)]
    days = ["1", "2"][: rng.choice((1, 1, 2))]
    for place, batch in enumerate(batches):
        batch.day = days[min(len(days) - 1, place * len(days) // len(batches))]
        batch.tabulator = rng.choice(tabulators)
    return tabulators, days


def _remade(rng: Random, batches: list[Batch], tabulators: list[str], day: str) -> tuple[list[Batch], Counter, int]:
    """What becomes of the ballots set aside; duplicates and ballots fed after all make batches of their own. Also how many serials were voided."""
    outcomes: Counter = Counter()
    again: dict[str, Counter] = {"duplicated": Counter(), "fed-after-all": Counter()}
    for batch in batches:
        pile = list(batch.ballots.elements())
        for precinct in rng.sample(pile, batch.aside):
            outcome = rng.choices(
                ("duplicated", "fed-after-all", "hand-counted", "not-counted", "waiting"), (55, 20, 12, 8, 5)
            )[0]
            outcomes[outcome, precinct] += 1
            if outcome in again:
                again[outcome][precinct] += 1
    more = [
        Batch("", kind, rng.choice(tabulators), day, ballots)
        for kind, ballots in (("duplicates", again["duplicated"]), ("again", again["fed-after-all"]))
        if ballots
    ]
    return more, outcomes, rng.choice((0, 0, 1, 2))


def _name(batches: list[Batch]) -> None:
    numbers: Counter = Counter()
    for batch in batches:
        letter = {"first": "B", "duplicates": "D", "again": "G"}[batch.kind]
        numbers[letter] += 1
        batch.id = f"{letter}{numbers[letter]:03}"


def _ballots(rng: Random) -> int:
    return rng.choices((1, 2, 3, 4, rng.randint(5, 12)), (70, 17, 6, 3, 4))[0]


def _pile(rng: Random) -> int:
    return rng.choices((1, 2, 25), (75, 20, 5))[0] * rng.choice((1, -1))


def slips_of(figure: int) -> set[int]:
    """What a usual slip writes for this figure: two digits swapped, one misread, one dropped, a final 0 more or less, or 1 off."""
    w = str(figure)
    found = (
        {w[:i] + d + w[i + 1 :] for i in range(len(w)) for d in "0123456789"}
        | {w[:i] + w[i + 1 :] for i in range(len(w))}
        | {w + "0"}
    )
    found |= {w[:i] + w[j] + w[i + 1 : j] + w[i] + w[j + 1 :] for i in range(len(w)) for j in range(i + 1, len(w))}
    return {int(t) for t in found if t and (t == "0" or t[0] != "0")} - {figure} | {figure + 1, abs(figure - 1)} - {
        figure
    }


class Mistakes:
    """Makes mistakes in the batches of one day and keeps what was made; a batch bears one of each kind at the most."""

    def __init__(self, rng: Random, batches: list[Batch]):
        self.rng, self.batches, self.truth = rng, batches, []

    def same_machine(self, batch: Batch) -> list[Batch]:
        return [other for other in self.batches if (other.tabulator, other.day) == (batch.tabulator, batch.day)]

    def make(self, code: str, batch: Batch) -> bool:
        """Whether this mistake could be made in this batch."""
        if any(true["batch"] == batch.id and true["code"] == code for true in self.truth):
            return False
        made = getattr(self, code.replace("-", "_"))(batch)
        if made is not None:
            self.truth.append({"code": code, "batch": batch.id, **made})
        return made is not None

    def ballots_miscounted(self, b: Batch) -> dict | None:
        by = _pile(self.rng)
        if b.n + by < 1:
            return None
        b.written["ballots"] = b.written.get("ballots", 0) + by
        return {"by": by}

    def left_in_envelope(self, b: Batch) -> dict | None:
        n = _ballots(self.rng)
        if b.kind != "first" or n >= b.n - b.aside:
            return None
        self._take_out(b, n)
        b.written["envelopes"] = b.written.get("envelopes", 0)
        return {"ballots": n}

    def _take_out(self, b: Batch, n: int) -> None:
        for precinct in self.rng.sample(list(b.ballots.elements()), n):
            b.ballots[precinct] -= 1

    def aside_unlogged(self, b: Batch) -> dict | None:
        n = _ballots(self.rng)
        if n >= b.n - b.aside:
            return None
        b.over -= n
        return {"ballots": n}

    not_fed = aside_unlogged

    def empty_unlogged(self, b: Batch) -> dict | None:
        n = min(_ballots(self.rng), b.empty)
        if b.kind != "first" or not n:
            return None
        b.written["empty"] = -n
        return {"ballots": n}

    def two_unlogged(self, b: Batch) -> dict | None:
        n = min(_ballots(self.rng), b.twos)
        if b.kind != "first" or not n:
            return None
        b.written["extra"] = -n
        return {"ballots": n}

    def envelopes_miscounted(self, b: Batch) -> dict | None:
        by = _pile(self.rng)
        if b.kind != "first" or b.envelopes + by < 1:
            return None
        b.written["envelopes"] = b.written.get("envelopes", 0) + by
        return {"by": by}

    def fed_twice(self, b: Batch) -> dict | None:
        n = _ballots(self.rng)
        if n > b.n - b.aside:
            return None
        b.over += n
        return {"ballots": n}

    def aside_fed(self, b: Batch) -> dict | None:
        n = min(_ballots(self.rng), b.aside)
        b.over += n
        return {"ballots": n} if n else None

    def header_counted(self, b: Batch) -> dict | None:
        b.over += 1
        return {}

    def batch_fed_twice(self, b: Batch) -> dict | None:
        n = b.n - b.aside
        if n < 1:
            return None
        b.over += n
        return {"ballots": n}

    def counter_misread(self, b: Batch) -> dict | None:
        b.misread[self.rng.choice(("before", "after"))] = self.rng.randint(0, 10**9)
        return {"figure": next(reversed(b.misread))}

    def counter_reset(self, b: Batch) -> dict | None:
        if self.same_machine(b)[0] is b:
            return None
        b.reset = True
        return {}

    def batch_not_listed(self, b: Batch) -> dict | None:
        mine = self.same_machine(b)
        at = mine.index(b)
        if (
            at == 0
            or not mine[at - 1].listed
            or not b.listed
            or any(true["batch"] == mine[at - 1].id for true in self.truth)
            or mine[at - 1].over
        ):
            return None
        mine[at - 1].listed = False
        return {"after": mine[at - 2].id if at > 1 else "zero", "ballots": mine[at - 1].n - mine[at - 1].aside}

    def fed_again_later(self, b: Batch) -> dict | None:
        mine = [
            one
            for one in self.same_machine(b)[: self.same_machine(b).index(b)]
            if one.listed and not one.over and one.n - one.aside > 0
        ]
        if not mine:
            return None
        earlier = mine[-1] if self.rng.random() < 0.6 else self.rng.choice(mine)
        b.refed += earlier.n - earlier.aside
        return {"of": earlier.id, "ballots": earlier.n - earlier.aside}

    def order(self, b: Batch) -> dict | None:
        mine = self.same_machine(b)
        at = mine.index(b)
        if at + 1 >= len(mine) or any(one.reset or one.refed or not one.listed for one in mine):
            return None
        other = mine[at + 1] if self.rng.random() < 0.8 else self.rng.choice(mine[at + 1 :])
        return {"with": other.id}

    def strayed(self, b: Batch) -> dict | None:
        n = _ballots(self.rng)
        others = [
            one
            for one in self.batches
            if one is not b
            and one.listed
            and one.kind == "first"
            and not any(one.id in true.values() for true in self.truth)
        ]
        if not others or n >= b.n - b.aside or b.kind != "first":
            return None
        to = self.rng.choice(others)
        b.over, to.over = b.over - n, to.over + n
        return {"to": to.id, "ballots": n}


def _written(batch: Batch, counter: dict[str, int], rng: Random, truth: list[dict]) -> dict:
    """One batch as it is handed in, its counter readings as they were written; moves the counter on."""
    on = batch.tabulator
    counter[on] = (0 if batch.reset else counter[on]) + batch.refed
    before = counter[on]
    counter[on] = after = before + batch.n - batch.aside + batch.over
    said = {"before": before, "after": after}
    for figure, draw in batch.misread.items():
        likely = said[figure]
        slips = sorted(s for s in slips_of(likely) if (s <= after if figure == "before" else s >= before))
        if not slips:
            continue
        said[figure] = slips[draw % len(slips)]
        next(true for true in truth if true["code"] == "counter-misread" and true["batch"] == batch.id)["likely"] = (
            likely
        )
    row = {
        "id": batch.id,
        "kind": batch.kind,
        "tabulator": on,
        "day": batch.day,
        "aside": batch.aside,
        "counter": [said["before"], said["after"]],
    }
    ballots = {precinct: n for precinct, n in batch.ballots.items() if n}
    if "ballots" in batch.written or len(ballots) == 1 or rng.random() < 0.1:
        row["ballots"] = batch.n + batch.written.get("ballots", 0)
        if len(ballots) == 1:
            row["precinct"] = next(iter(ballots))
    else:
        row["ballots"] = [{"precinct": precinct, "n": n} for precinct, n in sorted(ballots.items())]
    if batch.kind == "first":
        row |= {
            key: figure + batch.written.get(key, 0)
            for key, figure in (("envelopes", batch.envelopes), ("empty", batch.empty), ("extra", batch.twos))
        }
    return row


def _made(rng: Random, batches: list[Batch], mistakes: int, even: bool) -> list[dict]:
    """So many mistakes, the second in the same batch or the next one in half of the days; codes by how usual they are, or all alike."""
    made, near = Mistakes(rng, batches), None
    weights = [1 if even else 2.0**-bits for bits in CODES.values()]
    for _ in range(500):
        if len(made.truth) == mistakes:
            break
        batch = (
            rng.choice(batches)
            if near is None or rng.random() < 0.5
            else near
            if rng.random() < 0.6
            else batches[min(len(batches) - 1, batches.index(near) + 1)]
        )
        if batch.listed and made.make(rng.choices(list(CODES), weights)[0], batch):
            near = batch
    return made.truth


def _exchanged(batches: list[Batch], truth: list[dict]) -> list[Batch]:
    """The list as it was written: two entries change places where that was the mistake."""
    found = list(batches)
    for true in truth:
        if true["code"] == "order":
            one, two = (next(k for k, b in enumerate(found) if b.id == id) for id in (true["batch"], true["with"]))
            found[one], found[two] = found[two], found[one]
            true["batch"], true["with"] = found[one].id, found[two].id
    return found


def _by_precinct(figures: dict, batches: list[Batch], outcomes: Counter, rejected: int, held: int) -> None:
    """The figures of a day without mistakes once more, by precinct: what a batch of two precincts held besides ballots goes to the first of them."""
    ballots, empty, twos = Counter(), Counter(), Counter()
    for batch in batches:
        if batch.kind == "first":
            main = min(batch.ballots)
            ballots += batch.ballots
            empty[main] += batch.empty
            twos[main] += batch.twos
    envelopes = {p: n + empty[p] - twos[p] for p, n in ballots.items()}
    first = min(envelopes)
    received = {p: n + (rejected + held if p == first else 0) for p, n in envelopes.items()}
    parts = {"received": received, "rejected": {first: rejected}, "held": {first: held}, "empty": empty, "extra": twos}
    figures["board"]["envelopes"] = {
        key: [{"precinct": p, "n": n} for p, n in sorted(part.items())] for key, part in parts.items()
    }
    cast = Counter(ballots)
    for (outcome, precinct), n in outcomes.items():
        cast[precinct] -= n if outcome in ("hand-counted", "not-counted", "waiting") else 0
    if len(figures["tabulators"]) == 1:
        figures["tabulators"][0]["tape"] = [{"precinct": p, "n": n} for p, n in sorted(cast.items())]


def a_day(seed: int, mistakes: int = 0, even: bool = False) -> Day:
    """One board day; with `even` every kind of mistake is as likely as any other."""
    rng = Random(seed)
    size = rng.choice((25, 25, 25, 50))
    batches = _first_batches(rng, size)
    tabulators, days = _where_fed(rng, batches)
    more, outcomes, void = _remade(rng, batches, tabulators, days[-1])
    batches += more
    _name(batches)
    envelopes = sum(batch.envelopes for batch in batches)
    rejected, held = rng.randint(0, 6), rng.randint(0, 4)
    truth = _made(rng, batches, mistakes, even)
    zero = {id: rng.choice((0, 0, rng.randint(1, 60))) for id in tabulators}
    counter, rows = dict(zero), {}
    for batch in batches:
        rows[batch.id] = _written(batch, counter, rng, truth)
    truth = [true for true in truth if true["code"] != "counter-misread" or "likely" in true]
    listed = [rows[batch.id] for batch in _exchanged(batches, truth) if batch.listed]
    first = rng.randint(1, 400)
    carriers = rng.randint(1, 6)
    tapes = [
        {
            "id": id,
            "counter_at_zero": zero[id],
            "counter_at_close": counter[id],
            "tape": sum(b.n - b.aside + b.over + b.refed for b in batches if b.tabulator == id),
        }
        for id in tabulators
    ]
    figures = {
        "board": {
            "carriers": {"received": carriers, "opened": carriers},
            "list": envelopes,
            "envelopes": {
                "received": envelopes + rejected + held,
                "rejected": rejected,
                "held": held,
                "empty": sum(row.get("empty", 0) for row in rows.values()),
                "extra": sum(row.get("extra", 0) for row in rows.values()),
            },
            "batches": listed,
            "problems": {
                outcome: [{"precinct": p, "n": n} for (o, p), n in sorted(outcomes.items()) if o == outcome]
                for outcome in {o for o, _ in outcomes}
            },
            "serials": {
                "first": first,
                "next": first + sum(n for (o, _), n in outcomes.items() if o == "duplicated") + void,
                "void": void,
            },
        },
        "tabulators": tapes,
    }
    if not mistakes:
        _by_precinct(figures, batches, outcomes, rejected, held)
    if len(days) == 2:
        sleeves, shut = rng.randint(0, 700), rng.randint(0, 90)
        figures["days"] = [
            {"id": "1", "sleeves_end": sleeves, "envelopes_end": shut},
            {"id": "2", "sleeves_start": sleeves, "envelopes_start": shut},
        ]
    return Day(figures, truth, size)
