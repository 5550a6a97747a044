"""From a stick to the next run: everything whole on it is back, byte for byte, and nothing else is claimed."""

import json
from pathlib import Path

import pytest

from tests.record import story
from tests.stick import nights
from webapp.record import audit
from webapp.record.backup import stored_after
from webapp.record.check_words import check_words
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused
from webapp.stick.folder import chosen, read_folder
from webapp.stick.restore import AnotherHistory, restore


@pytest.fixture
def saved(ledger, record, stick):
    """Twenty entries, all on the stick."""
    nights.keep(ledger, 20)
    nights.copied(record, stick)
    return stick


def back(stick, out: Path, **more):
    more = {"seen": None, "expect": (), "kit": "spare", "coarse": story.COARSE, "now": story.SIX * 2} | more
    return restore(read_folder(chosen(stick)), out, **more)


def test_a_whole_stick_gives_everything_back(saved, record, tmp_path):
    made = back(saved, tmp_path / "new.db")

    assert stored_after(tmp_path / "new.db", 0)[:-1] == nights.all_of(record)
    assert (made.run, made.last, made.first, made.entries, made.torn, made.source) == (2, 20, 10_001, 20, 0, "stick")
    assert made.words == check_words(nights.all_of(record)[-1].head)
    assert audit.verify(tmp_path / "new.db", coarse=story.COARSE).ok


def test_a_torn_stick_gives_what_is_whole_and_says_how_much_was_torn(saved, record, tmp_path):
    (file,) = chosen(saved).glob("entries-*")
    file.write_bytes(file.read_bytes()[:-9] + bytes(50))

    made = back(saved, tmp_path / "new.db", seen=20)

    assert (made.last, made.entries, made.first) == (19, 19, 10_001)
    assert made.torn > 50
    with Ledger.read_only(tmp_path / "new.db") as reader:
        assert reader.entry(10_001).body["torn"] == made.torn
        assert reader.entry(10_001).body["seen"] == 20


def test_words_from_paper_that_agree_are_counted(saved, record, tmp_path):
    words = check_words(nights.all_of(record)[9].head)

    assert back(saved, tmp_path / "new.db", expect=[(10, words), (500, "0000-0000-0000")]).proven_by == 1


def test_words_from_paper_that_differ_lay_nothing_down(saved, record, tmp_path):
    other = check_words(nights.all_of(record)[8].head)

    with pytest.raises(AnotherHistory, match="another history"):
        back(saved, tmp_path / "new.db", expect=[(10, other)])
    with pytest.raises(RecordRefused, match="slip in copying"):
        back(saved, tmp_path / "new.db", expect=[(10, other[:-1] + ("0" if other[-1] != "0" else "1"))])
    assert not list(tmp_path.glob("new.db*"))


def test_nothing_is_laid_over_a_record_and_nothing_is_left_behind(saved, tmp_path):
    (tmp_path / "new.db").write_bytes(b"mine")

    with pytest.raises(RecordRefused, match="already"):
        back(saved, tmp_path / "new.db")
    assert (tmp_path / "new.db").read_bytes() == b"mine"
    assert not list(tmp_path.glob("new.db-*"))


def test_the_restored_record_goes_onto_the_same_stick(saved, tmp_path):
    back(saved, tmp_path / "new.db")
    with Ledger.open(tmp_path / "new.db", story.COARSE) as ledger:
        nights.keep(ledger, 3, 900)
        made = nights.copied(tmp_path / "new.db", saved)

    assert (made.state, made.number) == ("on", 10_004)
    assert read_folder(chosen(saved)).history.stored == nights.all_of(tmp_path / "new.db")
    assert [path.name for path in sorted(chosen(saved).glob("entries-2*"))] == ["entries-2-010001-1.cborseq"]


def test_a_second_spare_from_the_same_stick_writes_nothing_on_what_the_first_wrote(saved, tmp_path):
    found = read_folder(chosen(saved))
    for name in ("one.db", "two.db"):
        restore(found, tmp_path / name, seen=None, expect=(), kit="spare", coarse=story.COARSE, now=story.SIX * 2)

    assert nights.copied(tmp_path / "one.db", saved).state == "on"
    assert nights.copied(tmp_path / "two.db", saved).state == "other-history"


def test_a_clock_far_behind_is_said(saved, tmp_path):
    made = back(saved, tmp_path / "new.db", now=story.SIX)

    assert made.behind > 3_600_000
    assert "clock is" in made.says


def test_the_stored_stick_is_restored(tmp_path):
    made = back(Path(__file__).with_name("stored"), tmp_path / "new.db", seen=14)

    assert (made.last, made.entries, made.torn, made.apart) == (12, 12, 114, 1)
    assert json.dumps(made.says)
