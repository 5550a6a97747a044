"""What the office prepares before the day: its own keys, the signed place files, and the folder that goes to each place.

A folder is whole once `place.cose` lies in it: that file is written last, after the keys, the slips and the office's own note of the key are on
disk. Nothing that exists is ever written over.
"""

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from webapp.gate import keys, sealed_place
from webapp.gate.refusals import Refused
from webapp.office import office_file
from webapp.paper.slips import office_slips, place_slips, slips_pdf
from webapp.precinct.place import Place

OFFICE_FILE = "office.toml"
ISSUED = "places"               # folder of the place files that went out, so that the desk has their labels


@dataclass(frozen=True, slots=True)
class Opened:
    """An office folder that is ready to sign: `made` when its key was made just now, `slips` the new slips of its desk."""

    folder: Path
    office: office_file.Office | None
    made: bool
    slips: Path | None


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A place's folder, ready to go. `codes` is there for practice only."""

    place: Place
    folder: Path
    kid: bytes
    slips: Path
    codes: Path | None


def open_office(folder: Path) -> Opened:
    """The office of this folder; its key is made with the first call, and slips for everyone new at its desk. Raises `Refused`, `Mistakes`."""
    file, gate = folder / OFFICE_FILE, folder / keys.FILE
    if not file.is_file() and not gate.is_file():
        raise Refused(f"{folder} holds no {OFFICE_FILE}: write one with id, name, [[parties]], [[officials]] and [[places]], and try again.")
    office = office_file.read(file.read_bytes()) if file.is_file() else None
    people = [official.id for official in office.officials] if office else []
    made = not gate.exists()
    codes = keys.create_office(folder, office.id, people) if made and office else keys.add_slips(folder, people)
    return Opened(folder, office, made, _desk_slips(folder, office, codes) if office and codes else None)


def build(toml: bytes, office: Path, out: Path) -> Place:
    """Write the signed place file, which must not be there yet. Raises `Refused`, `Mistakes`."""
    key = keys.office_key(office)
    sealed = sealed_place.seal(toml, key)
    _write_new(out, sealed)
    return sealed_place.opened(sealed, key.public_key())


def enrol(sealed: bytes, office: Path, out: Path, now: int, replace: bool = False, lost: bool = False) -> Enrolled:
    """Make the folder of the place that this office signed (`now` ms UTC). Raises `Refused`; then nothing of it is left behind."""
    if not (office / keys.FILE).is_file():
        raise Refused(f"{office} has no key yet, so it signed no place file: `tapeseal place build` makes the key with the first one.")
    place = sealed_place.opened(sealed, keys.office_key(office).public_key())
    _may_enrol(office, place, replace)
    made = _empty_folder(out)
    left: list[Path] = [out] if made else []
    try:
        codes = keys.create_place(out, place, keys.office_key(office).public_key())
        left = [out / keys.FILE, *left]
        slips = _free(office, ("slips", f"slips-{place.id}"), ".pdf")
        _write_new(slips, slips_pdf(place_slips(place, codes)))
        left = [slips, *left]
        listed = _practice_codes(slips, place, codes)
        left = [listed, *left] if listed else left
        kid = keys.enrol(office, place, keys.place_key(out).public_key(), now, replace, lost)
    except BaseException:
        _take_away(left)
        raise
    issued = office / ISSUED / f"{place.id}-{place.digest.hex()[:16]}.cose"
    issued.parent.mkdir(exist_ok=True)
    if not issued.exists():
        _write_new(issued, sealed)
    keys.settle(out)
    _write_new(out / sealed_place.FILE, sealed)
    return Enrolled(place, out, kid, slips, listed)


def _may_enrol(office: Path, place: Place, replace: bool) -> None:
    """Say so before anything is made, where a key of this place is in force."""
    in_force = next((row for row in keys.enrolments(office) if (row.place, row.mode, row.to_ms) == (place.id, place.mode, None)), None)
    if in_force and not replace:
        raise Refused(keys.enrolled_already(place, in_force.kid))


def _empty_folder(out: Path) -> bool:
    """Whether the folder was made; `Refused` where it holds anything, as a folder of a place is never written over."""
    try:
        out.mkdir(parents=True)
        return True
    except FileExistsError:
        if out.is_dir() and not any(out.iterdir()):
            return False
        raise Refused(f"{out} is there already and not empty: nothing was written. Choose a new folder for the place.") from None
    except OSError as wrong:
        raise Refused(f"{out} cannot be made ({wrong.strerror}): choose a folder that may be written.") from None


def _desk_slips(folder: Path, office: office_file.Office, codes: Mapping[str, str]) -> Path:
    path = _free(folder, ("slips-desk",), ".pdf")
    _write_new(path, slips_pdf(office_slips(office.name, office.officials, office.parties, codes)))
    return path


def _practice_codes(slips: Path, place: Place, codes: Mapping[str, str]) -> Path | None:
    """For practice the codes lie beside the slips, for whoever drives a rehearsal; live codes are on paper only."""
    if place.mode != "practice":
        return None
    path = slips.with_suffix(".json")
    _write_new(path, json.dumps({"place": place.id, "codes": dict(codes)}, indent=1).encode() + b"\n")
    return path


def _free(folder: Path, stems: tuple[str, ...], suffix: str) -> Path:
    """The first of these names that nothing has, beside it as .json neither; then the last with -2, -3 ..."""
    names = [*stems, *(f"{stems[-1]}-{n}" for n in range(2, 1000))]
    return next(folder / f"{name}{suffix}" for name in names if not any((folder / f"{name}{end}").exists() for end in (suffix, ".json")))


def _write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet, down to the disk; only its owner may read it."""
    try:
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        raise Refused(f"{path} is there already, and nothing is written over: choose another name, or move it away first.") from None
    except OSError as wrong:
        raise Refused(f"{path} cannot be written ({wrong.strerror}): choose a folder that exists and may be written.") from None


def _take_away(left: list[Path]) -> None:
    """Undo what this enrolment made, and only that."""
    for path in left:
        if path.is_dir():
            path.rmdir()
        else:
            for end in ("", "-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
