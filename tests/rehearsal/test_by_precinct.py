"""A day whose tapes print votes by precinct and a total, through the real pages: keyed blind by two, in the packet, taken in, and by precinct at the desk."""

import pytest

from demo_precinct import rehearsal
from demo_precinct.true_figures import invented, together
from tests.office.conftest import Night
from webapp.precinct.place import place_file


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    """(report, truth, the office's night after it): the demo's place, whose two precincts its tapes tell apart."""
    folder = tmp_path_factory.mktemp("split") / "night"
    toml = (rehearsal.HERE / "place.toml").read_bytes().replace(b"[rules]\n", b'[rules]\nvotes = "both"\n', 1)
    place = place_file.read(toml)
    codes = rehearsal.prepare(folder, (rehearsal.HERE / "office.toml").read_bytes(), [toml])
    truth = invented(place, 7)
    expected: dict[tuple[str, str], int] = {}
    for rows in truth.contests.values():
        for contest, row in rows.items():
            for line, n in rehearsal.lines_of(row):
                expected[contest, line] = expected.get((contest, line), 0) + n
    report = rehearsal.rehearse(folder, [place], [truth], codes, expected, False)
    made = Night(folder / "office", {}, codes[""]).start()
    made.hold()
    yield report, truth, made
    made.stop()


def test_the_day_is_kept_read_back_and_adds_up(night):
    report, _, _ = night
    assert report.ok and report.totals["equal"] == report.totals["contests"] > 0
    assert not [one for one in report.findings if "precinct" in one["code"]], report.findings


def test_the_desk_shows_each_precinct_as_its_tapes_printed_it(night):
    _, truth, here = night
    contest = truth.place.typed_contests()[0]
    page = here.window.get(f"/totals/precincts?contest={contest.id}")

    for precinct in truth.place.precincts:
        mine = [rows[precinct.id][contest.id] for rows in truth.apart.values() if contest.id in rows[precinct.id]]
        if mine:
            votes = "".join(f"<td>{n}</td>" for n in together(mine)["votes"].values())
            assert f"{precinct.name} <small" in page.text and votes in page.text
    assert "Not by precinct" not in page.text and "not all of it" not in page.text
    assert here.window.get("/totals/precincts?contest=NOBODY").status == 404
    assert contest.title in here.window.get("/totals/precincts").text


def test_a_figure_of_one_precinct_can_be_corrected_at_the_desk(night):
    _, truth, here = night
    contest, precinct = truth.place.typed_contests()[0], truth.place.precincts[0]
    page = here.window.get("/corrected/W3")

    assert f"{contest.title}, {precinct.name}, " in page.text
