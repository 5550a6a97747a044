"""The certificate that a place's laptop shows to tablets: from the folder as enrolled, from a renewal file put into it, or one given by option.

A renewal holds no secret: the laptop's key stays, and the office certifies it again. It counts only when the
authority that this folder was enrolled with signed it, for this very name and key. A certificate given by option
(`--cert`, `--key`) is taken as it is if it fits its key and the name.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import cast

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_der_private_key,
    load_pem_private_key,
)
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from webapp.gate import keys
from webapp.gate.refusals import GateRefused, file_bytes

RENEWED = "tablets.pem"  # laid into the place's folder: the office's renewal
KEY, LEAF, AUTHORITY = "tls_key", "tls_leaf", "authority"
LIMIT = 256 * 1024  # bytes of a certificate file that are read at all
NONE_HERE = (
    "{} holds no certificate for tablets: enrol the place again at the office, into a new folder, with a host in its place file; "
    "or give an own certificate with --cert and --key. Without --tablets the laptop does it all alone."
)


@dataclass(frozen=True, slots=True)
class ServerCertificate:
    """What a listener shows. chain: begins with the laptop's own certificate. authority: the one that tablets are
    set up to trust; None for a certificate given by option."""

    chain: tuple[x509.Certificate, ...]
    key: PrivateKeyTypes = field(repr=False)
    authority: x509.Certificate | None

    @property
    def until(self) -> datetime:
        return self.chain[0].not_valid_after_utc

    @property
    def since(self) -> datetime:
        return self.chain[0].not_valid_before_utc


def rows(key: ec.EllipticCurvePrivateKey, leaf: x509.Certificate, authority: x509.Certificate) -> dict[str, bytes]:
    """What `enrol` adds to the gate of the folder that goes to the place."""
    return {
        KEY: key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()),
        LEAF: leaf.public_bytes(Encoding.DER),
        AUTHORITY: authority.public_bytes(Encoding.DER),
    }


def enrolled(folder: Path) -> ServerCertificate:
    """As the office enrolled this folder. Raises `GateRefused` for one made before there were tablets, or without a host."""
    key, leaf, authority = (keys.held(folder, name) for name in (KEY, LEAF, AUTHORITY))
    if key is None or leaf is None or authority is None:
        raise GateRefused(NONE_HERE.format(Path(folder).name))
    return ServerCertificate(
        (x509.load_der_x509_certificate(leaf),),
        load_der_private_key(key, None),
        x509.load_der_x509_certificate(authority),
    )


def current(folder: Path, host: str, now: datetime) -> ServerCertificate:
    """The newest that the folder holds: a renewal that lasts longer comes before what was enrolled. Raises `GateRefused` for a renewal that does not fit."""
    shown, file = enrolled(folder), Path(folder) / RENEWED
    if not file.exists():
        return shown
    chain, authority = _chain(file), cast(x509.Certificate, shown.authority)  # an enrolled folder holds one
    refuse_unfit(chain[0], authority, shown.key, host, now, file.name)
    return (
        ServerCertificate(chain[:1], shown.key, shown.authority)
        if chain[0].not_valid_after_utc > shown.until
        else shown
    )


def refuse_unfit(
    leaf: x509.Certificate, authority: x509.Certificate, key: PrivateKeyTypes, host: str, now: datetime, name: str
) -> None:
    """Raises `GateRefused` with what is wrong with a renewal, unless authority, key, name and dates hold."""
    if _public(leaf) != _public(key):
        raise GateRefused(
            f"{name} was made for another laptop's key: renew it at the office for this place, with `tapeseal enrol --renew`."
        )
    if leaf.not_valid_after_utc <= now:
        raise GateRefused(
            f"{name} ran out on {leaf.not_valid_after_utc:%d %B %Y}: renew it at the office, or set this laptop's clock."
        )
    try:
        PolicyBuilder().store(Store([authority])).time(max(now, leaf.not_valid_before_utc)).build_server_verifier(
            x509.DNSName(host)
        ).verify(leaf, [])
    except VerificationError:
        raise GateRefused(
            f"{name} is not from the authority this folder was enrolled with, or not for {host}: take the file that the office made for this place."
        ) from None


def own(cert: Path, key: Path, host: str, now: datetime) -> ServerCertificate:
    """An own certificate and its key, both PEM. Raises `GateRefused` where one cannot be read or they do not go together."""
    chain = _chain(cert)
    try:
        secret = load_pem_private_key(file_bytes(key, LIMIT), None)
    except TypeError:
        raise GateRefused(
            f"{key} is locked with a password: give the key without one, readable by its owner only."
        ) from None
    except ValueError:
        raise GateRefused(f"{key} is not a private key in PEM form: give the one that {cert} was made for.") from None
    if _public(chain[0]) != _public(secret):
        raise GateRefused(
            f"{cert} was not made for the key in {key}: give the two that belong together, the laptop's own certificate first."
        )
    if host and not any(_covers(name, host) for name in _names(chain[0])):
        raise GateRefused(
            f"{cert} is for {' and '.join(_names(chain[0])) or 'no name'}, and tablets ask for {host}: give a certificate for that name."
        )
    if chain[0].not_valid_after_utc <= now:
        raise GateRefused(
            f"{cert} ran out on {chain[0].not_valid_after_utc:%d %B %Y}: give a newer one, or set this laptop's clock."
        )
    return ServerCertificate(chain, secret, None)


def fingerprint(certificate: x509.Certificate) -> tuple[str, ...]:
    """SHA-256 of the certificate in 16 groups of four hex digits, as tablets and the laptop both show it."""
    digits = sha256(certificate.public_bytes(Encoding.DER)).hexdigest().upper()
    return tuple(digits[i : i + 4] for i in range(0, 64, 4))


def _chain(path: Path) -> tuple[x509.Certificate, ...]:
    try:
        return tuple(x509.load_pem_x509_certificates(file_bytes(path, LIMIT)))
    except ValueError:
        raise GateRefused(f"{path} holds no certificate in PEM form: give the file as it was made.") from None


def _public(of: x509.Certificate | PrivateKeyTypes) -> bytes:
    return of.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def _names(certificate: x509.Certificate) -> Sequence[str]:
    try:
        return certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value.get_values_for_type(
            x509.DNSName
        )
    except x509.ExtensionNotFound:
        return ()


def _covers(name: str, host: str) -> bool:
    """RFC 9525, 6.3: a star matches the whole of the leftmost label."""
    return name.lower() == host or (name.startswith("*.") and name[2:].lower() == host.partition(".")[2])
