"""A certificate is changed while the doors stay open: from the office's renewal, or from an own pair of files. What does not fit changes nothing."""

import os
import shutil
import socket
import ssl
import time
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, NoEncryption, PrivateFormat

from tests.serving.conftest import NOW, PATIENCE, shown_for, small_app, trusting
from tests.serving.opened_place import HOST, prepared  # noqa: F401 - fixture
from webapp.commands.server.tablet_listeners import watched
from webapp.gate import authorities, certificates, tls
from webapp.gate.database import GateDatabase
from webapp.gate.refusals import GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.office.setup import authority
from webapp.office.setup.renewal import renew
from webapp.serving import server

DAY = 24 * 3600 * 1000


@pytest.fixture
def folder(prepared, tmp_path):  # noqa: F811
    """A copy of the place's folder, into which a renewal can be laid."""
    shutil.copytree(prepared[0] / "places" / "W3", tmp_path / "W3")
    return tmp_path / "W3"


@pytest.fixture
def renewal(prepared, tmp_path):  # noqa: F811
    """A function: days from now -> the file that `enrol --renew` writes then."""

    def at(days: int):
        made = renew(
            (prepared[0] / "places" / "W3" / "place.cose").read_bytes(),
            prepared[0] / "office",
            tmp_path / f"renewed-{days}-{time.monotonic_ns()}.pem",
            NOW + days * DAY,
        )
        return made.file

    return at


@pytest.fixture
def served():
    """A function: what is watched -> the port of a door that shows it; looked at on every round."""
    running = []

    def at(watch) -> int:
        app = small_app()
        app.config.update(HOSTS=(HOST,), LOOPBACK=False)
        running.append((app, server.opened([server.Listener(app, tls=watch)], (watch.tick,))))
        return running[-1][1].port

    yield at
    for app, one in running:
        app.gate.set()
        one.stop()


def leaf_at(port: int, shown) -> x509.Certificate:
    """The certificate that a new connection is shown, believed by a client that knows the authority (an own one: by the certificate itself)."""
    context = trusting(shown) if shown.authority else own_client(shown)
    with context.wrap_socket(
        socket.create_connection(("127.0.0.1", port), timeout=PATIENCE), server_hostname=HOST
    ) as one:
        return x509.load_der_x509_certificate(one.getpeercert(binary_form=True))


def own_client(shown) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context


def looks(watch) -> str:
    """Two rounds: a file that lay still in between is taken."""
    return watch.tick() + watch.tick()


def test_a_renewal_laid_into_the_folder_is_shown_to_the_next_caller_without_a_restart(
    monkeypatch, folder, renewal, served
):
    monkeypatch.setattr(server, "TICK_SECONDS", 0.05)
    watch = watched(folder, load_place(folder))
    port = served(watch)
    first = leaf_at(port, watch.shown)
    with trusting(watch.shown).wrap_socket(
        socket.create_connection(("127.0.0.1", port), timeout=PATIENCE), server_hostname=HOST
    ) as kept_open:
        shutil.copy(renewal(1), folder / certificates.RENEWED)
        until = time.monotonic() + PATIENCE
        while (newest := leaf_at(port, watch.shown)) == first and time.monotonic() < until:
            time.sleep(0.05)
        kept_open.sendall(f"GET /echo HTTP/1.1\r\nHost: {HOST}\r\n\r\n".encode())

        assert kept_open.recv(15) == b"HTTP/1.1 200 OK", "who was connected before goes on"
    assert newest.not_valid_after_utc - first.not_valid_after_utc > timedelta(hours=23)
    assert newest.public_key() == first.public_key(), "the laptop's key stays; the file held none"


def test_a_renewal_holds_no_secret(renewal):
    text = renewal(1).read_text()

    assert text.count("BEGIN CERTIFICATE") == 1 and "PRIVATE" not in text


def test_after_a_restart_the_newest_is_shown_at_once(folder, renewal):
    shutil.copy(renewal(100), folder / certificates.RENEWED)
    watch = watched(folder, load_place(folder))

    assert "From now on tablets get the certificate that lasts until" in watch.tick(at_once=True)
    assert watch.shown.until > certificates.enrolled(folder).until
    assert looks(watch) == ""


def test_a_file_that_is_still_being_copied_is_left_alone(folder, renewal):
    watch, whole = watched(folder, load_place(folder)), renewal(100).read_bytes()
    for end in (10, 300, len(whole)):
        (folder / certificates.RENEWED).write_bytes(whole[:end])
        assert watch.tick() == ""

    assert "From now on" in watch.tick()


def test_an_older_renewal_goes_behind_what_was_enrolled(folder, renewal):
    shutil.copy(renewal(-100), folder / certificates.RENEWED)
    watch = watched(folder, load_place(folder))

    assert looks(watch) == "" and watch.shown.chain == certificates.enrolled(folder).chain


def foreign(host: str, key, issuer=None) -> bytes:
    issuer = issuer or authority.made("Tarn County election office", "tarn.example", NOW)
    return authority.certified(issuer, host, key.public_key(), NOW + 10 * DAY).public_bytes(Encoding.PEM)


@pytest.mark.parametrize(
    ("made", "says"),
    [
        ("another authority", "is not from the authority this folder was enrolled with, or not for w3.tarn.example"),
        ("another name", "is not from the authority this folder was enrolled with, or not for w3.tarn.example"),
        ("another key", "was made for another laptop's key"),
        ("run out", "ran out on"),
        ("nothing", "holds no certificate in PEM form"),
        ("noise", "holds no certificate in PEM form"),
    ],
)
def test_what_does_not_fit_is_said_and_changes_nothing(prepared, folder, made, says):  # noqa: F811
    watch, place = watched(folder, load_place(folder)), load_place(folder)
    (issuer,) = authorities.authorities(prepared[0] / "office")
    own, other = watch.shown.key, ec.generate_private_key(ec.SECP256R1())
    data = {
        "another authority": lambda: foreign(place.host, own),
        "another name": lambda: foreign("w4.tarn.example", own, issuer),
        "another key": lambda: foreign(place.host, other, issuer),
        "run out": lambda: authority.certified(issuer, place.host, own.public_key(), NOW - 500 * DAY).public_bytes(
            Encoding.PEM
        ),
        "nothing": lambda: b"",
        "noise": lambda: os.urandom(300),
    }[made]()
    (folder / certificates.RENEWED).write_bytes(data)
    said = looks(watch)

    assert says in said and "Tablets get the certificate from before" in said and said.count("\n") == 0
    assert watch.shown.chain == certificates.enrolled(folder).chain
    assert looks(watch) == "", "said once"


def test_a_place_that_was_never_certified_has_nothing_to_renew(prepared, tmp_path):  # noqa: F811
    other = tmp_path / "office"
    shutil.copytree(prepared[0] / "office", other)
    drawer = GateDatabase(other / "gate.db")
    with drawer.change() as db:
        db.execute("DELETE FROM certified")
    drawer.close()
    with pytest.raises(GateRefused, match="has no certificate for practice yet: enrol it"):
        renew((prepared[0] / "places" / "W3" / "place.cose").read_bytes(), other, tmp_path / "x.pem", NOW)
    assert not (tmp_path / "x.pem").exists()


def pair(folder, name: str, key, certificate: x509.Certificate, locked: bytes = b""):
    """An own certificate and its key as files."""
    cert, secret = folder / f"{name}.pem", folder / f"{name}.key"
    cert.write_bytes(certificate.public_bytes(Encoding.PEM))
    secret.write_bytes(
        key.private_bytes(
            Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(locked) if locked else NoEncryption()
        )
    )
    return cert, secret


def test_an_own_pair_is_shown_and_a_newer_one_taken_in_even_of_another_kind_of_key(tmp_path, folder, served):
    shown = shown_for(HOST)
    cert, key = pair(tmp_path, "own", shown.key, shown.chain[0])
    watch = watched(folder, load_place(folder), cert, key)
    port = served(watch)
    assert watch.shown.authority is None and leaf_at(port, watch.shown) == shown.chain[0]

    wide = rsa.generate_private_key(65537, 2048)
    newer = authority.certified(
        authority.made("Elsewhere", "tarn.example", NOW), HOST, wide.public_key(), NOW + 10 * DAY
    )
    cert.write_bytes(newer.public_bytes(Encoding.PEM))
    assert "give the two that belong together" in looks(watch)
    pair(tmp_path, "own", wide, newer)

    assert "From now on" in looks(watch) and leaf_at(port, watch.shown) == newer


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (
            lambda cert, key, folder: pair(
                folder,
                "own",
                ec.generate_private_key(ec.SECP256R1()),
                x509.load_pem_x509_certificate(cert.read_bytes()),
            ),
            "was not made for the key in",
        ),
        (lambda cert, key, folder: key.write_text("no key"), "is not a private key in PEM form"),
        (lambda cert, key, folder: cert.write_text("none"), "holds no certificate in PEM form"),
        (lambda cert, key, folder: cert.unlink(), "cannot be read"),
        (
            lambda cert, key, folder: pair(folder, "own", shown_for(HOST).key, shown_for(HOST).chain[0], b"secret"),
            "is locked with a password",
        ),
        (
            lambda cert, key, folder: named(folder, "w9.other.example"),
            "is for w9.other.example, and tablets ask for w3.tarn.example",
        ),
    ],
)
def test_an_own_pair_that_does_not_go_together_is_refused_in_one_sentence(tmp_path, folder, spoil, says):
    shown = shown_for(HOST)
    cert, key = pair(tmp_path, "own", shown.key, shown.chain[0])
    spoil(cert, key, tmp_path)

    with pytest.raises(GateRefused, match=says) as refusal:
        certificates.own(cert, key, HOST, datetime.now(UTC))
    assert "\n" not in str(refusal.value)


def named(folder, host: str):
    shown = shown_for(host)
    return pair(folder, "own", shown.key, shown.chain[0])


def test_a_star_stands_for_the_leftmost_part_only():
    """RFC 9525, 6.3."""
    assert certificates._covers("*.tarn.example", HOST) and certificates._covers("W3.Tarn.Example", HOST)
    assert (
        not certificates._covers("*.example", HOST)
        and not certificates._covers("*.tarn.example", "tarn.example")
        and not certificates._covers("w*.tarn.example", HOST)
    )


def test_a_door_asks_for_its_certificate_anew_for_each_caller(served):
    first, second = shown_for(HOST), shown_for(HOST)
    turns = [tls.context(first), tls.context(second)]

    class InTurn:
        shown, calls = first, 0

        def __call__(self):
            self.calls += 1
            return turns[self.calls % 2]

        def tick(self):
            pass

    port = served(InTurn())
    assert leaf_at(port, second) == second.chain[0] and leaf_at(port, first) == first.chain[0]
