"""The office's certificate authority: it makes the certificate under whose name tablets know a place's laptop, and can speak for no other names.

Tablets are set up to trust it, so it must be worth little to a thief: its name constraints (RFC 5280, 4.2.1.10) hold
it below one domain and away from every address, it may certify servers only, and its key never leaves the office. If
a place's host is outside, a further authority is made for that domain. Keys are P-256, which every tablet in use
knows.
"""

import ipaddress
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from webapp.gate.authorities import Authority

YEARS = timedelta(days=3652)  # of an authority
LEAF = timedelta(days=397)  # of a place's certificate; tablets refuse more than 825 days
BEFORE = timedelta(days=2)  # each begins this much earlier, for tablets whose clock is behind
EVERY_ADDRESS = (ipaddress.ip_network("0.0.0.0/0"), ipaddress.ip_network("::/0"))


def domain_of(host: str) -> str:
    """The narrowest domain that the hosts of one office share by custom: the one above the host where that has two parts or more, else the host itself."""
    above = host.partition(".")[2]
    return above if "." in above else host


def within(host: str, domain: str) -> bool:
    """Whether a name is this domain or one below it."""
    return host == domain or host.endswith("." + domain)


def made(office: str, domain: str, now: int) -> Authority:
    """A new authority of the office of this name, which certifies names of this domain only. now: ms UTC."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, office[:64]),
            x509.NameAttribute(NameOID.COMMON_NAME, f"Tablets of {domain}"[:64]),
        ]
    )
    usage = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    constraints = x509.NameConstraints(
        permitted_subtrees=[x509.DNSName(domain)], excluded_subtrees=[x509.IPAddress(net) for net in EVERY_ADDRESS]
    )
    builder = (
        _begun(name, name, key.public_key(), moment(now), moment(now) + YEARS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(constraints, critical=True)
    )
    return Authority(domain, now, builder.sign(key, hashes.SHA256()), key)


def serves(authority: Authority, host: str, now: int) -> bool:
    """Whether this authority can certify the host for the whole time of a place's certificate."""
    return within(host, authority.domain) and authority.certificate.not_valid_after_utc >= moment(now) + LEAF


def certified(authority: Authority, host: str, public: ec.EllipticCurvePublicKey, now: int) -> x509.Certificate:
    """The certificate of a place's laptop, from `now` (ms UTC): this key for this one name."""
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    own = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    until = min(moment(now) + LEAF, authority.certificate.not_valid_after_utc)
    builder = (
        _begun(
            x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, host[:64])]),
            authority.certificate.subject,
            public,
            moment(now),
            until,
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(host)]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own), critical=False)
    )
    return builder.sign(authority.key, hashes.SHA256())


def moment(now: int) -> datetime:
    """Milliseconds UTC as certificates count: whole seconds."""
    return datetime.fromtimestamp(now // 1000, UTC)


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey, now: datetime, until: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
    )
