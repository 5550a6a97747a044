"""A day whose tapes print votes by precinct and a total, through the real pages: keyed blind by two, in the packet, taken in, and by precinct at the desk."""

import pytest

import webapp
from demo_precinct import rehearsal, rehearsal_report, rehearsed_county
from demo_precinct.http_window import Window
from demo_precinct.printed_text import printed_text
from demo_precinct.true_figures import invented, together
from tests import few_hours
from tests.office.conftest import Night
from webapp.paper.parts.sheet import PaperSheet
from webapp.paper.tape_sheets import keyings
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    """(report, truth, the office's night after it): the demo's place, whose two precincts its tapes tell apart."""
    folder = tmp_path_factory.mktemp("split") / "night"
    toml = (rehearsed_county.HERE / "place.toml").read_bytes().replace(b"[rules]\n", b'[rules]\nvotes = "both"\n', 1)
    toml = few_hours.in_file(toml)
    place = place_file.read(toml)
    codes = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])
    truth = invented(place, 7)
    expected: dict[tuple[str, str], int] = {}
    for rows in truth.contests.values():
        for contest, row in rows.items():
            for line, n in rehearsal_report.lines_of(row):
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


def test_the_place_tells_and_corrects_its_tape_row_by_row_and_prints_keying_sheets_for_them(night):
    """The entry as the place has it: its form for a correction holds what was typed, its page says it in words."""
    _, truth, here = night
    folder = here.folder.parent / "places" / "W3"
    app = webapp.create_app(
        Settings("place", folder, mode="practice", clock="scripted", start=truth.place.at(truth.place.closes))
    )
    running = serve_in_thread(app)
    try:
        window, tape = Window(running.port), next(iter(app.extensions["room"].day.tapes.values()))
        contest, precinct = truth.place.typed_contests()[0], truth.place.precincts[0]
        row = truth.apart[tape.at][precinct.id][contest.id]
        form = window.get(f"/record/{tape.number}/correct").form(f"/record/{tape.number}/correct")
        choice = contest.choices[0]
        name = f"contests_by_precinct.{precinct.id}.{contest.id}.votes.{choice.id}"
        assert form.controls[name].value == str(row["votes"][choice.id])
        said = window.get(f"/record/{tape.number}").text
        assert f"{precinct.name}, {contest.title}: {choice.label} {row['votes'][choice.id]}" in said
    finally:
        running.stop()
        app.extensions["room"].close()
    sheet = PaperSheet("Keying sheets", "", foot_size=9)
    keyings(sheet, truth.place)
    words = "".join(printed_text(bytes(sheet.output())).split())
    assert f"{precinct.name}: {contest.title}".replace(" ", "") in words
    assert f"All precincts: {contest.title}".replace(" ", "") in words
