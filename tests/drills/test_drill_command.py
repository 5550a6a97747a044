"""`tapeseal drill`: a played day, a torn stick, a spare laptop; it ends with 0 only where what is said is so."""

import json

import pytest

from demo_precinct import laptop_dies
from tests.matrix import ALL
from webapp.commands import drill, main


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """The outcome of one drill, and what it was judged by."""
    by = {}
    with pytest.MonkeyPatch.context() as watched:
        judged = laptop_dies.judged
        watched.setattr(laptop_dies, "STEPS", laptop_dies.STEPS if ALL else (12, 16))
        watched.setattr(laptop_dies, "judged", lambda *facts: by.update(facts=facts) or judged(*facts))
        found = laptop_dies.drill(tmp_path_factory.mktemp("drill"), 5)
    return found, by["facts"]


def test_what_a_drill_says_is_so(played):
    found, _ = played
    assert found.wrong == [] and 0 < found.last <= found.entries
    beyond = set(range(found.last + 1, found.entries + 1))
    assert set(found.given_back) | set(found.lost) == beyond and not set(found.given_back) & set(found.lost)
    told = json.loads(found.as_json())
    assert (told["ok"], told["last"], told["wrong"]) == (True, found.last, [])
    assert "All of that is true" in drill.in_words(found)


def test_what_is_not_so_is_named(played):
    _, (seed, spare, night, true_last, held, last, torn, seconds) = played
    one_less = laptop_dies.judged(seed, spare, night, true_last - 1, held, last, torn, seconds)
    assert any("is stated as" in words for words in one_less.wrong)
    other = laptop_dies.judged(seed, spare, night, true_last, held[1:] or night[:1], last, torn, seconds)
    assert any("byte for byte" in words for words in other.wrong)
    assert "Not all of that is true" in drill.in_words(other)


def test_the_exit_code_says_which(monkeypatch, capsys, played):
    found, _ = played
    monkeypatch.setattr(laptop_dies, "drill", lambda folder, seed: found)
    assert main(["drill", "--json"]) == 0 and json.loads(capsys.readouterr().out)["ok"]
    found.wrong.append("Something is not so.")
    assert main(["drill"]) == 1 and "Something is not so." in capsys.readouterr().out
    found.wrong.clear()
