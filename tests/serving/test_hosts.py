"""Names the laptop answers to. A page elsewhere could otherwise reach in under a name of its own (DNS rebinding); 421 as in RFC 9110, 15.5.20."""

import pytest

from .conftest import all_of


def said(raw, host):
    head = b"" if host is None else f"Host: {host}\r\n".encode()
    return all_of(raw(b"GET /echo HTTP/1.1\r\n" + head + b"Connection: close\r\n\r\n"))


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST:8610", "127.0.0.1", "127.0.0.1:80", "[::1]", "[::1]:8610"])
def test_loopback_names_are_answered(raw, host):
    assert said(raw, host).startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize(
    "host",
    ["example.org", "localhost.example.org", "127.0.0.1.example.org", "192.168.1.7:8610", "0.0.0.0", "localhost."],
)
def test_any_other_name_is_misdirected_and_says_what_to_do(raw, app, host):
    answer = said(raw, host)

    assert answer.startswith(b"HTTP/1.1 421 ")
    assert answer.endswith(
        f"This laptop does not answer to the name {host.split(':')[0]}: open the link shown on its screen.".encode()
    )
    assert app.calls == []


@pytest.mark.parametrize("host", ["", "local host", "localhost:port", "user@localhost", "localhost/echo", "[::1", None])
def test_what_is_no_name_is_turned_away(raw, app, host):
    assert said(raw, host).startswith(b"HTTP/1.1 400 ")
    assert app.calls == []


def test_the_places_own_name_is_answered_once_it_is_set(raw, app):
    app.config["HOSTS"] = ("W3.tarn.example",)

    assert said(raw, "w3.tarn.example:443").startswith(b"HTTP/1.1 200 ")
    assert said(raw, "w4.tarn.example").startswith(b"HTTP/1.1 421 ")


@pytest.mark.parametrize("target", [b"http://localhost/echo", b"*", b"echo"])
def test_a_target_that_is_no_path_is_turned_away(raw, app, target):
    assert all_of(raw(b"GET " + target + b" HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")).startswith(
        b"HTTP/1.1 400 "
    )
    assert app.calls == []


def test_a_client_of_http_1_0_names_its_host_too(raw):
    assert all_of(raw(b"GET /echo HTTP/1.0\r\n\r\n")).startswith(b"HTTP/1.1 400 ")
    assert all_of(raw(b"GET /echo HTTP/1.0\r\nHost: localhost\r\n\r\n")).startswith(b"HTTP/1.1 200 ")
