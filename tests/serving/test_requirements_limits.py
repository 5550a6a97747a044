"""R31: how much a body, a picture, a group of codes and what unpacks may hold: exactly so much passes, one byte (one point, one page, one code) more does not."""

import hashlib
import http.client
import io
import os
import zlib
from concurrent.futures import ThreadPoolExecutor

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image

from tests.serving.conftest import PATIENCE
from tests.serving.opened_place import desk, place, prepared  # noqa: F401 - fixtures
from webapp.office.reading import code_reading, decoder_process
from webapp.packet import envelope, frames
from webapp.packet.cose import sign
from webapp.pages.desk.routes import LIMITS as AT_THE_OFFICE
from webapp.pages.place.routes import LIMITS as AT_THE_PLACE
from webapp.record import cbor
from webapp.serving.wsgi_bridge import BODY_LIMIT, STRANGER_LIMIT

WIDTH = 8000


@pytest.fixture(scope="module")
def pass_of_a_tablet(place):  # noqa: F811
    """The header by which a tablet that was admitted is known at its door."""
    gate = place.app.extensions["room"].gate
    letter, handle = gate.tablets.ask(gate.tablets.invite(), "full", 0)
    gate.tablets.admit(letter)
    return {"Cookie": f"__Host-tapeseal-place-{place.port('tablets')}={handle}"}


@pytest.mark.parametrize("door", ["laptop", "tablets"])
@pytest.mark.parametrize(("path", "limit"), [("/sign/x", BODY_LIMIT), *AT_THE_PLACE.items()], ids=str)
def test_r31_a_body_one_byte_over_is_refused_at_the_place(place, pass_of_a_tablet, door, path, limit):  # noqa: F811
    head = {"Content-Type": "text/plain", **pass_of_a_tablet}
    assert place.ask(door, path, "POST", b"x" * limit, head)[0] not in (413, 500)
    assert place.ask(door, path, "POST", None, head | {"Content-Length": str(limit + 1)})[0] == 413


def test_a_stranger_at_the_tablets_door_sends_no_more_than_a_code_takes(place):  # noqa: F811
    """Also to the paths that take files, also with a cookie that opens nothing, and one byte over is refused before it is sent. Strangers are answered late, so several ask at once."""

    def asks(path: str, cookie: dict[str, str]) -> None:
        head = {"Content-Type": "text/plain", **cookie}
        assert place.ask("tablets", path, "POST", b"x" * STRANGER_LIMIT, head)[0] in (400, 403, 404), path
        over = place.ask("tablets", path, "POST", None, head | {"Content-Length": str(STRANGER_LIMIT + 1)})
        assert over[0] == 413 and b"4,096 bytes" in over[2], path

    cookies = ({}, {"Cookie": f"__Host-tapeseal-place-{place.port('tablets')}=nobodys"})
    paths = ("/note/incident", "/pair", "/nothing-here", *AT_THE_PLACE)
    with ThreadPoolExecutor(6) as strangers:
        asked = [strangers.submit(asks, path, cookie) for path in paths for cookie in cookies]
    for one in asked:
        one.result()


@pytest.mark.parametrize(("path", "limit"), [("/sign/x", BODY_LIMIT), *AT_THE_OFFICE.items()], ids=str)
def test_r31_a_body_one_byte_over_is_refused_at_the_office(desk, path, limit):  # noqa: F811
    def send(body, length: int) -> int:
        client = http.client.HTTPConnection("127.0.0.1", desk[1], timeout=PATIENCE)
        client.request("POST", path, body, {"Content-Type": "text/plain", "Content-Length": str(length)})
        status = client.getresponse().status
        client.close()
        return status

    assert send(b"x" * limit, limit) not in (413, 500)
    assert send(None, limit + 1) == 413


def picture(width: int, height: int, pages: int = 1) -> bytes:
    """White, one bit a point; several pages as one TIFF."""
    file = io.BytesIO()
    one = Image.new("1", (width, height), 1)
    if pages > 1:
        one.save(file, "TIFF", compression="group4", save_all=True, append_images=[one] * (pages - 1))
    else:
        one.save(file, "PNG")
    return file.getvalue()


def test_r31_a_picture_one_row_of_points_over_is_refused(monkeypatch):
    """The limit itself, in the code that the child runs; only the reading of so large a white picture is left out, which takes seconds."""
    monkeypatch.setattr(decoder_process, "looked_at", lambda image, until: [])
    most = decoder_process.PIXELS // WIDTH

    assert decoder_process.answer(decoder_process.IMAGE, picture(WIDTH, most)) == {"texts": [], "foreign": 0}
    assert (
        f"measures {WIDTH} by {most + 1} points, more than 64 million"
        in decoder_process.answer(decoder_process.IMAGE, picture(WIDTH, most + 1))["refused"]
    )


def test_r31_a_file_one_picture_over_is_refused(monkeypatch):
    monkeypatch.setattr(decoder_process, "looked_at", lambda image, until: [])

    assert decoder_process.answer(decoder_process.IMAGE, picture(8, 8, decoder_process.PAGES)) == {
        "texts": [],
        "foreign": 0,
    }
    assert (
        f"holds {decoder_process.PAGES + 1} pictures; the desk reads at most {decoder_process.PAGES}"
        in decoder_process.answer(decoder_process.IMAGE, picture(8, 8, decoder_process.PAGES + 1))["refused"]
    )


def test_r31_a_file_one_byte_over_is_refused_before_anything_opens_it(monkeypatch):
    opened = []
    monkeypatch.setattr(
        code_reading,
        "_child",
        lambda sent, count, *more: opened.append(len(sent)) or [{"texts": [], "foreign": 0}] * count,
    )
    png = b"\x89PNG"

    code_reading.read_codes(png + bytes(code_reading.BYTES - 4), "one.png")
    with pytest.raises(code_reading.PacketRefused, match="holds 64 MB; the desk reads files up to 64 MB"):
        code_reading.read_codes(png + bytes(code_reading.BYTES - 3), "one.png")
    assert len(opened) == 1


def test_r31_scanned_text_one_byte_over_is_refused():
    assert code_reading.read_codes(b"x" * code_reading.TEXT_BYTES, "codes.txt").texts == ()
    with pytest.raises(code_reading.PacketRefused, match="is not an image"):
        code_reading.read_codes(b"x" * (code_reading.TEXT_BYTES + 1), "codes.txt")


def test_r31_a_group_of_codes_one_byte_over_is_refused():
    """255 codes are the most that one byte counts: 191 of data and 64 spare, 262 bytes each."""
    most = 191 * frames.LOAD
    assert len(frames.split((os.urandom(most), b"x"))) == 255 + frames.LEAST
    with pytest.raises(frames.PacketRefused, match=f"fill {most + 1} bytes; the codes of a packet carry 1 to {most}"):
        frames.split((os.urandom(most + 1), b"x"))


def test_r31_a_code_that_says_it_is_one_of_more_than_a_group_holds_is_refused():
    """k = 192 would need 64 spare ones, 256 in all; with n = 255 the numbers do not fit together."""
    whole = frames.Frame(0, bytes(8), 191, 255, 254, 1, bytes(frames.LOAD))
    assert frames.read(whole.text) == whole
    with pytest.raises(frames.PacketRefused, match="numbers do not fit together"):
        frames.read(frames.Frame(0, bytes(8), 192, 255, 254, 1, bytes(frames.LOAD)).text)


@pytest.fixture
def sealed():
    """A function: how many bytes the figures unpack to -> a packet with a right signature, and its key."""
    key = Ed25519PrivateKey.generate()

    def make(size: int) -> tuple[bytes, dict]:
        notes = zlib.compress(cbor.encode({}), 9)
        plain = {"mode": "practice", "remarks_digest": hashlib.sha256(notes).digest(), "z": ""}
        plain["z"] = "x" * (size - len(cbor.encode(plain | {"z": "x" * 70000})) + 70000)
        packed = cbor.encode(plain)
        assert len(packed) == size
        parts = [
            sign(data, key, envelope.context("practice", part))
            for part, data in enumerate((zlib.compress(packed, 9), notes))
        ]
        return b"".join(parts), {envelope.key_id(key.public_key()): key.public_key()}

    return make


def test_r31_what_unpacks_to_one_byte_over_is_refused_though_its_signature_holds(sealed):
    packet, keys = sealed(envelope.INFLATED_LIMIT)
    assert envelope.open_packet(packet, keys, "practice").verified is True

    packet, keys = sealed(envelope.INFLATED_LIMIT + 1)
    with pytest.raises(envelope.PacketRefused, match=f"unpack to more than {envelope.INFLATED_LIMIT} bytes"):
        envelope.open_packet(packet, keys, "practice")


def test_r31_a_signed_part_one_byte_over_is_refused():
    for size, says in (
        (envelope.PART_LIMIT, "not|cut off|written"),
        (envelope.PART_LIMIT + 1, f"fill {envelope.PART_LIMIT + 1} bytes; a packet carries {envelope.PART_LIMIT}"),
    ):
        with pytest.raises(envelope.PacketRefused, match=says) as refusal:
            envelope.open_packet((bytes(size), b"x"), None, None)
        assert (f"carries {envelope.PART_LIMIT}" in str(refusal.value)) is (size > envelope.PART_LIMIT)
