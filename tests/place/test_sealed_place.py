"""A place file under the office's signature: each way of not being the office's own is refused with its own sentence."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.place.conftest import SMALL
from webapp.gate import GateRefused, keys, signed_place_file
from webapp.packet import cose
from webapp.precinct.place import place_file

OFFICE, OTHER = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in (1, 2))
LIVE, PRACTICE = SMALL.encode(), SMALL.replace('"live"', '"practice"').encode()
SEALED = signed_place_file.seal(LIVE, OFFICE)

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture
def folder(tmp_path):
    """A folder enrolled for this place file, without its place file yet."""

    def made(toml=LIVE):
        path = tmp_path / "R7"
        path.mkdir()
        keys.create_place(path, place_file.read(toml), OFFICE.public_key())
        return path

    return made


def test_a_signed_place_is_opened_with_the_offices_key():
    assert signed_place_file.opened(SEALED, OFFICE.public_key()) == place_file.read(LIVE)


def test_any_changed_byte_is_refused():
    for at in range(0, len(SEALED), 7):
        with pytest.raises(GateRefused) as caught:
            signed_place_file.opened(SEALED[:at] + bytes([SEALED[at] ^ 4]) + SEALED[at + 1 :], OFFICE.public_key())
        assert str(caught.value).endswith(".")


@pytest.mark.parametrize("cut", [1, 3, 40, 800, len(SEALED) - 1])
def test_a_file_cut_off_or_run_on_is_refused(cut):
    for data in (SEALED[:cut], SEALED + SEALED[:cut]):
        with pytest.raises(GateRefused, match="was changed after the office signed it, or is cut off"):
            signed_place_file.opened(data, OFFICE.public_key())


def test_a_changed_figure_is_told_as_changed():
    with pytest.raises(
        GateRefused, match="was changed after the office signed it, or is cut off. Copy it again from the office."
    ):
        signed_place_file.opened(SEALED.replace(b"received = 500", b"received = 900"), OFFICE.public_key())


def test_another_offices_place_is_told_with_both_keys():
    with pytest.raises(GateRefused) as caught:
        signed_place_file.opened(signed_place_file.seal(LIVE, OTHER), OFFICE.public_key())

    kids = [cose.key_id(key.public_key()).hex() for key in (OTHER, OFFICE)]
    assert str(caught.value) == (
        f"This place file was signed by another office (key {kids[0]}); this folder belongs to the office with key {kids[1]}. "
        "Ask that office for the place file."
    )


@pytest.mark.parametrize("data", [LIVE, b"", b"\x00" * 50, b"{}"])
def test_what_carries_no_signature_is_told_how_to_get_one(data):
    with pytest.raises(GateRefused, match="carries no signature: build it with `tapeseal place build`"):
        signed_place_file.opened(data, OFFICE.public_key())


def test_a_live_file_signed_for_practice_is_refused():
    forged = cose.sign(LIVE, OFFICE, signed_place_file.context("practice"))

    with pytest.raises(GateRefused, match="says live and was signed for practice"):
        signed_place_file.opened(forged, OFFICE.public_key())


def test_what_the_office_signed_for_something_else_is_no_place_file():
    with pytest.raises(GateRefused, match="was changed after the office signed it"):
        signed_place_file.opened(cose.sign(LIVE, OFFICE, "tapeseal/packet/1/live/0"), OFFICE.public_key())


def test_a_place_file_with_mistakes_is_not_signed():
    with pytest.raises(place_file.Mistakes):
        signed_place_file.seal(LIVE.replace(b"n = 1", b"n = 0"), OFFICE)


def test_an_enrolled_folder_gives_its_place(folder):
    path = folder()
    (path / "place.cose").write_bytes(SEALED)

    place = signed_place_file.load_place(path, "live")

    assert place.id == "R7" and place.digest == place_file.read(LIVE).digest


def test_a_live_place_never_runs_unsigned(folder):
    path = folder()
    (path / "place.toml").write_bytes(LIVE)

    with pytest.raises(GateRefused, match="is for a live election and nobody signed it"):
        signed_place_file.load_place(path)


def test_practice_may_run_unsigned(tmp_path):
    keys.create_practice(tmp_path, place_file.read(PRACTICE))
    (tmp_path / "place.toml").write_bytes(PRACTICE)

    assert signed_place_file.load_place(tmp_path).mode == "practice"


def test_practice_on_its_own_cannot_prove_a_signed_place(tmp_path):
    keys.create_practice(tmp_path, place_file.read(PRACTICE))
    (tmp_path / "place.cose").write_bytes(signed_place_file.seal(PRACTICE, OFFICE))

    with pytest.raises(GateRefused, match="knows no office's key"):
        signed_place_file.load_place(tmp_path)


def test_a_practice_file_in_a_live_folder_is_refused(folder):
    path = folder()
    (path / "place.cose").write_bytes(signed_place_file.seal(PRACTICE, OFFICE))

    with pytest.raises(
        GateRefused, match="for practice, and the folder was enrolled for live: practice and live never mix"
    ):
        signed_place_file.load_place(path)


def test_an_unsigned_practice_file_in_a_live_folder_is_refused(folder):
    path = folder()
    (path / "place.toml").write_bytes(PRACTICE)

    with pytest.raises(GateRefused, match="practice and live never mix"):
        signed_place_file.load_place(path)


def test_another_places_file_is_refused(folder):
    path = folder()
    (path / "place.cose").write_bytes(signed_place_file.seal(LIVE.replace(b'id = "R7"', b'id = "R8"'), OFFICE))

    with pytest.raises(GateRefused, match=r"for R8 \(Ropewalk Hall\), and the folder was enrolled for R7"):
        signed_place_file.load_place(path)


def test_a_mode_that_was_asked_for_must_be_the_folders(folder):
    path = folder()
    (path / "place.cose").write_bytes(SEALED)

    with pytest.raises(GateRefused, match="This folder is for live, and practice was asked for"):
        signed_place_file.load_place(path, "practice")


def test_a_folder_without_a_place_file_is_told_so(folder):
    with pytest.raises(GateRefused, match="holds neither place.cose nor place.toml"):
        signed_place_file.load_place(folder())


def test_an_unsigned_file_with_mistakes_is_told_with_the_first(tmp_path):
    keys.create_practice(tmp_path, place_file.read(PRACTICE))
    (tmp_path / "place.toml").write_bytes(PRACTICE.replace(b"n = 1", b"n = 0").replace(b'box = "X"', b'box = "Z"'))

    with pytest.raises(
        GateRefused,
        match=r"Line 54: n of \[\[contests\]\] MAYOR is 0: write a number from 1 to 200, such as 1. 1 more: see `tapeseal place check`.",
    ):
        signed_place_file.load_place(tmp_path)
