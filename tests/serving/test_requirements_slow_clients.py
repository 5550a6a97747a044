"""R30: 30 silent sockets, 30 half-sent headers and 30 half-sent bodies cost nobody else an answer, at any of the three doors.

How long the others wait is measured by `tests/benchmarks/slow_sockets.py`; here it is held that every one of them is answered.
"""

import contextlib
import socket
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.serving.conftest import HALF_BODY, HALF_HEAD, PATIENCE, all_of, small_app, trusting
from tests.serving.opened_place import DOORS, HOST, place, prepared  # noqa: F401 - fixtures
from webapp.serving import connection_limiter, server

HEAD = f"GET /pair HTTP/1.1\r\nHost: {HOST}\r\nX-Half".encode()
BODY = f"POST /pair HTTP/1.1\r\nHost: {HOST}\r\nContent-Length: 100\r\n\r\nonly half of".encode()


@pytest.fixture
def holding():
    """A function: port, what is sent, the client's TLS or none, its own address -> a socket left open until the test is over."""
    open_ones = []

    def hold(port: int, sent: bytes = b"", context=None, source: str = "127.0.0.1", host: str = HOST) -> socket.socket:
        one = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE, source_address=(source, 0))
        open_ones.append(one)
        if context:
            one = context.wrap_socket(one, server_hostname=host)
            open_ones.append(one)
        one.sendall(sent)
        return one

    yield hold
    for one in open_ones:
        one.close()


def test_r30_thirty_of_each_at_the_tablets_door_leave_every_door_answering(place, holding):  # noqa: F811
    """Silent before the handshake, silent after it, half a header, half a body; then 60 requests, all answered."""
    port, context = place.port("tablets"), trusting(place.tablets.watched.shown)
    for _ in range(30):
        holding(port)
        for sent in (b"", HEAD, BODY):
            holding(port, sent, context)
    paths = {"laptop": "/people", "tablets": "/pair", "trust": "/"}
    with ThreadPoolExecutor(12) as people:
        answers = list(people.map(lambda n: place.ask(DOORS[n % 3], paths[DOORS[n % 3]])[0], range(60)))

    assert answers == [200] * 60


@pytest.mark.parametrize("door", ["laptop", "trust"])
def test_r30_thirty_of_each_at_a_plain_door_leave_it_answering(place, holding, door):  # noqa: F811
    for _ in range(30):
        for sent in (b"", HALF_HEAD, HALF_BODY):
            holding(place.port(door), sent)

    assert [place.ask(door, {"laptop": "/people", "trust": "/"}[door])[0] for _ in range(10)] == [200] * 10


def test_a_caller_who_never_begins_the_handshake_is_shown_out_after_its_time(monkeypatch, place, holding):  # noqa: F811
    monkeypatch.setattr(connection_limiter, "HANDSHAKE_SECONDS", 0.3)

    assert all_of(holding(place.port("tablets"))) == b""


def test_what_is_no_handshake_ends_the_connection_and_nothing_else(place, holding):  # noqa: F811
    for sent in (
        b"\x16\x03\x01\x00\x05hello",
        b"\x00" * 100,
        b"GET / HTTP/1.0\r\n\r\n",
        b"\x16\x03\x03\xff\xff" + b"x" * 20_000,
    ):
        one = holding(place.port("tablets"))
        with contextlib.suppress(OSError):
            one.sendall(sent)
            one.shutdown(socket.SHUT_WR)
        all_of(one)

    assert place.ask("tablets", "/pair")[0] == 200


def test_an_address_that_holds_too_many_loses_its_own_longest_waiting_one(monkeypatch, place, holding):  # noqa: F811
    monkeypatch.setattr(connection_limiter, "PER_ADDRESS", 5)
    first, *others = [holding(place.port("trust"), HALF_HEAD) for _ in range(5)]
    newest = holding(place.port("trust"), HALF_HEAD)

    assert all_of(first) == b""
    for one in (*others, newest):
        one.settimeout(0.05)
        with pytest.raises(TimeoutError):
            one.recv(1)


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="other systems give a program no second address on loopback"
)
def test_one_address_that_floods_the_house_costs_another_nothing(monkeypatch, place, holding):  # noqa: F811
    """Who waits at the address with the most is shown out, so a tablet that merely keeps its line open stays."""
    monkeypatch.setattr(connection_limiter, "CONNECTIONS", 20)
    port, context = place.port("tablets"), trusting(place.tablets.watched.shown)
    tablet = holding(port, f"GET /pair HTTP/1.1\r\nHost: {HOST}\r\n\r\n".encode(), context, "127.0.0.2")
    assert tablet.recv(15) == b"HTTP/1.1 200 OK"
    for _ in range(40):
        holding(port)

    rest = tablet.recv(65536)
    tablet.sendall(f"GET /pair HTTP/1.1\r\nHost: {HOST}\r\nConnection: close\r\n\r\n".encode())
    assert rest and b"HTTP/1.1 200 OK" in all_of(tablet)


def test_threads_of_one_door_are_not_taken_by_another():
    """Twenty-four pages that take long at the second door; the first still answers."""
    slow, quick = small_app(), small_app()
    running = server.opened([server.laptop(quick, "127.0.0.1", 0), server.Listener(slow)])
    try:
        with ThreadPoolExecutor(30) as people:
            ask = "GET /wait HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n".encode()

            def wait() -> bytes:
                with socket.create_connection(("127.0.0.1", running.ports[1]), timeout=PATIENCE) as one:
                    one.sendall(ask)
                    return all_of(one)

            waiting = [people.submit(wait) for _ in range(26)]
            with socket.create_connection(("127.0.0.1", running.port), timeout=PATIENCE) as one:
                one.sendall(b"GET /echo HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
                assert all_of(one).startswith(b"HTTP/1.1 200")
            slow.gate.set()
            assert all(b"waited" in each.result() for each in waiting)
    finally:
        slow.gate.set()
        running.stop()
