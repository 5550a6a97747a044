"""A small app behind the real server, and sockets that speak as slowly or as wrongly as a test wants: each test over plain http and over TLS."""

import http.client
import json
import socket
import ssl
import threading
import time

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from flask import Flask, Response, request

from webapp.gate import tls
from webapp.gate.certificates import ServerCertificate
from webapp.office.setup import authority
from webapp.serving import connection_limiter, http_deadline, wsgi_bridge
from webapp.serving import server as serving

PATIENCE = 30  # seconds until a test says that no answer came
NOW = time.time_ns() // 1_000_000


def shown_for(host: str, issuer=None) -> ServerCertificate:
    """A certificate for this name as an office makes it, by this authority or a new one."""
    issuer = issuer or authority.made("Tarn County election office", authority.domain_of(host), NOW)
    key = ec.generate_private_key(ec.SECP256R1())
    return ServerCertificate((authority.certified(issuer, host, key.public_key(), NOW),), key, issuer.certificate)


def trusting(shown: ServerCertificate) -> ssl.SSLContext:
    """A client that was told to trust this authority and nobody else."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.load_verify_locations(cadata=shown.authority.public_bytes(Encoding.DER))
    return context


def small_app() -> Flask:
    app = Flask("small", static_folder=None)
    app.calls = []

    @app.before_request
    def remember():
        app.calls.append(request.path)

    @app.route("/echo", methods=["GET", "POST", "PUT"])
    @app.route("/echo/<path:rest>", methods=["GET", "POST"])
    def echo(rest=""):
        body = request.get_data()
        return {
            "method": request.method,
            "path": request.path,
            "query": request.query_string.decode(),
            "length": len(body),
            "rest": rest,
            "head": body[:40].decode("utf-8", "replace"),
            "headers": list(request.headers.items()),
            "cookies": request.cookies.to_dict(flat=False),
        }

    @app.get("/cookies")
    def cookies():
        answer = Response("two")
        answer.set_cookie("one", "1")
        answer.set_cookie("two", "2")
        return answer

    @app.route("/status/<int:code>")
    def status(code):
        return Response("" if code == 304 else "words", code, {"ETag": '"x"'})

    @app.get("/broken")
    def broken():
        raise ZeroDivisionError

    @app.get("/unicode")
    def unicode():
        return "Šárka · 投票"

    app.config["PROPAGATE_EXCEPTIONS"] = True
    app.gate = threading.Event()

    @app.get("/wait")
    def wait():
        app.gate.wait(PATIENCE)
        return "waited"

    return app


@pytest.fixture
def app():
    return small_app()


@pytest.fixture
def limits(monkeypatch):
    """Shorter limits, by their documented constants."""

    def set_to(**values):
        homes = {
            "HEAD_SECONDS": http_deadline,
            "CONNECTIONS": connection_limiter,
            "BODY_SECONDS": wsgi_bridge,
            "BODY_LIMIT": wsgi_bridge,
            "LARGE_AT_ONCE": wsgi_bridge,
            "SMALL": wsgi_bridge,
        }
        for name, value in values.items():
            monkeypatch.setattr(homes[name], name, value)

    return set_to


@pytest.fixture(params=["http", "https"])
def shown(request):
    """The certificate of the small app's door; None where it speaks plain http."""
    return shown_for("localhost") if request.param == "https" else None


@pytest.fixture
def served(app, shown):
    """The port of the small app; started at the first use, so that limits can be set before."""
    running = []

    class Port:
        def __int__(self) -> int:
            if not running:
                watched = shown and tls.ReloadingCertificate(shown, lambda: shown, ())
                running.append(
                    serving.opened([serving.Listener(app, tls=watched, per_address=connection_limiter.CONNECTIONS)])
                )
            return running[0].port

    yield Port()
    app.gate.set()
    for server in running:
        server.stop()


@pytest.fixture
def ask(served, shown):
    """One request by the standard library's client: (status, headers, body)."""

    def one(path, method="GET", body=None, headers=None, chunked=False):
        client = (
            http.client.HTTPSConnection("localhost", int(served), timeout=PATIENCE, context=trusting(shown))
            if shown
            else http.client.HTTPConnection("127.0.0.1", int(served), timeout=PATIENCE)
        )
        client.request(method, path, body, headers or {}, encode_chunked=chunked)
        answer = client.getresponse()
        found = answer.status, answer.headers, answer.read()
        client.close()
        return found

    return one


@pytest.fixture
def echo(ask):
    """What the app saw of one request."""
    return lambda *words, **more: json.loads(ask(*words, **more)[2])


@pytest.fixture
def raw(served, shown):
    """A socket on which these bytes have been sent; the test reads, sends more, or leaves it hanging."""
    open_ones = []

    def connect(sent: bytes = b"") -> socket.socket:
        one = socket.create_connection(("127.0.0.1", int(served)), timeout=PATIENCE)
        if shown:
            one = trusting(shown).wrap_socket(one, server_hostname="localhost")
        open_ones.append(one)
        one.sendall(sent)
        return one

    yield connect
    for one in open_ones:
        one.close()


def all_of(one: socket.socket) -> bytes:
    """Everything until the server closes."""
    found = b""
    try:
        while part := one.recv(65536):
            found += part
    except ConnectionResetError:
        pass
    return found


def answer_of(one: socket.socket) -> tuple[int, bytes]:
    """One answer on this socket: (status, body)."""
    answer = http.client.HTTPResponse(one)
    answer.begin()
    return answer.status, answer.read()


HALF_HEAD = b"GET /echo HTTP/1.1\r\nHost: localhost\r\nX-Half"
HALF_BODY = b"POST /echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nonly half of"
