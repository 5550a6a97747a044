"""The record on a stick: what is kept lies there byte for byte, whatever happens to the stick meanwhile."""

import os
import shutil

import pytest

from tests.record import story
from tests.stick import nights
from webapp.record import audit
from webapp.stick.folder import UnreadableStick, chosen, folders_at, read_folder


def on(stick):
    return read_folder(chosen(stick)).history.stored


def test_everything_kept_lies_on_the_stick_with_its_words(ledger, record, stick):
    nights.keep(ledger, 30)

    made = nights.copied(record, stick)

    assert on(stick) == nights.all_of(record)
    assert (made.state, made.number) == ("on", 30)
    assert folders_at(stick)[0].name == f"tapeseal-FERN-{story.RECORD_ID[:4].hex()}"


def test_what_is_kept_later_is_added(ledger, record, stick):
    made = nights.copied(record, stick)
    for first in range(100, 130, 10):
        nights.keep(ledger, 10, first)
        made.copy_new()

    assert on(stick) == nights.all_of(record)
    assert len(list(chosen(stick).glob("entries-*"))) == 1


def test_each_start_makes_a_file_of_its_own_and_changes_none(ledger, record, stick):
    nights.keep(ledger, 5)
    nights.copied(record, stick)
    before = {path: path.read_bytes() for path in chosen(stick).glob("entries-*")}
    nights.keep(ledger, 5, 200)

    nights.copied(record, stick)

    assert len(list(chosen(stick).glob("entries-*"))) == 2
    assert all(path.read_bytes() == data for path, data in before.items())
    assert on(stick) == nights.all_of(record)


def test_a_start_with_nothing_new_leaves_no_file(ledger, record, stick):
    nights.keep(ledger, 5)
    nights.copied(record, stick)
    nights.copied(record, stick)

    assert len(list(chosen(stick).glob("entries-*"))) == 1


def test_a_torn_tail_stays_and_harms_nothing(ledger, record, stick):
    nights.keep(ledger, 10)
    nights.copied(record, stick)
    (file,) = chosen(stick).glob("entries-*")
    file.write_bytes(file.read_bytes()[:-17])
    nights.keep(ledger, 3, 200)

    made = nights.copied(record, stick)

    assert made.number == 13
    assert on(stick) == nights.all_of(record)
    assert sorted(path.name for path in chosen(stick).glob("entries-*")) == [
        "entries-1-000001-1.cborseq",
        "entries-1-000010-1.cborseq",
    ]


def test_a_stick_that_is_pulled_and_comes_back_catches_up(ledger, record, stick, tmp_path):
    nights.keep(ledger, 5)
    made = nights.copied(record, stick)
    stick.rename(tmp_path / "away")
    nights.keep(ledger, 5, 200)
    made.copy_new()
    assert (made.state, made.number) == ("gone", 5)
    (tmp_path / "away").rename(stick)

    while made.copy_new():
        pass

    assert (made.state, made.number) == ("on", 10)
    assert on(stick) == nights.all_of(record)


def test_a_stick_that_is_pulled_while_nothing_happens_is_noticed(ledger, record, stick, tmp_path):
    nights.keep(ledger, 5)
    made = nights.copied(record, stick)
    stick.rename(tmp_path / "away")

    made.check()

    assert made.state == "gone"


def test_a_foreign_stick_begins_at_entry_1_beside_what_lies_there(ledger, record, stick, tmp_path):
    nights.keep(ledger, 5)
    made = nights.copied(record, stick)
    stick.rename(tmp_path / "away")
    (stick / "photos").mkdir(parents=True)
    (stick / "photos" / "a.jpg").write_bytes(b"picture")
    (stick / "tapeseal-OTHER-00000000").mkdir()
    made.check()

    while made.copy_new():
        pass

    assert (made.state, made.number) == ("on", 5)
    assert read_folder(chosen(stick, "5ea1ed00")).history.stored == nights.all_of(record)
    assert (stick / "photos" / "a.jpg").read_bytes() == b"picture"
    assert sorted(path.name for path in stick.iterdir()) == [
        "photos",
        "tapeseal-FERN-5ea1ed00",
        "tapeseal-OTHER-00000000",
    ]


def test_a_stick_with_another_history_is_left_as_it_is(ledger, record, stick, tmp_path):
    nights.keep(ledger, 5)
    ledger.close()
    shutil.copytree(record.parent, tmp_path / "again")
    from webapp.record.ledger import Ledger

    with Ledger.open(tmp_path / "again" / "record.db", story.COARSE) as other:
        nights.keep(other, 3, 300)
    nights.copied(tmp_path / "again" / "record.db", stick)
    before = {path: path.read_bytes() for path in chosen(stick).iterdir()}
    with Ledger.open(record, story.COARSE) as mine:
        nights.keep(mine, 3, 400)

    made = nights.copied(record, stick)

    assert made.state == "other-history"
    assert {path: path.read_bytes() for path in chosen(stick).iterdir()} == before


def test_an_older_record_never_writes_behind_a_newer_one(ledger, record, stick):
    """An older copy of the folder was put in the place of the record: the stick that knows more is kept as it is."""
    nights.keep(ledger, 5)
    nights.copied(record, stick)
    nights.keep(ledger, 3, 300)
    nights.copied(record, stick)
    ledger.close()
    from webapp.record.ledger import Ledger

    record.unlink()
    with Ledger.create(record, story.RECORD_ID, story.COARSE) as older:
        nights.keep(older, 5)
        made = nights.copied(record, stick)

        assert made.state == "other-history"


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes where nobody may")
def test_a_write_protected_stick_is_said(ledger, record, stick):
    stick.chmod(0o500)
    nights.keep(ledger, 5)

    assert nights.copied(record, stick).state == "unwritable"


@pytest.mark.parametrize(
    ("code", "state"),
    [
        ("ENOSPC", "full"),
        ("EFBIG", "full"),
        ("EROFS", "unwritable"),
        ("EIO", "unwritable"),
        ("ENOENT", "gone"),
        ("ENODEV", "gone"),
    ],
)
def test_an_error_of_the_disk_ends_in_a_state_and_a_new_file(ledger, record, stick, monkeypatch, code, state):
    import errno

    from webapp.stick import disk

    nights.keep(ledger, 5)
    made = nights.copied(record, stick)
    nights.keep(ledger, 5, 200)
    real, left = disk.sync, [1]

    def once(fd):
        if left:
            left.pop()
            raise OSError(getattr(errno, code), "no")
        real(fd)

    monkeypatch.setattr(disk, "sync", once)
    made.copy_new()
    assert (made.state, made.number) == (state, 5)

    while made.copy_new():
        pass

    assert (made.state, made.number) == ("on", 10)
    assert on(stick) == nights.all_of(record)


def test_a_thousand_entries_begin_a_new_file(ledger, record, stick, monkeypatch):
    monkeypatch.setattr("webapp.stick.copier.IN_A_SEGMENT", 10)
    monkeypatch.setattr("webapp.stick.copier.AT_A_LOOK", 5)
    nights.keep(ledger, 30)

    nights.copied(record, stick)

    assert len(list(chosen(stick).glob("entries-*"))) == 3
    assert on(stick) == nights.all_of(record)


def test_check_words_make_a_whole_copy_that_verifies(ledger, record, stick):
    nights.keep(ledger, 5)
    nights.keep_words(ledger, 500)
    made = nights.copied(record, stick)
    nights.keep(ledger, 5, 600)
    nights.keep_words(ledger, 700)
    while made.copy_new():
        pass

    verdicts = [audit.verify(chosen(stick) / name, coarse=story.COARSE) for name in ("snapshot-a.db", "snapshot-b.db")]

    assert [(one.ok, one.entries) for one in verdicts] == [(True, 6), (True, 12)]
    assert len(list(chosen(stick).glob("entries-*"))) == 2


def test_a_snapshot_fills_a_hole(ledger, record, stick):
    nights.keep(ledger, 10)
    nights.keep_words(ledger, 500)
    made = nights.copied(record, stick)
    nights.keep(ledger, 5, 600)
    made.copy_new()
    first, second = sorted(chosen(stick).glob("entries-*"))
    first.write_bytes(first.read_bytes()[:900])

    found = read_folder(chosen(stick))

    assert found.history.stored == nights.all_of(record)
    assert found.source == "snapshot"


def test_a_damaged_snapshot_is_passed_over(ledger, record, stick):
    nights.keep(ledger, 10)
    nights.keep_words(ledger, 500)
    nights.copied(record, stick)
    (chosen(stick) / "snapshot-b.db").write_bytes(b"\x00" * 4096)

    assert read_folder(chosen(stick)).history.stored == nights.all_of(record)


def test_a_stick_with_nothing_of_ours_is_refused_in_a_sentence(stick, tmp_path):
    with pytest.raises(UnreadableStick, match="holds no backup"):
        chosen(stick)
    with pytest.raises(UnreadableStick, match="cannot be read"):
        chosen(tmp_path / "nowhere")
    (stick / "tapeseal-FERN-00000000").mkdir()
    with pytest.raises(UnreadableStick, match="nothing that can be read back"):
        read_folder(chosen(stick))


def test_two_records_on_one_stick_are_named(ledger, record, stick):
    nights.keep(ledger, 1)
    nights.copied(record, stick)
    (stick / "tapeseal-ROSE-11112222").mkdir()

    with pytest.raises(UnreadableStick, match="5ea1ed00.*11112222"):
        chosen(stick)
    assert chosen(stick, "5ea1ed00").name == "tapeseal-FERN-5ea1ed00"


def test_packets_place_file_and_note_lie_beside(ledger, record, stick):
    (record.parent / "place.cose").write_bytes(b"place")
    (record.parent / "packet").mkdir()
    nights.keep(ledger, 3)
    made = nights.copied(
        record,
        stick,
        place_file=str(record.parent / "place.cose"),
        packets=str(record.parent / "packet"),
        read_me="What this is.",
    )
    (record.parent / "packet" / "1.cose").write_bytes(b"packet")
    (record.parent / "packet" / "1-batches.csv").write_bytes(b"batches of a count board")
    nights.keep(ledger, 1, 300)
    made.copy_new()

    folder = chosen(stick)
    names = ("place.cose", "READ-ME.txt", "packet/1.cose", "packet/1-batches.csv")
    assert [(folder / name).read_bytes() for name in names] == [
        b"place",
        b"What this is.",
        b"packet",
        b"batches of a count board",
    ]


def test_a_packet_goes_along_when_it_has_its_number_and_not_while_it_waits(ledger, record, stick):
    folder = record.parent / "packet"
    folder.mkdir()
    nights.keep(ledger, 2)
    waiting = folder / f"waiting-{'ab' * 32}.cose"
    waiting.write_bytes(b"packet")
    made = nights.copied(record, stick, packets=str(folder))
    nights.keep(ledger, 1, 200)
    made.copy_new()
    there = chosen(stick) / "packet"
    assert not there.exists()

    waiting.replace(folder / "1.cose")
    assert not made.copy_new(), "no entry came"
    assert [one.name for one in there.iterdir()] == ["1.cose"] and (there / "1.cose").read_bytes() == b"packet"
