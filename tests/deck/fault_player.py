"""A tabulator of the tests' own, fed a deck ballot by ballot, with faults put into it. It shares no line with the product.

It reads the place file with the standard TOML reader and the deck as the product wrote it (`deck.json`), and counts each ballot by itself:
marks in, votes out. A fault changes how one ballot is read, or what the report does with the figures.
"""

import itertools
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

Oval = tuple[str, str]
Tape = Counter  # ("votes", contest, choice), ("write_in" | "under" | "over" | "ballots", contest), ("precinct", id), ("all",)


@dataclass
class Programmed:
    """What the tabulator knows: contests by id, styles by id with their ovals in printed order, and the rules."""

    contests: dict[str, dict[str, Any]]
    styles: dict[str, list[Oval]]
    precincts: list[str]
    straight: str
    over_as_votes: bool


def programmed(place: dict[str, Any]) -> Programmed:
    """The program of a place file as `tomllib` gives it."""
    test = place.get("test", {})
    contests = {}
    for contest in place["contests"]:
        lines = contest.get("write_in_lines", contest["n"]) if contest.get("write_in") else 0
        straight = contest["id"] == test.get("straight")
        contests[contest["id"]] = {
            "n": contest["n"],
            "choices": [c["id"] for c in contest["choices"]],
            "lines": [f"+{i + 1}" for i in range(lines)],
            "party": {c["id"]: c.get("party", c["id"] if straight else "") for c in contest["choices"]},
        }
    styles = {}
    for style in place["styles"]:
        ovals: list[Oval] = []
        for id in style["contests"]:
            order = style.get("order", {}).get(id, contests[id]["choices"])
            ovals += [(id, choice) for choice in [*order, *contests[id]["lines"]]]
        styles[style["id"]] = ovals
    precincts = [p["id"] for p in place["precincts"]]
    return Programmed(
        contests, styles, precincts, test.get("straight", ""), place["rules"].get("overvotes", "ballots") == "votes"
    )


@dataclass
class Reader:
    """How ballots of one style are read: what each oval is taken for, and what else goes wrong."""

    taken_for: Callable[[str, set[Oval], dict], set[Oval]] = lambda style, marks, row: marks
    counted_as: Callable[[str], str] = lambda style: style
    allowed: Callable[[str, str, int], int] = lambda style, contest, n: n
    dropped: Callable[[str, str], bool] = lambda style, contest: False
    filed: Callable[[str], str] = lambda precinct: precinct


RIGHT = Reader()
AS_IT_IS = (RIGHT.counted_as, RIGHT.allowed, RIGHT.dropped, RIGHT.filed)


def count(program: Programmed, rows: list[dict], tabulator: str, reader: Reader) -> Tape:
    """The tape of these ballots."""
    tape: Tape = Counter()
    for row in rows:
        times = row.get("feeds", {}).get(tabulator, 1)
        if row["kind"] == "refuse" or not times:
            continue
        for cell, more in ballot(program, row, reader).items():
            tape[cell] += more * times
    return +tape


def ballot(program: Programmed, row: dict, reader: Reader) -> Tape:
    """What one ballot adds to the tape."""
    tape: Tape = Counter({("all",): 1, ("precinct", reader.filed(row["precinct"])): 1})
    marks = {(c, p) for c, ps in row["marks"].items() for p in ps}
    marks = reader.taken_for(row["style"], marks, row)
    style = reader.counted_as(row["style"])
    contests = list(dict.fromkeys(c for c, _ in program.styles[style]))
    straight = [p for c, p in marks if c == program.straight]
    party = program.contests[program.straight]["party"][straight[0]] if len(straight) == 1 else None
    for contest in contests:
        if not reader.dropped(row["style"], contest):
            one_contest(
                program,
                contest,
                marks,
                party,
                reader.allowed(row["style"], contest, program.contests[contest]["n"]),
                tape,
            )
    return tape


def one_contest(program: Programmed, contest: str, marks: set[Oval], party: str | None, n: int, tape: Tape) -> None:
    known = program.contests[contest]
    own = [p for c, p in marks if c == contest]
    tape["ballots", contest] += 1
    if len(own) > n:
        tape["over", contest] += n if program.over_as_votes else 1
        return
    if not own and party and contest != program.straight:
        given = [choice for choice in known["choices"] if known["party"][choice] == party]
        own = given if len(given) <= n else []
    for p in own:
        tape[("write_in", contest) if p.startswith("+") else ("votes", contest, p)] += 1
    tape["under", contest] += n - len(own)


def faults(program: Programmed, rows: list[dict]) -> Iterator[tuple[str, Callable[[list[dict], Tape], Tape]]]:
    """(name, what gives the faulty tape) for each ordinary fault of a deck. `shown` compares it with the right one."""
    for style, ovals in program.styles.items():
        yield from _of_ovals(program, style, ovals, any(row.get("fold") for row in rows if row.get("style") == style))
        yield from _of_contests(program, style, list(dict.fromkeys(c for c, _ in ovals)))
        for other in program.styles:
            if program.styles[other] != ovals:
                yield f"{style} counted as {other}", _reading(program, _as_other(program, style, other))
    yield from _of_feeding(program, rows)
    yield from _of_the_report(program)
    for a, b in itertools.permutations(program.precincts, 2):
        yield f"{a} filed under {b}", _reading(program, Reader(filed=lambda p, a=a, b=b: b if p == a else p))
    for a, b in itertools.combinations(program.precincts, 2):
        yield f"{a} and {b} exchanged", _reading(program, Reader(filed=lambda p, a=a, b=b: {a: b, b: a}.get(p, p)))


def _reading(program: Programmed, reader: Reader):
    return lambda rows, right: recounted(program, rows, right, reader)


def recounted(program: Programmed, rows: list[dict], right: Tape, reader: Reader) -> Tape:
    """The tape under a fault: each ballot that is read in another way is taken off the right tape and counted again."""
    tape = Counter(right)
    only_ovals = (reader.counted_as, reader.allowed, reader.dropped, reader.filed) == AS_IT_IS
    for row in rows:
        marks = {(c, p) for c, ps in row["marks"].items() for p in ps}
        if only_ovals and reader.taken_for(row["style"], marks, row) == marks:
            continue
        times = row.get("feeds", {}).get("T1", 1)
        for sign, how in ((-1, RIGHT), (1, reader)):
            for cell, more in ballot(program, row, how).items():
                tape[cell] += sign * more * times
    return +tape


def mapped(style: str, taken: dict[Oval, Oval | None]) -> Reader:
    """Ovals of one style taken for others (None: not read)."""

    def read(at: str, marks: set[Oval], row: dict) -> set[Oval]:
        return {got for mark in marks if (got := taken.get(mark, mark))} if at == style else marks

    return Reader(read)


def _of_ovals(program: Programmed, style: str, ovals: list[Oval], folds: bool):
    for a, b in itertools.combinations(ovals, 2):
        if not (a[0] == b[0] and a[1][0] == b[1][0] == "+"):
            yield f"exchange {style} {a} {b}", _reading(program, mapped(style, {a: b, b: a}))
    for oval in ovals:
        yield f"dead {style} {oval}", _reading(program, mapped(style, {oval: None}))
        always = Reader(lambda at, marks, row, o=oval: marks | {o} if at == style else marks)
        yield f"stuck {style} {oval}", _reading(program, always)
        if folds:
            creased = Reader(lambda at, marks, row, o=oval: marks | {o} if at == style and row.get("fold") else marks)
            yield f"fold {style} {oval}", _reading(program, creased)
    for by in (1, -1):
        moved = {oval: ovals[i + by] if 0 <= i + by < len(ovals) else None for i, oval in enumerate(ovals)}
        yield f"shift-all {style} {by}", _reading(program, mapped(style, moved))


def _of_contests(program: Programmed, style: str, contests: list[str]):
    for contest in contests:
        known = program.contests[contest]
        choices = [(contest, p) for c, p in program.styles[style] if c == contest and p[0] != "+"]
        if len(choices) > 1:
            for by in (1, -1):
                yield (
                    f"shift {style} {contest} {by}",
                    _reading(program, mapped(style, dict(zip(choices, choices[by:] + choices[:by], strict=True)))),
                )
            yield (
                f"reversed {style} {contest}",
                _reading(program, mapped(style, dict(zip(choices, choices[::-1], strict=True)))),
            )
            if len(choices) <= 4:
                for turned in itertools.permutations(choices):
                    if list(turned) != choices:
                        yield (
                            f"rearranged {style} {turned}",
                            _reading(program, mapped(style, dict(zip(choices, turned, strict=True)))),
                        )
        for line in known["lines"]:
            for choice in known["choices"]:
                yield (
                    f"read-as {style} {contest} {line} {choice}",
                    _reading(program, mapped(style, {(contest, line): (contest, choice)})),
                )
        for n in (known["n"] - 1, known["n"] + 1):
            if n:
                wrong = Reader(
                    allowed=lambda at, c, right, n=n, contest=contest: n if (at, c) == (style, contest) else right
                )
                yield f"wrong-n {style} {contest} {n}", _reading(program, wrong)
        yield (
            f"missing {style} {contest}",
            _reading(program, Reader(dropped=lambda at, c, contest=contest: (at, c) == (style, contest))),
        )
    for a, b in _alike(program, contests):
        ovals_a, ovals_b = (
            [(c, p) for p in program.contests[c]["choices"] + program.contests[c]["lines"]] for c in (a, b)
        )
        if len(ovals_a) == len(ovals_b):
            swapped = {**dict(zip(ovals_a, ovals_b, strict=True)), **dict(zip(ovals_b, ovals_a, strict=True))}
            yield f"contests {style} {a} {b}", _reading(program, mapped(style, swapped))


def _alike(program: Programmed, contests: list[str]):
    def shape(c: str) -> tuple:
        known = program.contests[c]
        return len(known["choices"]), bool(known["lines"]), known["n"]

    return [
        (a, b)
        for a, b in itertools.combinations(contests, 2)
        if shape(a) == shape(b) and program.straight not in (a, b)
    ]


def _as_other(program: Programmed, style: str, other: str) -> Reader:
    """Ballots of one style counted by another's ovals, place by place."""
    places = dict(zip(program.styles[style], program.styles[other], strict=False))
    return Reader(
        lambda at, marks, row: {places[mark] for mark in marks if mark in places} if at == style else marks,
        counted_as=lambda at: other if at == style else at,
    )


def _of_feeding(program: Programmed, rows: list[dict]):
    """A ballot not fed, one fed twice; the whole deck twice; a card taken in that should be handed back (as a blank ballot of any style)."""
    for row in rows:
        one = ballot(program, row, RIGHT)
        yield f"row-missed {row['id']}", lambda rows, right, one=one: less(right, one)
        yield f"row-twice {row['id']}", lambda rows, right, one=one: right + one
    yield "deck twice", lambda rows, right: right + right
    for style in program.styles:
        blank = {"style": style, "precinct": program.precincts[0], "marks": {}}
        yield f"card taken as {style}", lambda rows, right, blank=blank: right + ballot(program, blank, RIGHT)


def less(tape: Tape, one: Tape) -> Tape:
    found = Counter(tape)
    found.subtract(one)
    return +found


def memories(program: Programmed, rows: list[dict], tabulators: list[str]) -> Iterator[tuple[str, Tape, Tape]]:
    """(name, the right sum of all tapes, the sum under the fault): one memory twice, one not at all, or both."""
    tapes = {t: count(program, rows, t, RIGHT) for t in tabulators}
    right = sum(tapes.values(), Counter())
    for t in tabulators:
        yield f"memory {t} twice", right, right + tapes[t]
        yield f"memory {t} not", right, less(right, tapes[t])
    for twice, instead in itertools.permutations(tabulators, 2):
        yield f"memory {twice} twice, {instead} not", right, less(right + tapes[twice], tapes[instead])


def _of_the_report(program: Programmed):
    """Labels of one contest, and two whole contests, exchanged over all styles."""
    for contest, known in program.contests.items():
        cells = [("votes", contest, c) for c in known["choices"]] + ([("write_in", contest)] if known["lines"] else [])
        for a, b in itertools.combinations(cells, 2):
            yield f"labels {a} {b}", lambda rows, right, a=a, b=b: relabeled(right, {a: b, b: a})
    for a, b in _alike(program, list(program.contests)):
        pairs = {}
        for kind in ("write_in", "under", "over", "ballots"):
            pairs |= {(kind, a): (kind, b), (kind, b): (kind, a)}
        for x, y in zip(program.contests[a]["choices"], program.contests[b]["choices"], strict=True):
            pairs |= {("votes", a, x): ("votes", b, y), ("votes", b, y): ("votes", a, x)}
        yield f"report {a} {b}", lambda rows, right, pairs=pairs: relabeled(right, pairs)


def relabeled(tape: Tape, names: dict) -> Tape:
    return Counter({names.get(cell, cell): figure for cell, figure in tape.items()})


def as_counter(tape: dict) -> Tape:
    """A tape of deck.json as this player has it."""
    found: Tape = Counter({("all",): tape["ballots"]})
    for precinct, n in tape["precincts"].items():
        found["precinct", precinct] = n
    for contest, figures in tape["contests"].items():
        for choice, n in figures["votes"].items():
            found["votes", contest, choice] = n
        for kind in ("write_in", "under", "over", "ballots"):
            found[kind, contest] = figures.get(kind, 0)
    return +found


def as_typed(tape: Tape, shape: dict, tabulator: str) -> dict:
    """This player's tape in the form that is typed: the shape of the expected one."""
    contests = {}
    for contest, figures in shape["contests"].items():
        typed = {kind: tape[kind, contest] for kind in ("ballots", "write_in", "under", "over") if kind in figures}
        contests[contest] = typed | {"votes": {choice: tape["votes", contest, choice] for choice in figures["votes"]}}
    precincts = {precinct: tape["precinct", precinct] for precinct in shape["precincts"]}
    return {"tabulator": tabulator, "ballots": tape[("all",)], "precincts": precincts, "contests": contests}
