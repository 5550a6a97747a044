"""R24: TLS 1.2 or newer with a P-256 leaf; the authority's key is on no laptop; its constraints refuse a foreign name.

Held against RFC 5280 (4.2.1.10 name constraints, 4.2.1.9 path length), by the verifier of `cryptography` and by the command `openssl`, two
independent readers. That tablets take server certificates of at most 825 days, with serverAuth and a name: a published rule of one family of
tablets since 2019 (its support page on requirements for trusted certificates), named from memory.
"""

import hashlib
import http.client
import ipaddress
import shutil
import socket
import sqlite3
import ssl
import subprocess
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from demo_precinct import rehearsed_county
from tests.serving.conftest import NOW, PATIENCE, shown_for, small_app, trusting
from webapp.gate import authorities, certificates, tls, verifier
from webapp.office.setup import authority, enrolment
from webapp.serving import server

TOML = (rehearsed_county.HERE / "place.toml").read_bytes()
HOST = "w3.tarn.example"


@pytest.fixture(scope="module")
def enrolled(tmp_path_factory):
    """An office and the folder of its place, as the commands make them."""
    with pytest.MonkeyPatch.context() as quick:
        quick.setattr(verifier, "MEMORY_KIB", 64)
        folder = tmp_path_factory.mktemp("enrolled")
        rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [TOML])
    return folder / "office", folder / "places" / "W3"


@pytest.fixture
def served(enrolled):
    """The small app behind the certificate of an enrolled folder."""
    app, shown = small_app(), certificates.enrolled(enrolled[1])
    app.config.update(HOSTS=(HOST,), LOOPBACK=False)
    running = server.opened([server.Listener(app, tls=tls.ReloadingCertificate(shown, lambda: shown, ()))])
    yield running.port, shown
    app.gate.set()
    running.stop()


def handshake(port: int, context: ssl.SSLContext, name: str = HOST) -> ssl.SSLSocket:
    return context.wrap_socket(socket.create_connection(("127.0.0.1", port), timeout=PATIENCE), server_hostname=name)


def test_r24_the_leaf_is_p256_for_one_name_and_lasts_as_long_as_tablets_take(served):
    port, shown = served
    with handshake(port, trusting(shown)) as one:
        leaf = x509.load_der_x509_certificate(one.getpeercert(binary_form=True))

    assert isinstance(leaf.public_key(), ec.EllipticCurvePublicKey) and leaf.public_key().curve.name == "secp256r1"
    assert leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value.get_values_for_type(
        x509.GeneralName
    ) == [HOST]
    assert list(leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value) == [
        ExtendedKeyUsageOID.SERVER_AUTH
    ]
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=825)
    assert leaf.not_valid_after_utc - datetime.now(UTC) > timedelta(days=365)


@pytest.mark.parametrize(
    ("newest", "spoken"), [(ssl.TLSVersion.TLSv1_2, "TLSv1.2"), (ssl.TLSVersion.TLSv1_3, "TLSv1.3")]
)
def test_r24_tls_1_2_and_1_3_are_spoken(served, newest, spoken):
    port, shown = served
    context = trusting(shown)
    context.maximum_version = newest
    with handshake(port, context) as one:
        assert one.version() == spoken
        assert one.cipher()[0].startswith(("ECDHE-ECDSA-", "TLS_"))


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion.*is deprecated:DeprecationWarning")
@pytest.mark.parametrize("old", [ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1])
def test_r24_older_versions_are_refused(served, old):
    port, shown = served
    context = trusting(shown)
    context.set_ciphers("DEFAULT:@SECLEVEL=0")
    context.minimum_version = context.maximum_version = old

    with pytest.raises(ssl.SSLError):
        handshake(port, context)


def test_r24_plain_http_at_the_tablets_door_gets_no_page(served):
    client = http.client.HTTPConnection("127.0.0.1", served[0], timeout=PATIENCE)
    client.request("GET", "/echo", headers={"Host": HOST})

    with pytest.raises((http.client.HTTPException, ConnectionError)):
        client.getresponse()


def test_r24_the_authoritys_key_is_on_no_laptop(enrolled):
    """Neither its bytes nor its secret number, in any file of the place's folder or in any cell of its gate."""
    office, place = enrolled
    (issuer,) = authorities.authorities(office)
    number = issuer.key.private_numbers().private_value
    shapes = {
        issuer.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()),
        issuer.key.private_bytes(Encoding.DER, PrivateFormat.TraditionalOpenSSL, NoEncryption()),
        number.to_bytes(32),
        number.to_bytes(32).hex().encode(),
        str(number).encode(),
    }
    files = {path: path.read_bytes() for path in place.rglob("*") if path.is_file()}

    assert any(number.to_bytes(32) in path.read_bytes() for path in office.glob("gate.db*")), (
        "the office has it, else this test looks for nothing"
    )
    assert [path.name for path, data in files.items() if any(shape in data for shape in shapes)] == []
    assert [
        cell for cell in cells(place / "gate.db") if isinstance(cell, bytes) and any(shape in cell for shape in shapes)
    ] == []


def cells(file):
    """Every value of every table, read by the standard library alone."""
    with sqlite3.connect(file) as db:
        for (table,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall():
            for row in db.execute(f'SELECT * FROM "{table}"').fetchall():
                yield from row


def test_r24_the_laptops_own_key_lies_in_its_gate_only_and_is_never_left_in_a_file(enrolled, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    shown = certificates.enrolled(enrolled[1])
    tls.context(shown)

    assert list(tmp_path.rglob("*")) == []
    assert [
        path.name
        for path in enrolled[1].rglob("*")
        if path.is_file() and shown.key.private_numbers().private_value.to_bytes(32) in path.read_bytes()
    ] == ["gate.db"]


@pytest.mark.parametrize(
    ("host", "holds"),
    [
        ("w3.tarn.example", True),
        ("w4.tarn.example", True),
        ("tarn.example", True),
        ("a.b.tarn.example", True),
        ("example", False),
        ("tarn.example.org", False),
        ("xtarn.example", False),
        ("w3.bank.example", False),
        ("localhost", False),
    ],
)
def test_r24_constraints_refuse_a_foreign_name(enrolled, tmp_path, host, holds):
    """The office's own key signs for that name, as a thief of it would; both readers refuse what lies outside the office's domain."""
    (issuer,) = authorities.authorities(enrolled[0])
    leaf = authority.certified(issuer, host, ec.generate_private_key(ec.SECP256R1()).public_key(), NOW)

    assert verified(issuer.certificate, leaf, x509.DNSName(host)) is holds
    assert by_openssl(tmp_path, issuer.certificate, leaf) is holds


def test_r24_constraints_refuse_every_address(enrolled, tmp_path):
    (issuer,) = authorities.authorities(enrolled[0])
    for address in ("192.168.1.20", "127.0.0.1", "fd00::2"):
        number = x509.IPAddress(ipaddress.ip_address(address))
        leaf = signed(issuer, x509.SubjectAlternativeName([number]))

        assert verified(issuer.certificate, leaf, number) is False
        assert by_openssl(tmp_path, issuer.certificate, leaf) is False


def test_r24_what_the_authority_signs_can_sign_nothing_further(enrolled, tmp_path):
    """Path length 0: a certificate that says it is an authority below this one is refused."""
    (issuer,) = authorities.authorities(enrolled[0])
    key = ec.generate_private_key(ec.SECP256R1())
    below = authority.Authority(
        "tarn.example", NOW, signed(issuer, x509.BasicConstraints(ca=True, path_length=None), key), key
    )
    leaf = authority.certified(below, HOST, ec.generate_private_key(ec.SECP256R1()).public_key(), NOW)

    with pytest.raises(VerificationError, match="path length"):
        PolicyBuilder().store(Store([issuer.certificate])).time(datetime.now(UTC)).build_server_verifier(
            x509.DNSName(HOST)
        ).verify(leaf, [below.certificate])
    assert by_openssl(tmp_path, issuer.certificate, leaf, below.certificate) is False


def signed(issuer, extension, key=None) -> x509.Certificate:
    """A certificate with this one extension beside those that a chain needs, by the authority's key."""
    public = (key or ec.generate_private_key(ec.SECP256R1())).public_key()
    own = issuer.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "below")]))
        .issuer_name(issuer.certificate.subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(datetime.now(UTC) - timedelta(days=1))
        .not_valid_after(datetime.now(UTC) + timedelta(days=30))
        .add_extension(extension, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own), critical=False)
    )
    if isinstance(extension, x509.BasicConstraints):
        builder = builder.add_extension(
            x509.KeyUsage(False, False, False, False, False, True, True, False, False), critical=True
        )
    else:
        builder = builder.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    return builder.sign(issuer.key, hashes.SHA256())


def verified(root: x509.Certificate, leaf: x509.Certificate, name: x509.GeneralName) -> bool:
    try:
        PolicyBuilder().store(Store([root])).time(datetime.now(UTC)).build_server_verifier(name).verify(leaf, [])
        return True
    except VerificationError:
        return False


def by_openssl(folder, root: x509.Certificate, leaf: x509.Certificate, *between: x509.Certificate) -> bool:
    tool = shutil.which("openssl")
    if tool is None:
        pytest.skip("the command openssl is not here: install the package openssl")
    files = {"root.pem": [root], "leaf.pem": [leaf], "between.pem": between}
    for file, found in files.items():
        (folder / file).write_bytes(b"".join(one.public_bytes(Encoding.PEM) for one in found))
    more = ["-untrusted", folder / "between.pem"] if between else []
    return (
        subprocess.run(
            [
                tool,
                "verify",
                "-x509_strict",
                "-purpose",
                "sslserver",
                "-CAfile",
                folder / "root.pem",
                *more,
                folder / "leaf.pem",
            ],
            capture_output=True,
        ).returncode
        == 0
    )


def test_r24_the_authority_may_certify_servers_only_and_says_so_critically(enrolled):
    (issuer,) = authorities.authorities(enrolled[0])
    found = issuer.certificate.extensions
    constraints = found.get_extension_for_class(x509.NameConstraints)

    assert found.get_extension_for_class(x509.BasicConstraints).value == x509.BasicConstraints(ca=True, path_length=0)
    assert constraints.critical and constraints.value.permitted_subtrees == [x509.DNSName("tarn.example")]
    assert list(found.get_extension_for_class(x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]


def test_r24_the_fingerprint_is_that_of_the_file_that_tablets_get(enrolled):
    (file,) = enrolled[0].glob("authority-*.crt")
    shown = certificates.enrolled(enrolled[1])

    assert "".join(certificates.fingerprint(shown.authority)) == hashlib.sha256(file.read_bytes()).hexdigest().upper()
    assert len(certificates.fingerprint(shown.authority)) == 16


def test_r24_another_offices_laptop_under_the_same_name_is_not_believed(served):
    """Two offices of one name and one domain have keys of their own."""
    other = shown_for(HOST)
    with pytest.raises(ssl.SSLCertVerificationError):
        handshake(served[0], trusting(other))


def test_the_public_key_of_a_leaf_is_in_no_other_folder(enrolled, tmp_path):
    """Two enrolments of one place have two keys, as a lost laptop's must be worth nothing."""
    sealed = (enrolled[1] / "place.cose").read_bytes()
    enrolment.enrol(sealed, enrolled[0], tmp_path / "again", NOW, replace=True)
    keys = [
        certificates.enrolled(folder)
        .chain[0]
        .public_key()
        .public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        for folder in (enrolled[1], tmp_path / "again")
    ]

    assert keys[0] != keys[1] and len(authorities.authorities(enrolled[0])) == 1
