"""The rule `votes`: whose tapes print votes by precinct, what it asks of a place, and that a place without it is written as ever."""

from dataclasses import replace

import pytest

from place.conftest import SMALL
from webapp.precinct.place import place_file, writing
from webapp.precinct.place.place_file import Mistakes

TWO = SMALL.replace('name = "Ropewalk"\n', 'name = "Ropewalk"\n\n[[precincts]]\nid = "P2"\nname = "Quay"\n').replace(
    'precincts = ["P1"]', 'precincts = ["P1", "P2"]'
)


def ruled(text, rules):
    return text.replace("[rules]\n", f"[rules]\n{rules}\n", 1)


@pytest.mark.parametrize(
    ("text", "rules", "sentence"),
    [
        (
            SMALL,
            'votes = "both"\ntyped = "all"',
            'votes of [rules] is "both", and the place has one precinct: leave it out.',
        ),
        (TWO, 'votes = "by-precinct"', "no contest is typed at this place"),
        (TWO, 'votes = "split"\ntyped = "all"', "votes of [rules]"),
    ],
)
def test_what_does_not_fit_is_one_sentence(text, rules, sentence):
    with pytest.raises(Mistakes) as refused:
        place_file.read(ruled(text, rules).encode())
    assert [said for _, said in refused.value.found if sentence in said] != [] and len(refused.value.found) == 1


def test_it_is_read_and_written():
    place = place_file.read(ruled(TWO, 'votes = "by-precinct"\ntyped = "all"').encode())

    assert [precinct.id for precinct in place.split()] == ["P1", "P2"]
    assert [contest.id for contest in place.contests_of("P2")] == ["MAYOR"]
    assert place_file.read(writing.write(place).encode()).rules == place.rules
    assert replace(place, kind="test").split() == ()


def test_a_place_without_it_is_written_as_ever():
    place = place_file.read(TWO.encode())

    assert place.rules.votes == "sum" and not place.split() and "\nvotes = " not in writing.write(place)
