"""The summary packet: made, signed by two parties, shown as cycling codes, printed, saved. What was signed is never built again."""

import hashlib
import uuid
from collections.abc import Mapping

from flask import Blueprint, Response, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.gate import keys
from webapp.packet import codes, contents, frames
from webapp.packet.envelope import Packet, open_packet, parts_of, seal_packet
from webapp.pages.place.site import packet_files
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared import drafts, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import fresh_ids
from webapp.pages.shared.step_form import show as show_step
from webapp.pages.shared.steps import keep_step
from webapp.paper.packet_pages import packet_pdf
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.place.step import Task
from webapp.precinct.reports import packet_age
from webapp.record.entry import Claim
from webapp.record.refusals import in_words

page = Blueprint("packet", __name__)
CLOSE = "/packet/close"


def room() -> PlaceSite:
    return current_app.extensions["room"]


def newest() -> tuple[int, Packet] | None:
    """Number and bytes of the newest packet that two parties signed."""
    kept = room().day.packets
    if not kept:
        return None
    body = kept[-1].body
    path = packet_files.settle(room().folder, body["number"], bytes(body["digest"]))
    return (body["number"], Packet(parts_of(path.read_bytes()))) if path else None


def step() -> Task | None:
    return next((t for t in room().tasks(g.now) if t.step.form == "packet"), None)


@page.get("/packet")
def packet() -> str:
    """Before it is made: what it will say, and the first signature. After: the codes, the paper, the file, the step that closes it."""
    task, found = step(), newest()
    if task is None or task.state == "later":
        return render_template(
            "shared/told.html",
            heading="The packet is not due yet",
            sentence=f"It opens {task.opens if task else 'at the hand-over'}.",
        )
    if found is None:
        return make_page({})
    number, sealed = found
    texts = frames.split(sealed.parts)
    return render_template(
        "place/packet.html",
        number=number,
        digest=sealed.digest.hex(),
        newer=packet_age.newer(room().day),
        closed=closed_by(),
        count=len(texts),
        table=bool(packet_files.beside(room().folder, number, sealed.digest)),
        votes=bool(packet_files.beside(room().folder, number, sealed.digest, packet_files.VOTES)),
        needed=frames.needed(sealed.parts),
        at=wanted(len(texts)),
        task=task,
        svg=codes.as_svg(texts[wanted(len(texts)) - 1], f"Code {wanted(len(texts))} of {len(texts)}"),
    )


def closed_by() -> CurrentEntry | None:
    """The entry that says what became of the newest packet; None where the step was signed for the one before it, or not yet."""
    day = room().day
    kept = day.last("packet")
    return kept if kept and max(kept.number, kept.corrected_by or 0) > day.packets[-1].number else None


def wanted(count: int) -> int:
    text = request.args.get("code", "1")
    return min(max(int(text), 1), count) if text.isascii() and text.isdigit() else 1


def make_page(mistakes: Mapping[str, str]) -> str:
    here = room()
    return render_template(
        "place/packet_make.html",
        balance=here.day.balance,
        unremarked=here.day.unremarked,
        people=signing.candidates("P"),
        mistakes=mistakes,
        values=request.form,
        entry_id=request.form.get("entry_id") or uuid.uuid4().hex,
        again=bool(here.day.packets),
    )


@page.get("/packet/again")
def again() -> str:
    """Another packet, which replaces the one before."""
    return make_page({})


@page.post("/packet/make")
def make() -> ResponseReturnValue:
    """Builds the packet from the record as it is, and lets the first party sign its digest."""
    here, form = room(), request.form
    if owed := here.tablets_owed():
        return make_page({"": " ".join(sentence for _, sentence in owed)}), 422
    if here.day.unremarked:
        return make_page({"": "A line is off and no remark is about it. Write the remark first: Balance."}), 422
    try:
        entry_id = uuid.UUID(hex=form.get("entry_id", "")).bytes
    except ValueError:
        return make_page({"": "This form lost its number. Open the page again."}), 422
    official, mistakes = signing.authenticate(form, "P")
    if official is None:
        return make_page(mistakes), 422
    number, sealed, amends, files = build(here)
    try:
        for what, data in files.items():
            packet_files.wait_with(here.folder, sealed.digest, data, what)
        packet_files.wait(here.folder, sealed.digest, sealed.data)
    except OSError as wrong:
        return make_page({"": str(in_words(wrong, here.folder / "packet"))}), 503
    body = {"number": number, "digest": sealed.digest, "amends": amends}
    draft = Draft((Claim(entry_id, "packet-made", body, g.now, g.session.tablet, 0),), "P", "/packet")
    return redirect(
        f"/sign/{here.gate.pending.keep(draft.pack(), draft.digest, draft.weight, official.id, g.now, False)}", 303
    )


def build(here: PlaceSite) -> tuple[int, Packet, bytes | None, dict[str, bytes]]:
    """The next packet of this record: its number, its bytes, the digest of the one it replaces; of a count board the files that it holds by digest."""
    with here.lock:
        before = here.day.packets
        number, amends = len(before) + 1, bytes(before[-1].body["digest"]) if before else None
        core = contents.core(here.place, here.day, number, amends, g.now)
        files = {packet_files.BATCHES: here.batch_table(), packet_files.VOTES: here.votes_file()}
        files = {what: data for what, data in files.items() if data}
        for what, data in files.items():
            core["board"]["table" if what == packet_files.BATCHES else what] = hashlib.sha256(data).digest()
        return (
            number,
            seal_packet(core, contents.remarks(here.place, here.day), keys.place_key(here.folder), here.place.mode),
            amends,
            files,
        )


@page.get("/packet/code/<int:number>.svg")
def code(number: int) -> ResponseReturnValue:
    """One code as a picture; they are numbered from 1."""
    _, sealed = newest() or abort(404)
    texts = frames.split(sealed.parts)
    if not 1 <= number <= len(texts):
        abort(404)
    return Response(codes.as_svg(texts[number - 1], f"Code {number} of {len(texts)}"), mimetype="image/svg+xml")


@page.get("/packet/packet.cose")
def file() -> ResponseReturnValue:
    number, sealed = newest() or abort(404)
    name = f"{room().place.id}-packet-{number}.cose"
    return Response(
        sealed.data,
        mimetype="application/octet-stream",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@page.get("/packet/batches.csv")
def batches() -> ResponseReturnValue:
    """A count board's list of batches, as it was signed with the packet."""
    return beside(packet_files.BATCHES)


@page.get("/packet/votes.csv")
def votes() -> ResponseReturnValue:
    """A count board's votes by precinct, as they were signed with the packet."""
    return beside(packet_files.VOTES)


def beside(what: str) -> ResponseReturnValue:
    kept = room().day.packets or abort(404)
    body = kept[-1].body
    table = packet_files.beside(room().folder, body["number"], bytes(body["digest"]), what)
    if table is None:
        abort(404)
    name = f"{room().place.id}-packet-{body['number']}-{what}.csv"
    return Response(table, mimetype="text/csv", headers={"Content-Disposition": f'attachment; filename="{name}"'})


@page.get("/packet/packet.pdf")
def pdf() -> ResponseReturnValue:
    _, sealed = newest() or abort(404)
    opened = open_packet(sealed.parts, {}, room().place.mode)
    account = contents.account(opened.core, opened.remarks, room().place, opened.digest)
    return Response(packet_pdf(account, frames.split(sealed.parts)), mimetype="application/pdf")


@page.get("/packet/close")
def close_page() -> ResponseReturnValue:
    """The step that says: shown, printed, saved, check words copied."""
    task = step() or abort(404)
    return show_step((task,), drafts.opened(CLOSE, fresh_ids((task,))), action=CLOSE)


@page.post("/packet/close")
def close() -> ResponseReturnValue:
    return keep_step((step() or abort(404)).key, CLOSE)
