"""A printed PDF as its readers have it: read and rendered by PDFium (pypdfium2), which shares nothing with what wrote it."""

from dataclasses import dataclass, field
from itertools import combinations

import pypdfium2
import pypdfium2.raw as raw

MM = 25.4 / 72


@dataclass
class Printed:
    """Pages of a PDF. `texts`: each page's words with single spaces; `all`: all of them in one line."""

    data: bytes
    texts: list[str] = field(init=False)

    def __post_init__(self):
        self.document = pypdfium2.PdfDocument(self.data)
        self.pages = [(page, page.get_textpage()) for page in self.document]
        self.texts = [one_line(text.get_text_range()) for _, text in self.pages]

    def __len__(self) -> int:
        return len(self.pages)

    @property
    def all(self) -> str:
        return " ".join(self.texts)

    def smallest(self) -> float:
        """Points of the smallest letter on any page."""
        return min(
            raw.FPDFText_GetFontSize(text, n)
            for _, text in self.pages
            for n in range(text.count_chars())
            if (code := raw.FPDFText_GetUnicode(text, n)) and chr(code).strip()
        )

    def outside(self, left: float, right: float, top: float, bottom: float) -> list[str]:
        """Runs of words that leave this frame (mm from the upper left corner)."""
        found = []
        for number, (page, text) in enumerate(self.pages, 1):
            height = page.get_height() * MM
            for rect in self.rects(text):
                x, low, end, high = (value * MM for value in rect)
                if x < left or end > right or height - high < top or height - low > bottom:
                    found.append(
                        f"page {number}: {one_line(text.get_text_bounded(*rect))!r} at {x:.0f}, {height - high:.0f}"
                    )
        return found

    def overlapping(self) -> list[str]:
        """Pairs of runs of words that lie over one another."""
        found = []
        for number, (_, text) in enumerate(self.pages, 1):
            for a, b in combinations(self.rects(text), 2):
                if b[1] >= a[3] or a[1] >= b[3]:
                    continue
                across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
                if across > 1 and down > 0.35 * min(a[3] - a[1], b[3] - b[1]):
                    found.append(
                        f"page {number}: {one_line(text.get_text_bounded(*a))!r} over {one_line(text.get_text_bounded(*b))!r}"
                    )
        return found

    def under_the_stamp(self, left: float = 170.0, bottom: float = 19.2) -> list[str]:
        """Words other than the stamp's own in the upper right corner that it stands in (mm)."""
        found = []
        for number, (page, text) in enumerate(self.pages, 1):
            height = page.get_height() * MM
            corner = [rect for rect in self.rects(text) if rect[2] * MM > left and height - rect[3] * MM < bottom]
            words = [one_line(text.get_text_bounded(*rect)) for rect in corner]
            if "PRACTICE" in words:
                found += [f"page {number}: {said!r}" for said in words if said != "PRACTICE"]
        return found

    def rects(self, text) -> list[tuple[float, float, float, float]]:
        return [text.get_rect(n) for n in range(text.count_rects())]

    def ink_at_the_edge(self, mm: float = 5.0) -> list[int]:
        """Pages on which something dark lies nearer to the paper's edge than a printer reaches."""
        found = []
        for number, (page, _) in enumerate(self.pages, 1):
            image = page.render(scale=1).to_pil().convert("L")
            edge = round(mm / MM)
            width, height = image.size
            strips = (
                image.crop((0, 0, width, edge)),
                image.crop((0, height - edge, width, height)),
                image.crop((0, 0, edge, height)),
                image.crop((width - edge, 0, width, height)),
            )
            if any(strip.getextrema()[0] < 128 for strip in strips):
                found.append(number)
        return found

    def blank_pages(self) -> list[int]:
        """Pages with next to nothing on them."""
        return [number for number, text in enumerate(self.texts, 1) if len(text) < 60]


def one_line(text: str) -> str:
    """Words with single spaces; the hyphen that PDFium puts where a line breaks within a word is taken out."""
    return " ".join(text.replace("\ufffe", "").split())
