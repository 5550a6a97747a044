"""Every kind of entry of the day and of the desk opens for correction as it stands: the form that is sent back untouched says the same figures."""

import shutil

import pytest

import webapp
from demo_precinct.http_window import Window
from tests.matrix import ALL
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@pytest.fixture(params=["place", "office"])
def server(request, demo, tmp_path):
    """(role, app, window) of a copy of the folder, the morning after."""
    role = request.param
    folder = shutil.copytree(demo[1] / ("places/W3" if role == "place" else "office"), tmp_path / role)
    app = webapp.create_app(Settings(role, folder, mode="practice", port=0))
    running = serve_in_thread(app)
    window = Window(running.port)
    yield role, app, window
    window.close()
    running.stop()
    app.extensions["room"].close()


def correctable(role, app):
    """The newest entry of each kind that may be corrected; with --all of each kind and thing. Asked outside of any page: a question changes none."""
    room = app.extensions["room"]
    days = [room.day] if role == "place" else [room.desks[place] for place in room.roster.places]
    found = {
        (kept.kind, kept.at if ALL else ""): kept
        for day in days
        for kept in day.entries
        if kept.kind != "correction" and room.correctable(kept)
    }
    return sorted(found.values(), key=lambda kept: kept.number)


def test_each_entry_sent_back_as_its_form_shows_it_changes_nothing(server):
    role, app, window = server
    length, bad = app.extensions["room"].ledger.length, []
    entries = correctable(role, app)
    for kept in entries:
        form = window.get(f"/record/{kept.number}/correct").form(f"/record/{kept.number}/correct")
        page = window.send(form, {"reason": "Only looked."})
        if page.status != 422 or "Nothing was changed" not in page.said():
            bad.append((kept.number, kept.kind, kept.at, page.status, page.said()[:300]))
    assert len({kept.kind for kept in entries}) > (60 if role == "place" else 8) and not bad
    assert app.extensions["room"].ledger.length == length
