"""R23: no PIN field and no figure over plain http off loopback. R28: place and office share no cookie, port or name."""

import html
import http.client
import re
import socket

import pytest

from tests.serving.conftest import PATIENCE
from tests.serving.opened_place import HOST, desk, place, prepared  # noqa: F401 - fixtures
from webapp.commands import main
from webapp.commands import office as office_command
from webapp.commands import precinct as precinct_command
from webapp.commands.server import tablet_listeners as tablet_options
from webapp.commands.server.mdns_responder import addresses
from webapp.pages.factory import make


def without_words(rule) -> bool:
    return not rule.arguments and "GET" in rule.methods


def test_r23_the_trust_door_knows_no_page_of_the_place(place):  # noqa: F811
    """Every path that the place has, asked for at the trust door: nothing but the page itself."""
    paths = sorted({rule.rule for rule in place.app.url_map.iter_rules() if without_words(rule)} - {"/"})
    assert len(paths) > 15

    assert {path: place.ask("trust", path)[0] for path in paths} == dict.fromkeys(paths, 404)
    assert all(b"<" not in place.ask("trust", path)[2] for path in paths)


def test_r23_the_trust_page_has_no_form_no_field_no_script_and_no_cookie(place):  # noqa: F811
    status, headers, body = place.ask("trust", "/")
    text = body.decode()

    assert status == 200 and "Set-Cookie" not in headers and headers["Cache-Control"] == "no-store"
    assert re.findall(r"<(form|input|textarea|select|button|script|iframe|object|embed)\b", text) == []
    assert "default-src 'none'" in headers["Content-Security-Policy"] and headers["X-Content-Type-Options"] == "nosniff"


def test_r23_the_trust_page_shows_no_figure(place):  # noqa: F811
    """Digits on it are the fingerprint, the ports, its own steps, and names of the place; nothing of the day."""
    text = re.sub(r"<svg.*?</svg>", "", place.ask("trust", "/")[2].decode(), flags=re.DOTALL)
    words = html.unescape(re.sub(r"<[^>]*>", " ", text))
    for known in (
        *place.tablets.place.host.split("."),
        "SHA-256",
        "all 64 characters",
        str(place.port("tablets")),
        *place.app.extensions["room"].doors.fingerprint,
    ):
        words = words.replace(known, " ")

    assert sorted(re.findall(r"\d+", words)) == ["1", "2", "3", "4"]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_r23_nothing_can_be_sent_to_the_trust_door(place, method):  # noqa: F811
    assert place.ask("trust", "/", method)[0] == 405
    assert place.ask("trust", "/", method, b"pin=739152")[0] in (405, 413)


def test_r23_the_trust_page_is_answered_to_head_and_under_any_name_or_number(place):  # noqa: F811
    assert place.ask("trust", "/", "HEAD")[0] == 200
    assert [
        place.ask("trust", "/", headers={"Host": host})[0]
        for host in ("192.168.1.20:8612", "anything.example", "localhost")
    ] == [200] * 3


def test_r23_the_laptops_own_door_answers_on_loopback_only(place):  # noqa: F811
    here = addresses()
    if not here:
        pytest.skip("this computer is on no network, so nothing could reach it from outside")
    with pytest.raises(OSError):
        socket.create_connection((here[0], place.port("laptop")), timeout=PATIENCE)


def test_r23_a_page_asked_for_at_the_tablets_door_without_tls_is_not_answered(place):  # noqa: F811
    with socket.create_connection(("127.0.0.1", place.port("tablets")), timeout=PATIENCE) as one:
        one.sendall(f"GET /people HTTP/1.1\r\nHost: {HOST}\r\n\r\n".encode())
        got = b""
        try:
            while part := one.recv(4096):
                got += part
        except ConnectionResetError:
            pass
    assert b"HTTP" not in got and b"<" not in got


def test_r23_the_trust_door_gives_the_offices_certificate_and_nothing_private(place):  # noqa: F811
    status, headers, body = place.ask("trust", "/authority.crt")

    assert (status, headers["Content-Type"]) == (200, "application/x-x509-ca-cert")
    assert body == place.app.extensions["room"].doors.authority and b"PRIVATE" not in body


def cookies(headers) -> set[str]:
    return {line.partition("=")[0] for line in headers.get_all("Set-Cookie") or ()}


def test_r28_place_and_office_name_their_cookies_by_role_and_port(place, desk):  # noqa: F811
    client = http.client.HTTPConnection("127.0.0.1", desk[1], timeout=PATIENCE)
    client.request("GET", "/people")
    at_desk = cookies(client.getresponse().headers)
    client.close()
    at_place = cookies(place.ask("laptop", "/people")[1])

    assert at_place and at_desk and at_place & at_desk == set()
    assert all("tapeseal-place-" in name for name in at_place) and all("tapeseal-office-" in name for name in at_desk)


def test_r28_the_laptops_door_and_the_tablets_share_no_cookie_name(place):  # noqa: F811
    room = place.app.extensions["room"]
    names = [make(room.settings, room=room, door=door).config["SESSION_COOKIE_NAME"] for door in ("laptop", "tablets")]

    assert names[0] != names[1] and names[1].startswith("__Host-")


def test_r28_a_cookie_of_the_place_opens_nothing_at_the_office(place, desk):  # noqa: F811
    handle = place.ask("laptop", "/people")[1]["Set-Cookie"].partition("=")[2].partition(";")[0]
    sessions = desk[0].extensions["room"].gate.sessions

    assert place.app.extensions["room"].gate.sessions.get(handle, 0) is not None
    assert sessions.get(handle, 0) is None


def test_r28_place_and_office_have_ports_of_their_own(capsys, prepared):  # noqa: F811
    """By default, and where they are given: one port is refused to the second."""
    defaults = [precinct_command.PORT, tablet_options.PORT, tablet_options.TRUST_PORT, office_command.PORT]
    assert len(set(defaults)) == 4

    folder = str(prepared[0] / "places" / "W3")
    assert main(["precinct", folder, "--tablets", "--tablet-port", "8610"]) == 2
    assert "are three doors: give each a number of its own" in capsys.readouterr().err


def test_r28_each_door_answers_to_its_own_name_only(place, desk):  # noqa: F811
    """The tablets' door to the place's host alone, the laptop's and the office's to this computer's own names alone."""
    assert place.ask("tablets", "/pair")[0] == 200
    assert [
        place.ask("tablets", "/pair", headers={"Host": host})[0]
        for host in ("localhost", "127.0.0.1", "office.tarn.example")
    ] == [421] * 3
    assert place.ask("laptop", "/people", headers={"Host": HOST})[0] == 421
    client = http.client.HTTPConnection("127.0.0.1", desk[1], timeout=PATIENCE)
    client.request("GET", "/people", headers={"Host": HOST})
    assert client.getresponse().status == 421
    client.close()
