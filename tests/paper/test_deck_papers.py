"""The papers of the test deck, read and rendered as a marker has them: whole, nothing over anything, and enough by themselves."""

import re
from functools import cache

import pytest

from deck.test_stored import PLACE
from paper.printed import Printed
from webapp.deck.deck import build
from webapp.deck.plan import plan
from webapp.paper.deck_certificate import certificate_pdf
from webapp.paper.deck_tallies import runs, tallies_pdf
from webapp.paper.parts import sheet
from webapp.paper.parts.deck_marking import marking_pdf, ordinal
from webapp.precinct.place import place_file

PLACE_READ = place_file.read(PLACE)
DECK = build(plan(PLACE_READ))
PAPERS = {
    "marking": lambda: marking_pdf(PLACE_READ, DECK),
    "tallies": lambda: tallies_pdf(PLACE_READ, DECK),
    "certificate": lambda: certificate_pdf(PLACE_READ, DECK, 4242),
}


@cache
def made(name: str) -> bytes:
    return PAPERS[name]()


@cache
def printed(name: str) -> Printed:
    return Printed(made(name))


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_is_whole_and_can_be_read(name):
    paper = printed(name)

    assert paper.outside(13, 203, 11, 275) == []
    assert paper.overlapping() == []
    assert paper.under_the_stamp() == []
    assert paper.ink_at_the_edge() == []
    assert paper.blank_pages() == []
    assert paper.smallest() >= 8


def test_the_bytes_are_the_same_whatever_was_printed_before():
    """Words are measured once a process; that must not show in the file."""
    first = marking_pdf(PLACE_READ, DECK), tallies_pdf(PLACE_READ, DECK)
    sheet._measured.clear()

    assert (marking_pdf(PLACE_READ, DECK), tallies_pdf(PLACE_READ, DECK)) == first == (made("marking"), made("tallies"))


@pytest.mark.parametrize("name", PAPERS)
def test_every_page_names_the_edition_and_the_deck(name):
    for page in printed(name).texts:
        assert f"Edition {DECK.plan.edition}, digest of the deck {DECK.digest[:16]}" in page


def test_each_ballot_has_a_marking_sheet_with_names_and_places():
    words = printed("marking").all

    numbers = set(re.findall(r"\b[12]-(\d{3}|T)\b", words))
    assert {row.id.rpartition("-")[2] for row in DECK.rows if row.kind != "refuse"} - numbers <= inside_runs(words)
    assert "Ines Marchetti 1st of 4" in words, "printed first on style 1, where candidates rotate"
    assert "TEST across the ballot" in words and "never corrected" in words
    assert "write a name, leave the oval EMPTY" in words
    for row in DECK.rows:
        if row.is_refused:
            assert row.id in words


def inside_runs(words: str) -> set[str]:
    """Numbers between the first and the last of ballots that are alike."""
    found = set()
    for first, last in re.findall(r"\b\d-(\d{3}) to \d-(\d{3})", words):
        found |= {f"{n:03d}" for n in range(int(first), int(last) + 1)}
    return found


def test_a_ballot_marked_wrong_is_found_with_the_check_sheet_alone():
    """The grid gives back every mark of every ballot, by place, name written and fold; so any wrong mark differs from it."""
    for style in DECK.plan.styles:
        text = next(text for text in printed("tallies").texts if f"Check sheet, style {style.id}:" in text)
        for contest in style.contests:
            places = [p for c, p in style.printed if c == contest.id]
            for part in parts(DECK.rows_of(style.id)):
                cells = []
                for row in part:
                    marked = [p for p in places if p in row.marks.get(contest.id, ())]
                    named = row.names.get(contest.id, ())
                    shown = [str(places.index(p) + 1) + ("N" if p in named else "") for p in marked]
                    shown += [f"–N{places.index(p) + 1}" for p in named if p not in marked]
                    cells.append(" ".join(shown) or "–")
                assert " ".join(cells) in text, (style.id, contest.id)
        assert "Agnes" not in text, "a grid without names"


def parts(rows):
    return [rows[i : i + 10] for i in range(0, len(rows), 10)]


def test_the_chart_has_every_expected_figure():
    pages = printed("tallies").all
    chart = pages[pages.index("what the tape of T1 must read") : pages.index("what the tape of T2 must read")]

    for contest in DECK.plan.contests:
        figures = DECK.expected["T1"]["contests"][contest.id]
        after = chart[chart.index(f"{contest.title} (vote for {contest.n})") :]
        for choice, n in figures["votes"].items():
            assert f"{contest.name_of(choice)} {n}" in after
        assert f"Undervotes {figures['under']} Overvotes {figures['over']} Ballots {figures['ballots']}" in after


def test_the_feeding_list_has_each_ballot_as_often_as_it_is_fed():
    pages = printed("tallies").all
    last = pages[pages.index("Feeding list of T2") :]

    assert "2-T, 2-T" in last or "1-T, 1-T" in last
    assert str(DECK.feeds["T2"].ballots) in last and "X-003" in last and "Counter still" in last
    assert f"{DECK.feeds['T2'].sheets} sheets" in last


def test_the_certificate_says_what_was_played_and_what_cannot_be_shown():
    words = printed("certificate").all

    assert "4242, all shown by some figure" in words and "The deck cannot show" in words
    assert DECK.digest in words.replace(" ", "") and "60 days, records of federal elections 22 months" in words
    assert "84-1127" in words and "20 October 2026" in words


def test_a_hidden_fault_stands_on_the_certificate():
    words = Printed(certificate_pdf(PLACE_READ, DECK, 10, ("Two ovals exchanged.",))).all

    assert "10, of which 1 NOT shown" in words and "Not shown by this deck: Two ovals exchanged." in words


def test_small_words_for_numbers_and_runs():
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 21, 113)] == [
        "1st",
        "2nd",
        "3rd",
        "4th",
        "11th",
        "12th",
        "21st",
        "113th",
    ]
    assert runs(["1-001", "1-002", "1-003", "1-T", "1-T", "2-009"]) == "1-001 to 1-003, 1-T, 1-T, 2-009"
