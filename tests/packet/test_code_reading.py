"""Files at the desk: every kind that holds codes is read, and whatever is hostile, broken, cut or huge ends in one sentence."""

import io
import struct
import subprocess
import sys
import zlib

import pytest
import segno
from PIL import Image

from packet import camera
from tests.matrix import some
from webapp.office.reading import code_reading, decoder_process
from webapp.packet import codes, cose, envelope
from webapp.paper.code_pages import code_pages
from webapp.paper.parts.sheet import PaperSheet


@pytest.fixture(scope="module")
def pdf(texts):
    sheet = PaperSheet("codes", "codes")
    code_pages(sheet, texts)
    return bytes(sheet.output())


@pytest.fixture(scope="module")
def page(pdf):
    return camera.pages(pdf)[0]


@pytest.mark.parametrize("kind", some(["PNG", "JPEG", "TIFF"], ["PNG", "JPEG", "WEBP", "GIF", "BMP", "TIFF"]))
def test_every_kind_of_picture_is_read(page, texts, kind):
    assert set(texts) == set(code_reading.read_codes(camera.file(page, kind), "photo").texts)


@pytest.mark.parametrize("mode", some(["1", "I;16", "CMYK"], ["1", "L", "RGB", "RGBA", "P", "LA", "I;16", "CMYK"]))
def test_every_kind_of_colour_is_read(page, texts, mode):
    image = page.point(lambda v: v * 256, "I").convert("I;16") if mode == "I;16" else page.convert(mode)
    assert set(texts) == set(
        code_reading.read_codes(camera.file(image, "TIFF" if mode == "CMYK" else "PNG"), "photo").texts
    )


def test_codes_on_a_transparent_ground_are_read(texts):
    code = Image.open(io.BytesIO(codes.as_png(texts[0], 5))).convert("L")
    clear = Image.new("RGBA", code.size, (0, 0, 0, 0))
    clear.putalpha(code.point(lambda v: 255 - v))
    assert (texts[0],) == code_reading.read_codes(camera.file(clear), "code.png").texts


def test_a_pdf_of_vectors_and_a_pdf_of_scans_are_read(pdf, page, texts):
    assert set(texts) == set(code_reading.read_codes(pdf, "packet.pdf").texts)
    assert set(texts) == set(
        code_reading.read_codes(camera.file(page.convert("RGB"), "PDF", resolution=200), "scan.pdf").texts
    )


def test_the_packets_own_file_gives_the_packet_whole(sealed, texts):
    read = code_reading.read_codes(sealed.data, "packet.cose")
    assert code_reading.CodesRead((), 0, sealed.parts) == read and read.found
    assert code_reading.CodesRead((), len(texts)) == code_reading.read_codes(sealed.data, "packet.cose", "TH1:")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_of_a_scanner_is_read(texts, encoding):
    typed = "\r\n".join((*texts, texts[0], "https://example.org")).encode(encoding)
    assert code_reading.CodesRead(texts, 1) == code_reading.read_codes(typed, "scanned.txt")


def test_foreign_codes_are_counted_each_once(texts):
    sheet = Image.new("L", (1500, 800), 255)
    sheet.paste(Image.open(io.BytesIO(codes.as_png(texts[0], 6))), (0, 0))
    for place, text in enumerate(("https://example.org", "WIFI:S:hall;;", "https://example.org")):
        code = io.BytesIO()
        segno.make(text).save(code, kind="png", scale=6, border=4)
        sheet.paste(Image.open(code), (600 + 280 * place, 20))
    assert code_reading.CodesRead((texts[0],), 2) == code_reading.read_codes(camera.file(sheet), "table.jpg")


def test_a_picture_without_codes_is_no_refusal():
    assert code_reading.CodesRead((), 0) == code_reading.read_codes(
        camera.file(Image.new("L", (400, 300), 200)), "wall.png"
    )


def _png_header(width: int, height: int) -> bytes:
    """A PNG that claims this size and holds next to nothing."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


def _pdf(box: str, pages: int = 1) -> bytes:
    """A hand-written PDF of empty pages of this size."""
    kids = " ".join(f"{3 + n} 0 R" for n in range(pages))
    body = f"1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[{kids}]/Count {pages}>>endobj\n"
    body += "".join(f"{3 + n} 0 obj<</Type/Page/Parent 2 0 R/MediaBox[{box}]>>endobj\n" for n in range(pages))
    return f"%PDF-1.4\n{body}trailer<</Root 1 0 R>>\n%%EOF".encode()


HOSTILE = {
    "giant.png": (_png_header(60_000, 60_000), "measures 60000 by 60000 points"),
    "lying.png": (_png_header(4000, 4000), "cut off or damaged"),
    "giant.pdf": (_pdf("0 0 4000000 4"), "has a page of 4000000 by 4 points"),
    "many.pdf": (_pdf("0 0 612 792", 61), "holds 61 pages"),
    "broken.pdf": (b"%PDF-1.7\n" + b"garbage" * 50, "cannot be opened as a PDF"),
    "film.heic": (b"\0\0\0\x18ftypheic" + bytes(100), "set the phone to JPEG"),
    "noise.bin": (b"\0\x01\x02" * 50, "is not an image, PDF, packet.cose or text"),
    "empty.png": (b"", "is empty"),
    "cut.cose": (b"\xd2\x84\x4d", "not a signed envelope, or are cut off"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_or_broken_file_ends_in_one_sentence_with_its_name(name):
    data, sentence = HOSTILE[name]
    with pytest.raises(code_reading.PacketRefused) as refusal:
        code_reading.read_codes(data, name)
    assert str(refusal.value).startswith(name) and sentence in str(refusal.value) and "\n" not in str(refusal.value)


@pytest.mark.parametrize("kind", some(["WEBP", "GIF", "BMP"], ["PNG", "JPEG", "WEBP", "GIF", "BMP"]))
@pytest.mark.parametrize("part", some([0.6], [0.1, 0.6]))
def test_a_picture_cut_off_is_refused(page, kind, part):
    data = camera.file(page, kind)
    with pytest.raises(code_reading.PacketRefused, match="photo is cut off or damaged"):
        code_reading.read_codes(data[: int(len(data) * part)], "photo")


def test_a_pdf_cut_off_is_refused(pdf):
    with pytest.raises(code_reading.PacketRefused, match="cannot be opened as a PDF"):
        code_reading.read_codes(pdf[: len(pdf) // 3], "packet.pdf")


def test_a_picture_whose_data_unpack_to_gigabytes_is_refused_by_its_size():
    bomb = Image.new("1", (10_000, 10_000), 1)
    data = camera.file(bomb)
    assert len(data) < 1_000_000
    with pytest.raises(code_reading.PacketRefused, match="more than 64 million"):
        code_reading.read_codes(data, "bomb.png")


def test_a_packet_that_unpacks_to_megabytes_is_read_as_codes_and_refused_when_opened(key, keys):
    bomb = zlib.compress(b"\0" * 40_000_000, 9)
    parts = tuple(cose.sign(bomb, key, envelope.context("practice", part)) for part in (0, 1))
    assert len(bomb) < envelope.PART_LIMIT
    assert code_reading.read_codes(b"".join(parts), "bomb.cose").parts == parts
    with pytest.raises(envelope.PacketRefused, match="unpack to more than"):
        envelope.open_packet(parts, keys, "practice")


def test_a_file_too_large_is_refused_unread(monkeypatch):
    monkeypatch.setattr(code_reading, "BYTES", 1024 * 1024)
    with pytest.raises(code_reading.PacketRefused, match="holds 2 MB; the desk reads files up to 1 MB"):
        code_reading.read_codes(bytes(2 * 1024 * 1024), "disk.img")


def test_many_files_share_a_child_and_a_bad_one_costs_only_itself(texts):
    files = [(f"{place}.png", codes.as_png(text, 4)) for place, text in enumerate(texts)]
    files.insert(2, ("giant.png", HOSTILE["giant.png"][0]))
    answers = code_reading.read_all(files)

    assert isinstance(answers[2], code_reading.PacketRefused)
    assert [(text,) for text in texts] == [seen.texts for seen in answers if isinstance(seen, code_reading.CodesRead)]


def test_a_child_that_dies_costs_one_file_and_the_rest_is_read_by_the_next(texts, monkeypatch, tmp_path):
    """The decoder is replaced by one that falls at the word "fall"."""
    source = decoder_process.__file__
    (tmp_path / "decoder.py").write_text(
        f"import runpy, os\nreal = runpy.run_path({source!r})\nreal['answer'].__globals__['_pictures'] = "
        "lambda data, until: os._exit(9) if b'fall' in data else iter([[data.decode('latin-1')[6:]]])\nreal['main']()\n"
    )
    monkeypatch.setattr(code_reading, "DECODER", tmp_path / "decoder.py")
    answers = code_reading.read_all([(name, b"GIF89a" + name.encode()) for name in ("TS1:a", "fall", "TS1:b")])

    assert [("TS1:a",), ("TS1:b",)] == [answers[0].texts, answers[2].texts]
    assert (
        "fall could not be read within the desk's limits of time and memory: photograph or scan each page by itself."
        == str(answers[1])
    )


def test_a_child_that_hangs_is_ended(monkeypatch, tmp_path):
    (tmp_path / "decoder.py").write_text("import time\ntime.sleep(60)\n")
    monkeypatch.setattr(code_reading, "DECODER", tmp_path / "decoder.py")
    monkeypatch.setattr(code_reading, "SECONDS", 0.5)
    with pytest.raises(code_reading.PacketRefused, match="within the desk's limits"):
        code_reading.read_codes(b"GIF89a", "slow.gif")


def test_a_file_past_its_time_gets_one_plain_look_a_page_and_no_refusal(pdf, texts, monkeypatch):
    looks = []
    monkeypatch.setattr(decoder_process, "PATIENCE", -1)
    monkeypatch.setattr(
        decoder_process,
        "_read",
        lambda picture, found, placed=False, real=decoder_process._read: (
            looks.append(1),
            real(picture, found, placed),
        ),
    )

    assert set(texts) == set(decoder_process.answer(decoder_process.PDF, pdf)["texts"])
    assert 1 == len(looks)


def test_the_child_lives_under_limits_of_memory_and_time_and_writes_no_file():
    resource = pytest.importorskip("resource")
    asked = (
        "import runpy, resource, sys; real = runpy.run_path(sys.argv[1]); real['_limit'](); "
        "print([resource.getrlimit(getattr(resource, n))[0] for n in ('RLIMIT_AS', 'RLIMIT_CPU', 'RLIMIT_FSIZE')])"
    )
    out = subprocess.run(
        [sys.executable, "-c", asked, decoder_process.__file__], capture_output=True, text=True, check=True
    ).stdout
    assert resource and f"[{decoder_process.MEMORY}, {decoder_process.SECONDS}, 0]" == out.strip()
