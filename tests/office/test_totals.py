"""Totals over places, small places only with a neighbour, disposable tables, and the comparison with an official file."""

import sqlite3
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.office.questions.canvass_board import PlaceComparison
from webapp.office.setup.office_file import Awaited
from webapp.office.totals import official_results, totals
from webapp.office.totals.official_results import UnusableResults
from webapp.office.totals.projections import Projections
from webapp.office.totals.totals import PacketFigures


def packet(desk, name: str, ballots: int | None = None) -> PacketFigures:
    """The demo's packet as another place's; with `ballots` a tiny one."""
    place = replace(desk.roster.places["W3"], id=name, name=f"Place {name}")
    core = dict(desk.opened.core)
    if ballots is not None:
        core["tabulators"] = [{"id": "T1", "box": "B1", "tape": ballots, "runs": []}]
    return PacketFigures(place, core)


def office(desk, *rows):
    return replace(desk.roster.office, places=tuple(Awaited(name, f"Place {name}", beside) for name, beside in rows))


def test_totals_are_the_sums_of_the_packets(desk):
    one = totals.totals([packet(desk, "A")])
    two = totals.totals([packet(desk, "A"), packet(desk, "B")])
    for single, double in zip(one, two, strict=True):
        assert {k: 2 * v for k, v in single.figures.items() if v is not None} == {
            k: v for k, v in double.figures.items() if v is not None
        }
        assert double.places == 2


def test_a_small_place_is_shown_only_with_its_named_neighbour_and_neither_alone(desk):
    packets = [packet(desk, "A"), packet(desk, "B", 4), packet(desk, "C")]
    groups = totals.joined(packets, office(desk, ("A", "C"), ("B", "C"), ("C", "A")))
    assert [sorted(p.place.id for p in group) for group, _ in groups] == [["A"], ["B", "C"]]
    assert all(size == 0 or size >= 10 for _, size in groups)


def test_a_contest_that_few_ballots_carried_is_joined_although_the_place_is_large(desk):
    """A party's ballot or a town's: the ballots that carried the contest are counted, not those of the place."""
    rows = {**desk.opened.core["contests"], "WATER": [3, 2, 0, 1, 0, 6]}
    packets = [
        packet(desk, "A"),
        PacketFigures(packet(desk, "B").place, {**desk.opened.core, "contests": rows}),
        packet(desk, "C"),
    ]
    awaited = office(desk, ("A", "B"), ("B", "C"), ("C", "A"))
    named = lambda groups: [sorted(p.place.id for p in group) for group, _ in groups]  # noqa: E731
    assert named(totals.joined(packets, awaited, "WATER")) == [["A"], ["B", "C"]]
    assert (
        named(totals.joined(packets, awaited, "GOV")) == named(totals.joined(packets, awaited)) == [["A"], ["B"], ["C"]]
    )


@pytest.mark.parametrize(
    ("row", "carried"),
    [([3, 2, 0, 1, 0, 6], 6), ([3, 2, 0, 1, 0, None], 6), ([0, 0, None, 0, 0, None], 517), ([3, 2, 0, 1, 0, 900], 517)],
)
def test_the_ballots_of_a_contest_are_the_tapes_else_the_least_its_figures_tell(desk, row, carried):
    one = packet(desk, "A")
    assert totals.carried(PacketFigures(one.place, {**one.core, "contests": {"WATER": row}}), "WATER") == carried


def test_a_small_place_that_finds_nobody_stays_small_and_is_not_shown(desk):
    assert [
        size
        for _, size in totals.joined([packet(desk, "A", 4), packet(desk, "B", 0)], office(desk, ("A", "B"), ("B", "A")))
    ] == [4]


@settings(max_examples=examples(200), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sizes=st.lists(st.integers(0, 30), min_size=1, max_size=12), data=st.data())
def test_no_group_is_small_unless_all_that_is_in_is_small(desk, sizes, data):
    names = [f"P{i}" for i in range(len(sizes))]
    packets = [packet(desk, name, n) for name, n in zip(names, sizes, strict=True)]
    groups = totals.joined(packets, office(desk, *((name, data.draw(st.sampled_from(names))) for name in names)))
    assert sorted(p.place.id for group, _ in groups for p in group) == sorted(names)
    assert sum(size for _, size in groups) == sum(sizes)
    assert all(size == 0 or size >= 10 for _, size in groups) or sum(sizes) < 10


def test_small_places_are_joined_until_ten_are_together(desk):
    packets = [packet(desk, name, n) for name, n in (("A", 3), ("B", 4), ("C", 5), ("D", 200))]
    groups = totals.joined(packets, office(desk, ("A", "B"), ("B", "C"), ("C", "A"), ("D", "A")))
    assert all(size >= 10 for _, size in groups)


def standing(one: PacketFigures, stamp: str = "1") -> PlaceComparison:
    return PlaceComparison(one.place.id, one.place.name, "", stamp, totals.ballots(one.core), 0, None, None, None, ())


def test_the_tables_can_be_dropped_and_built_again(desk, tmp_path):
    packets = {name: packet(desk, name) for name in ("A", "B")}
    tables = Projections(tmp_path / "desk.db")
    tables.match(dict.fromkeys(packets, "1"), lambda name: (packets[name], standing(packets[name])))
    before = tables.sums()
    tables.drop()
    assert tables.sums() == {}
    tables.match(dict.fromkeys(packets, "1"), lambda name: (packets[name], standing(packets[name])))
    assert tables.sums() == before != {}
    tables.put(packet(desk, "B"), standing(packets["B"], "2"))  # a packet that replaces another is counted once
    assert tables.sums() == before
    assert before == {
        (t.contest.id, line): v
        for t in totals.totals(packets.values())
        for line, v in t.figures.items()
        if v is not None
    }
    tables.close()


def test_tables_that_are_there_already_are_not_made_again_and_what_is_gone_goes(desk, tmp_path):
    made = []

    def weigh(name: str, stamp: str = "1"):
        made.append(name)
        return packet(desk, name), standing(packet(desk, name), stamp)

    Projections(tmp_path / "desk.db").match({"A": "1", "B": "1"}, weigh)
    again = Projections(tmp_path / "desk.db")
    again.match({"A": "1", "B": "2"}, lambda name: weigh(name, "2"))
    assert made == ["A", "B", "B"]
    again.match({"B": "2"}, weigh)
    assert [one.place for one in again.standings()] == ["B"]
    assert again.sums() == {
        (t.contest.id, line): v
        for t in totals.totals([packet(desk, "B")])
        for line, v in t.figures.items()
        if v is not None
    }


def test_tables_of_another_edition_are_dropped(desk, tmp_path):
    one = Projections(tmp_path / "desk.db")
    one.put(packet(desk, "A"), standing(packet(desk, "A")))
    one.close()
    db = sqlite3.connect(tmp_path / "desk.db")
    db.execute("UPDATE about SET form = 'another'")
    db.commit()
    assert Projections(tmp_path / "desk.db").standings() == []


def test_totals_kept_up_are_the_totals_worked_out(desk, tmp_path):
    packets = [packet(desk, name) for name in ("A", "B", "C")]
    tables = Projections(tmp_path / "desk.db")
    for one in packets:
        tables.put(one, standing(one))
    contests = [t.contest for t in totals.totals(packets)]
    assert totals.from_sums(contests, tables.sums(), {c.id: 3 for c in contests}) == totals.totals(packets)


HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group\n"


def official(desk, off: int = 0) -> bytes:
    one = packet(desk, "A")
    rows = []
    for total in totals.totals([one]):
        for choice in total.contest.choices:
            rows.append(
                f"Place A,{total.contest.id},{total.contest.n},{choice.label},choice,{total.figures[choice.id] + off},"
            )
            off = 0
        for kind, name in (("undervote", "under"), ("overvote", "over")):
            rows.append(f"Place A,{total.contest.id},{total.contest.n},,{kind},{total.figures[name]},")
    return (HEAD + "\n".join(rows) + "\n").encode()


def test_an_official_file_that_agrees_and_one_that_differs_by_a_vote(desk):
    agreed = official_results.compare([packet(desk, "A")], official(desk))
    assert agreed.contests == agreed.equal > 0 and agreed.differences == ()
    differs = official_results.compare([packet(desk, "A")], official(desk, 1))
    assert differs.equal == differs.contests - 1
    (found,) = differs.differences
    assert found.official == found.ours + 1


def test_rows_of_several_places_are_compared_with_the_sum_of_those_places(desk):
    """As an edition writes places of few ballots: "Place A + Place B"."""
    both = [packet(desk, "A"), packet(desk, "B")]
    rows = official(desk).decode().replace("Place A,", "Place A + Place B,").splitlines()
    doubled = [rows[0], *(",".join([*p[:5], str(int(p[5]) * 2), p[6]]) for p in (row.split(",") for row in rows[1:]))]
    found = official_results.compare(both, "\n".join(doubled).encode())
    assert found.equal == found.contests > 0 and found.apart == ()
    found = official_results.compare(both, "\n".join(rows).encode())
    assert found.equal == 0 and found.differences[0].ours == 2 * found.differences[0].official


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xfe",
        b"precinct\n",
        (HEAD + "A,B,1,C,choice,-4,\n").encode(),
        (HEAD + 'A,"B,1,C,choice,4,\n').encode(),
    ],
)
def test_a_broken_official_file_is_refused_with_one_sentence(desk, data):
    with pytest.raises(UnusableResults) as refused:
        official_results.compare([packet(desk, "A")], data)
    assert str(refused.value).endswith(".")


def test_votes_that_the_official_file_does_not_have_and_places_it_does_not_name_are_told(desk):
    whole = official(desk).decode().splitlines()
    short = (
        "\n".join(row for row in whole if ",GOV,1," not in row or ",undervote," in row or ",overvote," in row) + "\n"
    )
    found = official_results.compare([packet(desk, "A"), packet(desk, "B")], short.encode())
    assert found.apart == ("Place B",)
    assert {d.contest for d in found.differences} == {"GOV"} and all(
        d.official is None and d.ours for d in found.differences
    )
    lacking = "\n".join(row for row in whole if ",GOV," not in row) + "\n"
    assert len(official_results.compare([packet(desk, "A")], lacking.encode()).unlisted) == 1


def test_one_contest_of_two_ballot_groups_is_compared_group_by_group(desk):
    place = packet(desk, "A").place
    first = place.contests[0]
    twins = tuple(replace(first, id=f"X-{g}", title="MAYOR", group=g) for g in "RB")
    n = len(first.choices)
    one = PacketFigures(
        replace(place, contests=twins),
        {
            **desk.opened.core,
            "contests": {"X-R": [5, *[0] * (n - 1), 0, 0, 0, 5], "X-B": [7, *[0] * (n - 1), 0, 0, 0, 7]},
        },
    )
    rows = "".join(
        f"Place A,MAYOR,{first.n},{first.choices[0].label},choice,{votes},{group}\n"
        for group, votes in (("R", 5), ("B", 7))
    )
    assert official_results.compare([one], (HEAD + rows).encode()).equal == 2
    assert official_results.compare([one], (HEAD + rows.replace(",7,", ",6,")).encode()).equal == 1


def test_each_difference_names_the_places_that_make_it_and_a_place_that_is_not_in_is_named(desk):
    one, two = packet(desk, "A"), packet(desk, "B")
    found = official_results.compare([one, two], official(desk, 1), ["C", "D"])
    assert found.differences and all(d.places for d in found.differences)
    assert found.out == ()


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"p" * 140_000 + b",contest\n", "Row 1 of the results file cannot be read"),
        (
            b"precinct,contest,vote_for,choice,kind,votes,ballot_group\nA,M,1,X,choice,12345678901234,\n",
            "at most 9 digits",
        ),
    ],
)
def test_a_line_longer_than_any_reader_takes_and_a_number_of_14_digits_are_met_by_a_sentence(desk, data, sentence):
    with pytest.raises(official_results.UnusableResults, match=sentence):
        official_results.compare([packet(desk, "A")], data)
