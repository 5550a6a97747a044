"""Intake: codes by hand scanner, camera, photograph, PDF or file, in any order; checked as they come in; accepted by the holder of the tablet."""

from collections.abc import Mapping

from flask import Blueprint, current_app, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.reading import code_reading
from webapp.office.reading.code_reading import CodesRead, FileRefused
from webapp.office.reading.packet_stack import PacketStack
from webapp.packet import codes as drawn
from webapp.packet import frames, keyboard_scanner
from webapp.packet.envelope import PacketRefused
from webapp.packet.frames import Collector
from webapp.pages.desk.intake.intake_checks import checked, figures, gaps, in_table, known_since, rows
from webapp.pages.desk.intake.refused import trace
from webapp.pages.desk.shared import amendment
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.precinct.checklist import desk_words
from webapp.precinct.numbers import few

page = Blueprint("intake", __name__)
FILES = 64 * 1024 * 1024  # of one choice of pictures and files
LIMITS = {"/intake/file": FILES + 65536, "/intake/frame": 4 * 1024 * 1024, "/intake/codes": 2 * 1024 * 1024}


def room() -> OfficeSite:
    return current_app.extensions["room"]


def stack() -> PacketStack:
    """What this tablet has read so far, packet by packet."""
    return room().stacks.setdefault(g.session.tablet, PacketStack())


def collector() -> Collector:
    """The packet that the page is about: the one asked for, else the only one that is being read."""
    packets, named = stack().packets, request.values.get("packet")
    asked = next((one for digest, one in packets.items() if digest.hex() == named), None)
    if asked or (named and request.method == "POST"):
        return asked or Collector()
    return next(iter(packets.values())) if len(packets) == 1 else Collector()


@page.get("/intake")
def intake() -> str:
    return show({})


def show(mistakes: Mapping[str, str], said: str = "") -> str:
    """Codes in and wanted; the checks once enough are in."""
    have = collector()
    if len(stack().packets) > 1 and not have.read:
        return show_stack(mistakes, said)
    report, refused = checked(room(), have)
    return render_template(
        "desk/intake.html",
        have=have,
        others=len(stack().packets) - 1,
        report=report,
        figures=figures(report) if report else [],
        gaps=gaps(report) if report else [],
        known=known_since(room(), report) if report else None,
        changed=amendment.changed(report),
        refused=refused,
        mistakes=mistakes,
        said=said,
        holder=g.session.holder,
        keyboard=room().keyboards.get(g.session.tablet),
        calibration=drawn.as_svg(keyboard_scanner.CALIBRATION, "Calibration code"),
        words=desk_words,
    )


def show_stack(mistakes: Mapping[str, str], said: str = "") -> str:
    """Several packets at once: those that agree are accepted by one button, each of the others by itself."""
    found = rows(room(), stack())
    agree = [row for row in found if row.agrees]
    return render_template(
        "desk/intake_stack.html",
        agree=[(row, *in_table(row.report)) for row in agree if row.report],
        look=[(row, *(in_table(row.report) if row.report else ({}, []))) for row in found if not row.agrees],
        read=len(found),
        mistakes=mistakes,
        said=said,
        holder=g.session.holder,
        words=desk_words,
    )


@page.post("/intake/accept")
def accept() -> ResponseReturnValue:
    """All packets of the stack that agree, in one act by the holder of this tablet; each is checked again as it comes, so that of two that disagree the second stays."""
    if barred := barred_holder():
        return show({"holder": barred}), 422
    shown = request.form.get("packets", "").split()
    if shown and all(map(taken_before, shown)):
        return redirect("/places", 303)
    accepted = 0
    for row in rows(room(), stack()):
        report, _ = checked(room(), row.packet)
        if row.name in shown and row.agrees and report is not None and not report.questions:
            room().take_in(report, row.packet.parts())
            stack().drop(report.opened.digest[:8])
            accepted += 1
    if not accepted:
        return show({"": "No packet of this stack is proven and agrees. Open them one by one."}), 422
    return redirect("/intake" if stack().packets else "/places", 303)


def barred_holder() -> str:
    """Why nothing can be accepted on this tablet now; "" when its holder may."""
    if not g.session.holder:
        return "Nobody holds this tablet. Take it with your PIN first, then accept the packet."
    return room().people.why_not(g.session.holder) or ""


def added(seen: CodesRead) -> tuple[str, str]:
    """Put codes or a whole packet in: (what came of it, the first sentence that refuses one)."""
    have, new, again, foreign, wrong = stack(), 0, 0, seen.foreign, ""
    for what in (*map(have.add, seen.texts), *(have.add_parts(seen.parts) if seen.parts else ())):
        new, again = new + (what == "new"), again + (what == "again")
        foreign += what == "foreign"
        if what not in ("new", "again", "foreign"):
            wrong = wrong or what
    words = [
        f"{few(new, 'code')} read" if new else "",
        f"{again} of them before" if again and new else f"{few(again, 'code')} read before" if again else "",
        f"{foreign} not ours, passed over" if foreign else "",
    ]
    return ", ".join(w for w in words if w), wrong


@page.post("/intake/codes")
def codes() -> ResponseReturnValue:
    """What a hand scanner typed: codes one a line or run together. Spaces belong to a code; a wrong keyboard layout is corrected as its calibration showed."""
    lines = keyboard_scanner.codes_in(request.form.get("codes", ""), room().keyboards.get(g.session.tablet))
    if not lines:
        return show({"codes": "Read a code into the box, or paste its text."}), 422
    said, wrong = added(CodesRead(tuple(lines), 0))
    trace_refused()
    if wrong:
        return show({"codes": wrong}, said), 422
    if not any(map(frames.is_ours, lines)):
        return show(
            {
                "codes": "None of these lines is a code of a summary packet. If the scanner changes letters, read the calibration code below first."
            },
            said,
        ), 422
    return redirect("/intake", 303)


@page.post("/intake/keyboard")
def keyboard() -> ResponseReturnValue:
    """What the scanner typed for the calibration code: from here on its codes are corrected by it, on this tablet."""
    typed = request.form.get("typed", "").strip("\r\n")
    if not typed:
        return show({"typed": "Read the calibration code into the box."}), 422
    try:
        room().keyboards[g.session.tablet] = keyboard_scanner.layout(typed)
    except PacketRefused as refused:
        return show({"typed": str(refused)}), 422
    return redirect("/intake", 303)


@page.post("/intake/file")
def file() -> ResponseReturnValue:
    """Photographs, a PDF, or packet.cose. What can be read of several is taken; each that cannot has its sentence."""
    sent = [f for f in request.files.getlist("files") if f and f.filename]
    if not sent:
        return show({"files": "Choose a photograph, the PDF or the file packet.cose."}), 422
    wrong, said = [], []
    files = [(one.filename or "", one.stream.read()) for one in sent]
    for (name, data), one, seen in zip(files, sent, code_reading.read_all(files), strict=True):
        if isinstance(seen, FileRefused):
            wrong.append(str(seen))
            trace(data, name, str(seen))
            continue
        words, refused = added(seen)
        said.append(f"{one.filename}: {words or 'no code of a summary packet in it'}")
        if refused:
            wrong.append(refused)
        elif not seen.found:
            wrong.append(f"{one.filename} shows no code of a summary packet. {nearer(data)}")
            trace(data, name, wrong[-1])
    trace_refused()
    return (show({"files": " ".join(wrong)}, "; ".join(said)), 422) if wrong else redirect("/intake", 303)


def nearer(data: bytes) -> str:
    """What to do about a file without a code, by what it is: a picture, a PDF, a text."""
    if data[:5] == b"%PDF-":
        return "The codes of a printed packet begin on its second page: scan every page."
    try:
        data.decode()
    except UnicodeDecodeError:
        return "The codes begin on the second page of a printed packet: photograph those pages, near, flat and sharp."
    return "A text holds scanned codes, each beginning with TS1:, one a line. Choose the packet's own file, its PDF or a picture of its codes."


def trace_refused() -> None:
    """Every packet of this stack that is whole and refused is kept aside, with its sentence."""
    for one in stack().complete:
        _, refused = checked(room(), one)
        if refused:
            trace(b"".join(one.parts()), "", refused)


@page.post("/intake/frame")
def frame() -> ResponseReturnValue:
    """One frame of the page's camera, decoded here on the office's machine."""
    sent = request.files.get("frame")
    try:
        if sent is None:
            raise PacketRefused("No picture came with this. Start the camera again.")
        seen = code_reading.read_codes(sent.stream.read(), "The camera's picture")
    except PacketRefused as refused:
        return jsonify(read=stack().read, says=str(refused), complete=whole()), 422
    _, wrong = added(seen)
    trace_refused()
    return jsonify(read=stack().read, says=wrong or stack().says, complete=whole())


def whole() -> bool:
    """Whether the camera may stop: something was read, and no packet wants more codes."""
    return bool(stack().complete) and not stack().partial


@page.post("/intake/clear")
def clear() -> ResponseReturnValue:
    """Begin again: one packet out of the stack, or all of them."""
    have = collector()
    if have.digest is not None:
        stack().drop(have.digest)
    elif not request.form.get("packet"):
        room().stacks[g.session.tablet] = PacketStack()
    return redirect("/intake", 303)


@page.post("/intake/take")
def take() -> ResponseReturnValue:
    """Into the office's record, by the holder of this tablet."""
    have = collector()
    report, refused = checked(room(), have)
    if report is None:
        if place := taken_before(request.form.get("packet", "")):
            return redirect(f"/place/{place}", 303)
        gone = "The packet of that page is not read here any more. Look at what is, or read it again."
        return show({"": refused or (have.says if have.read else gone)}), 422
    if barred := barred_holder():
        return show({"holder": barred}), 422
    room().take_in(report, have.parts())
    stack().drop(report.opened.digest[:8])
    return redirect(f"/place/{report.place.id}", 303)


def taken_before(name: str) -> str:
    """The place of the packet that a form names by the first digits of its digest, where it is in the record already; "" else."""
    kept = room().day.everything(["packet-received"])
    return next((one.body["place"] for one in kept if name and bytes(one.body["digest"]).hex().startswith(name)), "")
