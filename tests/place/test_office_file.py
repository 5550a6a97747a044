"""The office file: who signs at the desk, which places are awaited, and the neighbour each small one is shown with."""

import pytest

from tests.place.conftest import HERE
from webapp.office.setup import office_file
from webapp.office.setup.office_file import Awaited

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


SABLE = """
[[offices]]
id = "sable"
name = "Sable County election office"
key = "03a107bff3ce10be1d70dd18e74bc09967e4d6309ba50d5f1ddc8664125531b8"
[[shared]]
here = "GOV"
there = {sable = "GOV-1"}
"""
KEY = "key is 64 digits 0 to 9 and letters a to f: copy it from the page Contests of several offices of that office."
OF_OTHERS = {
    "a key that is none": ("5531b8", "5531bg", 4, KEY),
    "no key": ('key = "', '# "', 1, "[[offices]] sable has no key: write key = "),
    "itself": ('id = "sable"', 'id = "tarn"', 2, "tarn is this office itself: [[offices]] names others."),
    "an office that is not named": (
        "{sable",
        "{sabel",
        7,
        "there names the office sabel, and no [[offices]] has this id: add it with its key.",
    ),
    "no contest there": (
        '"GOV-1"',
        "1",
        7,
        'there.sable of [[shared]] is the id of a contest at that office, such as "GOV-1".',
    ),
    "nothing there": (
        '{sable = "GOV-1"}',
        "{}",
        7,
        'there of [[shared]] names the contest at each other office: there = {sable = "GOV-1"}.',
    ),
    "an unknown key": (
        "here =",
        "her =",
        6,
        '[[shared]] has no key "her": mend it or take it out. Do you mean "here"?',
    ),
    "shared twice": (
        '"GOV-1"}\n',
        '"GOV-1"}\n[[shared]]\nhere = "GOV-2"\nthere = {sable = "GOV-1"}\n',
        10,
        "GOV-1 of sable is shared with GOV already: a contest is added up once.",
    ),
    "its place is ours": (
        "key =",
        'places = ["W3"]\nkey =',
        4,
        "W3 is a place of this office too: a packet could not be told apart by it. Take it out.",
    ),
}


@pytest.mark.parametrize("case", OF_OTHERS)
def test_a_mistake_about_other_offices_is_told_with_its_line(case):
    right, wrong, line, sentence = OF_OTHERS[case]
    assert right in SABLE
    with pytest.raises(office_file.Mistakes) as caught:
        office_file.read((TEXT + SABLE.replace(right, wrong, 1)).encode())
    at = TEXT.count("\n") + 1 + line
    assert any(n == at and said.startswith(sentence) for n, said in caught.value.found), (at, caught.value.found)


def test_other_offices_are_read_as_the_room_of_merging_shows_them():
    page = (HERE.parents[1] / "webapp" / "merging" / "OFFICES.md").read_text(encoding="utf-8")
    example = page.partition("```toml\n")[2].partition("```")[0]
    office = office_file.read((TEXT + "\n" + example).encode())
    (other,), (shared,) = office.others, office.shared
    assert (other.id, other.places, other.kid.hex()) == ("sable", ("S1", "S2"), "56475aa75463474c")
    assert (shared.here, shared.there) == ("GOV", {"sable": "GOV-1"})
    assert office_file.read((TEXT + SABLE).encode()).others[0].key == other.key


def test_a_desk_of_one_party_is_refused():
    with pytest.raises(office_file.Mistakes, match="All 4 who sign at the desk are of one party"):
        office_file.read(TEXT.replace('party = "P"', 'party = "M"').encode())


def test_one_place_alone_needs_no_neighbour():
    text = TEXT[: TEXT.index("[[places]]")] + '[[places]]\nid = "W3"\nname = "Lantern Street School"\n'

    assert office_file.read(text.encode()).places == (Awaited("W3", "Lantern Street School", ""),)
