"""What the office prepares for the day a laptop dies: a kit for any spare laptop, the sheet with its code, a second code for each official."""

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from webapp.gate import certificates, keys, kit, slip_code, spare
from webapp.gate.authorities import Authority
from webapp.gate.refusals import GateRefused
from webapp.office.setup import authority
from webapp.office.setup.new_file import write_new
from webapp.paper import spare_sheet
from webapp.paper.parts.sheet import PaperSheet
from webapp.precinct.place.place import Place

FOLDER = "spares"  # in the office's folder


@dataclass(frozen=True, slots=True)
class Prepared:
    """A kit on disk. second: code of each official. sheet: draws the spare sheet. note: puts the kit's public key into the office's file."""

    file: Path
    second: Mapping[str, str] = field(repr=False)
    code: str = field(repr=False)
    sheet: Callable[[PaperSheet], None] = field(repr=False)
    note: Callable[[sqlite3.Connection], None] = field(repr=False)

    @property
    def codes(self) -> dict[str, Any]:
        """What a practice place's list of codes says besides."""
        return {"second": dict(self.second), "kit": self.code}


def prepare(office: Path, issuer: Authority | None, place: Place, now: int) -> Prepared:
    """Makes the kit of this place and writes it to `OFFICE/spares/ID.kit` (`now` ms UTC); if one is there, under the next number. Raises GateRefused."""
    made, second = spare.mint(place, keys.office_key(office).public_key(), _tls(issuer, place, now))
    code = slip_code.mint()
    folder = office / FOLDER
    try:
        folder.mkdir(exist_ok=True)
    except OSError as wrong:
        raise GateRefused(
            f"{folder} cannot be made ({wrong.strerror}): free the name, or give the office's own folder."
        ) from None
    names = [place.id, *(f"{place.id}-{n}" for n in range(2, 1000))]
    file = next(path for name in names if not (path := folder / f"{name}.kit").exists())
    write_new(file, kit.locked(made, code))
    return Prepared(
        file, second, code, lambda sheet: spare_sheet.pages(sheet, place, code), spare.writing(place, made, now)
    )


def nothing(sheet: PaperSheet) -> None:
    """Draws no spare sheet, for a place without a kit."""


def all_of(notes: Iterable[Callable[[sqlite3.Connection], None]], db: sqlite3.Connection) -> None:
    """Write each of these inside one transaction."""
    for note in notes:
        note(db)


def _tls(issuer: Authority | None, place: Place, now: int) -> dict[str, bytes]:
    """A key and certificate of the spare's own, for the same host from the same authority; nothing where the place has no host."""
    if issuer is None:
        return {}
    key = ec.generate_private_key(ec.SECP256R1())
    return certificates.rows(key, authority.certified(issuer, place.host, key.public_key(), now), issuer.certificate)
