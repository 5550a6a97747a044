"""Joins the event loop to Flask (ASGI to WSGI, PEP 3333): a request crosses only when it is whole.

The body is read on the loop, within a size and a time; then a thread runs the app and the answer goes back in one piece. Bodies over
SMALL bytes (photos, PDFs) take turns, LARGE_AT_ONCE of them, so that a few half-sent ones cannot fill the memory. A client that was not
admitted sends STRANGER_LIMIT bytes at most: its cookie alone decides that, before the body is read, and the refusal comes late.
"""

import asyncio
import logging
import random
import re
from collections.abc import Awaitable, Callable, Iterable, Mapping
from concurrent.futures import Executor
from io import BytesIO
from typing import Any
from urllib.parse import unquote_to_bytes

BODY_LIMIT = 64 * 1024  # bytes of a form; app.config["BODY_LIMITS"] = {"/path": bytes} raises it below a path
STRANGER_LIMIT = 4096  # bytes from somebody who was not let in, wherever they are sent
REFUSED_SECONDS = 2  # at the least, and twice that at the most, until a stranger hears that a body was too big: who sends one after the other slows nobody else
FIELDS = 5000  # fields of one form: the largest page here has some hundreds
HEAD_BYTES = 32 * 1024  # of a request's line and headers
BODY_SECONDS = 20  # and one more for each 128 kB the path allows
SMALL = 64 * 1024
LARGE_AT_ONCE = 8
LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})
HOST = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9.-]+)(:[0-9]{1,5})?")

GUARDS = (
    ("Content-Security-Policy", "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'"),
    ("X-Content-Type-Options", "nosniff"),
)
"""On every answer, also on those that never reach a page."""

Answer = tuple[int, list[tuple[bytes, bytes]], bytes]
log = logging.getLogger("webapp.serving.server")


class WsgiBridge:
    """The ASGI side of one WSGI app.

    `app.config` may hold BODY_LIMITS ({"/path": bytes}), HOSTS (names it answers to), LOOPBACK (False: not to the loopback names), ANY_HOST
    (True: to every name and address) and LET_IN (Cookie header -> whether the client was admitted; without it everybody is).
    """

    def __init__(self, app: Callable[..., Any], threads: Executor):
        self._app = app
        self._threads = threads
        self._large = asyncio.Semaphore(LARGE_AT_ONCE)

    async def __call__(
        self, scope: Mapping[str, Any], receive: Callable[[], Awaitable[Any]], send: Callable[[Any], Awaitable[Any]]
    ) -> None:
        config = getattr(self._app, "config", {})
        answer = unfit_head(scope) or misdirected(scope, names_of(config))
        if answer is None:
            limit = await self._limit(scope, config)
            body = await self._whole(scope, receive, limit)
            if body is None:
                return
            if isinstance(body, tuple) and limit <= STRANGER_LIMIT and config.get("LET_IN"):
                await asyncio.sleep(
                    REFUSED_SECONDS * (1 + random.random())
                )  # not all at one moment; nothing else is done meanwhile: no thread, no byte of the rest
            answer = (
                body
                if isinstance(body, tuple)
                else await asyncio.get_running_loop().run_in_executor(self._threads, self._run, environ(scope, body))
            )
        status, headers, content = answer
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": content})

    async def _limit(self, scope: Mapping[str, Any], config: Mapping[str, Any]) -> int:
        """The body limit of this request in bytes. The gate is asked only where more than STRANGER_LIMIT is announced."""
        limit, let_in = limit_of(scope["path"], config.get("BODY_LIMITS", {})), config.get("LET_IN")
        if (
            let_in is None
            or limit <= STRANGER_LIMIT
            or (length := declared(scope)) is not None
            and length <= STRANGER_LIMIT
        ):
            return limit
        cookies = "; ".join(value.decode("latin-1") for name, value in scope["headers"] if name == b"cookie")
        known = bool(cookies) and await asyncio.get_running_loop().run_in_executor(self._threads, let_in, cookies)
        return limit if known else STRANGER_LIMIT

    async def _whole(
        self, scope: Mapping[str, Any], receive: Callable[[], Awaitable[Any]], limit: int
    ) -> bytes | Answer | None:
        """The body; or the answer that refuses it; or None when the client has gone."""
        if (declared(scope) or 0) > limit:
            return too_big(limit)
        body, turn = bytearray(), False
        try:
            async with asyncio.timeout(BODY_SECONDS + limit / 131072):
                while True:
                    message = await receive()
                    if message["type"] == "http.disconnect":
                        return None
                    body += message["body"]
                    if len(body) > limit:
                        return too_big(limit)
                    if not message["more_body"]:
                        return too_many(scope, body) or bytes(body)
                    if len(body) > SMALL and not turn:
                        turn = await self._large.acquire()
        except TimeoutError:
            return plain_answer(
                408, "What was sent did not arrive whole in time, and nothing was recorded: send it again."
            )
        finally:
            if turn:
                self._large.release()

    def _run(self, env: dict[str, Any]) -> Answer:
        """The app's whole answer; runs in a thread."""
        try:
            return answered(self._app, env)
        except Exception:
            log.exception("The app could not answer")
            return plain_answer(
                500,
                "This page could not be made. What has an entry number is kept; look in the record before doing it again.",
            )


def answered(app: Callable[..., Any], env: dict[str, Any]) -> Answer:
    """Call a WSGI app (PEP 3333) and collect status, headers and body of its answer."""
    started: list[Any] = []
    parts: list[bytes] = []

    def start_response(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> Callable[[bytes], None]:
        started[:] = [int(status[:3]), headers]
        return parts.append

    chunks: Iterable[bytes] = app(env, start_response)
    try:
        parts.extend(chunks)
    finally:
        if hasattr(chunks, "close"):
            chunks.close()
    status, headers = started
    return framed(status, headers, b"".join(parts), env["REQUEST_METHOD"] == "HEAD")


def framed(status: int, headers: Iterable[tuple[str, str]], content: bytes, head: bool) -> Answer:
    """The headers as bytes, with the true length: none for 204 and 304, the app's own for HEAD (RFC 9110, 8.6)."""
    bare = status in (204, 304) or status < 200
    drop = {"connection", "transfer-encoding", "keep-alive"} | (set() if head and not bare else {"content-length"})
    kept = [
        (name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers if name.lower() not in drop
    ]
    if bare or head:
        return status, kept, b""
    return status, [*kept, (b"content-length", str(len(content)).encode())], content


def environ(scope: Mapping[str, Any], body: bytes) -> dict[str, Any]:
    """The WSGI environ of a request (PEP 3333): bytes as latin-1 text, repeated headers joined by commas, cookies by semicolons."""
    host, port = scope["server"] or ("localhost", 0)
    env: dict[str, Any] = {
        "REQUEST_METHOD": scope["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": unquote_to_bytes(scope["raw_path"]).decode("latin-1"),
        "QUERY_STRING": scope["query_string"].decode("latin-1"),
        "SERVER_NAME": host,
        "SERVER_PORT": str(port),
        "SERVER_PROTOCOL": f"HTTP/{scope['http_version']}",
        "REMOTE_ADDR": (scope["client"] or ("",))[0],
        "CONTENT_LENGTH": str(len(body)),
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope["scheme"],
        "wsgi.input": BytesIO(body),
        "wsgi.errors": _Errors(),
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    for raw, value in scope["headers"]:
        name = raw.decode("latin-1").upper()
        if "_" in name or name in ("CONTENT-LENGTH", "TRANSFER-ENCODING", "PROXY"):
            continue  # X_Y would pass for X-Y; a Proxy header for a setting
        key = name.replace("-", "_")
        key = key if key == "CONTENT_TYPE" else f"HTTP_{key}"
        text = value.decode("latin-1")
        env[key] = f"{env[key]}{'; ' if key == 'HTTP_COOKIE' else ','}{text}" if key in env else text
    return env


def names_of(config: Mapping[str, Any]) -> frozenset[str] | None:
    """The host names an app answers to, in lower case; None for any."""
    if config.get("ANY_HOST"):
        return None
    return frozenset(host.lower() for host in config.get("HOSTS", ())) | (
        LOOPBACK if config.get("LOOPBACK", True) else frozenset()
    )


def misdirected(scope: Mapping[str, Any], names: frozenset[str] | None) -> Answer | None:
    """The answer 421 when the Host header names none of this app's hosts; None when it does.

    So no foreign page reaches in under a name of its own (DNS rebinding).
    """
    named = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"host"), "")
    match = HOST.fullmatch(named)
    if not match or not scope["raw_path"].startswith(b"/"):
        return plain_answer(
            400, "This request names no host or page as a browser would: open the link shown on the laptop's screen."
        )
    if names is None or match[1].lower() in names:
        return None
    return plain_answer(421, f"This laptop does not answer to the name {match[1]}: open the link shown on its screen.")


def limit_of(path: str, limits: Mapping[str, int]) -> int:
    """The body limit of this path in bytes: that of the longest prefix named, else BODY_LIMIT."""
    prefix = max((p for p in limits if path == p or path.startswith(p.rstrip("/") + "/")), key=len, default=None)
    return BODY_LIMIT if prefix is None else limits[prefix]


def unfit_head(scope: Mapping[str, Any]) -> Answer | None:
    """The answer to a head that is too large though it came in one piece, or that gives two lengths (RFC 9112, section 6.1)."""
    headers = scope["headers"]
    size = len(scope["raw_path"]) + len(scope["query_string"]) + sum(len(name) + len(value) for name, value in headers)
    if size > HEAD_BYTES:
        return plain_answer(
            431, "This request's head is larger than any browser's. Delete this page's cookies, then open it again."
        )
    if {b"content-length", b"transfer-encoding"} <= {name for name, _ in headers}:
        return plain_answer(
            400, "This request gives its length twice. Nothing was recorded: open the page again and send it once more."
        )
    return None


def declared(scope: Mapping[str, Any]) -> int | None:
    """The body length a request announces, in bytes; 0 where it announces none and sends no chunks; None for chunks."""
    headers = dict(scope["headers"])
    return None if b"transfer-encoding" in headers else int(headers.get(b"content-length", b"0"))


def too_many(scope: Mapping[str, Any], body: bytearray) -> Answer | None:
    """The answer to a form with more than FIELDS fields; counted before anything parses it."""
    content = next((value for name, value in scope["headers"] if name == b"content-type"), b"")
    if b"urlencoded" not in content.lower() or body.count(b"&") < FIELDS:
        return None
    return plain_answer(
        413,
        f"This form has more than {FIELDS:,} fields, and nothing was recorded: open the page again and send what it asks for.",
    )


def plain_answer(status: int, sentence: str) -> Answer:
    """An answer of plain text: one sentence."""
    return framed(
        status,
        [("Content-Type", "text/plain; charset=utf-8"), ("Cache-Control", "no-store"), *GUARDS],
        sentence.encode(),
        False,
    )


def too_big(limit: int) -> Answer:
    """The answer 413, with the limit in words."""
    return plain_answer(
        413,
        f"This is larger than the {in_words(limit)} that may be sent here, and nothing was recorded: send a smaller picture or file.",
    )


def in_words(size: int) -> str:
    """A size in bytes as "64 kB" or "2 MB"."""
    return f"{size // 1048576} MB" if size >= 1048576 and size % 1048576 == 0 else f"{size:,} bytes"


class _Errors:
    """Where the app writes its complaints (`wsgi.errors`): the laptop's screen."""

    def write(self, text: str) -> None:
        """Writes a text to the log as an error (PEP 3333, `wsgi.errors`)."""
        log.error(text.rstrip())

    def writelines(self, lines: Iterable[str]) -> None:
        """Writes these texts to the log as one error."""
        self.write("".join(lines))

    def flush(self) -> None:
        pass
