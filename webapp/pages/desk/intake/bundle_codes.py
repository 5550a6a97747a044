"""A small bundle as codes: shown or printed at the desk apart, read at the office by camera, photograph or hand scanner, then merged like any other."""

from collections.abc import Iterable

from flask import Blueprint, Response, abort, current_app, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp import plain_file
from webapp.office.reading import code_reading
from webapp.packet import bundle_frames, codes, keyboard_scanner
from webapp.packet.bundle_frames import BundleCodes
from webapp.packet.cose import PacketRefused
from webapp.pages.desk.intake import merging
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared.papers import pdf
from webapp.paper.code_pages import codes_pdf

page = Blueprint("bundle_codes", __name__)
FILES = 64 * 1024 * 1024  # of one choice of pictures
LIMITS = {
    "/merge/codes/file": FILES + 65536,
    "/merge/codes/frame": 4 * 1024 * 1024,
    "/merge/codes/text": 2 * 1024 * 1024,
}
SAYS = "They carry a bundle of this desk. Read them at the office, under Desks apart, in any order; about a quarter may be missing or unreadable. Keep these pages flat, and treat them like the poll book."


def room() -> OfficeSite:
    return current_app.extensions["room"]


# --- at the desk apart


def texts() -> tuple[str, ...]:
    """The codes of the newest bundle that was made on the page. Answers 404 where there is none, or where it is too large."""
    here = room()
    path = here.folder / merging.NEWEST
    if here.apart is None or not path.is_file() or path.stat().st_size > bundle_frames.LARGEST:
        abort(404)
    return bundle_frames.split(plain_file.read(path, bundle_frames.LARGEST))


@page.get("/bundle/codes")
def show() -> ResponseReturnValue:
    found, asked = texts(), request.args.get("code", "1")
    at = min(max(int(asked), 1), len(found)) if asked.isascii() and asked.isdigit() else 1
    needed = len(found) - bundle_frames.spare(len(found))
    svg = codes.as_svg(found[at - 1], f"Code {at} of {len(found)}")
    return render_template("desk/bundle_codes.html", count=len(found), at=at, needed=needed, svg=svg)


@page.get("/bundle/code/<int:number>.svg")
def code(number: int) -> ResponseReturnValue:
    """One code as a picture; they are numbered from 1."""
    found = texts()
    if not 1 <= number <= len(found):
        abort(404)
    return Response(codes.as_svg(found[number - 1], f"Code {number} of {len(found)}"), mimetype="image/svg+xml")


@page.get("/bundle/codes.pdf")
def printed() -> ResponseReturnValue:
    here, found = room(), texts()
    desk = here.apart.id if here.apart else abort(404)
    name = f"Bundle of desk {desk}"
    return pdf(codes_pdf(found, name, f"{here.name}  ·  {name}", here.practice, SAYS), f"{desk}-bundle-codes")


# --- at the office


def collected() -> BundleCodes:
    """The codes that this tablet has read."""
    return room().bundle_codes.setdefault(g.session.tablet, BundleCodes())


def added(found: Iterable[str]) -> str:
    """Put codes in; the first sentence that refuses one, "" where none is refused."""
    refused = [what for text in found if (what := collected().add(text)) not in ("new", "again")]
    return refused[0] if refused else ""


@page.post("/merge/codes/text")
def text() -> ResponseReturnValue:
    """What a hand scanner typed: a code a line."""
    lines = keyboard_scanner.codes_in(request.form.get("codes", ""), room().keyboards.get(g.session.tablet))
    wrong = added(line.upper() for line in lines) if lines else "Read a code into the box, or paste its text."
    return (merging.show({"codes": wrong}, []), 422) if wrong else redirect("/merge#codes", 303)


@page.post("/merge/codes/file")
def file() -> ResponseReturnValue:
    """Photographs, scans or the PDF of a bundle's codes."""
    sent = [one for one in request.files.getlist("files") if one and one.filename]
    if not sent:
        return merging.show({"files": "Choose a photograph or the PDF of the codes."}, []), 422
    files = [(one.filename or "A file", one.stream.read()) for one in sent]
    wrong = []
    for (name, _), seen in zip(files, code_reading.read_all(files, bundle_frames.PREFIX), strict=True):
        if isinstance(seen, PacketRefused):
            wrong.append(str(seen))
        elif not seen.texts:
            wrong.append(f"{name} shows no code of a bundle. Photograph the pages near, flat and sharp.")
        elif refused := added(seen.texts):
            wrong.append(refused)
    return (merging.show({"files": " ".join(wrong)}, []), 422) if wrong else redirect("/merge#codes", 303)


@page.post("/merge/codes/frame")
def frame() -> ResponseReturnValue:
    """One frame of the page's camera, decoded here on the office's machine."""
    sent, have = request.files.get("frame"), collected()
    try:
        if sent is None:
            raise PacketRefused("No picture came with this. Start the camera again.")
        seen = code_reading.read_codes(sent.stream.read(), "The camera's picture", bundle_frames.PREFIX)
    except PacketRefused as refused:
        return jsonify(read=len(have.have), says=str(refused), complete=not have.lacking), 422
    wrong = added(seen.texts)
    return jsonify(read=len(have.have), says=wrong or have.says, complete=not have.lacking)


@page.post("/merge/codes/clear")
def clear() -> ResponseReturnValue:
    """Begin again."""
    room().bundle_codes.pop(g.session.tablet, None)
    return redirect("/merge#codes", 303)


@page.post("/merge/codes")
def merge() -> ResponseReturnValue:
    """What the codes give, checked and merged like a file."""
    try:
        data = collected().whole()
    except PacketRefused as wrong:
        return merging.show({"codes": str(wrong)}, []), 422
    answer = merging.bring_in(data, "The bundle in these codes", request.form.get("receipt_words", ""), "receipt_words")
    if not answer[1]:
        room().bundle_codes.pop(g.session.tablet, None)
    return (merging.show(answer[1], answer[0]), 422) if answer[1] else merging.show({}, answer[0])
