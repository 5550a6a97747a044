"""The picture of where every ballot went: its lines are as many as the ballots, none crosses another, and the page shows it only after the blind counts."""

import html
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.pages.shared.flow_drawing import MOST, ROW, picture
from webapp.precinct.balance.ballot_flow import End, Flow, Source

WHAT = st.sampled_from(
    [
        ("unused", "", ""),
        ("tape", "", "T1"),
        ("tape", "", "T2"),
        ("aside", "spoiled", ""),
        ("aside", "taken", ""),
        ("sent", "", ""),
        ("gap", "", ""),
        ("bins-gap", "", "T1"),
    ]
)


@st.composite
def flows(draw):
    ends = [
        End(what, draw(st.integers(1, 5000)) * (-1 if "gap" in what and draw(st.booleans()) else 1), name, of)
        for what, name, of in draw(st.lists(WHAT, min_size=1, max_size=9, unique=True))
    ]
    order = ["unused", "tape", "bins-gap", "aside", "sent", "gap"]
    ends.sort(
        key=lambda end: (bool(end.of) + 2 * (order.index(end.what) > 2) if end.what != "bins-gap" else 1, end.of)
    )  # as the model has them
    return Flow((Source("received", sum(end.n for end in ends)),), tuple(ends))


def strands(path: str) -> list[list[tuple[float, float]]]:
    """Each line in path data as the spots it runs through, from 0 to 100 across, worked out from its curves."""
    found = []
    for line in path.split("M0 ")[1:]:
        spots, at = [], (0.0, float(line.split("C")[0]))
        for kind, numbers in re.findall(r"([CH])([-\d. ]+)", "".join(line.partition("C")[1:])):
            n = [float(one) for one in numbers.split()]
            ends = [at, *zip(n[::2], n[1::2])] if kind == "C" else [at, at, (n[0], at[1]), (n[0], at[1])]
            spots += [
                tuple(
                    sum(w * p[i] for w, p in zip(((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3), ends))
                    for i in (0, 1)
                )
                for t in (k / 24 for k in range(25))
            ]
            at = ends[-1]
        found.append(spots)
    return found


def height(spots: list[tuple[float, float]], x: float) -> float:
    """How far down a line is at this x."""
    (a, ya), (b, yb) = next((p, q) for p, q in zip(spots, spots[1:]) if p[0] <= x <= q[0])
    return ya if a == b else ya + (yb - ya) * (x - a) / (b - a)


@given(flows())
@settings(max_examples=examples(150), deadline=None)
def test_every_end_has_its_lines_and_they_never_cross(flow):
    drawn = picture(flow)
    lines = [strands(bundle.path) for bundle in drawn.bundles]

    assert [max(round(abs(end.n) / drawn.each), 1) for end in flow.ends] == [len(mine) for mine in lines]
    assert sum(map(len, lines)) <= MOST + len(flow.ends) and drawn.height == ROW * len(flow.ends)
    every = [line for mine in lines for line in mine]
    for x in range(0, 101, 4):
        down = [height(line, x) for line in every]
        assert all(y >= before - 1.6 for before, y in zip(down, down[1:])), x  # a line's own width is one or two units
    for row, mine in enumerate(lines):
        assert all(
            ROW * row < line[-1][1] < ROW * (row + 1) and 0 <= line[0][1] <= drawn.height and line[-1][0] == 100
            for line in mine
        )
        assert all(("H54" in bundle) == bool(flow.ends[row].of) for bundle in [drawn.bundles[row].path])
    assert all(0 <= gate.top < gate.foot <= 100 for gate in drawn.gates) and len(drawn.gates) == len(
        {end.of for end in flow.ends} - {""}
    )


def test_the_table_has_what_came_and_where_it_ended_with_equal_sums_but_for_the_gap():
    drawn = picture(
        Flow(
            (Source("received", 1400),),
            (
                End("unused", 787),
                End("bin", 541, "main", "T1"),
                End("bin", 55, "write-in", "T1"),
                End("aside", 9, "spoiled"),
                End("aside", 7, "taken"),
                End("gap", 1),
            ),
        )
    )

    assert (
        (1400, 1399)
        == (sum(row.came or 0 for row in drawn.table), sum(row.ended or 0 for row in drawn.table))
        == (drawn.came, drawn.accounted)
    )
    assert ("Counted by T1 (main bin 541, write-in bin 55)", None, 596) in [
        (row.title, row.came, row.ended) for row in drawn.table
    ]
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

    assert (
        page.status == 200 and says in words(page) and 'class="flow' not in page.text and "came in" not in words(page)
    )


def test_after_the_blind_counts_what_should_be_on_the_tapes_is_awaited_and_then_it_is_in_the_bins(scene):
    counted, typed = scene("tape-prints").window.get("/where"), scene("remark")
    page = typed.window.get("/where")

    assert "are accounted for so far" in words(counted) and 'class="awaited"' in counted.text
    rows = {row[0]: row[1:] for row in Cells(page.text).rows if row}
    received = sum(s.received for s in typed.place.stock)
    cast = sum(sum(kept.body["ballots"].values()) for kept in typed.room.day.tapes.values())
    assert [f"{received:,}", f"{received:,}"] == rows["Together"] and cast == sum(
        int(figure.replace(",", "")) for title, (figure, *_) in rows.items() if title.startswith("Counted by")
    )
    assert 'role="img"' in page.text and "style=" not in page.text
    assert "Write-in bin of T1" in words(page) and "Every ballot is accounted for." in words(page)


def test_a_gap_stands_there_as_a_bracket_and_says_that_a_remark_is_wanted(scene):
    here = scene("remark")
    unused = here.room.day.last("unused")
    form = here.form(f"/record/{unused.number}/correct")
    name = next(name for name in form.controls if name.startswith("unused."))
    page = here.window.send(
        form,
        here.signed({name: str(int(form.controls[name].value) - 1), "reason": "counted again, one fewer"}, "lindqvist"),
    )
    assert here.second(page).status == 200
    said = here.window.get("/where")

    assert "1,400 ballots came in. 1,399 are accounted for." in words(
        said
    ) and "1 more ballot drawn than accounted for." in words(said)
    assert (
        'class="missing"' in said.text
        and 'class="gone"' in said.text
        and "needs a remark before hand-over" in words(said)
    )
