"""The office's door: no look changes its record, its gate or its trays; no post from elsewhere or without its token does anything (R27)."""

import random
import re
import sqlite3

from tests.matrix import some
from tests.office.test_canvass import off_by

FORM = {"Content-Type": "application/x-www-form-urlencoded"}
GIVEN = {
    "place": "W3",
    "id": "W3",
    "number": "3",
    "person": "",
    "key": "arrivals",
    "line": "unused",
    "figure": "unused",
    "name": "0" * 32,
    "digest": "0" * 16,
    "of": "3",
    "kind": "incident",
    "field": "unused",
    "thing": "3A",
    "at": "W3",
    "unit": "W3",
    "way": "provisional",
    "part": "1",
}


def routes(night, method: str) -> list[str]:
    """Every route the office's app names that takes this method, filled with what there is."""
    person = night.office.officials[0].id
    found = set()
    for rule in night.app.url_map.iter_rules():
        if method in rule.methods and rule.endpoint != "static":
            found.add(re.sub(r"<(?:\w+:)?(\w+)>", lambda m: GIVEN.get(m[1]) or person, rule.rule))
    return sorted(found)


def rows(path) -> list[str]:
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as db:
        return list(db.iterdump())


def test_r27_no_get_changes_a_row_or_a_file_of_the_office(night):
    night.hold()
    night.take_in("W3", **off_by(2))
    night.window.get("/canvass")

    def all_there_is():
        files = {
            path.relative_to(night.folder): path.read_bytes()
            for path in night.folder.rglob("*")
            if path.is_file() and ".db" not in path.name
        }
        return rows(night.folder / "gate.db"), rows(night.room.ledger.path), files

    before, paths = all_there_is(), routes(night, "GET")
    assert len(paths) > 20 and before[0] and before[1] and before[2]
    for path in paths:
        page = night.window.get(path)
        assert page.status in (200, 303, 404, 405, 409, 410), (path, page.status, page.said())
    for path in some(random.sample(paths, len(paths) // 4), paths):
        night.window._follow("HEAD", path, None, {})
    assert all_there_is() == before


def test_r27_every_post_of_the_office_refuses_a_foreign_origin_and_a_missing_token(night):
    night.hold()
    token = night.window.get("/intake").form("/intake/file").controls["csrf_token"].value
    before, paths = night.kinds, routes(night, "POST")
    assert len(paths) > 10
    for path in paths:
        for foreign in ({"Origin": "http://other.example"}, {"Sec-Fetch-Site": "cross-site"}):
            page = night.window._follow("POST", path, f"csrf_token={token}".encode(), FORM | foreign)
            assert page.status == 403, (path, foreign, page.status)
        assert night.window.post(path, []).status == 400, path
        assert night.window.post(path, [("csrf_token", token[:-4] + "AAAA")]).status == 400, path
    assert night.kinds == before
