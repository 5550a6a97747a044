"""Limits the open connections of a listener (200, of them 48 from one address) and closes a TLS handshake after 10 s.

A connection is counted when it is accepted, not at its first request: silent callers would otherwise use up the laptop's sockets. An
address with too many loses its own longest idle connection; a full listener closes the longest idle one of the address that holds the
most. No connection is closed while an answer is being made. A browser opens six connections.
"""

import asyncio
import socket
import ssl
from collections.abc import Callable
from functools import partial
from typing import Any

CONNECTIONS = 200  # at one door
PER_ADDRESS = 48  # of them from one address; a browser opens six
HANDSHAKE_SECONDS = 10
LINGER_SECONDS = (
    60  # for the rest of an answer to be read, and TLS to be closed from the other side, once we have closed it
)
OUT_OF_SOCKETS = 0.1  # seconds to wait when the system has none left


class Connection:
    """One accepted connection. `show_out()` closes it at once, whatever it is doing."""

    def __init__(self, porch: "ConnectionLimiter", address: str):
        self.address, self._porch = address, porch
        self.show_out: Callable[[], object] = lambda: None

    def waits(self) -> None:
        """Mark it idle: no whole request is in, or every request was answered."""
        self._porch.put(self)

    def is_served(self) -> None:
        """Mark it busy: its request is in, and it is not closed for another."""
        self._porch.take(self)

    def leaves(self) -> None:
        """Mark it closed: it counts no longer."""
        self._porch.forget(self)


class ConnectionLimiter:
    """The connections of one listener by client address; the idle ones, longest idle first.

    `most` and `per_address` default to CONNECTIONS and PER_ADDRESS.
    """

    def __init__(self, most: int | None = None, per_address: int | None = None):
        self._most, self._per_address = most, per_address
        self._standing: dict[str, set[Connection]] = {}
        self._waiting: dict[Connection, None] = {}
        self._entering: set[asyncio.Task[None]] = set()

    async def receive(
        self,
        door: socket.socket,
        protocol: Callable[[Connection], asyncio.Protocol],
        tls: Callable[[], ssl.SSLContext] | None,
    ) -> None:
        """Accept connections until cancelled.

        `protocol` makes the protocol of a connection. `tls` gives the TLS context of the next one (None: plain http), so that a newer
        certificate counts from the next connection on.
        """
        loop = asyncio.get_running_loop()
        try:
            while True:
                try:
                    caller, address = await loop.sock_accept(door)
                except OSError:  # the system has no socket left for us
                    self._make_room()
                    await asyncio.sleep(OUT_OF_SOCKETS)
                    continue
                guest = self.greet(address[0])
                entering = loop.create_task(self._let_in(caller, guest, protocol, tls))
                guest.show_out = entering.cancel
                self._entering.add(entering)
                entering.add_done_callback(partial(self._entered, caller=caller, guest=guest))
                await asyncio.sleep(0)
        finally:
            for entering in tuple(self._entering):
                entering.cancel()

    def _entered(self, done: asyncio.Task[None], caller: socket.socket, guest: Connection) -> None:
        """Close a connection whose handshake failed or was cancelled; raise what was no network error.

        A task that is cancelled before its first step can close nothing itself.
        """
        self._entering.discard(done)
        wrong = None if done.cancelled() else done.exception()
        if done.cancelled() or wrong:
            guest.leaves()
            caller.close()
        if wrong and not isinstance(wrong, OSError):
            raise wrong  # a mistake of ours: the event loop logs it

    async def _let_in(
        self,
        caller: socket.socket,
        guest: Connection,
        protocol: Callable[[Connection], asyncio.Protocol],
        tls: Callable[[], ssl.SSLContext] | None,
    ) -> None:
        within: dict[str, Any] = (
            {"ssl": tls(), "ssl_handshake_timeout": HANDSHAKE_SECONDS, "ssl_shutdown_timeout": LINGER_SECONDS}
            if tls
            else {}
        )
        await asyncio.get_running_loop().connect_accepted_socket(lambda: protocol(guest), caller, **within)

    def greet(self, address: str) -> Connection:
        """Count a new connection from this address; an idle one is closed where it is one too many."""
        guest = Connection(self, address)
        self._standing.setdefault(address, set()).add(guest)
        self._waiting[guest] = None
        if len(self._standing[address]) > (self._per_address or PER_ADDRESS):
            self._show_out(address)
        elif sum(map(len, self._standing.values())) > (self._most or CONNECTIONS):
            self._make_room()
        return guest

    def put(self, guest: Connection) -> None:
        """Make this connection the most recently idle one, if it is still counted."""
        if guest in self._standing.get(guest.address, ()):
            self._waiting.pop(guest, None)
            self._waiting[guest] = None

    def take(self, guest: Connection) -> None:
        """Take this connection out of the idle ones."""
        self._waiting.pop(guest, None)

    def forget(self, guest: Connection) -> None:
        """Stop counting this connection."""
        self._waiting.pop(guest, None)
        here = self._standing.get(guest.address, set())
        here.discard(guest)
        if not here:
            self._standing.pop(guest.address, None)

    def _make_room(self) -> None:
        """Close the longest idle connection of the address that holds most idle ones, if any is idle."""
        if self._waiting:
            self._show_out(
                max(self._standing, key=lambda one: sum(guest in self._waiting for guest in self._standing[one]))
            )

    def _show_out(self, address: str) -> None:
        longest = next(guest for guest in self._waiting if guest.address == address)
        self.forget(longest)
        asyncio.get_running_loop().call_soon(lambda: longest.show_out())
