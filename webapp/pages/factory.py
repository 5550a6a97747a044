"""Puts one app together: the site, the guards before every page, the pages of its role, the answers to what went wrong."""

import logging
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from flask import Blueprint, Flask, Request, current_app, redirect, render_template, request
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError
from itsdangerous import BadSignature
from jinja2 import ChoiceLoader, FileSystemLoader
from werkzeug.exceptions import HTTPException

import static
from webapp.gate.gate import GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.pages.shared import draft_pages, drafts, filters, request_guard, text_directions
from webapp.pages.shared.compiled_templates import compiled_for
from webapp.record.ledger import RecordRefused
from webapp.record.refusals import OF_THE_DISK, in_words
from webapp.settings import Settings, Unfit

HERE = Path(__file__).parent


DOORS = ("laptop", "tablets")
STEP_LIMIT = 512 * 1024  # bytes of a form of several steps, each with its words: 2,000 letters take up to 18 kB
WITH_WORDS = (
    "/step",
    "/tape",
    "/record",
    "/note",
    "/balance",
    "/packet",
    "/place",
    "/finding",
    "/batches",
    "/feed",
    "/trays",
)


def make(settings: Settings, room: Any = None, door: str = "laptop") -> Flask:
    """The app of one place or one office. Raises `RecordRefused` or `Unfit` (folder) with one sentence.

    `door` says whom it is for: the browser on the laptop itself, or tablets over TLS; a second door of the same server is given the first one's `room`.
    """
    if door not in DOORS:
        raise Unfit(f"door is {door!r}: choose {' or '.join(DOORS)}.")
    site, pages, limits = of_this_folder(settings, room)
    room = room or site(settings)
    app = Flask(
        "webapp", static_folder=str(Path(static.__file__).parent), static_url_path="/static", template_folder=None
    )
    app.jinja_loader = ChoiceLoader([FileSystemLoader(HERE / "templates")])
    app.config.update(
        SETTINGS=settings,
        DOOR=door,
        PORT=None,
        MAX_FORM_MEMORY_SIZE=2 * 1024 * 1024,
        MAX_FORM_PARTS=1000,
        SECRET_KEY=room.form_secret,
        WTF_CSRF_TIME_LIMIT=None,
        WTF_CSRF_SSL_STRICT=False,
        SESSION_COOKIE_NAME=f"{request_guard.host_only(door)}tapeseal-{settings.role}-{settings.port}-form",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        SESSION_COOKIE_SECURE=door == "tablets",
    )
    app.session_interface = SteadySession()
    app.logger.handlers[:] = [logging.StreamHandler(sys.stderr)]
    app.extensions["room"] = room
    app.config["BODY_LIMITS"] = dict.fromkeys(WITH_WORDS, STEP_LIMIT) | limits
    app.config["MAX_CONTENT_LENGTH"] = max(app.config["BODY_LIMITS"].values())  # the bridge holds that of each path
    if door == "tablets":
        app.config["LET_IN"] = lambda cookies: request_guard.lets_in(app, cookies)
    app.jinja_env.globals.update(room=room)
    app.jinja_env.bytecode_cache = compiled_for(str(room.zone), room.hours_on_clock)
    app.add_url_rule("/", "root", lambda: redirect(room.start, 303))
    filters.install(app, room.zone, room.hours_on_clock)
    draft_pages.install(app)
    request_guard.install(app)
    text_directions.install(app)
    for page in pages:
        app.register_blueprint(page)
    app.register_error_handler(CSRFError, stale)
    app.register_error_handler(HTTPException, told)
    for refusal in (RecordRefused, GateRefused):
        app.register_error_handler(refusal, refused)
    app.register_error_handler(Exception, unforeseen)
    return app


def of_this_folder(
    settings: Settings, room: Any = None
) -> tuple[Callable[[Settings], Any], tuple[Blueprint, ...], dict[str, int]]:
    """(the class of the room, its pages, the sizes of their forms) of an office, a polling place, a count board or an accuracy test. Raises `GateRefused` for a folder that holds none."""
    if settings.role != "place":
        from webapp.pages.desk.routes import LIMITS, PAGES
        from webapp.pages.desk.site.office_site import OfficeSite

        return OfficeSite, PAGES, LIMITS
    kind = (room.place if room else load_place(settings.folder)).kind
    if kind == "board":
        from webapp.pages.board.board_site import BoardSite
        from webapp.pages.board.routes import LIMITS as BOARD_LIMITS
        from webapp.pages.board.routes import PAGES as BOARD_PAGES

        return BoardSite, BOARD_PAGES, BOARD_LIMITS
    from webapp.pages.place.routes import LIMITS as PLACE_LIMITS
    from webapp.pages.place.routes import PAGES as PLACE_PAGES
    from webapp.pages.place.site.place_site import PlaceSite

    if kind == "test":
        from webapp.pages.deck.deck_site import DeckSite
        from webapp.pages.deck.routes import LIMITS as TEST_LIMITS
        from webapp.pages.deck.routes import PAGES as TEST_PAGES

        return DeckSite, (*PLACE_PAGES, *TEST_PAGES), PLACE_LIMITS | TEST_LIMITS
    return PlaceSite, PLACE_PAGES, PLACE_LIMITS


class SteadySession(SecureCookieSessionInterface):
    """The framework's signed cookie without its time. It carries the form's token alone, which has no time either: a laptop whose clock was set
    back takes the forms that were open then."""

    def open_session(self, app: Flask, request: Request) -> SecureCookieSession | None:
        signer, cookie = self.get_signing_serializer(app), request.cookies.get(self.get_cookie_name(app))
        if signer is None:
            return None
        try:
            return SecureCookieSession(signer.loads(cookie) if cookie else {})
        except BadSignature:
            return SecureCookieSession()


def stale(problem: CSRFError) -> ResponseReturnValue:
    """A form without the token of this browser: opened before a restart, or in another window."""
    return render_template(
        "shared/told.html",
        heading="Open this page again, then send it",
        sentence="This page is from before the program was restarted, or from another window. Nothing was recorded. Load it again.",
    ), 400


def told(problem: HTTPException) -> ResponseReturnValue:
    """Any refusal of a request: one sentence, no trace."""
    sentences = {
        404: "There is no such page here.",
        405: "This page cannot be sent to.",
        413: "This is larger than the page takes. Send a smaller file.",
    }
    sentence = sentences.get(problem.code or 0, problem.description or "This cannot be done here.")
    return render_template(
        "shared/told.html",
        heading="Nothing was recorded" if request.method == "POST" else "Not here",
        sentence=sentence,
    ), problem.code or 500


def refused(problem: RecordRefused | GateRefused) -> ResponseReturnValue:
    """The record or the gate says no, in its own sentence: a full disk, one that is write-protected, one that was pulled out."""
    heading, sentence = "Nothing was recorded" if request.method == "POST" else "Not here", str(problem)
    if request.method == "POST" and sent_is_recorded():
        heading = "This is recorded"
        sentence = f"What you sent is in the record: do not send it again. {problem.after}"
    return render_template("shared/told.html", heading=heading, sentence=sentence), 503


def sent_is_recorded() -> bool:
    """Whether what this request sent is in the record all the same: it was refused what comes after, or it was sent before."""
    try:
        return drafts.any_in_record(request.form)
    except (RecordRefused, GateRefused, OSError, HTTPException):
        return False


def unforeseen(problem: Exception) -> ResponseReturnValue:
    """The page for any other error: a disk that cannot be written, in its own sentence; else what to do next, with
    the trace on the laptop's screen. What has a number stays."""
    if isinstance(problem, OSError) and problem.errno in OF_THE_DISK:
        return refused(in_words(problem, current_app.config["SETTINGS"].folder))
    current_app.logger.exception("A page could not be made")
    return render_template(
        "shared/told.html",
        heading="This page could not be made",
        sentence="What has an entry number is kept. Go back to Now and look whether your step is there; if not, do it again or on paper.",
    ), 500
