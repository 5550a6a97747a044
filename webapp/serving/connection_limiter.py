"""In front of a door: who may stand there before anything was asked, and the handshake of TLS within its time.

Whoever connects is counted from the first moment, not from the first request: silent callers would otherwise use up the laptop's sockets
before anybody looked at them. An address that holds too many loses its own longest-waiting one, and a full house shows out the
longest-waiting of the address that holds the most. Nobody is shown out while an answer is being made.
"""

import asyncio
import socket
import ssl
from collections.abc import Callable

CONNECTIONS = 200  # at one door
PER_ADDRESS = 48  # of them from one address; a browser opens six
HANDSHAKE_SECONDS = 10
LINGER_SECONDS = (
    60  # for the rest of an answer to be read, and TLS to be closed from the other side, once we have closed it
)
OUT_OF_SOCKETS = 0.1  # seconds to wait when the system has none left


class Connection:
    """One connection. `show_out` closes it at once, whatever it is at."""

    def __init__(self, porch: "ConnectionLimiter", address: str):
        self.address, self._porch = address, porch
        self.show_out: Callable[[], object] = lambda: None

    def waits(self) -> None:
        """Nothing whole has been asked yet, or all was answered."""
        self._porch.put(self)

    def is_served(self) -> None:
        """Its request is in, and nobody shows it out."""
        self._porch.take(self)

    def leaves(self) -> None:
        self._porch.forget(self)


class ConnectionLimiter:
    """The guests of one door, by address; those who wait, the longest first."""

    def __init__(self, most: int | None = None, per_address: int | None = None):
        self._most, self._per_address = most, per_address
        self._standing: dict[str, set[Connection]] = {}
        self._waiting: dict[Connection, None] = {}
        self._entering: set[asyncio.Task] = set()

    async def receive(
        self,
        door: socket.socket,
        protocol: Callable[[Connection], asyncio.Protocol],
        tls: Callable[[], ssl.SSLContext] | None,
    ) -> None:
        """Let in whoever comes, until cancelled. `tls` is asked anew for each, so that a newer certificate counts from the next connection on."""
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
                entering.add_done_callback(lambda done, caller=caller, guest=guest: self._entered(done, caller, guest))
                await asyncio.sleep(0)
        finally:
            for entering in tuple(self._entering):
                entering.cancel()

    def _entered(self, done: asyncio.Task, caller: socket.socket, guest: Connection) -> None:
        """Whoever did not come in leaves, however that ended: a task that is cancelled before its first step can close nothing itself."""
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
        within = (
            {"ssl": tls(), "ssl_handshake_timeout": HANDSHAKE_SECONDS, "ssl_shutdown_timeout": LINGER_SECONDS}
            if tls
            else {}
        )
        await asyncio.get_running_loop().connect_accepted_socket(lambda: protocol(guest), caller, **within)

    def greet(self, address: str) -> Connection:
        """A new guest; another is shown out where this is one too many."""
        guest = Connection(self, address)
        self._standing.setdefault(address, set()).add(guest)
        self._waiting[guest] = None
        if len(self._standing[address]) > (self._per_address or PER_ADDRESS):
            self._show_out(address)
        elif sum(map(len, self._standing.values())) > (self._most or CONNECTIONS):
            self._make_room()
        return guest

    def put(self, guest: Connection) -> None:
        if guest in self._standing.get(guest.address, ()):
            self._waiting.pop(guest, None)
            self._waiting[guest] = None

    def take(self, guest: Connection) -> None:
        self._waiting.pop(guest, None)

    def forget(self, guest: Connection) -> None:
        self._waiting.pop(guest, None)
        here = self._standing.get(guest.address, set())
        here.discard(guest)
        if not here:
            self._standing.pop(guest.address, None)

    def _make_room(self) -> None:
        """The longest-waiting of the address that holds the most goes, if anybody waits."""
        if self._waiting:
            self._show_out(
                max(self._standing, key=lambda one: sum(guest in self._waiting for guest in self._standing[one]))
            )

    def _show_out(self, address: str) -> None:
        longest = next(guest for guest in self._waiting if guest.address == address)
        self.forget(longest)
        asyncio.get_running_loop().call_soon(lambda: longest.show_out())
