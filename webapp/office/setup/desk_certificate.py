"""The certificate of the desks' door: key and leaf made when the office opens it, by the office's own authority, and gone with the program.

Desks are set up to trust the authority when they are prepared, as tablets of a place are; it can speak for names of
its own domain only.
"""

from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec

from webapp.gate import authorities
from webapp.gate.authorities import Certified
from webapp.gate.certificates import ServerCertificate
from webapp.office.setup import authority


def made(folder: Path, office: str, name: str, host: str, mode: str, now: int) -> ServerCertificate:
    """A certificate for this host (`now` ms UTC), its authority kept in the office's gate. `office`, `name`: the office's id and name."""
    known = (one for one in authorities.authorities(folder) if authority.serves(one, host, now))
    issuer = next(known, None) or authority.made(name, authority.domain_of(host), now)
    key = ec.generate_private_key(ec.SECP256R1())
    leaf = authority.certified(issuer, host, key.public_key(), now)
    authorities.store(folder, issuer, Certified(office, mode, now, leaf))
    return ServerCertificate((leaf,), key, issuer.certificate)
