"""Runs before every page: the tablet's session, the reading of the clock, the refusal of foreign posts, the headers.

The clock is read once a request. A GET changes nothing but the session of a browser that has none yet.
"""

from urllib.parse import urlsplit

from flask import Flask, Response, abort, current_app, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFProtect
from werkzeug.http import parse_cookie
from werkzeug.wrappers import Response as BaseResponse

from webapp.gate.sessions import Session
from webapp.pages.shared.filters import FOLDER

HEADERS = {
    "Content-Security-Policy": "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
}
tokens = CSRFProtect()
UNTOUCHED = ("contact.say", "held.look")  # the tablet's own asking: nobody's hand is on it
UNADMITTED = (
    "pairing.pair",
    "pairing.ask",
    "contact.alarm",
)  # and the shell, which holds no figure: the worker fetches it before anybody is admitted
DAYS = (
    14  # a paired tablet stays paired, also when its browser was killed or the battery died; revoking ends it at once
)
NOBODY = Session(
    "", None, None
)  # where the gate itself cannot be read or written: the page that says so needs no tablet


def install(app: Flask) -> None:
    """Adds the session, the guard and the headers to every page of this app."""
    app.before_request(look_at_the_clock)
    app.before_request(refuse_foreign_posts)
    app.before_request(only_what_is_here)
    app.before_request(meet_the_tablet)  # before anything takes the form apart, and that is the token's check
    tokens.init_app(app)
    app.before_request(keep_the_holder)
    app.after_request(seal_the_answer)


def cookie_name() -> str:
    """Cookies are named by role and port, so that a place and an office on one laptop never share one."""
    settings, config = current_app.config["SETTINGS"], current_app.config
    return f"{host_only(config['DOOR'])}tapeseal-{settings.role}-{config['PORT'] or settings.port}"


def host_only(door: str) -> str:
    """Over TLS the cookie's own name tells the browser that it belongs to this very host and is never sent without TLS (RFC 6265bis, 4.1.3.2)."""
    return "__Host-" if door == "tablets" else ""


def look_at_the_clock() -> None:
    """What every page needs, also the one that refuses."""
    g.now = current_app.extensions["room"].now()
    g.light = request.cookies.get(f"{cookie_name()}-light")
    if g.light not in ("day", "night"):
        g.light = None
    g.fresh, g.session = False, NOBODY


def only_what_is_here() -> None:
    """Pages of another kind of place are not there: neither to be read nor to be sent to."""
    if current_app.extensions["room"].absent(request.path):
        abort(404)


def refuse_foreign_posts() -> None:
    """A form that some other page sent is refused before anything is read from it."""
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    foreign = origin is not None and urlsplit(origin).netloc != request.host
    if foreign or site not in (None, "same-origin", "none"):
        abort(403, "This form came from another page. Open the step here and send it again.")


def meet_the_tablet() -> ResponseReturnValue | None:
    """Which tablet this is. At the laptop a browser seen for the first time becomes a window of its own; over the network only who was admitted is let in."""
    if request.endpoint == "static":
        return abort(404) if request.path.rpartition(".")[2] in ("py", "pyc") else None
    gate = current_app.extensions["room"].gate
    g.handle = request.cookies.get(cookie_name(), "")
    found = gate.sessions.get(g.handle, g.now) if g.handle else None
    if current_app.config["DOOR"] == "tablets":
        paired = gate.tablets.get(found.tablet) if found else None
        g.session = found if paired else NOBODY
        g.let_in = bool(paired and paired.admitted)
        if not g.let_in and not open_to_all(request.endpoint or ""):
            return not_admitted()
    else:
        if found is None and request.headers.get("Sec-Fetch-Site") == "cross-site":
            # The browser kept its cookie at home: no new window takes the place of the one it has.
            return render_template("shared/led_here.html")
        g.fresh = found is None
        if g.fresh:
            g.handle = gate.sessions.visit(g.now)
            found = gate.sessions.get(g.handle, g.now)
        g.session = found
    return None


def keep_the_holder() -> None:
    """A form with its token is a hand on the tablet: its holder stays. A window that sends its first one is a tablet from now on."""
    if request.method == "POST" and g.session.tablet:
        current_app.extensions["room"].gate.sessions.settle(g.handle)
    if request.method == "POST" and g.session.holder and request.endpoint not in UNTOUCHED:
        current_app.extensions["room"].gate.sessions.touch(g.session.tablet, g.now)


def lets_in(app: Flask, cookies: str) -> bool:
    """Whether these cookies (a request's header) are those of a tablet that was admitted."""
    with app.app_context():
        room, handle = app.extensions["room"], parse_cookie(cookies).get(cookie_name(), "")
        found = room.gate.sessions.get(handle, room.now()) if handle else None
        paired = room.gate.tablets.get(found.tablet) if found else None
        return bool(paired and paired.admitted and not paired.revoked)


def open_to_all(endpoint: str) -> bool:
    return endpoint in UNADMITTED or endpoint.startswith("shell.")


def not_admitted() -> ResponseReturnValue:
    """The answer for a tablet that was not admitted: the pairing page and nothing else; one sentence for a script."""
    sentence = "This tablet is not admitted. Open the page Pair on it, with the code that the laptop shows."
    if "text/html" not in request.headers.get("Accept", "text/html") or request.is_json:
        return jsonify(says=sentence), 403
    return redirect("/pair", 303) if request.method == "GET" else abort(403, sentence)


def with_handle(answer: BaseResponse, handle: str) -> BaseResponse:
    """Give the browser the handle of its tablet. It outlives the browser: entries that a tablet holds must find their way home."""
    answer.set_cookie(
        cookie_name(),
        handle,
        max_age=DAYS * 86400,
        httponly=True,
        samesite="Strict",
        secure=current_app.config["DOOR"] == "tablets",
        path="/",
    )
    return answer


def seal_the_answer(answer: Response) -> Response:
    """The headers of every answer; pages are never stored by the browser."""
    for name, value in HEADERS.items():
        answer.headers.setdefault(name, value)
    if request.endpoint == "static":
        answer.headers["Cache-Control"] = (
            "public, max-age=31536000, immutable" if request.path.startswith(f"/static/{FOLDER}") else "no-cache"
        )
        return answer
    answer.headers["Cache-Control"] = "no-store"
    if g.get("fresh"):
        with_handle(answer, g.handle)
    return answer
