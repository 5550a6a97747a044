"""The packet on paper: one first page whatever the night, codes large enough, remarks and contests in full."""

import re

import pypdfium2
import pytest
from fontTools.ttLib import TTFont

from tests.matrix import some
from webapp.packet import codes, frames
from webapp.packet import print_model as facts
from webapp.packet.print_model import (
    AccountPages,
    AccountRow,
    Gap,
    Mark,
    PrintedContest,
    PrintedSigner,
    Remark,
    in_words,
)
from webapp.paper import code_pages
from webapp.paper.packet_pages import packet_pdf, quoted
from webapp.paper.parts.sheet import TYPE

LONG = "The second inspector found one ballot in booth 4 at 15:30; both parties set it apart, marked it found and carried it to the clerk in envelope C."


def night(**changes) -> AccountPages:
    plain = dict(
        place="Harrow Mill, Precinct 4",
        county="Tarn County",
        election="General election",
        date="2026-11-03",
        number=2,
        mode="live",
        digest="ab" * 32,
        made="21:14",
        rows=(
            AccountRow("Ballots received", 1400),
            AccountRow("Unused", 960),
            AccountRow("Hand count of the bins", None),
            AccountRow("Ballots on the tapes", 431, True),
        ),
        marks=(Mark(12, "7K3M-Q0T9-ZX4A", "zero tape"), Mark(301, "9B2C-DD0H-1K8*", "close")),
        signers=(PrintedSigner("chair", "Elm"), PrintedSigner("witness", "Heron")),
    )
    return AccountPages(**{**plain, **changes})


def pages(account: AccountPages, texts=()) -> list[str]:
    """The words of each page, as another library reads them."""
    document = pypdfium2.PdfDocument(packet_pdf(account, texts))
    return [document[number].get_textpage().get_text_range().replace("\r\n", "\n") for number in range(len(document))]


@pytest.mark.parametrize(
    "figure, words",
    [
        (0, "zero"),
        (7, "seven"),
        (13, "thirteen"),
        (20, "twenty"),
        (21, "twenty-one"),
        (100, "one hundred"),
        (431, "four hundred thirty-one"),
        (1000, "one thousand"),
        (1400, "one thousand four hundred"),
        (9431, "nine thousand four hundred thirty-one"),
        (60_019, "sixty thousand nineteen"),
        (1_000_001, "one million one"),
        (
            999_999_999_999,
            "nine hundred ninety-nine billion nine hundred ninety-nine million nine hundred ninety-nine thousand nine hundred ninety-nine",
        ),
    ],
)
def test_a_figure_in_words(figure, words):
    """As on a statement of votes in words and figures; common practice, no source."""
    assert words == in_words(figure)


def test_every_figure_up_to_ten_thousand_has_words_of_its_own():
    assert 10_000 == len({in_words(figure) for figure in range(10_000)})


@pytest.mark.parametrize("figure", [-1, 10**12])
def test_a_figure_without_words_is_a_mistake_of_the_caller(figure):
    with pytest.raises(ValueError):
        facts.in_words(figure)


def test_the_first_page_holds_the_account_in_words_and_digits_the_check_words_and_rows_for_ink():
    (first,) = pages(night())
    for words in (
        "Harrow Mill, Precinct 4",
        "one thousand four hundred",
        "1,400",
        "not taken",
        "four hundred thirty-one",
        "7K3M-Q0T9-ZX4A",
        "entry 301, close",
        "signature: chair, Elm",
        "signature: witness, Heron",
        "UNOFFICIAL",
        "Every line that could be drawn adds up",
        "Page 1 of 1",
    ):
        assert words in first


def test_practice_is_stamped_on_every_page_and_live_on_none(texts):
    account = night(
        remarks=(Remark("Poll book", LONG),), contests=(PrintedContest("Mayor", 1, (AccountRow("Kit Rowan", 211),)),)
    )
    live, practice = (
        pages(account, texts),
        pages(night(mode="practice", remarks=account.remarks, contests=account.contests), texts),
    )

    assert [True] * 4 == ["PRACTICE" in page for page in practice]
    assert not any("PRACTICE" in page for page in live) and all("UNOFFICIAL" in page for page in live)


def test_a_gap_stands_with_the_first_120_characters_of_its_remark_and_the_remark_in_full_behind():
    sentence = "431 ballots on the tape, 432 check-ins: 1 more check-in than ballots."
    first, second = pages(
        night(
            gaps=(Gap(sentence, LONG), Gap("Another line.")), remarks=(Remark("Poll book", LONG, "chair, Elm, 20:52"),)
        )
    )

    assert sentence in flat(first) and flat(LONG[:120]) in flat(first) and flat(LONG) not in flat(first)
    assert "No remark was signed." in first
    assert flat(LONG) in flat(second) and "chair, Elm, 20:52" in second


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\ufffe", "")).strip()


def test_a_remark_of_exactly_120_characters_is_whole():
    assert "x" * 120 == quoted("x" * 120)
    assert quoted("x" * 121).startswith("x" * 120 + " …")
    assert "one two" == quoted("one\n two ")


def test_short_signed_steps_head_the_page():
    first = flat(
        pages(night(short_signed=("Departure: signed by chair; seat other empty, absent; office told: 21:02.",)))[0]
    )
    assert first.index("Short-signed: Departure") < first.index("Ballot account")


@pytest.mark.parametrize(
    "gaps, signers, rows",
    some([(0, 2, 4), (80, 12, 40)], [(0, 2, 4), (3, 8, 12), (12, 5, 16), (30, 8, 22), (80, 12, 40)]),
)
def test_the_first_page_is_one_page_whatever_the_night(gaps, signers, rows):
    sentences = [
        f"Line {place}: {400 + place} ballots on the tape, 432 check-ins: {32 - place % 30} more check-ins than ballots."
        for place in range(gaps)
    ]
    account = night(
        gaps=tuple(Gap(s, LONG) for s in sentences),
        signers=tuple(PrintedSigner("inspector", f"Party {place}") for place in range(signers)),
        rows=tuple(AccountRow(f"Row {place}", place * 97) for place in range(rows)),
        remarks=(Remark("all", LONG),),
        short_signed=tuple(f"Step {place} was signed by one." for place in range(gaps // 10)),
    )
    first, *rest = pages(account)

    assert f"signature: inspector, Party {signers - 1}" in flat(first)
    assert all(flat(s) in flat(first + " ".join(rest)) for s in sentences)
    moved = [s for s in sentences if flat(s) not in flat(first)]
    assert (f"{len(moved)} more: they are printed in full" in flat(first)) == bool(moved)


def test_codes_begin_on_page_2_numbered_on_from_1_and_at_most_16_a_page():
    texts = frames.split((bytes(262 * 20), bytes(262 * 3)))  # 27 + 5
    found = pages(night(), texts)

    assert 3 == len(found)
    assert "Codes 1 to 16 of 32" in found[1] and "Codes 17 to 32 of 32" in found[2]
    assert set(map(str, range(17, 33))) <= set(found[2].split())


@pytest.mark.parametrize("count", range(1, 17))
def test_a_module_is_half_a_millimetre_or_more_and_every_code_has_its_place(count):
    columns, rows = code_pages.grid(count)
    assert columns * rows >= count
    assert code_pages.LEAST <= code_pages.module_size(columns, rows) <= code_pages.MOST


def test_a_code_is_one_path_of_vectors(texts):
    document = pypdfium2.PdfDocument(packet_pdf(night(), texts[:2]))
    objects = list(document[1].get_objects())
    assert not [o for o in objects if o.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]
    big = [
        o
        for o in objects
        if o.type == pypdfium2.raw.FPDF_PAGEOBJ_PATH and pypdfium2.raw.FPDFPath_CountSegments(o) > 1000
    ]
    assert 2 == len(big)
    left, bottom, right, top = big[0].get_bounds()
    assert (right - left) / codes.MODULES >= 0.5 * 72 / 25.4 and abs((right - left) - (top - bottom)) < 0.01


def test_remarks_longer_than_a_page_go_on_and_none_of_them_is_lost():
    words = [f"word{place}" for place in range(3000)]
    found = " ".join(pages(night(remarks=(Remark("Poll book", " ".join(words)), Remark("Stock", "last\n\nparagraph")))))
    assert words == re.findall(r"word\d+", found)
    assert "last" in found and "paragraph" in found


def test_contest_figures_are_set_in_9_points_or_more_and_none_is_lost():
    contests = tuple(
        PrintedContest(
            f"Contest {c}", 1, tuple(AccountRow(f"Choice {c}/{place}", c * 1000 + place) for place in range(3 + c * 5))
        )
        for c in range(12)
    )
    document = pypdfium2.PdfDocument(packet_pdf(night(contests=contests), ()))
    found, sizes = "", set()
    for number in range(1, len(document)):
        text = document[number].get_textpage()
        found += text.get_text_range()
        sizes |= {
            round(pypdfium2.raw.FPDFText_GetFontSize(text, place), 1)
            for place in range(text.count_chars())
            if pypdfium2.raw.FPDFText_GetUnicode(text, place) > 32
        }

    assert all(row.label in found and f"{row.figure:,}" in found for contest in contests for row in contest.rows)
    assert min(sizes) >= 8.5 and 9.5 in sizes  # 8.5 is the foot line alone


def test_a_character_the_typeface_lacks_is_printed_as_its_number():
    (first,) = pages(night(place="Łódź 中 Hall"))
    assert "Łódź [U+4E2D] Hall" in first


def test_the_typeface_is_inside_the_file_and_its_figures_are_of_one_width():
    assert b"FontFile2" in packet_pdf(night(), ())
    for name in ("regular.ttf", "bold.ttf"):
        font = TTFont(TYPE / name)
        assert 1 == len({font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789"})
    assert "SIL Open Font License" in (TYPE / "OFL.txt").read_text()
