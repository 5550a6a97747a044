"""What goes through the bridge comes out as it went in. Rules: PEP 3333 (checked by the standard library's validator), RFC 9110, RFC 9112."""

import http.client
import json
import re
from wsgiref.validate import validator

import pytest

from webapp.serving import server as serving

from .conftest import all_of, answer_of


def test_the_standard_librarys_validator_finds_nothing_to_complain_of(app):
    """wsgiref.validate raises on any departure from PEP 3333, on either side."""
    server = serving.serve_in_thread(validator(app.wsgi_app))
    try:
        for method, body in (("GET", None), ("POST", b"abc"), ("HEAD", None)):
            client = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
            client.request(method, "/echo?a=1", body, {"Content-Type": "text/plain"} if body else {})
            assert client.getresponse().status == 200
            client.close()
    finally:
        server.stop()


def test_head_has_the_length_of_get_and_no_body(ask):
    _, got, body = ask("/unicode")
    status, headers, nothing = ask("/unicode", "HEAD")

    assert (status, nothing) == (200, b"")
    assert headers["Content-Length"] == got["Content-Length"] == str(len(body))


@pytest.mark.parametrize("code", [204, 304])
def test_an_answer_without_content_has_no_length_and_the_connection_goes_on(raw, code):
    one = raw(f"GET /status/{code} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode() * 2)
    one.sendall(b"GET /unicode HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
    said = all_of(one)

    assert said.count(f"HTTP/1.1 {code} ".encode()) == 2 and said.count(b"HTTP/1.1 200 ") == 1
    assert said.lower().count(b"content-length") == 1 and b"words" not in said


def test_every_set_cookie_arrives_on_its_own(ask):
    assert ask("/cookies")[1].get_all("Set-Cookie") == ["one=1; Path=/", "two=2; Path=/"]


def test_a_header_sent_twice_is_joined_and_cookies_by_semicolons(raw):
    _, body = answer_of(
        raw(b"GET /echo HTTP/1.1\r\nHost: localhost\r\nX-Two: a\r\nX-Two: b\r\nCookie: a=1\r\nCookie: b=2\r\n\r\n")
    )
    seen = json.loads(body)

    assert ["X-Two", "a,b"] in seen["headers"]
    assert seen["cookies"] == {"a": ["1"], "b": ["2"]}


def test_a_header_with_an_underscore_does_not_pass_for_another(raw):
    _, body = answer_of(raw(b"GET /echo HTTP/1.1\r\nHost: localhost\r\nX_Role: office\r\nSec_Fetch_Site: none\r\n\r\n"))

    assert {"X-Role", "Sec-Fetch-Site"}.isdisjoint(dict(json.loads(body)["headers"]))


def test_percent_signs_and_other_scripts_arrive_as_written(echo):
    assert echo("/echo/%C5%A0%C3%A1rka%20100%25")["rest"] == "Šárka 100%"
    assert echo("/echo/a%2Fb")["rest"] == "a/b"
    assert echo("/echo?a=%C5%A1&b=1%202")["query"] == "a=%C5%A1&b=1%202"


def test_bytes_that_are_no_utf_8_in_a_path_harm_nobody(ask):
    assert ask("/echo/%FF%FE")[0] in (200, 400, 404)
    assert ask("/echo")[0] == 200


def test_text_of_any_script_goes_out_whole(ask):
    status, headers, body = ask("/unicode")

    assert body.decode() == "Šárka · 投票"
    assert headers["Content-Type"] == "text/html; charset=utf-8"


def test_an_app_that_breaks_says_so_in_a_sentence_and_goes_on(ask, caplog):
    status, _, body = ask("/broken")

    assert status == 500
    assert (
        body.decode()
        == "This page could not be made. What has an entry number is kept; look in the record before doing it again."
    )
    assert "ZeroDivisionError" in caplog.text
    assert ask("/echo")[0] == 200


def test_requests_sent_ahead_are_answered_in_order(raw):
    head = "GET /echo/{} HTTP/1.1\r\nHost: localhost\r\n\r\n"
    one = raw(
        "".join(head.format(n) for n in "01234").encode()
        + b"GET /echo/5 HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"
    )

    assert re.findall(rb'"rest":"(.)"', all_of(one)) == [b"0", b"1", b"2", b"3", b"4", b"5"]


@pytest.mark.parametrize(
    "nonsense",
    [
        b"\x16\x03\x01\x02\x00\x01",
        b"HELLO\r\n\r\n",
        b"GET /echo HTTP/1.1\r\nHost: localhost\r\nHost: b\r\n\r\n",
        b"GET /echo HTTP/1.1\r\nHost: localhost\r\nX: " + b"a" * 200_000 + b"\r\n\r\n",
    ],
)
def test_what_is_no_request_is_turned_away_in_a_sentence(raw, app, nonsense):
    one = raw()
    try:
        one.sendall(nonsense)
        said = all_of(one)
    except OSError:  # closed on us while we were still sending (over TLS it is told as an early end)
        said = b" 400 open the link shown"
    assert b" 400 " in said and b"open the link shown" in said
    assert app.calls == []


def test_nothing_tells_what_the_server_is_made_of(ask):
    assert "Server" not in ask("/echo")[1]
