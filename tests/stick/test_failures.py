"""Failures that no other test plays: what the page FAILURES.md promises of them."""

import errno

import pytest

import webapp
from tests.record import story
from tests.stick import nights
from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.record import cbor
from webapp.record.fork import SeenHead, held_against
from webapp.record.ledger import Ledger
from webapp.settings import Settings
from webapp.stick import copier as copying
from webapp.stick.folder import chosen, read_folder
from webapp.stick.restore import restore


@pytest.mark.parametrize(
    ("item", "other", "says"),
    [
        (1, "W5", "is the kit of W5 for practice; the stick is of W3 for practice"),
        (2, "live", "is the kit of W3 for live; the stick is of W3 for practice"),
        (3, bytes(32), "made for another place file of W3"),
    ],
)
def test_a_kit_or_a_stick_of_another_place_is_refused_before_its_code_is_asked(
    enrolled, tapeseal, stick, tmp_path, item, other, says
):
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    outer = cbor.decode(enrolled.kit.read_bytes())
    outer[item] = other
    enrolled.kit.write_bytes(cbor.encode(outer))

    code, _, err = tapeseal("record", "restore", stick, "--out", tmp_path / "spare", "--kit", enrolled.kit)

    assert code == 2 and says in err and not (tmp_path / "spare").exists()


def test_where_the_laptops_own_disk_is_full_the_entries_are_on_the_stick_all_the_same(
    ledger, record, stick, monkeypatch
):
    def full(**_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(copying.tempfile, "TemporaryDirectory", full)
    nights.keep(ledger, 5)
    nights.keep_words(ledger, 500)
    made = nights.copied(record, stick)

    assert (made.state, made.number) == ("on", 6) and "No whole copy was made" in made.why
    assert read_folder(chosen(stick)).history.stored == nights.all_of(record)


def test_of_two_spares_from_one_stick_a_tablet_that_saw_one_finds_the_other_out(ledger, record, stick, tmp_path):
    nights.keep(ledger, 5)
    nights.copied(record, stick)
    found = read_folder(chosen(stick))
    for n, name in enumerate(("one.db", "two.db")):
        restore(found, tmp_path / name, seen=None, expect=(), kit="spare", coarse=story.COARSE, now=story.SIX * 2 + n)
    with Ledger.read_only(tmp_path / "one.db") as one, Ledger.read_only(tmp_path / "two.db") as two:
        saw = SeenHead(story.RECORD_ID, one.newest.run, one.newest.number, one.newest.head)
        held = held_against(story.RECORD_ID, two.newest, two.at, saw, two.last_before)

    assert saw.number == 10_001 and "another entry 10001" in held.contradicts


def test_at_the_office_the_day_after_everything_is_back_and_nobody_signs_who_is_not_there(
    enrolled, tapeseal, stick, tmp_path
):
    enrolled.keep(4)
    assert tapeseal("record", "backup", enrolled.place, "--to", stick)[0] == 0
    assert tapeseal("record", "restore", stick, "--out", tmp_path / "archive", "--kit", enrolled.kit)[0] == 0
    code, out, _ = tapeseal("record", "verify", tmp_path / "archive" / "record.db")
    assert code == 0
    app = webapp.create_app(Settings("place", tmp_path / "archive", "practice"))
    try:
        page = app.test_client().get("/restored").get_data(as_text=True)
        assert "Nobody who is here has a PIN yet" in page and '<button class="button do">Sign' not in page
        assert "read what was restored" in app.extensions["room"].restore_notice()
    finally:
        app.extensions["room"].close()
