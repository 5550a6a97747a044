"""Files that once took gigabytes or minutes: met by one sentence before anything parses them, in place files and office files alike."""

import os
import time
from pathlib import Path

import pytest

from tests.matrix import some
from webapp.commands import main
from webapp.office.setup import office_file
from webapp.precinct.place import place_file
from webapp.precinct.place.toml_depth import NAMES, NESTED, too_deep
from webapp.precinct.place.toml_document import Mistakes
from webapp.precinct.place.toml_table import MOST_ROWS

STORED = (Path(__file__).parent / "stored" / "place.toml").read_bytes()
SECONDS = 5  # each took from twelve seconds to for ever
SHAPES = {
    "dotted keys 50,000 deep": b".".join([b"a"] * 50_000) + b" = 1",
    "a header 20,000 deep": b"[" + b".".join([b"a"] * 20_000) + b"]",
    "lists 100,000 deep": b"a = " + b"[" * 100_000,
    "braces 100,000 deep": b"a = " + b"{a=" * 100_000,
    "11,000 officials": b"".join(
        b'[[officials]]\nid = "o%d"\nname = "Name %d"\nparty = "M"\nrole = "inspector"\n' % (n, n)
        for n in range(11_000)
    ),
    "100,000 keys nobody knows": b"".join(b"k%d=1\n" % n for n in range(80_000)),
    "a list of 100,000 codes": b'[[styles]]\nid = "A"\nprecincts = [' + b'"P",' * 100_000 + b"]\n",
    "quotes without end": b'a = """' + b'\\"' * 400_000,
    "quotes that begin again": b"'''a\n" * 150_000,
}


READERS = {"place": place_file.read, "office": office_file.read}
EACH = [(reader, shape) for reader in READERS for shape in SHAPES]


@pytest.mark.parametrize(("reader", "shape"), some(EACH[: len(SHAPES) + 2], EACH))
def test_a_hostile_file_is_refused_soon_in_sentences(reader, shape):
    read = READERS[reader]
    assert len(SHAPES[shape]) <= 1024 * 1024
    began = time.process_time()
    with pytest.raises(Mistakes) as said:
        read(SHAPES[shape])

    assert time.process_time() - began < SECONDS
    assert 1 <= len(said.value.found) <= 501 and all(sentence for _, sentence in said.value.found)


def test_depth_is_counted_outside_words_and_remarks_and_says_its_line():
    assert too_deep(STORED.decode()) is None
    assert too_deep('a = "x.x.x.x.x.x.x.x.x.x [[[[[[[[[[[[[[[["  # y.y.y.y.y.y.y.y.y.y\n' * 3) is None
    assert too_deep("a = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5, 10.5]") is None
    assert (
        too_deep("\n\n" + ".".join("a" * NAMES) + " = 1") is None
        and too_deep("\n\n" + ".".join("a" * (NAMES + 1))) == 3
    )
    assert too_deep("a = " + "[" * NESTED + "]" * NESTED) is None and too_deep("a =\n" + "[" * (NESTED + 1)) == 2
    assert too_deep('"a"."b".' * 5 + "c = 1") == 1


def test_as_many_rows_as_are_read_and_one_more():
    row = b'[[precincts]]\nid = "P%d"\nname = "Precinct %d"\n'
    for many, says in ((MOST_ROWS, False), (MOST_ROWS + 1, True)):
        with pytest.raises(Mistakes) as said:
            place_file.read(b"".join(row % (n, n) for n in range(many)))
        assert any("at most 1000 are read" in sentence for _, sentence in said.value.found) is says


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are made by POSIX")
@pytest.mark.parametrize(
    "words",
    [("place", "check"), ("place", "paper", "--out", "x.pdf"), ("balance",), ("packet", "read"), ("record", "verify")],
    ids=lambda words: " ".join(words[:2]),
)
def test_no_command_waits_for_a_pipe_or_reads_a_device_without_end(tmp_path, capsys, words):
    os.mkfifo(tmp_path / "pipe")
    for path in (str(tmp_path / "pipe"), "/dev/zero"):
        verb = [*words[:2]] if words[0] != "balance" else ["balance"]
        code = main([*verb, path, *words[2:]])
        out, err = capsys.readouterr()
        assert code == 2 and "not a plain file" in err and "Traceback" not in err + out
