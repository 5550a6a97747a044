"""What pages of editions share: a PDF of a posted one, and whether the next one moved while it was looked at."""

from collections.abc import Callable, Mapping

from flask import Response, current_app, render_template
from flask.typing import ResponseReturnValue

from webapp.canvass import document
from webapp.canvass.document import CanvassDocument
from webapp.office.canvassing.editions import Changed, Ready
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


def moved(form: Mapping[str, str], found: Ready) -> dict[str, str]:
    """The mistake where the figures are no longer those that this form was opened with; {} where they are."""
    if form.get("looked") == found.figures_digest:
        return {}
    return {"": "Something was kept since this page was opened, and the figures moved. Look at them again, then sign."}
