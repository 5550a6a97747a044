"""Whoever is slow, silent or half gone costs nobody else an answer. No speed is asserted: only that answers come."""

from concurrent.futures import ThreadPoolExecutor

from .conftest import HALF_BODY, HALF_HEAD, all_of, answer_of


def test_thirty_silent_thirty_half_heads_and_thirty_half_bodies_leave_the_others_answered(raw, ask, app):
    held = [raw(sent) for sent in (b"", HALF_HEAD, HALF_BODY) for _ in range(30)]

    with ThreadPoolExecutor(20) as people:
        answers = list(people.map(lambda n: ask("/echo", "POST", b"x" * n), range(60)))

    assert len(held) == 90
    assert [status for status, _, _ in answers] == [200] * 60
    assert len(app.calls) == 60


def test_a_half_sent_head_is_answered_after_its_time_and_never_reaches_the_app(limits, raw, app):
    limits(HEAD_SECONDS=0.3)

    assert b" 408 " in all_of(raw(HALF_HEAD))
    assert app.calls == []


def test_a_silent_connection_is_closed_after_its_time(limits, raw):
    limits(HEAD_SECONDS=0.3)

    assert all_of(raw()) == b""


def test_a_second_request_that_is_half_sent_has_the_same_time(limits, raw):
    limits(HEAD_SECONDS=0.3)
    one = raw(b"GET /echo HTTP/1.1\r\nHost: localhost\r\n\r\n")
    assert answer_of(one)[0] == 200

    one.sendall(HALF_HEAD)
    assert b" 408 " in all_of(one)


def test_a_half_sent_body_is_answered_after_its_time_and_never_reaches_the_app(limits, raw, app):
    limits(BODY_SECONDS=0.3, BODY_LIMIT=1024)
    status, body = answer_of(raw(HALF_BODY))

    assert status == 408
    assert body.decode() == "What was sent did not arrive whole in time, and nothing was recorded: send it again."
    assert app.calls == []


def test_a_client_that_leaves_half_way_is_forgotten(raw, ask, app):
    raw(HALF_BODY).close()

    assert ask("/echo")[0] == 200
    assert app.calls == ["/echo"]


def test_a_full_house_shows_out_the_one_that_has_been_unfinished_for_longest(limits, raw, ask):
    limits(CONNECTIONS=10)
    first = raw(HALF_BODY)
    others = [raw(sent) for sent in (b"", HALF_HEAD, HALF_BODY) for _ in range(3)]

    assert ask("/echo")[0] == 200
    assert all_of(first) == b""
    others[0].sendall(b"GET /echo HTTP/1.1\r\nHost: localhost\r\n\r\n")
    assert answer_of(others[0])[0] == 200


def test_a_full_house_shows_nobody_out_whose_answer_is_being_made(limits, raw, ask, app):
    limits(CONNECTIONS=5)
    one = raw(b"GET /wait HTTP/1.1\r\nHost: localhost\r\n\r\n")
    assert ask("/echo")[0] == 200
    silent = [raw() for _ in range(5)]

    assert ask("/echo")[0] == 200
    app.gate.set()
    assert answer_of(one) == (200, b"waited")
    assert len(silent) == 5


def test_pages_that_take_long_do_not_keep_bodies_from_being_read(ask, app):
    """All threads but one are busy; the next form is still read, and answered when its turn comes."""
    with ThreadPoolExecutor(24) as people:
        waiting = [people.submit(ask, "/wait") for _ in range(23)]
        assert ask("/echo", "POST", b"x")[0] == 200
        app.gate.set()
        assert {w.result()[0] for w in waiting} == {200}
