"""The picture of where every ballot went: its lines are as many as the ballots, none crosses another, and the page shows it only after the blind counts."""

import html
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.pages.flow import MOST, ROW, picture
from webapp.precinct.flow import End, Flow, Source

WHAT = st.sampled_from([("unused", "", ""), ("tape", "", "T1"), ("tape", "", "T2"), ("aside", "spoiled", ""), ("aside", "taken", ""), ("sent", "", ""), ("gap", "", ""), ("bins-gap", "", "T1")])


@st.composite
def flows(draw):
    ends = [End(what, draw(st.integers(1, 5000)) * (-1 if "gap" in what and draw(st.booleans()) else 1), name, of)
            for what, name, of in draw(st.lists(WHAT, min_size=1, max_size=9, unique=True))]
    ends.sort(key=lambda end: end.of)                       # what passes one tabulator stands together, as the model has it
    return Flow((Source("received", sum(end.n for end in ends)),), tuple(ends))


def strands(path: str) -> list[tuple[float, float, float | None]]:
    """(height at the stock, height at the end, height at the tabulator) of each line in path data."""
    found = []
    for line in path.split("M0 ")[1:]:
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", line)]
        found.append((numbers[0], numbers[-1], numbers[6] if "H" in line else None))
    return found


@given(flows())
@settings(max_examples=150, deadline=None)
def test_every_end_has_its_lines_and_they_never_cross(flow):
    drawn = picture(flow)
    lines = [strands(bundle.path) for bundle in drawn.bundles]

    assert [max(round(abs(end.n) / drawn.each), 1) for end in flow.ends] == [len(mine) for mine in lines]
    assert sum(map(len, lines)) <= MOST + len(flow.ends) and drawn.height == ROW * len(flow.ends)
    every = [line for mine in lines for line in mine]
    assert [y for y, _, _ in every] == sorted(y for y, _, _ in every) and [y for _, y, _ in every] == sorted(y for _, y, _ in every)
    for row, mine in enumerate(lines):
        assert all(ROW * row < goal < ROW * (row + 1) for _, goal, _ in mine) and all(0 <= start <= drawn.height for start, _, _ in mine)
        assert all((middle is not None) == bool(flow.ends[row].of) for _, _, middle in mine)
    assert all(0 <= gate.top < gate.foot <= 100 for gate in drawn.gates) and len(drawn.gates) == len({end.of for end in flow.ends} - {""})


def test_the_table_has_what_came_and_where_it_ended_with_equal_sums_but_for_the_gap():
    drawn = picture(Flow((Source("received", 1400),), (End("unused", 787), End("bin", 541, "main", "T1"), End("bin", 55, "write-in", "T1"), End("aside", 9, "spoiled"), End("aside", 7, "taken"), End("gap", 1))))

    assert (1400, 1399) == (sum(row.came or 0 for row in drawn.table), sum(row.ended or 0 for row in drawn.table)) == (drawn.came, drawn.accounted)
    assert ("Counted by T1 (main bin 541, write-in bin 55)", None, 596) in [(row.title, row.came, row.ended) for row in drawn.table]
    assert ["", "", "", "", "", "gone"] == [bundle.kind for bundle in drawn.bundles] and 25 == drawn.each
    assert ((1, "1 more ballot drawn than accounted for."),) == drawn.gaps


def test_a_flow_that_misses_the_count_of_the_stock_is_no_picture():
    assert picture(Flow(missing=("unused",))) is None


def words(page) -> str:
    """What a page says, without its head, menu and symbols."""
    main = page.text.split("<main", 1)[1].split("</main>", 1)[0]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", main)).split())


class Cells(HTMLParser):
    """The figures of the table of a page, as numbers by row."""

    def __init__(self, text):
        super().__init__()
        self.rows, self.at = [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append([])
        self.at = tag

    def handle_data(self, data):
        if self.at in ("th", "td") and data.strip():
            self.rows[-1].append(data.strip())


@pytest.mark.parametrize("moment, says", [("voting", "is drawn at the close"), ("unused", "Count first, then look")])
def test_the_page_is_closed_until_the_blind_counts_are_signed(scene, moment, says):
    page = scene(moment).window.get("/where")

    assert page.status == 200 and says in words(page) and 'class="flow' not in page.text and "came in" not in words(page)


def test_after_the_blind_counts_what_should_be_on_the_tapes_is_awaited_and_then_it_is_in_the_bins(scene):
    counted, typed = scene("tape-prints").window.get("/where"), scene("remark")
    page = typed.window.get("/where")

    assert "are accounted for so far" in words(counted) and 'class="awaited"' in counted.text
    rows = {row[0]: row[1:] for row in Cells(page.text).rows if row}
    received = sum(s.received for s in typed.place.stock)
    cast = sum(sum(kept.body["ballots"].values()) for kept in typed.room.day.tapes.values())
    assert [f"{received:,}", f"{received:,}"] == rows["Together"] and cast == sum(int(figure.replace(",", "")) for title, (figure, *_) in rows.items() if title.startswith("Counted by"))
    assert 'role="img"' in page.text and "style=" not in page.text
    assert "Write-in bin of T1" in words(page) and "Every ballot is accounted for." in words(page)


def test_a_gap_stands_there_as_a_bracket_and_says_that_a_remark_is_wanted(scene):
    here = scene("remark")
    unused = here.room.day.last("unused")
    form = here.form(f"/record/{unused.number}/correct")
    name = next(name for name in form.controls if name.startswith("unused."))
    page = here.window.send(form, here.signed({name: str(int(form.controls[name].value) - 1), "reason": "counted again, one fewer"}, "lindqvist"))
    assert here.second(page).status == 200
    said = here.window.get("/where")

    assert "1,400 ballots came in. 1,399 are accounted for." in words(said) and "1 more ballot drawn than accounted for." in words(said)
    assert 'class="missing"' in said.text and 'class="gone"' in said.text and "needs a remark before hand-over" in words(said)
