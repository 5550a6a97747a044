"""The server: one process, one event loop that waits for slow clients, and 24 threads for Flask that never do.

A thread that waits for a half-sent body is a thread less for the person at the tablet, and thirty silent sockets would freeze a polling
place. So a request reaches Flask only when it has arrived whole, within a size and a time; what is slow or too big is met on the loop.
No access log is written: times of ballot kinds must not survive in one.
"""

import asyncio
import contextlib
import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import uvicorn

from webapp.bridge import Bridge
from webapp.door import HEAD_SECONDS, Door

THREADS = 24
BACKLOG = 128
HEAD_BYTES = 32 * 1024              # of a request's line and headers
STOPPING = 5                        # seconds for answers under way when the server is stopped


class PortTaken(Exception):
    """The port cannot be had: one sentence naming it."""


@dataclass(frozen=True)
class Running:
    """A server in a thread of this process. `stop` ends it and waits until its port is free."""

    port: int
    _server: uvicorn.Server
    _thread: threading.Thread

    def stop(self) -> None:
        self._server.should_exit = True
        self._thread.join(STOPPING + 10)


def serve(app: Callable, host: str, port: int, ready: Callable[[int], None] = lambda port: None) -> None:
    """Serve until SIGTERM or SIGINT; `ready` is told the port when connections are answered. Raises PortTaken."""
    with _listening(host, port) as door, ThreadPoolExecutor(THREADS, "page") as threads:
        _Server(app, door, threads, ready).run(sockets=[door])


def serve_in_thread(app: Callable, host: str = "127.0.0.1", port: int = 0) -> Running:
    """Serve beside what this process does otherwise (tests, demo, rehearsal); returns when connections are answered. Raises PortTaken."""
    door = _listening(host, port)
    up, got = threading.Event(), []
    threads = ThreadPoolExecutor(THREADS, "page")
    server = _Server(app, door, threads, lambda port: (got.append(port), up.set()))

    def run() -> None:
        try:
            with door, threads:
                server.run(sockets=[door])
        finally:
            up.set()

    thread = threading.Thread(target=run, name="server", daemon=True)
    thread.start()
    up.wait()
    if not got:
        raise RuntimeError("the server stopped before it had begun: what went wrong is on stderr")
    return Running(got[0], server, thread)


def have(host: str, port: int) -> None:
    """Raises PortTaken now, before a record is opened for a server that could not answer."""
    _listening(host, port).close()


class _Server(uvicorn.Server):
    """Tells when it is ready, and stops with exit code 0 on SIGTERM and SIGINT."""

    def __init__(self, app: Callable, door: socket.socket, threads: ThreadPoolExecutor, ready: Callable[[int], None]):
        bridge = Bridge(app, threads)
        super().__init__(uvicorn.Config(
            bridge, http=Door, ws="none", loop="asyncio", lifespan="off", interface="asgi3", log_config=None, log_level="error", access_log=False,
            timeout_keep_alive=HEAD_SECONDS, h11_max_incomplete_event_size=HEAD_BYTES, server_header=False, date_header=True, proxy_headers=False,
            backlog=BACKLOG, timeout_graceful_shutdown=STOPPING))
        self._port = door.getsockname()[1]
        self._ready = ready
        if hasattr(app, "config"):
            app.config["PORT"] = self._port

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self._ready(self._port)

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """The library raises a caught signal again at the end, which would make a clean stop look like a crash."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {number: signal.signal(number, self.handle_exit) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def _listening(host: str, port: int) -> socket.socket:
    """A bound socket; no second server can share its port. Named as TCP, or the event loop would let small answers wait for an acknowledgement."""
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "nt":
        door.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((host, port))
        door.listen(BACKLOG)
    except OSError as wrong:
        door.close()
        raise PortTaken(f"Port {port} on {host} cannot be had ({os.strerror(wrong.errno) if wrong.errno else wrong}): "
                        "stop the other program that uses it, or give another with --port.") from wrong
    door.setblocking(False)
    return door
