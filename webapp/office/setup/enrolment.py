"""What the office prepares before the day: its own keys, the signed place files, and the folder that goes to each place.

A folder is whole once it holds `place.cose`: that file is written last, after the keys, the slips and the office's
own note of the key are on disk. Nothing that exists is ever written over.
"""

import json
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding

from webapp import plain_file
from webapp.gate import apart, authorities, certificates, keys, office_keys, signed_place_file
from webapp.gate.authorities import Certified
from webapp.gate.refusals import GateRefused
from webapp.office.setup import authority, office_file, spare_kit
from webapp.office.setup.new_file import write_new
from webapp.office.setup.renewal import _signed_here
from webapp.paper.slips import office_slips, place_slips, slips_pdf
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Place
from webapp.precinct.place.toml_document import SIZE_LIMIT

OFFICE_FILE = "office.toml"
TESTS = "tests"  # folder of the place files of tests: no packet is awaited from them
ISSUED = "places"  # folder of the place files that went out, so that the desk has their labels


@dataclass(frozen=True, slots=True)
class OfficeFolder:
    """An office folder that is ready to sign: `made` when its key was made just now, `slips` the new slips of its desk."""

    folder: Path
    office: office_file.Office | None
    made: bool
    slips: Path | None


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A place's folder, ready to go. codes: for practice only. authority: the certificate that its tablets are set up to trust, where the place has a host."""

    place: Place
    folder: Path
    kid: bytes
    slips: Path
    codes: Path | None
    authority: Path | None
    fingerprint: tuple[str, ...] = ()
    kit: Path | None = None


def open_office(folder: Path) -> OfficeFolder:
    """The office of this folder; its key is made with the first call, and slips for everyone new at its desk. Raises `GateRefused`, `Mistakes`."""
    file, gate = folder / OFFICE_FILE, folder / keys.FILE
    if not file.is_file() and not gate.is_file():
        raise GateRefused(
            f"{folder} holds no {OFFICE_FILE}: write one with id, name, [[parties]], [[officials]] and [[places]], and try again."
        )
    office = office_file.read(plain_file.read(file, SIZE_LIMIT)) if file.is_file() else None
    people = [official.id for official in office.officials] if office else []
    made = not gate.exists()
    codes = keys.create_office(folder, office.id, people) if made and office else keys.add_slips(folder, people)
    return OfficeFolder(folder, office, made, _desk_slips(folder, office, codes) if office and codes else None)


def build(toml: bytes, office: Path, out: Path) -> Place:
    """Write the signed place file, which must not be there yet. Raises `GateRefused`, `Mistakes`."""
    key = keys.office_key(office)
    _as_small_as_the_office(place_file.read(toml), office)
    sealed = signed_place_file.seal(toml, key)
    write_new(out, sealed)
    return signed_place_file.opened(sealed, key.public_key())


def _as_small_as_the_office(place: Place, office: Path) -> None:
    """A count board hides as few ballots as its office does: else what one hides the other shows."""
    file = Path(office) / OFFICE_FILE
    if place.board is None or not file.exists():
        return
    small = office_file.read(file.read_bytes()).small
    if place.board.small != small:
        raise GateRefused(
            f"small in [board] is {place.board.small}, and the office shows nothing of fewer than {small} ballots alone: write small = {small} in both."
        )


def enrol(
    sealed: bytes,
    office: Path,
    out: Path,
    now: int,
    replace: bool = False,
    lost: bool = False,
    domain: str = "",
    spare: bool = False,
) -> Enrolled:
    """Make the folder of the place that this office signed (`now` ms UTC). Raises `GateRefused`; then nothing of it is left behind.

    `domain`: what a new authority may speak for, where none of the office's serves the place's host yet. `spare`: make the kit of a
    spare laptop, its sheet and everybody's second code as well.
    """
    place = _signed_here(sealed, office)
    tested = place.kind == "test"
    _may_enrol(office, place, replace)
    issuer = _issuer(office, place, now, domain)
    made = _empty_folder(out)
    left: list[Path] = [out] if made else []
    try:
        codes = keys.create_place(out, place, keys.office_key(office).public_key())
        left = [out / keys.FILE, *left]
        also = [_certify(out, issuer, place, now)] if issuer else []
        kit = spare_kit.prepare(office, issuer, place, now) if spare and not tested else None
        if kit:
            left, also = [kit.file, *left], [*also, kit.note]
        slips = _free(office, (f"slips-{place.id}",), ".pdf")
        write_new(
            slips,
            slips_pdf(place_slips(place, codes, kit.second if kit else {}), kit.sheet if kit else spare_kit.nothing),
        )
        left = [slips, *left]
        listed = _practice_codes(slips, place, codes, kit)
        left = [listed, *left] if listed else left
        kid = (apart.enrol if tested else keys.enrol)(
            office,
            place,
            keys.place_key(out).public_key(),
            now,
            replace,
            lost,
            lambda db: spare_kit.all_of(also, db),
        )
    except BaseException:
        _take_away(left)
        raise
    _keep_issued(office, place, sealed)
    if (office / office_keys.FILE).is_file():  # a stick is kept of this office: the new key goes onto it too
        office_keys.written(office, now)
    keys.settle(out)
    write_new(out / signed_place_file.FILE, sealed)
    file = kit.file if kit else None
    if issuer is None:
        return Enrolled(place, out, kid, slips, listed, None, kit=file)
    trusted = certificates.fingerprint(issuer.certificate)
    return Enrolled(place, out, kid, slips, listed, _authority_file(office, issuer), trusted, file)


def _keep_issued(office: Path, place: Place, sealed: bytes) -> None:
    """A copy of the place file that went out, among the office's own."""
    issued = office / (TESTS if place.kind == "test" else ISSUED) / f"{place.id}-{place.digest.hex()[:16]}.cose"
    issued.parent.mkdir(mode=0o700, exist_ok=True)
    if not issued.exists():
        write_new(issued, sealed)


def _issuer(office: Path, place: Place, now: int, domain: str) -> authorities.Authority | None:
    """The authority that can speak for this place's host: the office's, or a new one that nobody keeps yet. None where the place has no host."""
    if domain and not (place.host and authority.within(place.host, domain) and ("." in domain or domain == place.host)):
        raise GateRefused(
            f"--domain {domain} does not hold the host of {place.name}, which is {place.host or 'not given'}: "
            "give the host itself, or a domain of two parts or more above it."
        )
    if not place.host:
        return None
    for one in authorities.authorities(office):
        if authority.serves(one, place.host, now) and domain in ("", one.domain):
            return one
    return authority.made(_name_of(office), domain or authority.domain_of(place.host), now)


def _name_of(office: Path) -> str:
    file = office / OFFICE_FILE
    return office_file.read(plain_file.read(file, SIZE_LIMIT)).name if file.is_file() else keys.whose(office).id


def _certify(out: Path, issuer: authorities.Authority, place: Place, now: int) -> Callable[[sqlite3.Connection], None]:
    """Put key and certificate into the place's gate; what then goes into the office's, with the place's row."""
    key = ec.generate_private_key(ec.SECP256R1())
    leaf = authority.certified(issuer, place.host, key.public_key(), now)
    keys.add(out, certificates.rows(key, leaf, issuer.certificate))
    return authorities.writing(issuer, Certified(place.id, place.mode, now, leaf))


def _authority_file(office: Path, issuer: authorities.Authority) -> Path:
    """The authority's certificate as a file, for people who prepare tablets; it holds no secret."""
    data = issuer.certificate.public_bytes(Encoding.DER)
    names = [office / f"authority-{issuer.domain}{more}.crt" for more in ("", *(f"-{n}" for n in range(2, 100)))]
    path = next(path for path in names if not path.exists() or path.read_bytes() == data)
    if not path.exists():
        write_new(path, data)
    return path


def _may_enrol(office: Path, place: Place, replace: bool) -> None:
    """Say so before anything is made, where a key of this place is in force."""
    in_force = (
        apart.in_force(office, place)
        if place.kind == "test"
        else next(
            (
                row
                for row in keys.enrolments(office)
                if (row.place, row.mode, row.to_ms) == (place.id, place.mode, None)
            ),
            None,
        )
    )
    if in_force and not replace:
        raise GateRefused(keys.enrolled_already(place, in_force.kid))


def _empty_folder(out: Path) -> bool:
    """Whether the folder was made; `GateRefused` where it holds anything, as a folder of a place is never written over."""
    try:
        out.mkdir(parents=True, mode=0o700)
        return True
    except FileExistsError:
        if out.is_dir() and not any(out.iterdir()):
            return False
        raise GateRefused(
            f"{out} is there already and not empty: nothing was written. Choose a new folder for the place."
        ) from None
    except OSError as wrong:
        raise GateRefused(f"{out} cannot be made ({wrong.strerror}): choose a folder that may be written.") from None


def _desk_slips(folder: Path, office: office_file.Office, codes: Mapping[str, str]) -> Path:
    path = _free(folder, ("slips-desk",), ".pdf")
    write_new(path, slips_pdf(office_slips(office.name, office.officials, office.parties, codes)))
    return path


def _practice_codes(slips: Path, place: Place, codes: Mapping[str, str], kit: spare_kit.Prepared | None) -> Path | None:
    """For practice the codes are written next to the slips, for people who run a rehearsal; live codes are on paper only."""
    if place.mode != "practice":
        return None
    path = slips.with_suffix(".json")
    write_new(
        path,
        json.dumps({"place": place.id, "codes": dict(codes)} | (kit.codes if kit else {}), indent=1).encode() + b"\n",
    )
    return path


def _free(folder: Path, stems: tuple[str, ...], suffix: str) -> Path:
    """The first of these names that no file has, with .json neither; then the last with -2, -3 ..."""
    names = [*stems, *(f"{stems[-1]}-{n}" for n in range(2, 1000))]
    return next(
        folder / f"{name}{suffix}"
        for name in names
        if not any((folder / f"{name}{end}").exists() for end in (suffix, ".json"))
    )


def _take_away(left: list[Path]) -> None:
    """Undo what this enrolment made, and only that."""
    for path in left:
        if path.is_dir():
            path.rmdir()
        else:
            for end in ("", "-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
