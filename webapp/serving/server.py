"""The server: one process, one event loop that waits for slow clients, and threads for Flask that never do.

A thread that waits for a half-sent body is a thread less for the person at the tablet, and thirty silent sockets would freeze a polling
place. So a request reaches Flask only when it has arrived whole, within a size and a time; what is slow or too big is met on the loop.
A process has one door or several (the laptop's, the tablets', the one with the certificate); they open and close together, and each has
threads of its own, so that nobody on the network can take those of the laptop. No access log is written: times of ballot kinds must not
survive in one.
"""

import asyncio
import contextlib
import logging
import signal
import socket
import ssl
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import uvicorn

from webapp.serving.connection_limiter import CONNECTIONS, Connection, ConnectionLimiter
from webapp.serving.http_deadline import HEAD_SECONDS, STOPPING, DeadlineProtocol
from webapp.serving.sockets import BACKLOG, _listening, _room_for_files
from webapp.serving.wsgi_bridge import HEAD_BYTES, WsgiBridge

THREADS = 24  # for each door
TICK_SECONDS = 5  # seconds between two looks at what may have changed outside


log = logging.getLogger("webapp.serving.server")


@dataclass(frozen=True, slots=True)
class Listener:
    """One app at one port.

    `tls` gives the context of the next connection; None is plain http. `option` is the command-line option that chooses the port.
    """

    app: Callable[..., Any]
    host: str = "127.0.0.1"
    port: int = 0
    tls: Callable[[], ssl.SSLContext] | None = None
    option: str = "--port"
    per_address: int | None = None  # connections from one address; None: as the porch allows


@dataclass(frozen=True)
class RunningServer:
    """A server in a thread of this process: the port of each listener. `stop` ends it and returns when the ports are free."""

    ports: tuple[int, ...]
    _house: "_Listeners"
    _thread: threading.Thread

    @property
    def port(self) -> int:
        return self.ports[0]

    def stop(self) -> None:
        """Closes all listeners and waits for the server's thread, `STOPPING` + 10 seconds at most."""
        self._house.close()
        self._thread.join(STOPPING + 10)


def serve(
    app: Callable[..., Any],
    host: str,
    port: int,
    ready: Callable[[int], None] = lambda port: None,
    more: Sequence[Listener] = (),
    rounds: Sequence[Callable[[], object]] = (),
) -> None:
    """Serve until SIGTERM or SIGINT. `ready` is called with the first port when every listener answers. Raises PortTaken.

    `more` are further listeners; `rounds` are called one after the other every TICK_SECONDS, in a thread of their own.
    """
    _Listeners([laptop(app, host, port), *more], lambda ports: ready(ports[0]), rounds).run()


def serve_in_thread(
    app: Callable[..., Any],
    host: str = "127.0.0.1",
    port: int = 0,
    more: Sequence[Listener] = (),
    rounds: Sequence[Callable[[], object]] = (),
) -> RunningServer:
    """Serve in a thread (tests, demo, rehearsal); returns when connections are answered. Raises PortTaken."""
    return opened([laptop(app, host, port), *more], rounds)


def opened(doorways: Sequence[Listener], rounds: Sequence[Callable[[], object]] = ()) -> RunningServer:
    """Serve these listeners in a thread; returns when every one answers. Raises PortTaken, or RuntimeError when it stopped at once."""
    up, got = threading.Event(), list[tuple[int, ...]]()

    def answering(ports: tuple[int, ...]) -> None:
        got.append(ports)
        up.set()

    house = _Listeners(doorways, answering, rounds)

    def run() -> None:
        try:
            house.run()
        finally:
            up.set()

    thread = threading.Thread(target=run, name="server", daemon=True)
    thread.start()
    up.wait()
    if not got:
        raise RuntimeError("the server stopped before it had begun: what went wrong is on stderr")
    return RunningServer(got[0], house, thread)


def laptop(app: Callable[..., Any], host: str, port: int) -> Listener:
    """The laptop's own listener. All windows come from one address, so only the total is limited."""
    return Listener(app, host, port, per_address=CONNECTIONS)


class _Listeners:
    """Every listener of this process, opened and closed together. Has its ports from the start, or raises PortTaken and has none."""

    def __init__(
        self,
        doorways: Sequence[Listener],
        ready: Callable[[tuple[int, ...]], None],
        rounds: Sequence[Callable[[], object]],
    ):
        _room_for_files()
        self._ready, self._rounds, self._up = ready, rounds, 0
        self._closing = contextlib.ExitStack()
        with contextlib.ExitStack() as until_all_are_had:
            sockets = [until_all_are_had.enter_context(_listening(one.host, one.port, one.option)) for one in doorways]
            self._closing.push(until_all_are_had.pop_all())
        self.ports = tuple(one.getsockname()[1] for one in sockets)
        pools = [self._closing.enter_context(ThreadPoolExecutor(THREADS, "page")) for _ in doorways]
        self._doors = [
            (_Server(replace(one, port=port), pool, self._one_is_up), each)
            for one, port, pool, each in zip(doorways, self.ports, pools, sockets, strict=True)
        ]

    def run(self) -> None:
        """Serve until `close`, or a signal where this is the main thread."""
        with self._closing, self._signals():
            asyncio.run(self._serve())

    def close(self) -> None:
        """Ask every listener to stop; `run` returns when they have."""
        for server, _ in self._doors:
            server.ask_to_stop()

    async def _serve(self) -> None:
        rounds = asyncio.create_task(self._go_round())
        doors = [asyncio.create_task(server.serve(sockets=[door])) for server, door in self._doors]
        try:
            await asyncio.gather(*doors)
        finally:
            self.close()
            rounds.cancel()
            await asyncio.gather(*doors, rounds, return_exceptions=True)

    async def _go_round(self) -> None:
        with ThreadPoolExecutor(1, "round") as walker:
            while self._rounds:
                for look in self._rounds:
                    try:
                        await asyncio.get_running_loop().run_in_executor(walker, look)
                    except Exception:  # the next round looks again, and the doors stay open
                        log.exception("A look at what may have changed failed")
                await asyncio.sleep(TICK_SECONDS)

    def _one_is_up(self) -> None:
        self._up += 1
        if self._up == len(self._doors):
            self._ready(self.ports)

    @contextlib.contextmanager
    def _signals(self) -> Iterator[None]:
        """Stop on SIGINT and SIGTERM. The library would raise the signal again at the end, and a clean stop would look like a crash."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {number: signal.signal(number, lambda *_: self.close()) for number in endings()}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def endings() -> list[int]:
    """The signals that ask this program to end: also the one of a terminal window that was closed, unless it was started to outlive that."""
    hung_up = getattr(signal, "SIGHUP", None)
    ask = hung_up is not None and signal.getsignal(hung_up) is not signal.SIG_IGN
    return [signal.SIGINT, signal.SIGTERM, *([hung_up] if hung_up and ask else [])]


class _Server(uvicorn.Server):
    """One listener: the library's event loop behind our own accepting."""

    def __init__(self, doorway: Listener, threads: ThreadPoolExecutor, up: Callable[[], None]):
        super().__init__(
            uvicorn.Config(
                WsgiBridge(doorway.app, threads),
                http=DeadlineProtocol,
                ws="none",
                loop="asyncio",
                lifespan="off",
                interface="asgi3",
                log_config=None,
                log_level="error",
                access_log=False,
                timeout_keep_alive=HEAD_SECONDS,
                h11_max_incomplete_event_size=HEAD_BYTES,
                server_header=False,
                date_header=True,
                proxy_headers=False,
                backlog=BACKLOG,
                timeout_graceful_shutdown=STOPPING,
            )
        )
        self._doorway, self._up, self._porch = doorway, up, ConnectionLimiter(per_address=doorway.per_address)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._asked_to_stop = asyncio.Event()
        if hasattr(doorway.app, "config"):
            doorway.app.config["PORT"] = doorway.port

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        loop, self.servers = asyncio.get_running_loop(), []
        if not sockets:
            raise ValueError("a server starts on a socket that listens already")

        def let_in(guest: Connection) -> DeadlineProtocol:
            door = DeadlineProtocol(
                config=self.config, server_state=self.server_state, app_state=self.lifespan.state, _loop=loop
            )
            door.guest = guest
            return door

        self._receiving = loop.create_task(self._porch.receive(sockets[0], let_in, self._doorway.tls))
        self.started = True
        self._up()

    async def main_loop(self) -> None:
        """Do what the library does ten times a second, and end as soon as somebody asks."""
        self._loop, counter = asyncio.get_running_loop(), 0
        while not await self.on_tick(counter):
            counter = (counter + 1) % 864000
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._asked_to_stop.wait(), 0.1)

    def ask_to_stop(self) -> None:
        """From any thread, and from a signal handler."""
        self.should_exit = True
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop is closed: it has stopped
                self._loop.call_soon_threadsafe(self._asked_to_stop.set)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Closes the connections; answers under way get the time that the protocol gives them."""
        self._receiving.cancel()
        await asyncio.gather(self._receiving, return_exceptions=True)
        if self.server_state.connections or self.server_state.tasks:
            await super().shutdown(sockets)  # waits a little for each answer that is on its way
        for one in sockets or []:
            one.close()

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to `_Listeners`."""
        yield
