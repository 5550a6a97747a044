"""The lines outside the ballot account: contests and write-ins, seals, recounts. Explanations need not close them."""

from collections.abc import Iterator, Mapping

from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.contests import ContestCount, Convention, contest_convention
from webapp.precinct.balance.figure_tallies import ContestFigures, ContestTape, SealLook
from webapp.precinct.balance.line import Drawn, Line, LineEntry, Unchecked, draw
from webapp.precinct.balance.night_figures import NightFigures


def counted(contest: ContestFigures, tape: ContestTape) -> ContestCount | None:
    """A contest's figures; None where ballots, undervotes or overvotes are not on the tape. Without a write-in row: no write-ins."""
    if tape.ballots is None or tape.under is None or tape.over is None:
        return None
    return ContestCount(contest.n, tape.ballots, tape.votes + (tape.write_in or 0), tape.under, tape.over)


def convention(night: NightFigures) -> Convention:
    """How overvotes are counted on all tapes of this night."""
    found = (counted(contest, tape) for contest in night.contests for tape in contest.tapes.values())
    return contest_convention((count for count in found if count), night.rules.overvotes)


def contests(night: NightFigures) -> Drawn:
    """votes (with write-ins) + undervotes + overvotes = ballots carrying it x N, on each tape."""
    way = convention(night)
    for contest in night.contests:
        if not contest.tapes:
            yield Unchecked(f"contest:{contest.id}", ("tapes",))
        for id, tape in contest.tapes.items():
            yield from _adds_up(contest, id, tape, way, None)
        for id, precincts in contest.precincts.items():
            for precinct, tape in precincts.items():
                yield from _adds_up(contest, id, tape, way, {"precinct": precinct})


def _adds_up(
    contest: ContestFigures, at: str, tape: ContestTape, way: Convention, scope: Mapping[str, str] | None
) -> Drawn:
    """One row of a tape: the whole of it, or one precinct's."""
    count = counted(contest, tape)
    times = contest.n if way.overvotes == "ballots" else 1
    left = [
        LineEntry("votes", tape.votes),
        LineEntry("write-ins", tape.write_in or 0),
        LineEntry("undervotes", tape.under or 0),
        LineEntry("overvotes", (tape.over or 0) * times),
    ]
    missing = [key for key in ("ballots", "under", "over") if getattr(tape, key) is None]
    notes = (line_sentences.overvotes(way),) if count and count.over else ()
    right = [LineEntry(f"ballots x {contest.n}", (tape.ballots or 0) * contest.n)]
    yield from draw(f"contest:{contest.id}:{at}", left, right, missing, notes, scope)


def precincts(night: NightFigures) -> Drawn:
    """The rows of a contest by precinct = its total, figure by figure, on each tape that prints both. One line where all agree, else one a figure that differs."""
    for contest in night.contests if night.rules.votes == "both" else ():
        for at, rows in contest.precincts.items():
            id, tape = f"precincts:{contest.id}:{at}", contest.tapes.get(at)
            if tape is None:
                yield Unchecked(id, ("sum",))
                continue
            yield from _sums(id, [row.lines() for row in rows.values()], tape.lines())


def _sums(id: str, rows: list[dict[str, int]], whole: dict[str, int]) -> Drawn:
    """Figures that the total and every row have; what one of them lacks is named as missing."""
    every = dict.fromkeys([*whole, *(line for row in rows for line in row)])
    here = [line for line in every if line in whole and all(line in row for row in rows)]
    sums = {line: sum(row[line] for row in rows) for line in here}
    off = [line for line in here if sums[line] != whole[line]]
    for line in off:
        yield from draw(f"{id}:{line}", [LineEntry("rows", sums[line])], [LineEntry("sum", whole[line])])
    if len(here) < len(every):
        yield Unchecked(id, ("rows by precinct",))
    elif not off:
        yield from draw(id, [LineEntry("rows", sum(sums.values()))], [LineEntry("sum", sum(whole.values()))])


def write_ins(night: NightFigures) -> Drawn:
    """Write-ins the machines counted = listed names + others + no name + ruled out, by the hand tally."""
    for contest in night.contests:
        machine = [tape.write_in for tape in contest.tapes.values()]
        if contest.tally is None and not any(machine):
            continue
        names = ("listed", "other", "no_name", "invalid")
        tally = contest.tally or (None,) * 4
        missing = ["write_in"] * (not machine or None in machine)
        missing += ["write_in_tally"] if contest.tally is None else ["write_in_tally"] * all(n is None for n in tally)
        yield from draw(
            f"write-ins:{contest.id}",
            [LineEntry("write-ins", sum(n or 0 for n in machine))],
            [LineEntry(key, n or 0) for key, n in zip(names, tally)],
            missing,
        )


def seals(night: NightFigures) -> Drawn:
    """At each place the seal found is the one last applied there, as written: gap 0, or 1 where any look found another."""
    looks: dict[str, list[SealLook]] = {}
    for look in night.seals:
        looks.setdefault(look.at, []).append(look)
    for at, there in looks.items():
        compared = list(seal_pairs(there))
        if not compared or None in compared[-1]:
            yield Unchecked(f"seals:{at}", ("found",) if compared and compared[-1][0] is not None else ("applied",))
        whole = [(a, f) for a, f in compared if a is not None and f is not None]
        if whole:
            applied, found = next(((a, f) for a, f in whole if a != f), whole[-1])
            differs = int(applied != found)
            yield Line(f"seals:{at}", differs, 0, line_sentences.seal(at, applied, found))


def seal_pairs(looks: list[SealLook]) -> Iterator[tuple[str | None, str | None]]:
    """(last applied, found) for each look, and (last applied, None) for a seal that nobody has looked at yet."""
    last: str | None = None
    open_seal = False
    for look in looks:
        if look.applied is not None:
            last, open_seal = look.applied, True
        if look.found is not None:
            yield last, look.found
            open_seal = False
    if open_seal:
        yield last, None


def seal_stock(night: NightFigures) -> Drawn:
    """Seals issued = applied + returned + damaged."""
    found = night.seal_stock
    if found is not None:
        right = [LineEntry(key, found[key] or 0) for key in ("applied", "returned", "damaged")]
        missing = [
            key for key in ("issued", "applied", "returned", "damaged") if found[key] is None and key != "damaged"
        ]
        yield from draw("seal-stock", [LineEntry("issued", found["issued"] or 0)], right, missing)


def recounts(night: NightFigures) -> Drawn:
    """The second count = the first."""
    for of, first, second in night.recounts:
        missing = ["first"] * (first is None) + ["second"] * (second is None)
        yield from draw(f"recount:{of}", [LineEntry("second", second or 0)], [LineEntry("first", first or 0)], missing)
