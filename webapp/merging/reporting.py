"""Makes an office's report of one edition, out of the edition's files alone: nothing that was not posted is in it."""

import json
from collections.abc import Mapping
from pathlib import Path

from webapp.canvass import edition
from webapp.canvass.published import OneContest
from webapp.gate import keys
from webapp.merging import bundling, office_report
from webapp.merging.office_report import LINES, OfficeReport, ReportedContest
from webapp.merging.refusals import BundleRefused
from webapp.office.canvassing.editions import EDITION, Editions
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.precinct.place.place import Contest, Place


def made(folder: Path, roster: Roster, editions: Editions, number: int = 0) -> tuple[bytes, OfficeReport]:
    """The report of this edition (0: the newest), signed by the office's key, and what it says. Raises BundleRefused, Changed."""
    report = facts(roster, editions, number)
    return office_report.packed(report, keys.office_key(folder)), report


def facts(roster: Roster, editions: Editions, number: int = 0) -> OfficeReport:
    """What the report of this edition (0: the newest) says, unsigned. Raises BundleRefused, Changed."""
    number = number or len(editions.posted)
    if not editions.posted:
        raise BundleRefused(
            "Nothing is posted yet: post an edition first, under Posting. Other offices take in editions."
        )
    if not 1 <= number <= len(editions.posted):
        raise BundleRefused(f"There is no edition {number}: give a number from 1 to {len(editions.posted)}.")
    posted = editions.posted[number - 1]
    public, figures = json.loads(editions.data(number, EDITION)[EDITION]), editions.figures(number)
    return OfficeReport(
        roster.office.id,
        roster.office.name,
        "practice" if roster.practice else "live",
        bundling.election(roster),
        number,
        posted.status,
        public["made"],
        posted.digest,
        (posted.inn, posted.of),
        bundling.issued(roster),
        contests(roster, figures),
    )


def contests(roster: Roster, figures: Mapping[str, OneContest]) -> dict[str, ReportedContest]:
    """Each contest of an edition over the whole office, in ballot order."""
    known: dict[str, tuple[Contest, Place]] = {}
    for place in roster.places.values():
        for one in place.contests:
            before = known.get(one.id)
            known[one.id] = (totals.with_choices(before[0], one), before[1]) if before else (one, place)
    return {id: _contest(*known[id], one) for id, one in figures.items() if id in known}


def _contest(contest: Contest, place: Place, one: OneContest) -> ReportedContest:
    whole = edition.total(one)
    choices = tuple((choice.id, choice.label) for choice in contest.choices)
    lines = {*(id for id, _ in choices), *LINES}
    votes = {line: n for line, n in whole.votes.items() if line in lines}
    return ReportedContest(
        contest.title, contest.group, contest.n, place.rules.overvotes, choices, votes, whole.carried, one.ballots_waiting
    )  # fmt: skip
