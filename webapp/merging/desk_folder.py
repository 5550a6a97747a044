"""Makes the folder of a desk apart: what it needs to take places in, a key of its own, and nothing with which it could speak for the office."""

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.gate import keys, office_keys, office_kit, signed_place_file
from webapp.gate.refusals import GateRefused
from webapp.merging import desk_apart
from webapp.merging.desk_apart import DeskApart
from webapp.office.setup import enrolment, roster
from webapp.office.setup.new_file import write_new
from webapp.precinct.place.toml_document import SIZE_LIMIT
from webapp.precinct.place.toml_table import ID


@dataclass(frozen=True, slots=True)
class DeskFolder:
    """The folder, whose it is, and the slips to print, hand over in person, and delete."""

    folder: Path
    desk: DeskApart
    slips: Path


def make(office: Path, name: str, out: Path, now: int, replace: bool = False) -> DeskFolder:
    """A desk of this office in a new folder (`now` ms UTC). Raises GateRefused, Mistakes; then nothing of it is left behind."""
    known = _may_be_made(office, name, out, replace)
    key = keys.office_key(office)
    found = roster.load(office)
    if not found.places:
        raise GateRefused(
            "No place file was issued yet: build and enrol the places first, so that the desk knows them."
        )
    made = out.exists()
    try:
        out.mkdir(parents=True, mode=0o700, exist_ok=True)
        _lay_down(office, out, now)
        slips = enrolment.open_office(out).slips
        if slips is None:
            raise GateRefused(f"{office} names nobody who signs at its desks: write [[officials]] into office.toml.")
        desk = DeskApart(
            name,
            found.office.id,
            "practice" if found.practice else "live",
            keys.office_key(out).public_key().public_bytes_raw(),
            max(now, max((one.since for one in known), default=0) + 1),
        )
        sealed = desk_apart.sealed(desk, key)
        home = office / desk_apart.FOLDER / name
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_new(home / f"{desk.kid.hex()}.cose", sealed)
        write_new(out / desk_apart.FILE, sealed)
    except BaseException:
        for path in out.iterdir() if out.is_dir() else ():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        if not made and out.is_dir():
            out.rmdir()
        raise
    return DeskFolder(out, desk, slips)


def _may_be_made(office: Path, name: str, out: Path, replace: bool) -> list[DeskApart]:
    """The keys that a desk of this name had. Raises GateRefused."""
    if not ID.fullmatch(name):
        raise GateRefused("--name of a desk has up to 16 letters, digits and dashes, such as north.")
    if not (office / keys.FILE).is_file() or not (office / enrolment.OFFICE_FILE).is_file():
        raise GateRefused(f"{office} is no folder of an office whose key is made: `tapeseal place build` makes it.")
    if desk_apart.of_folder(office):
        raise GateRefused(f"{office} is itself the folder of a desk apart: desks are made at the office.")
    if out.resolve() == office.resolve() or office.resolve() in out.resolve().parents:
        raise GateRefused(f"{out} is inside the office's folder: give the desk a folder of its own, such as a stick.")
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise GateRefused(f"{out} is there already and not empty: nothing was written. Choose a new folder.")
    issued = desk_apart.issued(office, office_publics(office))
    same = next((one for one in issued if one.lower() == name.lower()), None)
    if same and (not replace or same != name):
        more = (
            ""
            if same != name
            else " If its folder is lost or starts over, say --replace: bundles of the key before are refused from then on."
        )
        raise GateRefused(f"Desk {same} was made already: choose another name.{more}")
    return issued.get(name, [])


def _lay_down(office: Path, out: Path, now: int) -> None:
    """Office file, place files, gate: a key of the desk's own, and the public keys that the office holds."""
    toml = plain_file.read(office / enrolment.OFFICE_FILE, SIZE_LIMIT)
    public = office_keys.read(office_keys.written(office, now))
    if public is None:
        raise GateRefused(f"{office_keys.FILE} of the office cannot be read: move it away and try again.")
    office_kit.lay_down_fresh(out, public.office, public.public, keys.held(office, keys.BEFORE))
    office_keys.lay_down(out, public)
    issued = out / enrolment.ISSUED
    issued.mkdir(mode=0o700)
    for path in sorted(
        (office / enrolment.ISSUED).glob("*.cose"), key=lambda file: (file.stat().st_mtime_ns, file.name)
    ):
        write_new(issued / path.name, plain_file.read(path, signed_place_file.LIMIT))
        shutil.copystat(path, issued / path.name)
    write_new(out / enrolment.OFFICE_FILE, toml)
    keys.settle(out)


def office_publics(office: Path) -> list[Any]:
    """The keys with which this office signs, or signed until it lost one."""
    before = keys.held(office, keys.BEFORE)
    own = keys.office_key(office).public_key()
    return [own, *([type(own).from_public_bytes(before)] if before else [])]
