"""The keys in gate.db: made once, never over; a key in force, replaced, lost."""

import sqlite3
import stat

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.place.conftest import SMALL
from webapp.gate import Gate, GateRefused, keys
from webapp.packet.cose import key_id
from webapp.precinct.place import place_file

LIVE = place_file.read(SMALL.encode())
PRACTICE = place_file.read(SMALL.replace('"live"', '"practice"').encode())

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture
def office(tmp_path):
    folder = tmp_path / "office"
    folder.mkdir()
    keys.create_office(folder, "sable", ["d1", "d2"])
    return folder


@pytest.fixture
def place(tmp_path, office):
    folder = tmp_path / "R7"
    folder.mkdir()
    keys.create_place(folder, LIVE, keys.office_public(office))
    return folder


def test_a_place_keeps_its_own_key_the_offices_and_a_pepper(office, place):
    assert keys.office_public(place).public_bytes_raw() == keys.office_key(office).public_key().public_bytes_raw()
    assert keys.place_key(place).private_bytes_raw() != keys.office_key(office).private_bytes_raw()
    assert len(keys.pepper(place)) == 32 and keys.pepper(place) != keys.pepper(office)
    assert keys.whose(place) == keys.FolderIdentity("place", "R7", "live") and keys.whose(
        office / "gate.db"
    ) == keys.FolderIdentity("office", "sable", None)


def test_keys_are_for_the_owners_eyes_only(place):
    assert stat.S_IMODE((place / "gate.db").stat().st_mode) == 0o600


def test_no_code_lies_in_the_file(tmp_path):
    codes = keys.create_practice(tmp_path, PRACTICE)
    data = b"".join(file.read_bytes() for file in tmp_path.iterdir())

    assert set(codes) == {"q1", "q2"}
    assert not any(code.encode() in data or code.replace("-", "").encode() in data for code in codes.values())


def test_a_slip_sets_a_pin_once(tmp_path):
    codes = keys.create_practice(tmp_path, PRACTICE)
    gate = Gate.open(tmp_path / "gate.db")

    gate.set_pin_with_slip("q1", codes["q1"].lower().replace("-", " "), "839205", "L", 0)
    with pytest.raises(GateRefused):
        gate.set_pin_with_slip("q1", codes["q1"], "773504", "L", 0)
    with pytest.raises(GateRefused):
        gate.set_pin_with_slip("q2", codes["q1"], "773504", "L", 0)

    gate.check_pin("q1", "839205", "L", 0)
    gate.close()


def test_keys_are_never_made_over(place, office):
    before = (place / "gate.db").read_bytes()

    with pytest.raises(GateRefused, match="never made over"):
        keys.create_place(place, LIVE, keys.office_public(office))

    assert (place / "gate.db").read_bytes() == before


def test_a_gate_that_cannot_be_filled_is_not_left_behind(tmp_path, monkeypatch):
    monkeypatch.setattr(keys.verifier, "make", lambda pepper, secret: 1 / 0)

    with pytest.raises(ZeroDivisionError):
        keys.create_practice(tmp_path, PRACTICE)

    assert not list(tmp_path.iterdir())


def test_a_live_place_is_not_made_for_practice(tmp_path):
    with pytest.raises(GateRefused, match="is live: its folder comes from the office"):
        keys.create_practice(tmp_path, LIVE)


def test_a_place_on_its_own_knows_no_office(tmp_path):
    keys.create_practice(tmp_path, PRACTICE)

    assert keys.office_public(tmp_path) is None


def test_each_key_opens_only_its_own_folder(place, office):
    with pytest.raises(GateRefused, match="is the folder of the place R7, not of an office"):
        keys.office_key(place)
    with pytest.raises(GateRefused, match="is the folder of the office sable, not of a place"):
        keys.place_key(office)


def test_an_enrolled_key_is_known_by_its_kid(place, office):
    public = keys.place_key(place).public_key()

    kid = keys.enrol(office, LIVE, public, 1000)

    assert kid == key_id(public) and keys.enrolled(office)[kid].public_bytes_raw() == public.public_bytes_raw()
    assert keys.enrolments(office) == (
        keys.Enrolment(kid, "R7", "live", public.public_bytes_raw(), 1000, None, None, None),
    )


def test_a_place_has_one_key_in_force_for_each_mode(place, office):
    keys.enrol(office, LIVE, keys.place_key(place).public_key(), 1000)

    with pytest.raises(GateRefused, match="was enrolled for live already"):
        keys.enrol(office, LIVE, Ed25519PrivateKey.generate().public_key(), 2000)
    keys.enrol(office, PRACTICE, Ed25519PrivateKey.generate().public_key(), 3000)

    assert [(row.mode, row.to_ms) for row in keys.enrolments(office)] == [("live", None), ("practice", None)]


def test_a_key_that_was_replaced_still_proves_what_it_signed(place, office):
    old = keys.enrol(office, LIVE, keys.place_key(place).public_key(), 1000)
    new = keys.enrol(office, LIVE, Ed25519PrivateKey.generate().public_key(), 2000, replace=True, lost=True)

    first, second = keys.enrolments(office)
    assert (first.kid, first.to_ms, first.replaced_by, first.lost_at) == (old, 2000, new, 2000)
    assert (second.kid, second.to_ms, second.replaced_by, second.lost_at) == (new, None, None, None)
    assert set(keys.enrolled(office)) == {old, new}


def test_who_comes_to_the_desk_later_gets_a_slip_and_nobody_a_second(office):
    assert set(keys.add_slips(office, ["d1", "d2", "d3"])) == {"d3"} and keys.add_slips(office, ["d1", "d3"]) == {}


@pytest.mark.parametrize("spoil", ["missing", "other", "empty"])
def test_what_is_no_gate_is_refused_in_a_sentence(tmp_path, spoil):
    if spoil != "missing":
        (tmp_path / "gate.db").write_bytes(b"no database at all" * 100 if spoil == "other" else b"")

    with pytest.raises(GateRefused, match="gate.db") as caught:
        keys.place_key(tmp_path)

    assert str(caught.value).endswith(".")


def test_reading_keys_changes_no_byte(place):
    before = (place / "gate.db").read_bytes()

    keys.place_key(place), keys.pepper(place), keys.office_public(place), keys.whose(place)

    assert (place / "gate.db").read_bytes() == before
    with sqlite3.connect(place / "gate.db") as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
