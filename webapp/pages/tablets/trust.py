"""The trust page: the only page off this laptop over plain http. It gives tablets the authority's certificate and says how to trust it.

Anybody between a tablet and this page can change what it shows; so it has nothing to steal and nothing to type, and
it sends its reader to the laptop's own screen to compare the fingerprint. An app of its own: it knows no record, no
session and no cookie, and answers GET and HEAD only.
"""

from pathlib import Path

from flask import Flask, Response, abort, render_template, request, send_from_directory
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException

import static
from webapp.pages.shared.request_guard import HEADERS
from webapp.pages.tablets.tablet_address import Doors

FILE = "authority.crt"
STATIC = Path(static.__file__).parent
LOOKS = {"ledger.css", "mark.svg", "type/text.woff2", "type/text-ext.woff2"}
HEADERS_HERE = HEADERS | {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; font-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Cache-Control": "no-store",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


def make(doors: Doors, name: str, under: str, practice: bool) -> Flask:
    """The app of one place's trust page; `name` and `under` are at its head."""
    app = Flask("trust", static_folder=None, template_folder=str(Path(__file__).parents[1] / "templates"))
    app.config.update(ANY_HOST=True, MAX_CONTENT_LENGTH=0, BODY_LIMITS={"/": 0})
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.before_request(only_looking)
    app.after_request(seal_the_answer)
    app.register_error_handler(HTTPException, told)

    @app.get("/")
    def page() -> ResponseReturnValue:
        return render_template("tablets/trust.html", doors=doors, name=name, under=under, practice=practice, file=FILE)

    @app.get(f"/{FILE}")
    def authority() -> ResponseReturnValue:
        if doors.authority is None:
            abort(404)
        return Response(
            doors.authority,
            mimetype="application/x-x509-ca-cert",
            headers={"Content-Disposition": f'attachment; filename="{FILE}"'},
        )

    @app.get("/static/<path:file>")
    def looks(file: str) -> ResponseReturnValue:
        return send_from_directory(STATIC, file) if file in LOOKS else abort(404)

    return app


def only_looking() -> None:
    if request.method not in ("GET", "HEAD"):
        abort(405)


def seal_the_answer(answer: Response) -> Response:
    answer.headers.update(HEADERS_HERE)
    return answer


def told(problem: HTTPException) -> tuple[Response, int]:
    sentence = {
        405: "Nothing can be sent here: this page only shows how to trust the laptop.",
        404: "There is nothing here but the page that tells how to trust the laptop.",
    }
    return Response(
        sentence.get(problem.code or 0, "This cannot be answered here: open the page's address again."),
        mimetype="text/plain",
    ), problem.code or 500
