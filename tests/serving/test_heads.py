"""A request's head: its size in one piece, its one length, and what answers carry that reach no page."""

from .conftest import answer_of

BIG = b"X-Much: " + b"x" * 40_000


def test_a_head_larger_than_any_is_refused_though_it_comes_in_one_piece(raw, app):
    status, body = answer_of(raw(b"GET /echo HTTP/1.1\r\nHost: localhost\r\n" + BIG + b"\r\n\r\n"))

    assert status in (400, 431) and b"X" not in body[:1] and app.calls == []


def test_a_length_beside_chunks_is_turned_away(raw, app):
    """RFC 9112, section 6.1: such a message may be an attempt to smuggle a request."""
    status, _ = answer_of(
        raw(
            b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n"
            b"5\r\nabcde\r\n0\r\n\r\n"
        )
    )
    assert status == 400 and app.calls == []


def test_what_is_turned_away_is_stored_by_no_browser(raw):
    one = raw(b"nothing of HTTP\r\n\r\n")
    head = b""
    while b"\r\n\r\n" not in head:
        head += one.recv(65536)

    assert head.split()[1] == b"400" and b"cache-control: no-store" in head.lower()


def test_trace_is_not_answered(raw, app):
    status, body = answer_of(raw(b"TRACE /echo HTTP/1.1\r\nHost: localhost\r\nX-Secret: one\r\n\r\n"))

    assert status == 405 and b"X-Secret" not in body
