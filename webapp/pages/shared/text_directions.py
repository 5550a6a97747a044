"""Isolates words that are written from right to left, so that they do not turn the text around them.

A name or a note in Hebrew or Arabic letters gives its direction to the figures and signs next to it (Unicode Standard
Annex 9, 6.1): "left 12" after such a name may read in another order than it was signed. HTML's `bdi` keeps it to
itself. This is done once, over the whole page, so that no template can forget it; a page without such letters is left
as it is.
"""

import re

from flask import Flask, Response

_RIGHT = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
_LETTER = f"[{_RIGHT}]"
_ANY = re.compile(_LETTER)
_WORDS = rf"[^\W\d_]*{_LETTER}[\w\u0300-\u036f'’.-]*"
_PIECE = re.compile(rf"“[^“”]*”|(?<!\w){_WORDS}(?: (?={_LETTER})[{_RIGHT}\w'’.-]+)*")
_MARKUP = re.compile(
    r"(<!--.*?-->|<(title|textarea|option|script|style|svg)\b.*?</\2\s*>|<[^>]*>)", re.DOTALL | re.IGNORECASE
)
_LATIN = re.compile(r"[A-Za-z\u00c0-\u024f]")


def isolated(html: str) -> str:
    """The page with every piece of text from right to left in a `bdi` of its own. Tags, and texts that can have no tag, stay as they are."""
    if not _ANY.search(html):
        return html
    parts: list[str] = []
    at = 0
    for found in _MARKUP.finditer(html):
        parts += (_text(html[at : found.start()]), found[0])
        at = found.end()
    return "".join((*parts, _text(html[at:])))


def _text(text: str) -> str:
    """Text between two tags: all of it where it holds nothing of ours; else each quotation and each run of such words."""
    if not _ANY.search(text):
        return text
    if not _LATIN.search(text):
        body = text.strip()
        return text.replace(body, f"<bdi>{body}</bdi>", 1)
    return _PIECE.sub(_within, text)


def _within(found: re.Match[str]) -> str:
    piece = found[0]
    if not _ANY.search(piece):
        return piece
    return f"“<bdi>{piece[1:-1]}</bdi>”" if piece.startswith("“") else f"<bdi>{piece}</bdi>"


def isolate(answer: Response) -> Response:
    """Over every page that goes out."""
    if answer.mimetype == "text/html" and not answer.is_streamed and not answer.direct_passthrough:
        page = answer.get_data(as_text=True)
        turned = isolated(page)
        if turned is not page:
            answer.set_data(turned)
    return answer


def install(app: Flask) -> None:
    """Isolates right-to-left text in every page that this app sends."""
    app.after_request(isolate)
