"""The certified canvass out of an edition's files: the same bytes each time, read back by PDFium, with hostile names inert; and numbers in words.

What a certificate must hold: Wash. Admin. Code 434-262-070 (full, true and correct; registered and cast; oath; seal); facts from `office.md` 7.
"""

import json
from dataclasses import replace

import pytest

from tests.canvass.county import GOV, PROP, SITE, County, figures
from tests.paper.printed import Printed
from webapp.canvass import document, results_csv
from webapp.canvass.atoms import Atom, Figures
from webapp.canvass.document import CANVASS, spelled, wording
from webapp.canvass.edition import public
from webapp.office.canvassing.editions import as_json
from webapp.paper.certificate_pages import certificate_pdf
from webapp.paper.reconciliation_pages import reconciliation_pdf

MADE = "2026-11-24T16:05:00-06:00"
RECONCILED = """place,name,state,check_ins,ballots,election_day,spoiled,provisional_issued,provisional_accepted,provisional_rejected,provisional_open,received,unused,gap_poll_book,gap_stock,agree,remarked,restored,packet
HM4,Place HM4,in,432,431,431,3,,,,,900,466,1,0,tape-paper,yes,,a46fde85e8d91c01
W3,Place W3,paper,210,212,212,4,15,12,3,0,500,284,-2,0,book-tape,,yes,paper
county,Sable County election office,,642,643,643,7,15,12,3,0,1400,750,-1,0,,,,
"""
BOARD = {
    "format": 1,
    "text": "We certify that this is a full, true and correct statement of the votes cast in 2 places, with (not given) registered and 643 ballots cast.",
    "met": "Tue 24 Nov 2026, 15:40",
    "present": 2,
    "quorum": 2,
    "unanimous": False,
    "members": [
        {"name": "Ann Ashby", "party": "Alder League", "vote": "for", "statement": ""},
        {"name": "Cal Bell", "party": "Bittern Union", "vote": "against", "statement": "The seal of W3 was broken."},
        {"name": "Dee Cole", "party": "Alder League", "vote": "", "statement": ""},
    ],
    "narrative": [
        {"about": "entry/214", "title": "W3: return corrected", "text": "The tape was read the wrong way round."}
    ],
    "over": [["1 envelope not decided.", "The court holds it."]],
    "editions": [[1, "Unofficial, partial", "2026-11-03T22:10:00-06:00", "ab" * 32]],
    "supersedes": None,
    "changed": [],
    "opened_again": "",
    "cut": 240,
    "words": "7QK2-M4NP-XC0R",
}


def files(status="certified", board=BOARD, names=None):
    county = County(("HM4", "W3"), {"HM4": "W3", "W3": "HM4"})
    kept = {
        "GOV": {Atom("HM4", SITE): figures(201, 190, 12, 27, 1), Atom("W3", SITE): figures(101, 98, 4, 8, 1)},
        "PROP": {Atom("HM4", SITE): Figures(431, {"Y": 200, "N": 200, "under": 31, "over": 0})},
    }
    made = county.post(kept, contests=(GOV, PROP))
    made = replace(made, status=status, **(names or {}))
    found = {"results.csv": results_csv.written(made), "reconciliation.csv": RECONCILED.encode()}
    if board:
        found[CANVASS] = json.dumps(board).encode()
    return found | {"edition.json": as_json(public(made, MADE, {}))}


def test_the_document_is_read_back_from_its_pdf():
    printed = Printed(certificate_pdf(document.read(files())))
    text = printed.all
    for words in (
        "full, true and correct statement of the votes cast in 2 places, with (not given) registered and 643 ballots",
        "The board was not unanimous",
        "Cal Bell, Bittern Union: against",
        "The seal of W3 was broken.",
        "Dee Cole, Alder League: away, not signed",
        "place for the seal",
        "Ada Marsh 302 Most votes: three hundred two",
        "The tape was read the wrong way round.",
        "1 envelope not decided. The court holds it.",
        "7QK2-M4NP-XC0R",
        "1 more check-in than ballots",
        "gross 3",
    ):
        assert words in text, words
    assert "UNOFFICIAL" not in text
    digest = document.read(files()).digest
    for n, page in enumerate(printed.texts, 1):
        assert digest[:16] in page and f"Page {n} of {len(printed)}" in page and "Certified, edition 1" in page
    assert printed.outside(12, 203, 10, 276) == [] and printed.smallest() >= 8.5


def test_both_papers_have_the_same_bytes_each_time_and_others_for_another_edition():
    one = files()
    for made in (certificate_pdf, reconciliation_pdf):
        first = made(document.read(one))
        certificate_pdf(
            document.read(files(board={**BOARD, "text": "Other words."}))
        )  # what was printed before moves nothing
        assert made(document.read(one)) == first
        assert made(document.read(files(status="unofficial-complete", board=None))) != first


def test_before_certifying_unofficial_stands_across_the_page():
    printed = Printed(certificate_pdf(document.read(files("unofficial-complete", None))))
    assert (
        "UNOFFICIAL" in printed.texts[0] and "Not certified" in printed.all and "place for the seal" not in printed.all
    )


def test_an_amended_certificate_names_what_it_supersedes_and_only_the_contests_that_changed():
    board = {**BOARD, "supersedes": 4, "changed": [["Bridge", ""]], "opened_again": "A recount, order 26-114"}
    text = Printed(certificate_pdf(document.read(files("recount", board)))).all
    assert "Amended certificate" in text and "supersedes that of edition 4" in text
    assert "Contests that changed: Bridge" in text and "A recount, order 26-114" in text and "Ada Marsh" not in text
    assert "Yes 200 Most votes: two hundred No 200 Most votes: two hundred" in text, "a tie is said of both"


def test_hostile_names_and_words_are_printed_as_they_are():
    evil = '<script>alert(1)</script> =HYPERLINK("x") \u202eabc\x07 ' + "W" * 3000
    board = {**BOARD, "narrative": [{"about": "entry/1", "title": evil[:60], "text": evil}]}
    one = files(board=board, names={"office": "=cmd|' /C calc'!A0 & <b>", "because": "{places} %s \\ ( )"})
    text = Printed(certificate_pdf(document.read(one))).all
    assert "<script>alert(1)</script>" in text and "=HYPERLINK" in text and "{places} %s" in text
    assert b"/JavaScript" not in certificate_pdf(document.read(one)) and b"/JS" not in certificate_pdf(
        document.read(one)
    )


def test_the_reconciliation_report_has_the_figures_of_the_csv():
    printed = Printed(reconciliation_pdf(document.read(files())))
    text = printed.all
    for words in (
        "Place HM4",
        "432",
        "from paper",
        "15",
        "284",
        "Place W3: 2 more ballots than check-ins",
        "net 1 over, gross 3",
    ):
        assert words in text, words
    assert "its record was restored on another laptop" in text and printed.outside(12, 203, 10, 276) == []


@pytest.mark.parametrize(
    ("n", "words"),
    (
        (0, "zero"),
        (13, "thirteen"),
        (40, "forty"),
        (99, "ninety-nine"),
        (212, "two hundred twelve"),
        (1000, "one thousand"),
        (20_013, "twenty thousand thirteen"),
        (305_100, "three hundred five thousand one hundred"),
        (2_000_001, "two million one"),
    ),
)
def test_numbers_in_words(n, words):
    assert spelled(n) == words


def test_the_offices_own_wording_takes_its_figures():
    assert wording("{places} {registered} {ballots} {other}", 3, None, 1204) == "3 (not given) 1,204 {other}"
