"""The child process in which strangers' images and PDFs are opened, with limits of memory, time, pixels and pages.

It takes files on its standard input (each a 1-byte kind, a 4-byte length, the bytes) and answers each with one line
of JSON: `{"texts": [...], "foreign": n}` or `{"refused": "..."}`, the sentence without the file's name. It imports
nothing of this house, so that what goes wrong in it goes wrong alone; `code_reading.py` starts it and outlives it.
`code_grid.py` in this folder is as independent.
"""

import ctypes
import io
import json
import os
import signal
import struct
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL.Image import Image

sys.path.append(str(Path(__file__).parent))
import code_grid  # type: ignore[import-not-found]  # noqa: E402  (started by its path, so that nothing of the house is loaded with it)

MEMORY, SECONDS = 2 * 1024**3, 240  # bytes of address space; seconds of processor time for all files of one start
PATIENCE = 35  # seconds for one file, after which each page gets one plain look only
PIXELS, PAGES = 64_000_000, 60  # of one image, of one file
WORKING = 24_000_000  # pixels beyond which tries run on a smaller copy
FIRST_DPI, SECOND_DPI = 200, 300
FORMATS = ("PNG", "JPEG", "WEBP", "GIF", "BMP", "TIFF")
IMAGE, PDF = b"I", b"P"
OURS = sys.argv[1] if __name__ == "__main__" and sys.argv[1:] else "TS1:"  # how the text of a wanted code begins


class DecoderRefused(Exception):
    """This file is not read; the rest of a sentence that begins with its name."""


def main() -> None:
    """Answer every file on standard input."""
    _limit()
    if os.name == "posix" and "TAPESEAL_DESK" in os.environ:
        end_with(int(os.environ["TAPESEAL_DESK"]))
    source = sys.stdin.buffer
    while head := source.read(5):
        kind, length = head[:1], struct.unpack(">I", head[1:])[0]
        print(json.dumps(answer(kind, source.read(length))), flush=True)


def _limit() -> None:
    try:
        import resource
    except ImportError:  # not every system has limits of this kind; time is limited from outside as well
        return
    for name, most in (("RLIMIT_AS", MEMORY), ("RLIMIT_CPU", SECONDS), ("RLIMIT_FSIZE", 0)):
        try:
            resource.setrlimit(getattr(resource, name), (most, most))
        except (AttributeError, ValueError, OSError):  # a system that lacks this one limit still has the others
            continue


def end_with(desk: int) -> None:
    """The process that started us is `desk`; when it ends, however suddenly, so do we: by the system's hand where it offers one, else by looking."""
    try:
        ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG
    except (AttributeError, OSError):
        pass

    def look() -> None:
        while os.getppid() == desk:
            time.sleep(0.25)
        os._exit(1)

    threading.Thread(target=look, daemon=True).start()


def answer(kind: bytes, data: bytes) -> dict[str, Any]:
    """What one file holds, or why it is not read."""
    try:
        ours: dict[str, None] = {}
        others: set[str] = set()
        until = time.monotonic() + PATIENCE
        for page in (_pages if kind == PDF else _pictures)(data, until):
            for text in page:
                (ours.setdefault(text) if text.startswith(OURS) else others.add(text))
        return {"texts": list(ours), "foreign": len(others)}
    except DecoderRefused as refusal:
        return {"refused": str(refusal)}
    except MemoryError:
        return {"refused": "needs more memory than the desk gives one file: photograph or scan each page by itself."}
    except Exception:  # whatever a decoder of strangers' bytes does when it fails
        return {"refused": "is cut off or damaged: send it again, or photograph the page again."}


def _pictures(data: bytes, until: float) -> Iterator[list[str]]:
    """The codes of each page of an image file."""
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None  # the size is looked at here, before a pixel is decoded
    image = Image.open(io.BytesIO(data), formats=FORMATS)
    pages = getattr(image, "n_frames", 1)
    if pages > PAGES:
        raise DecoderRefused(f"holds {pages} pictures; the desk reads at most {PAGES} from one file: send it in parts.")
    for page in range(pages):
        image.seek(page)
        if image.format == "JPEG" and image.width * image.height <= 4 * PIXELS:
            image.draft(
                "L", (image.width // 2, image.height // 2) if image.width * image.height > PIXELS else image.size
            )
        if image.width * image.height > PIXELS:
            raise DecoderRefused(
                f"measures {image.width} by {image.height} points, more than {PIXELS // 10**6} million: photograph or scan it smaller."
            )
        yield looked_at(_grey(image), until)


def _grey(image: "Image") -> "Image":
    """Grey on white, whatever the file's colours; what is transparent shows as white."""
    from PIL import Image

    if "A" in image.getbands() or "transparency" in image.info:
        clear = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear)
    if image.mode.startswith(("I", "F")):
        image = image.convert("F").point(lambda value: value / 256).convert("L")
    return image.convert("L")


def _pages(data: bytes, until: float) -> Iterator[list[str]]:
    """The codes of each page of a PDF; a page is drawn again, larger, where codes were seen and not read, or where it is a scan and none was found."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError:
        raise DecoderRefused(
            "cannot be opened as a PDF, or asks for a password: print it again, or send photographs of its pages."
        ) from None
    if len(document) > PAGES:
        raise DecoderRefused(
            f"holds {len(document)} pages; the desk reads at most {PAGES} from one file: send it in parts."
        )
    for number in range(len(document)):
        page = document[number]
        first = looked_at(_drawn(page, FIRST_DPI), until, thorough=False)
        yield first
        scan = any(True for _ in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE], max_depth=4))
        if first.left or (scan and not first):
            yield looked_at(_drawn(page, SECOND_DPI), until)


def _drawn(page: Any, dpi: int) -> "Image":
    width, height = page.get_size()
    scale = min(dpi / 72, (WORKING / max(1.0, width * height)) ** 0.5)
    if not 1 <= width * scale <= 20_000 or not 1 <= height * scale <= 20_000:
        raise DecoderRefused(
            f"has a page of {width:.0f} by {height:.0f} points, which no sheet of paper measures: print it again."
        )
    return page.render(scale=scale, grayscale=True).to_pil().convert("L")


class Texts(list[str]):
    """The texts of one picture; `left` is True where more codes were seen than could be read; `quads` are the corners of those of ours."""

    left = False
    quads: tuple[tuple[tuple[float, float], ...], ...] = ()


def looked_at(image: "Image", until: float = float("inf"), thorough: bool = True) -> Texts:
    """Every code's text in a grey picture. Tries go on while they bring something, or while a code is seen that is not read; past `until`
    (on the monotonic clock, s) each picture gets one plain look, so that a file of many bad pages is still looked through to its end."""
    found, fruitless = Texts(), 0
    for attempt in tries(image):
        before = len(found)
        _read(attempt, found, placed=attempt.size == image.size)
        fruitless = 0 if len(found) > before else fruitless + 1
        if time.monotonic() > until or (
            fruitless >= (2 if thorough else 1) and (not thorough or (found and not found.left))
        ):
            break
    for square in code_grid.hidden(image, found.quads) if time.monotonic() < until else ():
        _read(square, found)
    return found


def _read(picture: "Image", found: Texts, placed: bool = False) -> None:
    """Add what is read here; `placed` where the picture has the page's own size, so that places in it are places on the page."""
    import zxingcpp

    wanted = [zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.Aztec]
    found.left = False
    for code in zxingcpp.read_barcodes(picture, formats=wanted, return_errors=True):  # type: ignore[arg-type]  # its types lag
        if not code.valid:
            found.left = True
        elif code.text not in found:
            found.append(code.text)
            if placed and code.text.startswith(OURS):
                at = code.position
                found.quads += (
                    tuple(
                        (float(p.x), float(p.y)) for p in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
                    ),
                )


def tries(image: "Image") -> Iterator["Image"]:
    """The picture itself, then made easier in different ways: flattened light, softened grain, other sizes, quarter by quarter."""
    from PIL import Image, ImageChops, ImageFilter, ImageOps

    yield image
    if image.width * image.height > WORKING:
        image = image.resize((int(image.width * 0.6), int(image.height * 0.6)), Image.Resampling.LANCZOS)
    soft = ImageOps.autocontrast(image.filter(ImageFilter.GaussianBlur(0.9)), cutoff=1)
    yield soft
    light = image.filter(ImageFilter.BoxBlur(max(8, min(image.size) // 24)))
    yield ImageOps.autocontrast(
        ImageChops.subtract(image, light, 1, 160).filter(ImageFilter.GaussianBlur(0.7)), cutoff=1
    )
    if max(image.size) < 3000:
        yield soft.resize((image.width * 2, image.height * 2), Image.Resampling.BICUBIC)
    else:
        yield soft.resize((image.width // 2, image.height // 2), Image.Resampling.LANCZOS)
    yield image.filter(ImageFilter.MedianFilter(3))
    yield image.filter(ImageFilter.UnsharpMask(3, 180, 2))
    yield ImageOps.expand(image, 40, 255)
    yield from _quarters(soft)


def _quarters(image: "Image") -> Iterator["Image"]:
    """Four overlapping quarters, each at twice its size where it is small."""
    from PIL import Image, ImageOps

    width, height = image.size
    for left in (0, int(width * 0.4)):
        for top in (0, int(height * 0.4)):
            part = ImageOps.autocontrast(
                image.crop((left, top, left + int(width * 0.6), top + int(height * 0.6))), cutoff=2
            )
            yield (
                part.resize((part.width * 2, part.height * 2), Image.Resampling.LANCZOS)
                if max(part.size) < 2400
                else part
            )


if __name__ == "__main__":
    main()
