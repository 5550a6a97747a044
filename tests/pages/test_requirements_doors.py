"""Requirements about what every door answers, held over every route that each app itself names: R26, R27, R32. The numbers are explained in tests/REQUIREMENTS.md.

Header names and their meanings: Content Security Policy Level 3 (W3C), Fetch (WHATWG: nosniff), RFC 6797 (Strict-Transport-Security).
"""

import json
import re
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from demo_precinct.http_window import Window
from tests.matrix import ALL, some
from tests.pages.asking import posted
from tests.pages.tablets import admitted, tablets_door
from tests.pages.test_doors import post_paths
from tests.pages.walk import one_of_each_route, pages_of, paths
from webapp.pages import factory
from webapp.settings import Settings

POLICY = ("default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'")
STRICTER = ("default-src 'none'", "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'")
"""Of a page made for the public: it loads nothing, objects too (CSP Level 3, 6.1: what has no directive of its own has the default)."""
ELSEWHERE = ("/static/ledger.css", "/static/none.css", "/nowhere", "/static/../webapp/settings.py")
FOREIGN = (
    "Traceback",
    "werkzeug",
    "The browser (or proxy)",
    "jinja",
    "sqlite",
    "KeyError",
    "TypeError",
    "ValueError",
    'File "',
    "None,",
)

BODIES = (
    b"",
    b"[",
    b"[]",
    b"{}",
    b'{"clock": 1, "entries": [1]}',
    b'{"clock": 1, "entries": {"a": []}, "held": {}, "saw": [1, 2, 3, 4]}',
    b"\xff\xfe",
    json.dumps([0] * 9).encode(),
)


def guarded(answer) -> bool:
    policy = answer.headers.get("Content-Security-Policy", "")
    return (
        any(all(rule in policy for rule in rules) for rules in (POLICY, STRICTER))
        and "unsafe" not in policy
        and answer.headers.get("X-Content-Type-Options") == "nosniff"
    )


@pytest.mark.parametrize("door", ["laptop", "tablets"])
def test_r26_every_route_of_the_place_is_guarded_whatever_it_answers(scene, door):
    """By each method there is, admitted or not: pages, redirects, pictures, refusals, files."""
    here = scene("voting")
    app = (
        here.app
        if door == "laptop"
        else factory.make(replace(here.app.config["SETTINGS"]), room=here.room, door="tablets")
    )
    client = app.test_client()
    statuses = set()
    found = paths(here)
    rare = {*one_of_each_route(here, found), *ELSEWHERE}
    for path in [*found, *ELSEWHERE]:
        for method in ("GET", "HEAD", "OPTIONS", "POST", "PUT") if path in rare else ("GET",):
            answer = client.open(path, method=method, headers={"Accept": "text/html"})
            assert guarded(answer), (method, path, answer.status)
            assert "Strict-Transport-Security" not in answer.headers, "next year's laptop may have no certificate"
            statuses.add(answer.status_code)
    assert {200, 303, 400, 404, 405 if door == "laptop" else 403} <= statuses


def test_r26_every_route_of_the_office_is_guarded(scene, tmp_path):
    here = scene("dawn")
    app = factory.make(Settings("office", here.office, port=0))
    try:
        client = app.test_client()
        for rule in app.url_map.iter_rules():
            path = re.sub(r"<(?:int:|path:)?\w+>", "1", rule.rule)
            for method in ("GET", "POST"):
                assert guarded(client.open(path, method=method)), (method, path)
    finally:
        app.extensions["room"].close()


def tables(path) -> dict[str, list]:
    """Every row of every table of an SQLite file."""
    with closing(sqlite3.connect(path)) as db:
        return {
            name: sorted(map(repr, db.execute(f"SELECT * FROM {name}")))
            for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        }


@pytest.mark.parametrize("door", some(["tablets"], ["laptop", "tablets"]))  # on the laptop: test_doors.py
def test_r27_no_get_changes_a_row_of_the_gate_or_of_the_record_or_a_file(scene, door):
    """By a window that is known already. Safe methods: RFC 9110, 9.2.1."""
    here = scene("packet")
    with tablets_door(here) as port:
        window = here.window if door == "laptop" else admitted(here, port)
        window.get("/now")

        def all_there_is():
            files = {
                path.name: path.read_bytes()
                for path in here.folder.rglob("*")
                if path.is_file() and ".db" not in path.name
            }
            return tables(here.folder / "gate.db"), tables(here.folder / "record.db"), files

        before = all_there_is()
        seen = [path for path, _ in pages_of(here, window, routes=True)]
        for path in seen:
            window._follow("HEAD", path, None, {})
        assert len(seen) > 40 and all_there_is() == before


def test_r27_a_stranger_at_the_tablets_door_leaves_no_trace_by_looking(scene):
    here = scene("sworn")
    with tablets_door(here) as port:
        before = tables(here.folder / "gate.db")
        for path in ("/", "/pair", "/now", "/shell", "/worker.js", "/nowhere"):
            stranger = Window(port)
            here.windows.append(stranger)
            stranger.get(path)
        assert tables(here.folder / "gate.db") == before


def test_r32_nothing_that_can_be_sent_to_any_route_is_answered_with_a_trace(scene):
    """Garbage with the right token, to every route that takes a post: a sentence, or the page again, and never what only a programmer reads."""
    here = scene("voting")
    here.hold()
    token = here.form("/tablet", "/tablet/light").controls["csrf_token"].value
    nonsense = ("\x00", "-1", "9" * 400, "\u202e\ud7ff", "{}", "../../gate.db", "T1' --", "<b>")
    names = (
        "entry_id",
        "salt",
        "at",
        "signer",
        "pin",
        "person",
        "why",
        "told_at",
        "shown",
        "level",
        "code",
        "counters.T1",
        "lines",
        "back",
        "light",
        "message",
        "outcome",
        "tap",
        "row",
    )
    before, last = here.length, None
    for turn, path in enumerate(post_paths(here)):
        for word in two_in_turn(nonsense, turn):
            page = here.window.post(path, [("csrf_token", token), *((name, word) for name in names)])
            checked(path, word, page)
        for sent in two_in_turn(BODIES, turn):
            checked(path, sent, posted(here.window, path, sent))
            last = path
    assert last and here.kinds(before).count("pin-failed") == here.length - before


def two_in_turn(cases: tuple, turn: int) -> tuple:
    """Two of these cases, others at each turn, so that a run gives every case to many routes; with --all every case to every route."""
    return cases if ALL else (cases[turn % len(cases)], cases[(turn + 3) % len(cases)])


def checked(path, sent, page) -> None:
    assert page.status < 500, (path, sent, page.status, page.said())
    assert not [word for word in FOREIGN if word in page.text], (path, sent, page.text[:400])
    if page.status >= 400 and page.headers["content-type"].startswith("text/html"):
        assert len(page.said()) > 10, (path, sent)


@pytest.fixture(scope="module")
def read_only(shared_scene):
    return shared_scene("voting")


@pytest.mark.parametrize(
    "path",
    [
        "/record/999999999999999999999",
        "/record?page=-1",
        "/record?page=x",
        "/note/%00",
        "/step/%ff",
        "/contact/mine?after=x",
        "/people/oath/../../x",
        "/packet/code/0.svg",
        "/sign/zz",
        "/tablet?back=//other.example/",
        "/steps/none",
    ],
)
def test_r32_an_address_that_means_nothing_is_a_sentence(read_only, path):
    page = read_only.window.get(path)
    assert page.status < 500 and not [word for word in FOREIGN if word in page.text]
    assert "other.example" not in page.text
