"""Every contest of every precinct of two counties (OpenElections: Ottawa MI 2024 general, Pinal AZ 2024 primary) against the published sums."""

import csv
from collections import defaultdict

import pytest

from webapp.precinct.balance.balance import ContestCount, contest_convention
from webapp.precinct.balance.contests import opposite_gaps

COUNTIES = {
    "ottawa-mi-2024-general": {"pairs": 2889, "overvotes": "ballots", "balanced": 2865},
    "pinal-az-2024-primary": {"pairs": 4052, "overvotes": "votes", "balanced": 3549},
}


@pytest.fixture(params=COUNTIES, scope="module")
def county(request):
    return request.param


@pytest.fixture(scope="module")
def rows_of():
    from tests.conftest import BESIDE

    def read(name):
        found = BESIDE / "data/open-precinct-results" / f"{name}.csv"
        if not found.exists():
            pytest.skip(f"{found.name} is not here: the folder ../shared with standards and open data is absent")
        with found.open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return read


@pytest.fixture
def counts(county, rows_of):
    """(precinct, contest) -> figures, added up here from the choices, with the ballots of that precinct and party; None without such a row."""
    ballots, sums, seats, group = {}, defaultdict(lambda: defaultdict(int)), {}, {}
    for row in rows_of(county):
        if row["kind"] == "ballots_cast":
            ballots[row["precinct"], row["ballot_group"]] = int(row["votes"])
        if row["contest"]:
            pair = row["precinct"], row["contest"]
            kind = "votes" if row["kind"] in ("choice", "writein") else row["kind"]
            sums[pair][kind] += int(row["votes"])
            seats[pair], group[pair] = int(row["vote_for"]), row["ballot_group"]
    found = {}
    for pair, kinds in sums.items():
        b = ballots.get((pair[0], group[pair]), ballots.get((pair[0], "")))
        found[pair] = (
            group[pair],
            None if b is None else ContestCount(seats[pair], b, kinds["votes"], kinds["undervote"], kinds["overvote"]),
        )
    return found


def ballots_short(count: ContestCount, overvotes: str) -> int | None:
    """Whole ballots missing from a contest, 0 where it agrees; None for an excess or a gap that is no whole number of ballots."""
    gap = count.gap(overvotes)
    return None if gap > 0 or gap % count.n else -gap // count.n


def shared_shortfalls(
    counts: dict[tuple[str, str], tuple[tuple[str, str], ContestCount]], overvotes: str
) -> dict[tuple[str, str], tuple[tuple[str, str], ...]]:
    """Contests short by the same number of ballots as another contest of their group (one precinct, one ballot).

    `counts` gives for each contest its group and figures. A number shared by a whole group points to ballots that do not carry those
    contests; a shortfall alone points to a mistake. The answer names for each such contest the others.
    """
    short: dict[tuple[tuple[str, str], int], list[tuple[str, str]]] = {}
    for contest, (group, count) in counts.items():
        missing = ballots_short(count, overvotes)
        if missing:
            short.setdefault((group, missing), []).append(contest)
    together = [contests for contests in short.values() if len(contests) > 1]
    return {
        contest: tuple(other for other in contests if other != contest) for contests in together for contest in contests
    }


def verdict(pair, counts, overvotes, shared):
    """The word of the data's page for one pair, from our sums alone."""
    _, count = counts[pair]
    if count is None:
        return "no_ballots_row"
    if count.gap(overvotes) == 0:
        return "balanced"
    if count.votes == count.under == count.over == 0:
        return "all_zero_rows"
    if count.gap(overvotes) > 0:
        return "excess"
    if ballots_short(count, overvotes) is None:
        return "short_not_multiple"
    return "fewer_ballots_shared" if pair in shared else "fewer_ballots_single"


def test_the_convention_is_told_from_the_county_and_every_verdict_is_the_published_one(county, counts, rows_of):
    published = {(row["precinct"], row["contest"]): row for row in rows_of(f"{county}-balance")}
    whole = {pair: (pair[0], group, count) for pair, (group, count) in counts.items() if count}
    way = contest_convention(count for _, _, count in whole.values())
    shown = {
        pair: ((precinct, group), count)
        for pair, (precinct, group, count) in whole.items()
        if (count.votes, count.under, count.over) != (0, 0, 0)
    }
    shared = shared_shortfalls(shown, way.overvotes)

    assert len(counts) == len(published) == COUNTIES[county]["pairs"]
    assert (way.overvotes, way.known) == (COUNTIES[county]["overvotes"], "more-lines-agree")
    assert {pair: verdict(pair, counts, way.overvotes, shared) for pair in counts} == {
        pair: row["verdict"] for pair, row in published.items()
    }
    assert sum(count.gap(way.overvotes) == 0 for _, _, count in whole.values()) == COUNTIES[county]["balanced"]
    for pair, (_, _, count) in whole.items():
        assert count.gap(way.overvotes) == int(published[pair]["difference"]), pair


def test_every_contest_that_tells_the_ways_apart_tells_the_same_in_ottawa(rows_of):
    """README of the data: 244 pairs with N > 1 and overvotes, all 244 balance per ballot, none as votes, no multiple of N in 167."""
    rows = [
        row
        for row in rows_of("ottawa-mi-2024-general-balance")
        if int(row["vote_for"]) > 1 and int(row["overvotes"] or 0) and row["ballots"]
    ]
    counts = [
        ContestCount(*(int(row[key]) for key in ("vote_for", "ballots", "sum_votes", "undervotes", "overvotes")))
        for row in rows
    ]

    assert len(counts) == 244
    assert (sum(count.gap("ballots") == 0 for count in counts), sum(count.gap("votes") == 0 for count in counts)) == (
        244,
        0,
    )
    assert sum(count.over % count.n != 0 for count in counts) == 167


def test_a_federal_only_voter_makes_every_other_contest_of_a_group_short_by_one(rows_of):
    """README of the data: in 35 of Pinal's 545 (precinct, party) groups every contest but the federal ones is short by the same number."""
    groups = {
        (row["precinct"], row["ballot_group"])
        for row in rows_of("pinal-az-2024-primary-balance")
        if row["verdict"] == "fewer_ballots_shared" and row["ballot_group"]
    }

    assert len(groups) == 35


def test_equal_gaps_are_grouped_by_ballot_group(rows_of):
    """README of the data: Pinal's 348 short party pairs lie in 35 groups, one ballot short in 296 and two in 52; 114 of the town contests agree with another one."""
    rows = rows_of("pinal-az-2024-primary-balance")
    counts = {
        (r["precinct"], r["contest"]): (
            (r["precinct"], r["ballot_group"]),
            ContestCount(
                *(int(r[key] or 0) for key in ("vote_for", "ballots", "sum_votes", "undervotes", "overvotes"))
            ),
        )
        for r in rows
        if r["ballots"] and r["verdict"] != "all_zero_rows"
    }
    shared = shared_shortfalls(counts, "votes")
    party = {pair: counts[pair] for pair in shared if counts[pair][0][1] in set("ABCDE")}
    by = [ballots_short(count, "votes") for _, count in party.values()]

    assert (len(party), len({group for group, _ in party.values()}), by.count(1), by.count(2)) == (348, 35, 296, 52)
    assert len(shared) - len(party) == 114
    assert all({counts[other][0] for other in others} == {counts[pair][0]} for pair, others in shared.items())


def test_opposite_gaps_of_a_ballot_group_are_paired_and_the_published_counties_have_none(county, rows_of):
    """No line of either county has more than B x N, so nothing cancels. Then one ballot of a contest is moved to the next precinct of its ballot group."""
    gaps = defaultdict(dict)
    for row in rows_of(f"{county}-balance"):
        gaps[row["ballot_group"], row["contest"]][row["precinct"]] = int(row["difference"] or 0)

    assert not [pair for group in gaps.values() for pair in opposite_gaps(group)]
    (group, moved) = next((key, among) for key, among in gaps.items() if len(among) > 3 and set(among.values()) == {0})
    first, second, *_ = moved
    moved[first], moved[second] = 1, -1
    assert {key: pairs for key, among in gaps.items() if (pairs := opposite_gaps(among))} == {
        group: [(first, second, 1)]
    }
