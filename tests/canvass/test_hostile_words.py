"""Titles, names and reasons of any kind come back from CSV and JSON as they were typed, and do nothing on the page for the public.

Tags and formulas as OWASP lists them for cross-site scripting and CSV injection (common practice); letters of all planes, 10,000 of them, joined emoji.
Letters that cannot be seen (controls, direction marks) the place file refuses: `tests/place/test_hostile_toml.py`; here they come all the same.
"""

import csv
import html.parser
import io
import json

from tests.canvass.county import County
from tests.canvass.test_nist_results import from_csv, read_back, reported, schema, well_formed  # noqa: F401
from webapp.canvass import indented_json, nist_results, posting_page, results_csv
from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.edition import WAYS, Edition, Unit
from webapp.canvass.published import OneContest, next_edition
from webapp.precinct.place.place import Choice, Contest

WORDS = (
    '=HYPERLINK("http://x.example","win")', "+1+cmd|' /C calc'!A0", "-2+3", "@SUM(A1:A9)", "\t=1", "'1", '"', '""', ",", ";", "a,b\nc", "tab\there",
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</td></tr></table>", "<!--", "]]>", "&lt;b&gt;", "{{7*7}}", "%s%n", "${x}", "\\", "\\u0041",
    "\x00", "\x1b[31m", "\x7f", "\u202e321", "\u2028", "\ufeff", "a\u0301", "水", "\U0001f469\u200d\U0001f680", "null", "0", " two  spaces ", "y" * 10_000,
)  # fmt: skip


class Page(html.parser.HTMLParser):
    """The words of a page and every tag with its attributes."""

    def __init__(self, text: str):
        super().__init__(convert_charrefs=True)
        self.words, self.tags = "", set()
        self.feed(text)
        self.close()

    def handle_data(self, data):
        self.words += data

    def handle_starttag(self, tag, attrs):
        self.tags |= {(tag, name) for name, _ in attrs} | {(tag, "")}


def edition_with(words: str) -> Edition:
    contest = Contest("C", f"T{words}", 1, (Choice("A", f"A{words}"), Choice("B", f"B{words}")), f"G{words}", True)
    votes = {
        Atom("P", WAYS[0].id): Figures(30, {"A": 17, "B": 11, "write_in": 1, "under": 1, "over": 0, "ballots": 30})
    }
    one = next_edition(OneContest(), votes, County(("P",), {}).lists)
    units = (Unit("P", f"P{words}", {WAYS[0].id: 30}, {f"G{words}": 30}, 41, 30),)
    return Edition(
        1,
        "unofficial-partial",
        0,
        1,
        f"O{words}",
        f"E{words}",
        1,
        1,
        (contest,),
        {"C": one},
        units,
        WAYS,
        because=f"R{words}",
    )


def test_r22_words_of_any_kind_come_back_as_typed_from_csv_and_json(schema):  # noqa: F811
    for words in WORDS:
        edition = edition_with(words)
        rows = list(csv.reader(io.StringIO(results_csv.written(edition).decode(), newline="")))
        assert {len(row) for row in rows} == {9}, words
        assert [f"P{words}", f"T{words}", "1", f"A{words}", "choice", "17", f"G{words}", "P/election_day", "17"] in rows
        report = reported(edition)
        again = json.loads("".join(nist_results.written(edition, *TOLD)))
        assert again == json.loads(json.dumps(report)) == report, words
        assert list(schema.iter_errors(again)) == []
        well_formed(again)
        assert read_back(again)[f"T{words} (G{words})", f"A{words}"] == 17
        assert again["Issuer"] == f"O{words}" and f"P{words}" in [
            one["Name"]["Text"][0]["Content"] for one in again["GpUnit"]
        ]
        if "\n" not in words:
            assert read_back(again) == from_csv(results_csv.written(edition))


TOLD = ("sable", "2026-11-12T16:05:00-06:00", "1.2.0", "2026-11-03", "general", "ballots")


def test_r22_on_the_page_for_the_public_words_are_words():
    plain = Page(posting_page.written(edition_with("plain"), "12 November", ()).decode())
    for words in WORDS:
        page = Page(posting_page.written(edition_with(words), "12 November", ()).decode())
        assert page.tags == plain.tags, words
        if "\x00" not in words:
            for begins in "TABPR":
                assert f"{begins}{words}" in page.words, (begins, words)


def test_json_in_pieces_is_the_text_of_the_standard_library():
    value = {
        "a": [],
        "b": {},
        "c": [1, [2, {"d": None, "e": True}], "ü"],
        **{w: [w, {w: -1}] for w in WORDS},
        "f": False,
    }
    text = json.dumps(value, ensure_ascii=False, indent=1)
    assert indented_json.text(value, "") == text == "".join(indented_json.pieces(value))
    assert "".join(indented_json.pieces({"rows": iter(()), "more": iter([{"x": iter([1, 2])}, {}])})) == json.dumps(
        {"rows": [], "more": [{"x": [1, 2]}, {}]}, indent=1
    )
