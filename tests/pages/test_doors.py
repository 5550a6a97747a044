"""What stands before every page: headers, tokens, foreign forms; no GET changes the record; no PIN is anywhere.

The headers' names and meanings: RFC 9110 (no-store: RFC 9111, 5.2.2.5), Content Security Policy Level 3, the Fetch standard (nosniff, Sec-Fetch-Site), from memory.
"""

import re

import pytest

from tests.matrix import some
from tests.pages.walk import pages_of

ORIGIN = "Origin"


def post_paths(here):
    found = []
    for rule in here.app.url_map.iter_rules():
        if "POST" in rule.methods:
            path = re.sub(r"<int:\w+>", "3", rule.rule)
            at = {
                "field": "unused",
                "thing": "3A",
                "key": "polls-open",
                "at": "T1",
                "kind": "spoiled",
                "person": "lindqvist",
                "name": "0" * 32,
                "tablet": "A",
            }
            found.append(re.sub(r"<(\w+)>", lambda m: at[m[1]], path))
    return found


@pytest.mark.parametrize("moment", some(["packet"], ["polls-open", "packet"]))
def test_r27_no_get_changes_the_record_and_every_page_has_its_headers(scene, moment):
    here = scene(moment)
    before, head = here.length, here.room.ledger.head
    seen = 0
    for path, page in pages_of(here, here.window):
        seen += 1
        assert page.headers["cache-control"] == "no-store", path
        assert page.headers["x-content-type-options"] == "nosniff", path
        policy = page.headers["content-security-policy"]
        assert (
            "default-src 'self'" in policy
            and "unsafe" not in policy
            and "frame-ancestors 'none'" in policy
            and "object-src 'none'" in policy
        )
        if b"<html" in page.body:
            assert (
                b" style=" not in page.body and b"<script>" not in page.body and not re.search(rb'\son\w+="', page.body)
            ), path
            assert not re.search(rb'(?:src|href|action)="(?:https?:)?//', page.body), path
    assert seen > 60
    assert (here.length, here.room.ledger.head) == (before, head)


def test_r27_every_post_route_refuses_a_foreign_origin_and_a_missing_token(scene):
    here = scene("polls-open")
    here.hold()
    before = here.length
    token = here.form("/tablet", "/tablet/light").controls["csrf_token"].value
    paths = post_paths(here)
    assert len(paths) > 15
    for path in paths:
        page = here.window._follow(
            "POST",
            path,
            f"csrf_token={token}".encode(),
            {"Content-Type": "application/x-www-form-urlencoded", ORIGIN: "http://other.example"},
        )
        assert page.status == 403 and "came from another page" in page.text, path
        page = here.window._follow(
            "POST",
            path,
            f"csrf_token={token}".encode(),
            {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "cross-site"},
        )
        assert page.status == 403, path
        page = here.window.post(path, [])
        assert page.status == 400 and "Nothing was recorded" in page.text, path
        page = here.window.post(path, [("csrf_token", token[:-4] + "AAAA")])
        assert page.status == 400, path
    assert here.length == before


def test_an_empty_form_with_its_token_records_nothing_on_any_route(scene):
    here = scene("voting")
    here.hold()
    token = here.form("/tablet", "/tablet/light").controls["csrf_token"].value
    for path in post_paths(here):
        if path in ("/tablet/leave", "/tablet/light"):
            continue
        before = here.length
        page = here.window.post(path, [("csrf_token", token)])
        assert page.status < 500, f"{path} {page.status} {page.said()}"
        assert here.length == before, path
        assert page.said() or page.status < 400, path


def test_r25_cookies_are_for_this_server_and_no_script(scene):
    import http.client

    here = scene("polls-open")
    line = http.client.HTTPConnection("127.0.0.1", here.running.port)
    line.request("GET", "/now")
    answer = line.getresponse()
    answer.read()
    cookies = [v for k, v in answer.getheaders() if k.lower() == "set-cookie"]
    assert cookies and all("HttpOnly" in c and "SameSite=Strict" in c for c in cookies)
    line.close()


def test_r4_no_pin_is_in_any_answer_or_file_or_on_the_screen_of_the_laptop(scene, capfd):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    page = here.first("polls-closed")
    here.second(page, "okafor", pin="550011")
    here.second(page, "okafor")
    pins = [*here.pins.values(), "550011"]
    for path, answer in pages_of(here, here.window, kinds=False):
        said = answer.body + repr(answer.headers).encode() + path.encode()
        assert not [
            pin for pin in pins if re.search(rb"(?<![0-9A-Za-z])" + pin.encode() + rb"(?![0-9A-Za-z])", said)
        ], path
    here.restart()
    out, err = capfd.readouterr()
    for file in here.folder.rglob("*"):
        if file.is_file():
            data = file.read_bytes()
            assert not [pin for pin in pins if pin.encode() in data], file.name
    assert not [pin for pin in pins if pin in out + err]


def test_a_holder_who_works_stays_and_one_who_is_idle_for_half_an_hour_does_not(scene):
    here = scene("voting")
    here.hold()
    for _ in range(3):
        here.pass_time(20)  # the clock itself is moved by a post
        here.window.get("/now")
    assert (
        here.room.gate.sessions.get(
            next(v for k, v in here.window.cookies.items() if not k.endswith(("form", "light"))), here.now
        ).holder
        == "lindqvist"
    )
    here.now += 31 * 60_000
    here.room.clock.set(here.now)
    page = here.window.get("/tablet")
    assert "Nobody holds" in page.text or "nobody holds" in page.text.lower()
