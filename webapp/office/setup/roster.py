"""Which places the office awaits, with every place file it issued for each and every key it enrolled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp import plain_file
from webapp.gate import apart, keys, signed_place_file, spare
from webapp.gate.keys import Enrolment
from webapp.gate.refusals import GateRefused
from webapp.office.setup import office_file
from webapp.office.setup.enrolment import ISSUED, OFFICE_FILE
from webapp.office.setup.office_file import Office
from webapp.packet import cose
from webapp.precinct.place.place import Place
from webapp.precinct.place.toml_document import SIZE_LIMIT


@dataclass(frozen=True)
class Roster:
    """`places`: the newest place file of each place, by id, in the order of office.toml; `issued`: every place file, by its digest."""

    office: Office
    places: Mapping[str, Place]
    issued: Mapping[bytes, Place]
    keys: Mapping[bytes, Ed25519PublicKey]
    enrolments: Mapping[bytes, Enrolment] = field(
        default_factory=dict
    )  # kid -> whose key, from when to when, whether lost

    spares: frozenset[bytes] = (
        frozenset()
    )  # kids of the keys in kits of spare laptops; their rows are among the enrolments

    tests: Mapping[bytes, Enrolment] = field(
        default_factory=dict
    )  # kid -> the test whose key it is: it signs nothing here

    elsewhere: dict[bytes, str] = field(
        default_factory=dict
    )  # place file of another office, by its digest -> that office's name; filled as its editions are taken in

    def other_office(self, place: str, digest: bytes) -> str:
        """The name of the other office whose place this is, by its place file or by office.toml; "" where neither says so."""
        named = next((one.name for one in self.office.others if place in one.places), "")
        return self.elsewhere.get(digest) or named

    @property
    def awaited(self) -> int:
        """Places whose packets are awaited: those of office.toml, whether a place file was issued or not, and any other that has one."""
        return len({place.id for place in self.office.places} | set(self.places))

    @property
    def practice(self) -> bool:
        """Whether everything that was issued is for practice."""
        return bool(self.places) and all(place.mode == "practice" for place in self.places.values())


def _signer(data: bytes, others: Sequence[Ed25519PublicKey]) -> Ed25519PublicKey | None:
    """The key with which the office signed until it lost it, where this place file names that one; at a desk apart the office's."""
    kid = signed_place_file.kid_of(data) if others else b""
    return next((key for key in others if cose.key_id(key) == kid), None)


def load(folder: Path) -> Roster:
    """The roster of an office's folder. Raises GateRefused or Mistakes; a place file that was altered is refused by name."""
    folder = Path(folder)
    path = folder / OFFICE_FILE
    if not path.is_file():
        raise GateRefused(f"{folder.name} holds no {OFFICE_FILE}: give the folder of an office.")
    office = office_file.read(plain_file.read(path, SIZE_LIMIT))
    public, rows = keys.office_key(folder).public_key(), keys.enrolments(folder)
    held = (keys.held(folder, name) for name in (keys.BEFORE, keys.EARLIER))
    before = [Ed25519PublicKey.from_public_bytes(key) for key in held if key]
    kits = spare.spares(folder)
    issued: dict[bytes, Place] = {}
    for file in sorted((folder / ISSUED).glob("*.cose"), key=lambda f: (f.stat().st_mtime_ns, f.name)):
        try:
            data = plain_file.read(file, signed_place_file.LIMIT)
            place = signed_place_file.opened(data, _signer(data, before) or public)
        except GateRefused as wrong:
            raise GateRefused(f"{ISSUED}/{file.name}: {wrong}") from None
        issued[place.digest] = place
    newest = {place.id: place for place in issued.values()}
    order = [p.id for p in office.places] + [p for p in newest if office.place(p) is None]
    return Roster(
        office,
        {p: newest[p] for p in order if p in newest},
        issued,
        keys.enrolled(folder) | {one.kid: Ed25519PublicKey.from_public_bytes(one.public) for one in kits},
        {row.kid: row for row in rows} | {one.kid: _as_enrolment(one) for one in kits},
        frozenset(one.kid for one in kits),
        {row.kid: row for row in apart.enrolments(folder)},
    )


def _as_enrolment(one: spare.Spare) -> Enrolment:
    """A kit's key among those of laptops: it is never replaced by another laptop's, nor reported lost by itself."""
    return Enrolment(one.kid, one.place, one.mode, one.public, one.from_ms, one.to_ms, None, None)
