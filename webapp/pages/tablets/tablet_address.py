"""What the laptop's screen and the trust page say of the doors for tablets: the address, the authority's fingerprint, and codes of both to photograph."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import qrcode
from cryptography.hazmat.primitives.serialization import Encoding

from webapp.gate import certificates
from webapp.gate.tls import ReloadingCertificate
from webapp.packet.codes import runs

QUIET = 4  # modules of white around a code that belong to it (ISO/IEC 18004)


@dataclass(frozen=True, slots=True)
class Doors:
    """The tablets' door and the trust page. `ports` gives (tablets', trust page's), `addresses` what this laptop is called on its networks just now."""

    host: str
    watched: ReloadingCertificate
    ports: Callable[[], tuple[int, int]]
    addresses: Callable[[], Sequence[str]]

    @property
    def address(self) -> str:
        """Where tablets go: always by name, never by number."""
        return f"https://{self.host}:{self.ports()[0]}/"

    @property
    def trust(self) -> tuple[str, ...]:
        """Where a tablet that is not prepared gets the authority's certificate: by number, as it may know no name yet. Empty without a network."""
        return tuple(f"http://{f'[{one}]' if ':' in one else one}:{self.ports()[1]}/" for one in self.addresses())

    @property
    def fingerprint(self) -> tuple[str, ...]:
        """SHA-256 of the authority's certificate in 16 groups of four; empty where the place brought a certificate of its own."""
        return certificates.fingerprint(self.watched.shown.authority) if self.watched.shown.authority else ()

    @property
    def authority(self) -> bytes | None:
        """The authority's certificate as tablets take it (X.509, DER)."""
        return self.watched.shown.authority.public_bytes(Encoding.DER) if self.watched.shown.authority else None

    @property
    def until(self) -> date:
        return self.watched.shown.until.date()

    @property
    def code(self) -> str:
        """The tablets' address as a code (SVG)."""
        return drawn(self.address, f"Code of the address {self.address}")

    def trust_code(self, at: int = 0) -> str:
        """The trust page's address as a code (SVG)."""
        return drawn(self.trust[at], f"Code of the address {self.trust[at]}")


def drawn(text: str, label: str) -> str:
    """A short text as a QR code, correction M: an SVG of one path, a unit a module, its white edge included."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_M, border=0)
    code.add_data(text)
    code.make()
    rows = tuple(tuple(map(bool, row)) for row in code.modules)
    whole = len(rows) + 2 * QUIET
    path = "".join(f"M{x + QUIET} {y + QUIET}h{width}v1h-{width}z" for x, y, width in runs(rows))
    said = label.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole} {whole}" shape-rendering="crispEdges" role="img" aria-label="{said}">'
        f'<path fill="#fff" d="M0 0h{whole}v{whole}h-{whole}z"/><path fill="#000" d="{path}"/></svg>'
    )
