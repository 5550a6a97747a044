"""The pages of an office on which nothing has happened yet: each is made, whatever the templates of place and office share."""

import webapp
from demo_precinct import rehearsed_county
from webapp.settings import Settings

PATHS = ("/ready", "/intake", "/places", "/totals", "/canvass", "/people", "/tablet", "/record", "/papers")


def test_every_page_of_an_office_is_made_before_anything_happened(tmp_path):
    toml = [(rehearsed_county.HERE / "place.toml").read_bytes()]
    rehearsed_county.prepare(tmp_path, (rehearsed_county.HERE / "office.toml").read_bytes(), toml)
    app = webapp.create_app(Settings("office", tmp_path / "office", clock="scripted", start=1_793_750_000_000))
    try:
        window = app.test_client()
        answered = {path: window.get(path, base_url="http://localhost:8620").status_code for path in PATHS}
    finally:
        app.extensions["room"].close()
    assert {path: status for path, status in answered.items() if status != 200} == {}
