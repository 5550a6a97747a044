"""Renewing a laptop's certificate: a file without a secret, for the key that the laptop has."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import cast

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding

from webapp.gate import authorities, keys, signed_place_file
from webapp.gate.authorities import Certified
from webapp.gate.refusals import GateRefused
from webapp.office.setup import authority
from webapp.office.setup.new_file import write_new
from webapp.precinct.place.place import Place


@dataclass(frozen=True, slots=True)
class Renewed:
    """A certificate file to put into the folder of a place; it lasts until `until`."""

    place: Place
    file: Path
    until: datetime


def mode_of(sealed: bytes, office: Path) -> str:
    """live | practice, of a place file that this office signed."""
    return _signed_here(sealed, office).mode


def renew(sealed: bytes, office: Path, out: Path, now: int) -> Renewed:
    """A newer certificate for the key that a place's laptop has already (`now` ms UTC): a file without a secret. Raises `GateRefused`."""
    place = _signed_here(sealed, office)
    before = authorities.certified(office, place.id, place.mode)
    if not before:
        raise GateRefused(
            f"{place.name} ({place.id}) has no certificate for {place.mode} yet: enrol it, which makes the first."
        )
    first = before[0].certificate
    issuer = next(
        (
            one
            for one in authorities.authorities(office)
            if one.certificate.subject == first.issuer and authority.within(place.host, one.domain)
        ),
        None,
    )
    if issuer is None:
        raise GateRefused(
            f"{place.host} is outside the names that the authority of {place.name}'s laptop can speak for: enrol the place again, with --replace."
        )
    leaf = authority.certified(issuer, place.host, cast(ec.EllipticCurvePublicKey, first.public_key()), now)
    write_new(out, leaf.public_bytes(Encoding.PEM))
    authorities.store(office, issuer, Certified(place.id, place.mode, now, leaf))
    return Renewed(place, out, leaf.not_valid_after_utc)


def _signed_here(sealed: bytes, office: Path) -> Place:
    if not (office / keys.FILE).is_file():
        raise GateRefused(
            f"{office} has no key yet, so it signed no place file: `tapeseal place build` makes the key with the first one."
        )
    return signed_place_file.opened(sealed, keys.office_key(office).public_key())
