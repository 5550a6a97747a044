"""uvicorn's HTTP/1.1 connection with a deadline on the head of each request.

The library waits without end for a first byte or the rest of a header. Here the head has HEAD_SECONDS, the connection limiter learns
whether the connection is idle or busy, and a stop does not wait for bodies that are still on their way.
"""

import asyncio
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from webapp.serving.connection_limiter import LINGER_SECONDS, Connection
from webapp.serving.wsgi_bridge import GUARDS

HEAD_SECONDS = 15  # from the connection, or the last answer, to the end of the next request's head
STOPPING = 5  # seconds for answers under way when the server is stopped
FAREWELL = 1  # of them for those who only keep their line open

NOT_HTTP = "This is not a request as browsers send it: open the link shown on the laptop's screen."
TOO_SLOW = "The request did not arrive in time: load the page again."


class DeadlineProtocol(H11Protocol):
    """An HTTP/1.1 connection that closes when the head of a request takes longer than HEAD_SECONDS.

    Overrides public methods of the library; reads its `cycle`, `conn` and `connections`, which are looked over at each new version.
    """

    _timer: asyncio.TimerHandle | None = None
    guest: Connection

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the library has it
        super().connection_made(transport)
        self.guest.show_out = transport.abort
        self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._head_is_in()
        self.guest.leaves()
        super().connection_lost(exc)

    def handle_events(self) -> None:
        super().handle_events()
        if self._answering:
            self._head_is_in()
            if not self.cycle.more_body:
                self.guest.is_served()

    def on_response_complete(self) -> None:
        self._await_head()
        super().on_response_complete()

    def shutdown(self) -> None:
        """Ends the connection: at once while a body is still arriving, else once the answer is out, `STOPPING` seconds at most."""
        if self._answering and self.cycle.more_body:
            self.transport.abort()
            return
        self.loop.call_later(STOPPING - 1 if self._answering else FAREWELL, self.transport.abort)
        if not self.transport.is_closing():
            super().shutdown()

    def timeout_keep_alive_handler(self) -> None:
        super().timeout_keep_alive_handler()
        self.loop.call_later(LINGER_SECONDS, self.transport.abort)

    def send_400_response(self, msg: str) -> None:
        self._turn_away(400, NOT_HTTP)

    @property
    def _answering(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _await_head(self) -> None:
        self._head_is_in()
        self.guest.waits()
        if not self.transport.is_closing():
            self._timer = self.loop.call_later(HEAD_SECONDS, self._head_is_late)

    def _head_is_in(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _head_is_late(self) -> None:
        if self.conn.trailing_data[0] and self.conn.our_state is h11.IDLE:
            self._turn_away(408, TOO_SLOW)
        else:
            self.transport.abort()

    def _turn_away(self, status: int, sentence: str) -> None:
        """Answer with one sentence of plain text, and close: for bytes that are no request, or come too late."""
        body = sentence.encode()
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            headers: list[tuple[str, Any]] = [
                ("content-type", "text/plain; charset=utf-8"),
                ("content-length", str(len(body))),
                ("connection", "close"),
                ("cache-control", "no-store"),
                *GUARDS,
            ]
            for event in (h11.Response(status_code=status, headers=headers), h11.Data(data=body), h11.EndOfMessage()):
                self.transport.write(self.conn.send(event) or b"")
        self.transport.close()
        self.loop.call_later(LINGER_SECONDS, self.transport.abort)
