"""The papers of a count board: header sheets whose codes an independent reader reads back, and blanks on which two of two parties can write."""

import json

import pypdfium2
import pytest
import zxingcpp

from tests.paper.printed import Printed
from webapp.board.batch_ids import batch_of
from webapp.commands import main
from webapp.paper.board_forms import CAUSES, board_forms_pdf
from webapp.paper.header_sheets import CODE, DO_NOT_FEED, KINDS, header_sheets_pdf

FRAME = {"left": 13.5, "right": 200.5, "top": 11.5, "bottom": 273}  # mm: what both letter and A4 show


def read_back(data: bytes, dpi: int = 100, grey: float = 1.0) -> list[zxingcpp.Barcode]:
    """The codes of a PDF in their order, rendered by PDFium and read by zxing: neither had a part in writing them."""
    found = []
    for page in pypdfium2.PdfDocument(data):
        picture = page.render(scale=dpi / 72).to_pil().convert("L").point(lambda value: int(255 - (255 - value) * grey))
        found += sorted(zxingcpp.read_barcodes(picture), key=lambda code: code.position.top_left.y)
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_every_header_sheet_opens_its_batch_when_its_code_is_read(school, kind):
    codes = read_back(header_sheets_pdf(school, kind, 8, 7))
    letter = {"first": "B", "duplicates": "D", "again": "G"}[kind]
    assert [batch_of(code.text, school.id) for code in codes] == [f"{letter}{n:03}" for n in range(8, 15)]
    assert {code.format for code in codes} == {zxingcpp.BarcodeFormat.QRCode} and {code.ec_level for code in codes} == {
        "Q"
    }


def test_a_code_is_read_from_a_coarse_and_from_a_pale_print(school):
    data = header_sheets_pdf(school, "first", 1, 2)
    assert len(read_back(data, dpi=50)) == len(read_back(data, dpi=100, grey=0.35)) == 2


def test_a_code_is_thirty_millimetres_wide_with_white_around_it(school):
    (code, _) = read_back(header_sheets_pdf(school, "first", 1, 2), dpi=254)
    place = code.position
    assert abs((place.top_right.x - place.top_left.x) / 10 - CODE) < 0.6


def test_each_header_sheet_says_do_not_feed_which_way_is_up_and_what_is_written_on_it(places):
    paper = Printed(header_sheets_pdf(places["live"], "first", 1, 4))
    assert len(paper) == 2
    for text in paper.texts:
        for words in (
            DO_NOT_FEED,
            "This way up",
            "A second person looks",
            "counter before",
            "counter after",
            "set aside",
            "precinct",
        ):
            assert text.count(words) >= 2, words
    assert paper.texts[1].count("B003") == 1 and paper.texts[1].count("B004") == 1


def test_a_sheet_of_a_later_run_has_room_for_its_longer_id(school):
    paper = Printed(header_sheets_pdf(school, "first", 10001, 2))
    assert "B10001" in paper.all and "B10002" in paper.all and paper.outside(**FRAME) == []
    assert [batch_of(code.text, school.id) for code in read_back(paper.data)] == ["B10001", "B10002"]


def test_whoever_is_practicing_sees_it_on_each_half(school):
    (text,) = Printed(header_sheets_pdf(school, "first", 1, 2)).texts
    assert "PRACTICE" in text and ", practice" in text


def test_every_board_paper_lies_inside_letter_and_a4_and_nothing_over_another(places):
    for place in places.values():
        for paper in (Printed(header_sheets_pdf(place, "first", 1, 2)), Printed(board_forms_pdf(place))):
            assert paper.outside(**FRAME) == [] and paper.overlapping() == [] and paper.under_the_stamp() == []
            assert paper.smallest() >= 8.9


def test_the_blanks_are_one_page_each_and_name_their_seats(school):
    paper = Printed(board_forms_pdf(school))
    heads = [
        "Carrier slip",
        "Tray card",
        "Batch card",
        "Problem ballots of a batch",
        "Duplication log",
        "Night seal sheet",
        "Statement of the board",
        "DO NOT FEED",
        *("Hand tally of a contest" for _ in school.contests),
    ]
    assert len(paper) == len(heads)
    for text, head in zip(paper.texts, heads, strict=True):
        assert text.startswith(("PRACTICE " + head, head)), text[:60]
    for text in (*paper.texts[:3], *paper.texts[4:7], *paper.texts[8:]):
        assert "of another party" in text and "signature" in text


def test_no_paper_asks_for_a_voter_or_an_envelopes_number(school):
    text = (Printed(board_forms_pdf(school)).all + Printed(header_sheets_pdf(school, "first", 1, 2)).all).lower()
    assert not any(words in text for words in ("voter", "envelope number", "name on the envelope", "address"))
    assert "never write how it is marked" in text and all(cause in text for cause in CAUSES)


@pytest.fixture
def printed(tmp_path, capsys):
    """`tapeseal place paper` with these words: its exit code, what it said, and the file."""

    def run(*words):
        out = tmp_path / "paper.pdf"
        code = main(["place", "paper", "demo_precinct/place.toml", "--out", str(out), "--json", *words])
        said = capsys.readouterr()
        return code, said.out, said.err, out

    return run


def test_the_command_prints_header_sheets_in_order(printed):
    code, said, _, out = printed("--only", "headers", "--kind", "duplicates", "--first", "3", "--count", "5")
    assert code == 0 and json.loads(said)["what"] == "headers"
    assert [batch_of(code.text, "W3") for code in read_back(out.read_bytes())] == [
        "D003",
        "D004",
        "D005",
        "D006",
        "D007",
    ]


def test_without_more_words_it_prints_twenty_of_the_first_batches(printed):
    code, _, _, out = printed("--only", "headers")
    assert code == 0 and len(Printed(out.read_bytes())) == 10


def test_the_command_prints_the_blanks_of_a_board(printed):
    code, said, _, out = printed("--only", "board")
    assert code == 0 and json.loads(said)["bytes"] == len(out.read_bytes()) and len(Printed(out.read_bytes())) == 8 + 11


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--only", "headers", "--count", "0"), "--count: print 1 to 2000 header sheets at a time."),
        (("--only", "headers", "--count", "2001"), "--count: print 1 to 2000 header sheets at a time."),
        (("--only", "headers", "--first", "0"), "--first: batches are numbered from 1."),
        (
            ("--only", "forms", "--count", "3"),
            "--count belongs to the header sheets: write --only headers, or leave it out.",
        ),
        (("--kind", "again"), "--kind belongs to the header sheets: write --only headers, or leave it out."),
    ],
)
def test_a_wrong_number_of_header_sheets_is_one_sentence_and_writes_nothing(printed, words, sentence):
    code, _, err, out = printed(*words)
    assert code == 2 and sentence in err and not out.exists()


def test_a_hand_tally_has_every_line_of_its_contest(school):
    paper = Printed(board_forms_pdf(school))
    for contest, text in zip(school.contests, paper.texts[8:], strict=True):
        assert f"{contest.title}: vote for {contest.n}" in text
        assert all(choice.label in text for choice in contest.choices)
        assert all(
            words in text for words in ("Strokes", "First sum", "Second sum", "Undervotes", "Overvotes", "Ballots")
        )
        assert ("Write-ins" in text) == contest.write_in


def test_the_statement_asks_for_words_and_digits_and_for_each_precinct(school):
    (text,) = (text for text in Printed(board_forms_pdf(school)).texts if "Statement of the board" in text[:60])
    assert "In words" in text and "In digits" in text and all(precinct.name in text for precinct in school.precincts)
