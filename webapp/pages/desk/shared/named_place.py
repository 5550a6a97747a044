"""The place that a page's address names."""

from flask import abort, current_app

from webapp.precinct.place.place import Place


def known(place: str) -> Place:
    """The place file of this place. Answers 404 where the office has no such place."""
    places = current_app.extensions["room"].roster.places
    return places[place] if place in places else abort(404)
