"""What happens to a page on its way into a desk: turned, tilted, blurred, grainy, squeezed, stained, torn. Grey pictures in, grey pictures out."""

import io
import math
import random

import numpy
import pypdfium2
from PIL import Image, ImageDraw, ImageFilter


def pages(pdf: bytes, dpi: int = 200) -> list[Image.Image]:
    """The pages of a PDF as a scanner of this resolution sees them."""
    document = pypdfium2.PdfDocument(pdf)
    return [document[number].render(scale=dpi / 72).to_pil().convert("L") for number in range(len(document))]


def turned(image: Image.Image, degrees: float) -> Image.Image:
    return image.rotate(degrees, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)


def tilted(image: Image.Image, part: float = 0.1) -> Image.Image:
    """Seen from aside: one edge shorter by `part`, the one beside it by half of that."""
    width, height = image.size
    seen = [
        (width * part / 2, height * part / 4),
        (width * (1 - part / 2), 0),
        (width, height),
        (0, height * (1 - part / 2)),
    ]
    rows, right = [], []
    for (x, y), (u, v) in zip(seen, [(0, 0), (width, 0), (width, height), (0, height)], strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return image.transform(
        image.size,
        Image.Transform.PERSPECTIVE,
        tuple(numpy.linalg.solve(rows, right)),
        Image.Resampling.BICUBIC,
        fillcolor=255,
    )


def blurred(image: Image.Image, pixels: float = 1) -> Image.Image:
    return image.filter(ImageFilter.GaussianBlur(pixels))


def grainy(image: Image.Image, sigma: float = 12, contrast: float = 0.4, seed: int = 1) -> Image.Image:
    """Little contrast about middle grey, and noise."""
    light = 128 + (numpy.asarray(image, dtype=float) - 128) * contrast
    return Image.fromarray(
        numpy.clip(light + numpy.random.default_rng(seed).normal(0, sigma, light.shape), 0, 255).astype("uint8")
    )


def squeezed(image: Image.Image, quality: int = 25) -> Image.Image:
    """Through JPEG."""
    return Image.open(io.BytesIO(file(image, "JPEG", quality=quality))).convert("L")


def shaded(image: Image.Image) -> Image.Image:
    """A shadow that darkens one side to a third."""
    fall = numpy.linspace(1, 0.33, image.width)[None, :]
    return Image.fromarray((numpy.asarray(image) * fall).astype("uint8"))


def stained(image: Image.Image, boxes: list[tuple[float, float, float]], seed: int = 1) -> Image.Image:
    """A blot on a tenth of each code, anywhere in it; boxes are (left, top, side) in pixels."""
    image, chance = image.copy(), random.Random(seed)
    for left, top, side in boxes:
        blot = side * math.sqrt(0.1)
        x, y = left + chance.random() * (side - blot), top + chance.random() * (side - blot)
        ImageDraw.Draw(image).rectangle((x, y, x + blot, y + blot), fill=chance.choice((0, 90, 160, 255)))
    return image


def destroyed(image: Image.Image, boxes: list[tuple[float, float, float]]) -> Image.Image:
    """Codes crossed out past reading."""
    image = image.copy()
    draw = ImageDraw.Draw(image)
    for left, top, side in boxes:
        for step in range(0, 11):
            at = side * step / 10
            draw.line((left, top + at, left + side, top + side - at), fill=0, width=int(side / 14))
    return image


def file(image: Image.Image, kind: str = "PNG", **how) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()
