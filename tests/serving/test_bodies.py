"""How much may be sent. Sizes are those of design sections 10 and 14; chunks as in RFC 9112, section 7.1."""

import time

import pytest

from webapp.serving import wsgi_bridge
from webapp.serving.wsgi_bridge import BODY_LIMIT, FIELDS, STRANGER_LIMIT

from .conftest import PATIENCE, all_of, answer_of

MB = 1024 * 1024


def test_a_body_of_exactly_the_limit_reaches_the_app(echo):
    assert echo("/echo", "POST", b"x" * BODY_LIMIT)["length"] == BODY_LIMIT


def test_one_byte_more_is_refused_in_a_sentence(ask, app):
    status, _, body = ask("/echo", "POST", b"x" * (BODY_LIMIT + 1))

    assert status == 413
    assert (
        body.decode()
        == "This is larger than the 65,536 bytes that may be sent here, and nothing was recorded: send a smaller picture or file."
    )
    assert app.calls == []


def test_a_body_that_only_says_it_is_too_big_is_refused_before_it_is_sent(raw, app):
    assert answer_of(raw(b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9999999999\r\n\r\n"))[0] == 413
    assert app.calls == []


def test_chunks_are_put_together_and_given_a_length(echo):
    seen = echo("/echo", "POST", iter([b"abc", b"d" * 50_000]), {"Transfer-Encoding": "chunked"}, chunked=True)

    assert (seen["length"], seen["head"][:4]) == (50_003, "abcd")
    assert ["Content-Length", "50003"] in seen["headers"]
    assert "Transfer-Encoding" not in dict(seen["headers"])


def test_chunks_of_exactly_the_limit_pass_and_one_byte_more_does_not(limits, ask, app):
    limits(BODY_LIMIT=1000)
    send = lambda last: ask(
        "/echo", "POST", iter([b"x" * 600, b"x" * last]), {"Transfer-Encoding": "chunked"}, chunked=True
    )[0]

    assert (send(400), send(401)) == (200, 413)
    assert app.calls == ["/echo"]


def test_endless_chunks_are_refused_and_the_connection_ends(limits, raw, app):
    limits(BODY_LIMIT=1000, HEAD_SECONDS=0.5)
    one = raw(b"POST /echo HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n")
    try:
        for _ in range(100_000):
            one.sendall(b"400\r\n" + b"x" * 1024 + b"\r\n")
    except OSError:
        pass
    else:
        pytest.fail("a hundred megabytes were taken")
    assert app.calls == []


def test_a_path_that_takes_pictures_takes_more(echo, ask, app):
    app.config["BODY_LIMITS"] = {"/echo/photos": 3 * MB}

    assert echo("/echo/photos", "POST", b"x" * 3 * MB)["length"] == 3 * MB
    assert echo("/echo/photos/one", "POST", b"x" * 3 * MB)["length"] == 3 * MB
    assert ask("/echo/photos", "POST", b"x" * (3 * MB + 1))[0] == 413
    assert ask("/echo/photosandmore", "POST", b"x" * 3 * MB)[0] == 413


def test_large_bodies_take_turns_and_small_ones_pass_them(limits, raw, echo):
    limits(SMALL=1000, LARGE_AT_ONCE=1)
    head = b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5000\r\n\r\n"
    first = raw(head + b"x" * 4000)
    assert echo("/echo", "POST", b"x" * 900)["length"] == 900
    second = raw(head + b"x" * 4000)
    assert echo("/echo", "POST", b"x" * 900)["length"] == 900
    second.sendall(b"x" * 1000)
    second.settimeout(0.3)
    with pytest.raises(TimeoutError):
        second.recv(1)

    first.sendall(b"x" * 1000)
    second.settimeout(PATIENCE)
    assert [answer_of(one)[0] for one in (first, second)] == [200, 200]


def test_a_client_that_asks_first_is_told_to_continue(raw):
    """RFC 9110, section 10.1.1."""
    one = raw(
        b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nExpect: 100-continue\r\nConnection: close\r\n\r\n"
    )
    assert one.recv(100).startswith(b"HTTP/1.1 100 ")

    one.sendall(b"hello")
    assert b'"head":"hello"' in all_of(one)


@pytest.mark.parametrize("length", [b"-1", b"abc", b"1, 2"])
def test_a_length_that_is_no_length_is_turned_away(raw, app, length):
    assert b" 400 " in all_of(raw(b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: " + length + b"\r\n\r\n"))
    assert app.calls == []


FORM = {"Content-Type": "application/x-www-form-urlencoded"}


def test_a_form_of_more_fields_than_any_page_has_is_refused_before_it_is_taken_apart(ask, app):
    assert ask("/echo", "POST", b"&".join([b"a=1"] * FIELDS), FORM)[0] == 200
    status, _, body = ask("/echo", "POST", b"&".join([b"a=1"] * (FIELDS + 1)), FORM)

    assert status == 413 and body.decode().startswith("This form has more than 5,000 fields, and nothing was recorded")
    assert app.calls == ["/echo"]


def test_who_was_not_let_in_sends_no_more_than_a_code_takes_wherever_it_is(ask, app, monkeypatch):
    """Decided by the cookie alone, before the body is read: also where files may be sent, and for chunks, whose length nobody announces."""
    app.config.update(BODY_LIMITS={"/echo/photos": 3 * MB}, LET_IN=lambda cookies: "pass=1" in cookies)
    monkeypatch.setattr(wsgi_bridge, "REFUSED_SECONDS", 0.3)
    begun = time.monotonic()
    assert ask("/echo", "POST", b"x" * (STRANGER_LIMIT + 1))[0] == 413 and time.monotonic() - begun >= 0.3
    for path in ("/echo", "/echo/photos"):
        assert ask(path, "POST", b"x" * STRANGER_LIMIT)[0] == 200
        assert ask(path, "POST", b"x" * (STRANGER_LIMIT + 1))[0] == 413
        assert ask(path, "POST", b"x" * (STRANGER_LIMIT + 1), {"Cookie": "pass=0"})[0] == 413
        assert (
            ask(path, "POST", iter([b"x" * STRANGER_LIMIT, b"x"]), {"Transfer-Encoding": "chunked"}, chunked=True)[0]
            == 413
        )
        assert ask(path, "POST", b"x" * (STRANGER_LIMIT + 1), {"Cookie": "pass=1"})[0] == 200
    assert ask("/echo/photos", "POST", b"x" * 3 * MB, {"Cookie": "pass=1"})[0] == 200
