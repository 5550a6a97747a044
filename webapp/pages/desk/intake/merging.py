"""Desks apart: what each one brought, and its bundle merged by hand; at a desk apart the bundle that goes to the office."""

import uuid
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from flask import Blueprint, Response, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp import plain_file
from webapp.merging import bundling, histories, office_report, receipt_of_bundle
from webapp.merging.brought import BUNDLED
from webapp.merging.origins import called
from webapp.merging.refusals import BundleRefused, OtherHistory
from webapp.merging.taking_in import MergingTable, after_waiting
from webapp.packet import bundle_frames
from webapp.packet.bundle_frames import BundleCodes
from webapp.pages.desk.intake import offices, refused
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.desk.site.other_buildings import OFFICE_ALONE
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.claim_form import fresh
from webapp.pages.shared.papers import pdf
from webapp.paper import bundle_receipt
from webapp.record.check_words import check_words
from webapp.record.entry import Claim

page = Blueprint("merging", __name__)
FILE_LIMIT = 64 * 1024 * 1024  # bytes; larger ones are merged by the command
RECEIPT, RECEIPT_LIMIT = "bundle-receipt.pdf", 16 * 1024 * 1024
NEWEST = "bundle-newest.bundle"
"""The newest bundle that the page of a desk made, in its folder: codes are drawn of it. Of one that is too large for codes only the beginning."""
LIMITS = {"/merge": FILE_LIMIT + 65536}
APART = "This is a desk apart: it has only a part of what came in. Editions, recounts, the certificate and comparisons are made at the office, once the bundles are merged."


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.before_app_request
def office_alone() -> ResponseReturnValue | None:
    """Pages that need the whole are not opened on a part of it."""
    here = room()
    path = request.path.rstrip("/")
    if getattr(here, "apart", None) and any(path == one or path.startswith(f"{one}/") for one in OFFICE_ALONE):
        return render_template("shared/told.html", heading="Not at this desk", sentence=APART), 404
    return None


@page.get("/merge")
def merge() -> ResponseReturnValue:
    return show({}, [])


CHOICES = (
    ("merged", "The one that was merged here. The refused file is of a copy, or somebody else’s"),
    ("refused", "The one that was refused. What was merged here is not the desk’s"),
)


def show(mistakes: dict[str, str], said: list[str], values: Mapping[str, str] | None = None) -> str:
    """Every desk apart; of two histories of one, how to find out. `values`: of the form about them where it was refused."""
    here = room()
    issued = here.buildings.issued()
    rows = [
        (desk, keys[-1], here.buildings.merged_of(desk), here.brought.chains.get(desk), here.buildings.waiting(desk))
        for desk, keys in sorted(issued.items())
    ]
    forks = [_fork(here, desk) for desk in histories.forked(here.day)]
    return render_template(
        "desk/merge.html",
        rows=rows,
        looked=claim_form.marks(
            (fork["desk"], sorted({bytes(kept.body["digest"]) for kept in fork["refused"]})) for fork in forks
        ),
        mistakes=mistakes,
        said=said,
        words=request.form.get("words", "") if mistakes else "",
        codes=here.bundle_codes.get(g.session.tablet) or BundleCodes(),
        receipt_words=request.form.get("receipt_words", "") if mistakes else "",
        forks=forks,
        choices=CHOICES,
        people=signing.candidates("P"),
        values=values or fresh(),
    )


def _fork(here: OfficeSite, desk: str) -> dict[str, Any]:
    """Two histories of a desk: what was refused, how far the merged one goes and its check words there, and what two parties found out."""
    chain = here.brought.chains.get(desk)
    return {
        "desk": desk,
        "refused": histories.refused_of(here.day, desk),
        "last": chain.last if chain else 0,
        "words": check_words(chain.head) if chain else "",
        "settled": histories.settled(here.day, desk),
        "places": [
            place
            for place in here.tray.in_totals_now()
            if called(desk) in here.buildings.came_from(place).split(" and ")
        ],
    }


@page.post("/merge")
def merged() -> ResponseReturnValue:
    """One bundle, checked whole before anything of it is kept."""
    sent = request.files.get("file")
    if sent is None or not sent.filename:
        return show({"file": "Choose the bundle of a desk."}, []), 422
    data, name = sent.stream.read(FILE_LIMIT + 1), "".join(c for c in sent.filename if c.isprintable())[:100]
    if len(data) > FILE_LIMIT:
        words = f"A bundle of more than {FILE_LIMIT // 1048576} MB is merged with `tapeseal office merge`. Nothing of it was taken."
        return show({"file": words}, []), 422
    said, mistakes = bring_in(data, name, request.form.get("words", ""))
    return (show(mistakes, said), 422) if mistakes else show({}, said)


def bring_in(data: bytes, name: str, typed: str, field: str = "words") -> tuple[list[str], dict[str, str]]:
    """(what came of a bundle or an edition, {}), or ([], what is wrong). `typed`: check words of its receipt, in this field of the form."""
    here = room()
    if office_report.is_report(data):
        came, wrong = offices.taken_in(data, name)
        return [came] if came else [], {"file": wrong} if wrong else {}
    words = check_words(sha256(data).digest())
    if wrong := receipt_of_bundle.not_that_one(name, typed, words):
        return [], {field: wrong}
    with here.lock:
        table = MergingTable(here.folder, here.roster, here.brought, here.ledger.find, here.certified.locked_edition())
        try:
            one = table.prepared(data, name, g.session.holder or "")
        except BundleRefused as refusal:
            refused.trace(data, name, str(refusal), refusal.desk if isinstance(refusal, OtherHistory) else "")
            return [], {"file": str(refusal)}
        table.lay_down(one, data)
        if one.claims:
            here.keep(one.claims)
        compared = "as on its receipt" if typed.strip() else "compare them with its receipt"
        said = [one.says, *after_waiting(table, one.bundle.desk.id, here.keep)]
        return [*said, f"Check words of {name}: {words}, {compared}."], {}


@page.get("/bundle")
def bundle() -> ResponseReturnValue:
    here = room()
    if here.apart is None:
        abort(404)
    return show_bundle({})


def show_bundle(mistakes: dict[str, str]) -> str:
    here = room()
    newest = here.folder / NEWEST
    return render_template(
        "desk/bundle.html",
        last=here.buildings.last_bundled(),
        printed=(here.folder / RECEIPT).is_file(),
        size=newest.stat().st_size if newest.is_file() else 0,
        largest=bundle_frames.LARGEST,
        mistakes=mistakes,
    )


@page.get("/bundle/receipt.pdf")
def receipt() -> ResponseReturnValue:
    """The receipt of the last bundle that was made on this page."""
    here = room()
    if here.apart is None or not (here.folder / RECEIPT).is_file():
        abort(404)
    return pdf(plain_file.read(here.folder / RECEIPT, RECEIPT_LIMIT), f"{here.apart.id}-bundle-receipt")


def _kept_beside(printed: bytes, newest: bytes) -> None:
    """The receipt, and the bundle for its codes. On a disk that takes nothing more neither is there, and the bundle itself is saved all the same."""
    folder = room().folder
    try:
        plain_file.write(folder / RECEIPT, printed)
        plain_file.write(folder / NEWEST, newest)
    except OSError:
        (folder / RECEIPT).unlink(missing_ok=True)
        (folder / NEWEST).unlink(missing_ok=True)


@page.post("/bundle")
def bundled() -> ResponseReturnValue:
    """The entry that a bundle was made, then the file with that entry in it."""
    here = room()
    if here.apart is None:
        abort(404)
    with here.lock:
        claim = Claim(uuid.uuid4().bytes, BUNDLED, {"to": here.ledger.length}, here.now(), g.session.tablet or "L", 0)
        here.keep([claim], holder=g.session.holder)
        try:
            data, told = bundling.made(here.folder, here.now())
        except BundleRefused as wrong:
            return show_bundle({"": str(wrong)}), 422
    name = f"{here.apart.id}-to-{told.to}.bundle"
    carried = receipt_of_bundle.of_bundle(data, told, here.roster, name, check_words(sha256(data).digest()))
    _kept_beside(bundle_receipt.receipt_pdf(carried), data[: bundle_frames.LARGEST + 1])
    return Response(
        data, mimetype="application/octet-stream", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
