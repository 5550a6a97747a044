"""Lines and complaints of TOML itself, held against the language's own page (TOML v1.0.0, toml.io/en/v1.0.0) and the standard reader."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.matrix import examples
from webapp.precinct.place import place_file
from webapp.precinct.place.toml_document import SIZE_LIMIT, Mistakes, TomlForm
from webapp.precinct.place.toml_line_numbers import TomlLines

# Forms shown in TOML v1.0.0: sections Keys, String, Array, Table, Inline Table, Array of Tables. Each value tells its own line.
SPELLINGS = '''\
# a comment with "quotes", [brackets] and = signs
l2 = 2
"l 3" = 3
'l.4' = 4
site."a.b".c = 5 # after, ]
str6 = "I'm a string. \\"You can quote me\\" # no comment"
str7 = """
# no comment
not = 9
"""
after11 = 11
regex12 = '<\\i\\c*\\s*>'
lines13 = \'\'\'
 "first" newline
[not.a.table]
\'\'\'
after17 = 17
ints18 = [ 1, 2,
  # in between
  20, [ 20, 20 ], 20,
]
empty22 = []
inline23 = { x = 23, "y z" = [ 23, { q = 23 } ], s = "}, ]" }
day24 = 1979-05-27 07:32:00
quotes25 = """Here are two quotation marks: "". Simple enough.""""
[ l26 . "b" ]
x27 = 27
[[fruits]]
name29 = "apple"
[fruits.physical]
x31 = 31
[[fruits.varieties]]
name33 = "red"
[[fruits.varieties]]
name35 = 35
[[fruits]]
name37 = 37
[[fruits.varieties]]
name39 = 39
'''


def paths(value, path=()):
    """Every path of a parsed file, from the standard reader's result alone."""
    yield path
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from paths(inner, (*path, key))


def test_every_path_of_the_language_has_the_line_it_stands_on():
    lines = TomlLines(SPELLINGS)

    for path in paths(tomllib.loads(SPELLINGS)):
        number = "".join(c for c in str(path[-1]) if c.isdigit()) if path and isinstance(path[-1], str) else ""
        if number:
            assert lines.of(path) == int(number), path
    assert [lines.of(("ints18", i)) for i in range(5)] == [18, 18, 20, 20, 20]
    assert (
        lines.of(("fruits",)) == 28 and lines.of(("fruits", 1)) == 36 and lines.of(("fruits", 0, "varieties", 1)) == 34
    )
    assert lines.of(("inline23", "y z", 1, "q")) == 23 and lines.of(("site", "a.b", "c")) == 5


def test_a_path_that_is_not_written_has_the_line_of_its_table():
    lines = TomlLines("a = 1\n[t]\nb = 1\n[[r]]\nc = 1\n")

    assert (lines.of(("t", "x")), lines.of(("r", 0, "x", 3)), lines.of(("nothing",))) == (2, 4, 1)


plain = st.one_of(st.integers(-5, 5), st.booleans(), st.text("ab\"'\\#]},= \n", max_size=6), st.dates())
nested = st.recursive(
    plain,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("ab .", max_size=3), inner, max_size=3),
    max_leaves=6,
)


def spelled(value):
    """A value in TOML, by this test's own pen."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join({'"': '\\"', "\\": "\\\\", "\n": "\\n"}.get(c, c) for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(spelled, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{spelled(k)} = {spelled(v)}" for k, v in value.items()) + "}"
    return str(value)


@given(st.lists(st.tuples(st.sampled_from(["pair", "gap", "table", "row"]), nested, st.integers(0, 2)), max_size=12))
@settings(max_examples=examples(150), deadline=None)
def test_lines_are_right_for_any_file(parts):
    text, expected, table, rows = "", {}, (), 0
    for i, (what, value, blank) in enumerate(parts):
        text += "\n" * blank + ("# [x] 'y' \"z\"\n" if what == "gap" else "")
        line = text.count("\n") + 1
        if what == "table":
            text, table = text + f"[t{i}]\n", (f"t{i}",)
            expected[table] = line
        elif what == "row":
            text, table, rows = text + "[[r]]\n", ("r", rows), rows + 1
            expected[table] = line
        elif what == "pair":
            text += f"k{i} = {spelled(value)}\n"
            expected |= {path: line for path in paths(value, (*table, f"k{i}"))}

    lines = TomlLines(text)

    assert tomllib.loads(text) is not None
    assert {path: lines.of(path) for path in expected} == expected


SYNTAX = {  # the text, its line, what to write instead
    "no equals sign": ("a 1\n", 1, "write a key, then =, then its value."),
    "a value that is none": (
        "x = 1\na = yes\n",
        2,
        "after = write a text in double quotes, a whole number, true or false, a day such as 2026-11-03, or a list in [ ].",
    ),
    "a seal number without quotes": (
        "first = 0412\n",
        1,
        "only one key fits on a line, and a number that begins with 0 is written in quotes.",
    ),
    "a text not closed": ('a = "b\nc = 1\n', 1, "close the text with the quotes it began with, on the same line."),
    "a list not closed": ("a = [1,\n2\n\n", 2, "close the list with ]."),
    "a key twice": ("a = 1\na = 2\nb = 3\n", 2, "this key stands in its table already; keep one of the two."),
    "a table twice": (
        "[rules]\n[rules]\nx = 1\n",
        2,
        "this table stands in the file already; put its keys there, or use double brackets [[ ]] for a list of them.",
    ),
    "a day that is none": ("a = 2026-02-30\nb = 1\n", 1, "there is no such day; write the day as 2026-11-03."),
    "a backslash": ('a = "C:\\place"\nb = 1\n', 1, "write a backslash inside double quotes twice."),
}


@pytest.mark.parametrize("case", SYNTAX)
def test_what_is_no_toml_is_told_with_its_line_and_what_to_write(case):
    text, line, advice = SYNTAX[case]

    with pytest.raises(Mistakes) as caught:
        TomlForm(text.encode())

    ((found, says),) = caught.value.found
    assert found == line and says.startswith("This line cannot be read") and says.endswith(f": {advice}")


def test_bytes_that_are_no_text_are_told_with_their_line():
    with pytest.raises(Mistakes) as caught:
        TomlForm(b"a = 1\nb = '\xff'\n")
    assert caught.value.found == (
        (2, "This line holds bytes that are no UTF-8 text. Save the file as UTF-8 text and try again."),
    )


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b" " * (SIZE_LIMIT + 1), "at most 1048576 are read"),
        (b"a = " + b"[" * 100_000, "too deep"),
        (b"\n\na = " + b"9" * 5000, "too long"),
    ],
)
def test_a_file_made_to_exhaust_the_reader_is_refused(data, says):
    with pytest.raises(Mistakes) as caught:
        TomlForm(data)
    assert says in str(caught.value)


def test_windows_lines_and_a_byte_order_mark_are_read():
    form = TomlForm("\ufeffa = 1\r\n\r\nb = '''x\r\ny'''\r\nc = 2\r\n".encode())

    assert form.values == {"a": 1, "b": "x\ny", "c": 2} and form.lines.of(("c",)) == 5


@given(st.binary(max_size=200) | st.text("[]{}=\"'ab1.,\n\\# ", max_size=60).map(str.encode))
@settings(max_examples=examples(400), deadline=None)
def test_any_bytes_are_read_or_refused(data):
    try:
        place_file.read(data)
    except Mistakes as mistakes:
        assert mistakes.found and all(line >= 1 and says.endswith((".", "?")) for line, says in mistakes.found)
