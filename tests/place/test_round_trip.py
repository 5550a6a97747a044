"""A place that is written reads back as itself; a place file with anything anywhere is read or refused, never a crash."""

import tomllib
from dataclasses import replace
from datetime import date, time

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from tests.place.conftest import HERE, SMALL
from tests.place.test_toml import paths, spelled
from webapp.precinct.place import place_file
from webapp.precinct.place.place import (
    Applied,
    Choice,
    Contest,
    Kind,
    Official,
    Party,
    Precinct,
    Rules,
    Stations,
    Stock,
)

STORED = (HERE / "stored" / "place.toml").read_bytes()

names = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=20).filter(
    str.strip
)
ids = st.from_regex(r"[A-Za-z0-9-]{1,16}", fullmatch=True)
seals = st.lists(st.from_regex(r"[A-Z]{0,2}[0-9]{1,5}|[A-Z-]{2,6}", fullmatch=True), max_size=12, unique=True)


@given(st.data())
@settings(max_examples=examples(120), deadline=None)
def test_a_place_that_is_written_reads_back_as_itself(data):
    draw = data.draw
    place = place_file.read(SMALL.encode())
    choices = tuple(Choice(f"c{i}", f"{draw(names)}{i}") for i in range(draw(st.integers(1, 4))))
    contest = Contest(
        "MAYOR", draw(names), draw(st.integers(1, 200)), choices, draw(st.just("") | ids), draw(st.booleans())
    )
    place = replace(
        place,
        name=draw(names),
        county=draw(names),
        opens=time(draw(st.integers(0, 11)), draw(st.integers(0, 59))),
        closes=time(draw(st.integers(12, 23)), draw(st.integers(0, 59))),
        date=draw(st.dates(date(2000, 1, 1), date(2199, 12, 31))),
        officials=(*place.officials, Official("x", draw(names) + '\\"', "A", "deputy")),
        parties=(*place.parties, Party("C", draw(names), "Cedar")),
        rules=Rules(
            draw(st.sampled_from(["party", (("A", "B"), ("C", "C"))])),
            draw(st.booleans()),
            draw(st.sampled_from(["set-apart", "emergency"])),
            draw(st.sampled_from(["votes", "ballots"])),
            "always",
            "results",
            draw(st.sampled_from(["all", "counters", ("MAYOR",)])),
            "called",
            draw(st.integers(1, 48)),
            draw(st.sampled_from([12, 24])),
        ),
        contests=(contest,),
        seals=tuple(draw(seals)),
        applied=tuple(Applied(f"a{i}", f"on-{i}-x", draw(st.just("") | names)) for i in range(draw(st.integers(0, 2)))),
        stock=(Stock("S1", draw(st.integers(0, 10**6)), draw(st.none() | st.integers(1, 10_000))),),
        copies=("one", draw(names)),
        precincts=(Precinct("P1", draw(names), draw(st.none() | st.integers(1, 10**6))),),
        queue=Stations(*(draw(st.none() | st.integers(5, 100)) for _ in range(5))),
        kinds=(Kind("challenged", *(draw(st.booleans()) for _ in range(4))),),
        steps=draw(st.sampled_from([(), ({"id": "access", "drop": True},)])),
    )

    text = place_file.write(place)

    assert place_file.read(text.encode()) == place
    assert place_file.write(place_file.read(text.encode())) == text
    assert tomllib.loads(text)["place"]["name"] == place.name


def test_the_stored_place_keeps_all_it_says_when_written_anew():
    place = place_file.read(STORED)

    assert place_file.read(place_file.write(place).encode()) == place


def test_seals_are_written_as_ranges_and_keep_their_width():
    place = replace(
        place_file.read(SMALL.encode()), seals=("0998", "0999", "1000", "7", "8", "08", "spare", "A9", "A10")
    )

    ranges = tomllib.loads(place_file.write(place))["seals"]

    assert ranges == [
        {"first": "0998", "last": "1000"},
        {"first": "7", "last": "8"},
        {"first": "08", "last": "08"},
        {"numbers": ["spare"]},
        {"first": "A9", "last": "A9"},
        {"first": "A10", "last": "A10"},
    ]


anything = st.recursive(
    st.none() | st.integers() | st.booleans() | st.text(max_size=5) | st.dates(),
    lambda inner: (
        st.lists(inner.filter(lambda v: v is not None), max_size=3)
        | st.dictionaries(st.text("abid", max_size=3), inner.filter(lambda v: v is not None), max_size=2)
    ),
    max_leaves=4,
)


def changed(value, path, new):
    """A copy of the parsed file with another value at this path; None takes it out."""
    if not path:
        return new
    if isinstance(value, list):
        return [
            changed(v, path[1:], new) if i == path[0] else v
            for i, v in enumerate(value)
            if not (i == path[0] and len(path) == 1 and new is None)
        ]
    return {
        k: changed(v, path[1:], new) if k == path[0] else v
        for k, v in value.items()
        if not (k == path[0] and len(path) == 1 and new is None)
    }


@given(st.data())
@settings(max_examples=examples(300), deadline=None)
def test_anything_anywhere_in_a_place_file_is_read_or_refused(data):
    parsed = tomllib.loads(data.draw(st.sampled_from([SMALL, STORED.decode()])))
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from([p for p in paths(parsed) if p]))
        parsed = changed(parsed, path, data.draw(anything))
    text = "".join(f"{spelled(key)} = {spelled(value)}\n" for key, value in parsed.items()).replace(
        "07:00:00", '"07:00"'
    )

    try:
        place = place_file.read(text.encode())
    except place_file.Mistakes as mistakes:
        assert all(says.endswith((".", "?")) and "\n" not in says for _, says in mistakes.found)
    else:
        assert place_file.read(place_file.write(place).encode()) == place
