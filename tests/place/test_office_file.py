"""The office file: who signs at the desk, which places are awaited, and the neighbour each small one is shown with."""

import pytest

from tests.place.conftest import HERE
from webapp.office import office_file
from webapp.office.office_file import Awaited

TEXT = (HERE.parents[1] / "demo_precinct" / "office.toml").read_text()


def test_the_demo_office_is_read():
    office = office_file.read(TEXT.encode())

    assert (office.id, office.small, office.place("W5")) == ("tarn", 10, Awaited("W5", "Heathfield Chapel", "W3"))
    assert office.official("durand").party == "P" and office.place("W9") is None


def test_small_is_ten_where_it_is_not_said():
    assert office_file.read(TEXT.replace("small = 10\n", "").encode()).small == 10


CASES = {
    "no id": ('id = "tarn"\n', "", 1, 'The file has no id: write id = "tarn".'),
    "small as a word": (
        "small = 10",
        'small = "ten"',
        7,
        'small of the file is "ten": write a whole number without quotes, such as 10.',
    ),
    "an unknown key": (
        "small = 10",
        "smal = 10",
        7,
        'The file has no key "smal": mend it or take it out. Do you mean "small"?',
    ),
    "an official of no party": (
        'name = "Ines Calloway"\nparty = "M"',
        'name = "Ines Calloway"\nparty = "Q"',
        27,
        "There is no party Q: write one of M, P, N, or add it as [[parties]].",
    ),
    "no neighbour": (
        'with = "W5"\n',
        "",
        48,
        '[[places]] W3 has no with: write the id of the neighbor it is shown with while it is small, such as with = "W5".',
    ),
    "its own neighbour": (
        'with = "W5"',
        'with = "W3"',
        51,
        "W3 cannot be shown with itself: write the id of a neighbor.",
    ),
    "an unknown neighbour": (
        'with = "W5"',
        'with = "W6"',
        51,
        "There is no place W6: write one of W3, W5, or add it as [[places]].",
    ),
    "a place twice": ('id = "W5"', 'id = "W3"', 54, 'id "W3" is in two [[places]]: give one of the two another.'),
    "a name twice": (
        "Jasper Durand",
        "Ines Calloway",
        32,
        'name "Ines Calloway" is in two [[officials]]: give one of the two another.',
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_is_told_with_its_line(case):
    right, wrong, line, sentence = CASES[case]
    assert right in TEXT

    with pytest.raises(office_file.Mistakes) as caught:
        office_file.read(TEXT.replace(right, wrong, 1).encode())

    assert (line, sentence) in caught.value.found


def test_a_desk_of_one_party_is_refused():
    with pytest.raises(office_file.Mistakes, match="All 4 who sign at the desk are of one party"):
        office_file.read(TEXT.replace('party = "P"', 'party = "M"').encode())


def test_one_place_alone_needs_no_neighbour():
    text = TEXT[: TEXT.index("[[places]]")] + '[[places]]\nid = "W3"\nname = "Lantern Street School"\n'

    assert office_file.read(text.encode()).places == (Awaited("W3", "Lantern Street School", ""),)
