"""The place that a page's address names."""

from flask import abort, current_app, g

from webapp.precinct.place.place import Place


def known(place: str) -> Place:
    """The place file of this place, and its desk becomes the one that this request records at. Answers 404 where the office has no such place."""
    places = current_app.extensions["room"].roster.places
    if place not in places:
        abort(404)
    g.desk = place
    return places[place]
