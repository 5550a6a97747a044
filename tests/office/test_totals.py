"""Totals over places, small places only with a neighbour, disposable tables, and the comparison with an official file."""

from dataclasses import replace

import pytest

from webapp.office import canvass
from webapp.office.canvass import Packet, Unusable
from webapp.office.office_file import Awaited
from webapp.office.projections import Desk


def packet(desk, name: str, ballots: int | None = None) -> Packet:
    """The demo's packet as another place's; with `ballots` a tiny one."""
    place = replace(desk.roster.places["W3"], id=name, name=f"Place {name}")
    core = dict(desk.opened.core)
    if ballots is not None:
        core["tabulators"] = [{"id": "T1", "box": "B1", "tape": ballots, "runs": []}]
    return Packet(place, core)


def office(desk, *rows):
    return replace(desk.roster.office, places=tuple(Awaited(name, f"Place {name}", beside) for name, beside in rows))


def test_totals_are_the_sums_of_the_packets(desk):
    one = canvass.totals([packet(desk, "A")])
    two = canvass.totals([packet(desk, "A"), packet(desk, "B")])
    for single, double in zip(one, two, strict=True):
        assert {k: 2 * v for k, v in single.figures.items() if v is not None} == {k: v for k, v in double.figures.items() if v is not None}
        assert double.places == 2


def test_a_small_place_is_shown_only_with_its_named_neighbour_and_neither_alone(desk):
    packets = [packet(desk, "A"), packet(desk, "B", 4), packet(desk, "C")]
    groups = canvass.joined(packets, office(desk, ("A", "C"), ("B", "C"), ("C", "A")))
    assert [sorted(p.place.id for p in group) for group, _ in groups] == [["A"], ["B", "C"]]
    assert all(size == 0 or size >= 10 for _, size in groups)


def test_the_votes_of_one_small_place_may_not_stand_alone(desk):
    small = desk.roster.office.small
    assert [canvass.may_stand_alone(packet(desk, "A", n).core, desk.roster.office) for n in (0, 1, small - 1, small)] == [True, False, False, True]


def test_small_places_are_joined_until_ten_are_together(desk):
    packets = [packet(desk, name, n) for name, n in (("A", 3), ("B", 4), ("C", 5), ("D", 200))]
    groups = canvass.joined(packets, office(desk, ("A", "B"), ("B", "C"), ("C", "A"), ("D", "A")))
    assert all(size >= 10 for _, size in groups)


def test_the_tables_can_be_dropped_and_built_again(desk, tmp_path):
    packets = [(b"a" * 32, packet(desk, "A")), (b"b" * 32, packet(desk, "B"))]
    tables = Desk(tmp_path / "desk.db")
    tables.rebuild(packets)
    before = tables.sums()
    tables.rebuild(packets)
    assert tables.sums() == before != {}
    tables.put(b"c" * 32, packet(desk, "B"))                            # a packet that replaces another is counted once
    assert tables.sums() == before
    totals = {(t.contest.id, line): v for t in canvass.totals([p for _, p in packets]) for line, v in t.figures.items() if v is not None}
    assert {k: v for k, v in before.items()} == totals
    tables.close()


HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group\n"


def official(desk, off: int = 0) -> bytes:
    one = packet(desk, "A")
    rows = []
    for total in canvass.totals([one]):
        for choice in total.contest.choices:
            rows.append(f"Place A,{total.contest.id},{total.contest.n},{choice.label},choice,{total.figures[choice.id] + off},")
            off = 0
        for kind, name in (("undervote", "under"), ("overvote", "over")):
            rows.append(f"Place A,{total.contest.id},{total.contest.n},,{kind},{total.figures[name]},")
    return (HEAD + "\n".join(rows) + "\n").encode()


def test_an_official_file_that_agrees_and_one_that_differs_by_a_vote(desk):
    agreed = canvass.compare([packet(desk, "A")], official(desk))
    assert agreed.contests == agreed.equal > 0 and agreed.differences == ()
    differs = canvass.compare([packet(desk, "A")], official(desk, 1))
    assert differs.equal == differs.contests - 1
    (found,) = differs.differences
    assert found.official == found.ours + 1


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"precinct\n", (HEAD + "A,B,1,C,choice,-4,\n").encode(), (HEAD + 'A,"B,1,C,choice,4,\n').encode()])
def test_a_broken_official_file_is_refused_with_one_sentence(desk, data):
    with pytest.raises(Unusable) as refused:
        canvass.compare([packet(desk, "A")], data)
    assert str(refused.value).endswith(".")
