"""The printed slips, read back out of the PDF by another library."""

from dataclasses import replace

import pypdfium2

from tests.place.conftest import HERE
from webapp.gate import slip_code
from webapp.office.setup import office_file
from webapp.paper.slips import office_slips, place_slips, slips_pdf
from webapp.precinct.place import place_file

DEMO = HERE.parents[1] / "demo_precinct"
PLACE = place_file.read((DEMO / "place.toml").read_bytes())
CODES = {official.id: slip_code.mint() for official in PLACE.officials}


def pages(pdf):
    """The text of each page, its line ends as spaces."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pypdfium2.PdfDocument(pdf)]


def test_each_official_has_one_slip_with_name_party_role_place_and_code():
    found = pages(slips_pdf(place_slips(PLACE, CODES)))

    assert len(found) == 2
    text = " ".join(found)
    for official in PLACE.officials:
        assert text.count(CODES[official.id]) == 1
        assert (
            f"{official.name} {official.role}, {PLACE.party(official.party).name} (practice) Lantern Street School W3, Tarn County"
            in text
        )
    assert (
        text.count("Tuesday, 3 November 2026, polls open 07:00") == 8
        and "Céline Moreau" in text
        and "Else Sørensen" in text
    )


def test_a_slip_says_what_to_do_and_by_which_road_it_goes():
    text = pages(slips_pdf(place_slips(PLACE, CODES)))[0]

    assert (
        text.count("in person, separately from the laptop.") >= 4 and text.count("choose a PIN of 6 to 12 digits") == 4
    )
    assert text.count("The code works once.") == 4 and text.count("Nobody watches you, and nobody signs for you.") == 4


def test_the_code_stands_right_of_the_fold_and_the_name_left_of_it():
    page = pypdfium2.PdfDocument(slips_pdf(place_slips(PLACE, CODES)))[0]
    words, middle = page.get_textpage(), page.get_width() / 2

    for official in PLACE.officials[:4]:
        name, code = (_left(words, text) for text in (official.name, CODES[official.id]))
        assert name < middle < code


def test_long_names_stay_within_their_own_slip():
    place = replace(
        PLACE,
        name="A school whose name goes on " * 4,
        county="County of the long shore " * 4,
        officials=tuple(
            replace(o, name=("Maximiliana " * 5).strip() + f" {i}") for i, o in enumerate(PLACE.officials[:4])
        ),
    )
    words = pypdfium2.PdfDocument(slips_pdf(place_slips(place, CODES)))[0].get_textpage()

    tops = [_top(words, CODES[o.id]) for o in place.officials]
    ends = [_top(words, "the laptop.", nth) for nth in range(4)]

    assert all(end > top for end, top in zip(ends, tops[1:], strict=False))


def test_the_desk_has_slips_too():
    office = office_file.read((DEMO / "office.toml").read_bytes())
    codes = {official.id: slip_code.mint() for official in office.officials}

    text = " ".join(pages(slips_pdf(office_slips(office.name, office.officials, office.parties, codes))))

    assert (
        all(text.count(code) == 1 for code in codes.values())
        and "Karin Ekström canvasser, Plover Party Tarn County election office" in text
    )


def test_who_has_no_code_has_no_slip():
    assert [slip.name for slip in place_slips(PLACE, {"okafor": "0000-0000-0000"})] == ["Benedict Okafor"]


def _left(words, text):
    index, _ = words.search(text).get_next()
    return words.get_charbox(index)[0]


def _top(words, text, nth=0):
    search = words.search(text)
    found = [search.get_next() for _ in range(nth + 1)][-1]
    return words.get_charbox(found[0])[3]
