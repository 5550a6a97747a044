"""Starting and stopping: one sentence for a taken port, a clean end on a signal, nothing left behind by a kill."""

import os
import signal
import socket
import subprocess
import sys
import textwrap
import time

import pytest

from webapp.serving import server as serving
from webapp.serving import sockets

from .conftest import HALF_BODY, PATIENCE

SERVER = textwrap.dedent("""
    from webapp.serving import server
    from tests.serving.conftest import small_app
    app = small_app()
    server.serve(app, "127.0.0.1", 0, lambda port: print(port, app.config["PORT"], flush=True))
    print("stopped", flush=True)
""")

posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no such signals")


@pytest.fixture
def process():
    """A server in a process of its own, and its port."""
    child = subprocess.Popen([sys.executable, "-c", SERVER], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    port = int(child.stdout.readline().split()[0])
    yield child, port
    child.kill()
    child.communicate()


def connected(port: int, sent: bytes) -> socket.socket:
    one = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
    one.sendall(sent)
    return one


def get(port: int) -> bytes:
    with connected(port, b"GET /echo HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n") as one:
        return one.recv(15)


def test_a_port_of_zero_picks_a_free_one_and_the_app_is_told(app):
    server = serving.serve_in_thread(app)
    try:
        assert server.port > 0 and app.config["PORT"] == server.port
        assert get(server.port).startswith(b"HTTP/1.1 200")
    finally:
        server.stop()


def test_a_taken_port_is_refused_in_one_sentence_that_names_it(app):
    server = serving.serve_in_thread(app)
    try:
        for start in (
            lambda: serving.serve_in_thread(app, port=server.port),
            lambda: serving.serve(app, "127.0.0.1", server.port),
            lambda: sockets.have("127.0.0.1", server.port),
        ):
            with pytest.raises(sockets.PortTaken, match=f"^Port {server.port} on 127.0.0.1 cannot be had .*--port.$"):
                start()
    finally:
        server.stop()


def test_a_stopped_server_leaves_its_port_free(app):
    first = serving.serve_in_thread(app)
    assert get(first.port).startswith(b"HTTP/1.1 200")
    first.stop()

    second = serving.serve_in_thread(app, port=first.port)
    try:
        assert get(second.port).startswith(b"HTTP/1.1 200")
    finally:
        second.stop()


def test_stopping_waits_for_no_half_sent_body(app):
    server = serving.serve_in_thread(app)
    held = [connected(server.port, sent) for sent in (b"", HALF_BODY, HALF_BODY)]
    assert get(server.port).startswith(b"HTTP/1.1 200")
    server.stop()

    assert not server._thread.is_alive()
    for one in held:
        one.close()


@posix
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_cleanly(process, number):
    child, port = process
    assert get(port).startswith(b"HTTP/1.1 200")
    with connected(port, HALF_BODY):
        child.send_signal(number)
        out, err = child.communicate(timeout=PATIENCE)

    assert (child.returncode, out, err) == (0, "stopped\n", "")


@posix
def test_no_child_outlives_a_kill(process):
    child, port = process
    assert get(port).startswith(b"HTTP/1.1 200")
    children = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(child.pid)], capture_output=True, text=True
    ).stdout.split()
    child.kill()
    child.wait()

    assert children == []
    free_again(port)


def free_again(port: int) -> None:
    until = time.monotonic() + PATIENCE
    while True:
        try:
            return sockets.have("127.0.0.1", port)
        except sockets.PortTaken:
            assert time.monotonic() < until, f"port {port} is still taken"
            time.sleep(0.05)


@posix
def test_nothing_is_logged_of_a_request(process):
    """Times of ballot kinds must not survive in a log."""
    child, port = process
    for _ in range(3):
        get(port)
    with connected(port, b"nonsense\r\n\r\n") as one:
        one.recv(15)
    child.terminate()
    out, err = child.communicate(timeout=PATIENCE)

    assert (out, err) == ("stopped\n", "")


FEW = "import resource; resource.setrlimit(resource.RLIMIT_NOFILE, (40, {most}))\n"


def few_files(most: int):
    """The server of this file where the system gives 40 open files, and at most so many when asked."""
    child = subprocess.Popen(
        [sys.executable, "-c", FEW.format(most=most) + SERVER],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    return child, int(child.stdout.readline().split()[0])


@posix
@pytest.mark.parametrize("most", [40, 4096])
def test_callers_who_use_up_the_systems_sockets_do_not_keep_the_next_one_out(most):
    """Where the system gives more when asked, it is asked; where it does not, the longest-waiting are shown out."""
    child, port = few_files(most)
    try:
        held = [connected(port, b"") for _ in range(60)]
        assert get(port).startswith(b"HTTP/1.1 200")
        if most > 40:
            held[0].settimeout(0.05)
            with pytest.raises(TimeoutError):
                held[0].recv(1)
        for one in held:
            one.close()
        assert get(port).startswith(b"HTTP/1.1 200")
    finally:
        child.kill()
        child.communicate()


def test_a_look_that_fails_is_looked_again_and_the_doors_stay_open(app, monkeypatch, caplog):
    monkeypatch.setattr(serving, "TICK_SECONDS", 0.02)
    looks = []

    def look():
        looks.append(1)
        raise OSError("the disk takes nothing more")

    server = serving.opened([serving.laptop(app, "127.0.0.1", 0)], (look,))
    try:
        until = time.monotonic() + PATIENCE
        while len(looks) < 3 and time.monotonic() < until:
            time.sleep(0.02)
        assert len(looks) >= 3 and get(server.port).startswith(b"HTTP/1.1 200")
        assert "A look at what may have changed failed" in caplog.text
    finally:
        server.stop()
