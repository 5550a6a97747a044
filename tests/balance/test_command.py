"""`tapeseal balance FILE.json ... [--json]`: one answer a file, in the order given, and the exit code."""

import json

import pytest

from tests.balance.cast import night
from tests.balance.stored_files import STORED, stored
from webapp.commands import main
from webapp.precinct.explain.explain import explained


@pytest.fixture
def file_of(tmp_path):
    def write(name, figures):
        path = tmp_path / name
        path.write_text(figures if isinstance(figures, str) else json.dumps(figures), encoding="utf-8")
        return str(path)

    return write


def told(capsys):
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_all_balanced_is_exit_0_and_one_object_a_line(file_of, capsys):
    assert main(["balance", file_of("a.json", night()), file_of("b.json", {}), "--json"]) == 0

    first, second = told(capsys)
    assert first["balanced"] and first["complete"] and second["balanced"] and not second["complete"]
    assert (
        list(first) == ["balanced", "complete", "lines", "unchecked", "explanations", "ruled_out", "ms"]
        and first["ms"] >= 0
    )


def test_a_gap_is_exit_1(file_of, capsys):
    assert main(["balance", file_of("a.json", night()), file_of("b.json", night(poll_book=431)), "--json"]) == 1

    assert [object["balanced"] for object in told(capsys)] == [True, False]


def test_a_file_that_cannot_be_read_is_exit_2_and_keeps_its_line(file_of, capsys):
    assert (
        main(
            [
                "balance",
                file_of("a.json", night(poll_book=431)),
                file_of("b.json", night(poll_book=-1)),
                file_of("c.json", night()),
                "--json",
            ]
        )
        == 2
    )

    first, second, third = told(capsys)
    assert not first["balanced"] and third["balanced"]
    assert list(second) == ["error"] and second["error"].startswith("poll_book")


BROKEN = {
    "not JSON": ("{", "line 1"),
    "a key twice": ('{"poll_book": 1, "poll_book": 2}', "poll_book"),
    "not a number": ('{"poll_book": NaN}', "NaN"),
    "nested too deep": ("[" * 100_000, "nested"),
    "a list": ("[]", "object"),
    "nothing": ("", "line 1"),
    "too many digits": ('{"poll_book": ' + "9" * 6000 + "}", "digits"),
}


@pytest.mark.parametrize(("text", "word"), BROKEN.values(), ids=BROKEN)
def test_text_that_is_no_night_is_refused_in_one_sentence(file_of, capsys, text, word):
    assert main(["balance", file_of("a.json", text), "--json"]) == 2

    out = capsys.readouterr()
    assert word in json.loads(out.out)["error"] and word in out.err and len(out.err.splitlines()) == 1


def test_a_file_that_is_not_there_and_bytes_that_are_no_text_are_refused(tmp_path, capsys):
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\x00")

    assert main(["balance", str(tmp_path / "gone.json"), str(tmp_path / "bytes.json"), "--json"]) == 2
    assert ["error" in object for object in told(capsys)] == [True, True]


def test_without_json_the_answer_is_in_words(file_of, capsys):
    assert main(["balance", file_of("a.json", night(poll_book=431))]) == 1

    said = capsys.readouterr().out
    assert (
        "there is a gap" in said
        and "1 more ballot than check-ins" in said
        and "Consistent with 1 voter given a ballot and not checked in" in said
    )
    assert "containers: not checked yet" in said


@pytest.mark.parametrize("name", ["sample", "rich", "evening"])
def test_a_stored_night_gives_its_stored_answer(name):
    """The format is for good: what these files say may grow, and must not change."""
    found = explained(stored(f"{name}.json")).as_json()

    assert {**found, "ms": 0.0} == stored(f"{name}.answer.json")
    assert (STORED / f"{name}.answer.json").exists()
