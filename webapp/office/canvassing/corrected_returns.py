"""A corrected return before it is signed: old and new figures side by side, and what it changes in the balance, in the totals and in the next edition."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from webapp.canvass import changes, corrected_return
from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.changes import ContestChange
from webapp.canvass.corrected_return import CorrectedFigure
from webapp.canvass.counts import Row
from webapp.canvass.published import OneContest
from webapp.office.canvassing import edition_figures
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.questions.canvass_board import line_title
from webapp.office.questions.findings import Finding, overlaid, spots
from webapp.office.questions.recounted import laid_on
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.office.totals.totals import PacketFigures
from webapp.packet import contents
from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.balance import balance
from webapp.precinct.place.place import Contest

NOT_YET = 1 << 60  # the number of an entry that is not kept yet: of two findings of one figure it is the later


@dataclass(frozen=True, slots=True)
class LineMoved:
    """A line of the balance before and after, in words; "" where it agrees."""

    title: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class TotalMoved:
    """One line of a contest over all returns that are in."""

    contest: str
    line: str
    before: int | None
    after: int | None


@dataclass(frozen=True, slots=True)
class WhatMoves:
    """Everything a correction changes. `edition`: changes of the next edition by contest; `waits`: (contest, ballots) that then wait."""

    lines: tuple[LineMoved, ...]
    ballots: tuple[int, int]
    totals: tuple[TotalMoved, ...]
    edition: tuple[ContestChange, ...]
    waits: tuple[tuple[str, int], ...]
    out_of_step: tuple[str, ...]


def entry_id(of: bytes, figure: str) -> bytes:
    """The id of the entry about one figure, of an act whose form carried `of`: a retry makes the same entries. A UUID of version 4 in form."""
    return UUID(bytes=hashlib.sha256(of + figure.encode()).digest()[:16], version=4).bytes


def corrected(
    sent: PacketFigures, earlier: Sequence[Finding], figures: Iterable[CorrectedFigure], recounted: Mapping[str, Row]
) -> PacketFigures:
    """The return with these figures in it, over what was found `earlier`, under the `recounted` rows. sent: as the place sent it, which findings are about."""
    known = {spot.id: spot.value for spot in spots(sent.core, sent.place)}
    new = [Finding(NOT_YET, one.figure, known.get(one.figure), one.is_) for one in figures]
    return PacketFigures(sent.place, laid_on(overlaid(sent.core, sent.place, [*earlier, *new]), recounted))


def moves(
    now: PacketFigures,
    new: PacketFigures,
    added_ballots: int,
    sums: Mapping[tuple[str, str], int],
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    before: Mapping[str, OneContest],
) -> WhatMoves:
    """What changes where `new` takes the place of `now`. `sums`: the totals by contest and line; `before`: the newest edition's figures, {} without one."""
    place, rows = now.place, (now.core["contests"], new.core["contests"])
    touched = [contest for contest in place.contests if rows[0].get(contest.id) != rows[1].get(contest.id)]
    edition, waits = _edition(new, touched, roster, tray, added, before)
    return WhatMoves(
        tuple(_lines(now, new)),
        (totals.ballots(now.core), totals.ballots(new.core)),
        tuple(_totals(touched, *rows, sums)),
        tuple(edition),
        tuple(waits),
        tuple(corrected_return.out_of_step(*rows, touched, place.rules.overvotes, added_ballots)),
    )


def _lines(now: PacketFigures, new: PacketFigures) -> Iterable[LineMoved]:
    gaps = [{line.name: line.gap for line in balance(contents.figures(one.core, one.place)).gaps} for one in (now, new)]
    for name in dict.fromkeys([*gaps[0], *gaps[1]]):
        was, is_ = gaps[0].get(name, 0), gaps[1].get(name, 0)
        if was != is_:
            yield LineMoved(line_title(name, now.place), _way(name, was), _way(name, is_))


def _way(name: str, gap: int) -> str:
    return line_sentences.way(name.partition("@")[0], gap) if gap else ""


def _totals(
    touched: Sequence[Contest], old: Mapping[str, Any], new: Mapping[str, Any], sums: Mapping[tuple[str, str], int]
) -> Iterable[TotalMoved]:
    for contest in touched:
        names = {**{c.id: c.label for c in contest.choices}, **changes.LINE_WORDS, "ballots": "Ballots"}
        for (line, words), was, is_ in zip(names.items(), old[contest.id], new[contest.id], strict=True):
            if was != is_:
                before = sums.get((contest.id, line))
                yield TotalMoved(contest.title, words, before, (before or 0) + (is_ or 0) - (was or 0))


def _with_return(kept: Mapping[Atom, Figures], new: Mapping[Atom, Figures]) -> dict[Atom, Figures]:
    """What is kept with the atoms of a return in place of those that it had, whole or by precinct."""
    gone = {atom.whole for atom in new}
    return {atom: figures for atom, figures in kept.items() if atom.whole not in gone} | dict(new)


def _edition(
    new: PacketFigures,
    touched: Sequence[Contest],
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    before: Mapping[str, OneContest],
) -> tuple[list[ContestChange], list[tuple[str, int]]]:
    """The next edition of the contests that are touched, against the same edition without the correction where nothing is posted yet."""
    if not touched or not tray.in_totals(new.place.id):
        return [], []
    now, ids = edition_figures.figures_now(roster, tray, added), {contest.id for contest in touched}
    now = replace(
        now,
        contests=tuple(contest for contest in now.contests if contest.id in ids),
        figures={
            id: _with_return(now.figures.get(id, {}), edition_figures.of_return(new, id, roster, added)) for id in ids
        },
    )
    mine = {id: one for id, one in before.items() if id in ids}
    after = edition_figures.drawn_up(roster, added, now, mine, 1, 0, 0, "unofficial-partial", "")
    found = changes.between(mine, after) if mine else []
    return found, [(c.title, n) for c in after.contests if (n := after.figures[c.id].ballots_waiting)]
