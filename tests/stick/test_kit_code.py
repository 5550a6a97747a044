"""The code of the kit, typed by a person: a wrong one is asked for again, and nobody types it for a folder that is taken."""

import getpass

import pytest

from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.commands.recovery import kit_code
from webapp.stick.folder import chosen


@pytest.fixture
def typing(monkeypatch):
    """Lets somebody type these answers, one after the other."""
    asked = []

    def answers(*codes):
        left = iter(codes)
        monkeypatch.delenv(kit_code.CODE, raising=False)
        monkeypatch.setattr(kit_code.sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(getpass, "getpass", lambda line: asked.append(line) or next(left))
        return asked

    return answers


def test_a_wrong_code_is_asked_for_again_and_the_third_time_it_ends(enrolled, tapeseal, stick, tmp_path, typing):
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    words = ("record", "restore", stick, "--kit", enrolled.kit, "--out")
    asked = typing("0000-0000-0000", "too short", enrolled.code.lower().replace("-", " "))
    code, _, err = tapeseal(*words, tmp_path / "spare")
    assert (code, len(asked)) == (0, 3) and "does not open" in err and "12 letters and digits" in err

    asked.clear()
    typing(*["0000-0000-0000"] * 3)
    code, _, err = tapeseal(*words, tmp_path / "other")
    assert (code, len(asked)) == (2, 3) and err.count("does not open") == 3
    assert not (tmp_path / "other" / "place.cose").exists()

    asked.clear()
    code, _, err = tapeseal(*words, tmp_path / "spare")
    assert (code, asked) == (2, []) and "there already" in err


def test_the_folder_on_the_stick_is_as_good_as_the_stick(enrolled, tapeseal, stick):
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    enrolled.keep(3)
    assert tapeseal("record", "backup", enrolled.place, "--to", chosen(stick))[0] == 0
    assert len(list(stick.rglob("stick-id"))) == 1
