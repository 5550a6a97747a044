"""A PDF of a posted edition, made of the edition's files alone."""

from collections.abc import Callable

from flask import Response, current_app, render_template
from flask.typing import ResponseReturnValue

from webapp.canvass import document
from webapp.canvass.document import CanvassDocument
from webapp.office.canvassing.editions import Changed
from webapp.pages.shared.papers import pdf


def edition_pdf(number: int, draw: Callable[[CanvassDocument], bytes], name: str) -> ResponseReturnValue:
    """What `draw` makes of edition `number`, as the file NAME-NUMBER.pdf; else the sentence why there is none."""
    try:
        files = current_app.extensions["room"].editions.data(number, *document.FILES)
        return pdf(draw(document.read(files)), f"{name}-{number}")
    except Changed as wrong:
        return render_template(
            "shared/told.html", heading="This edition is not what was posted", sentence=str(wrong)
        ), 409
    except KeyError:
        return Response(
            render_template("shared/told.html", heading="Not here", sentence=f"There is no edition {number}."), 404
        )
