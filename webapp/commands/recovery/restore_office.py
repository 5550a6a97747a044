"""`record restore` of an office: another laptop becomes its desk, from the stick and the office's kit, and goes on as the record's next run."""

import argparse
import os
import time
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

from webapp import plain_file
from webapp.commands.recovery.saved_folder import OFFICE_RECORD
from webapp.gate import keys, kit, office_keys, office_kit
from webapp.gate.office_keys import PublicKeys
from webapp.gate.office_kit import OfficeKit
from webapp.gate.refusals import GateRefused
from webapp.office.setup.enrolment import OFFICE_FILE
from webapp.precinct.place.toml_document import SIZE_LIMIT
from webapp.stick.copier import TREES
from webapp.stick.folder import StickFound, read_segments
from webapp.stick.restore import RestoreOutcome, restore

LARGEST = 64 * 1024 * 1024  # bytes of one file beside the record


def opened(options: argparse.Namespace, found: StickFound, code: str) -> tuple[OfficeKit | None, PublicKeys]:
    """The opened kit, None for --fresh, and the newest list of places' public keys on the stick. Raises GateRefused."""
    lists = [told for file in sorted(found.path.glob("keys-*.cbor")) if (told := office_keys.read(file))]
    mine = [told for told in lists if told.office == found.header.id]
    made = None
    if not options.fresh:
        data = kit.read(options.kit)
        whose = office_kit.named_in(data, options.kit.name)
        if whose != found.header.id:
            raise GateRefused(
                f"{options.kit.name} is the kit of the office {whose}; the stick is of {found.header.id}. Give the kit of this office."
            )
        made = office_kit.opened(data, code, options.kit.name)
        mine = [told for told in mine if told.public == made.public]
    if not mine:
        raise GateRefused(
            f"{found.path} holds no list of places' keys that this office signed: nothing was laid down. Give another stick, and keep this one."
        )
    return made, max(mine, key=lambda told: told.made)


def lay_down(
    options: argparse.Namespace,
    found: StickFound,
    who: tuple[OfficeKit | None, PublicKeys],
    out: Path,
    expect: Sequence[tuple[int, str]],
) -> RestoreOutcome:
    """Record, files, gate, and last the office file. Raises what `restore` raises, GateRefused, OSError."""
    made, public = who
    told = restore(
        found,
        out / OFFICE_RECORD,
        seen=options.seen,
        expect=expect,
        kit="spare" if made else "fresh",
        coarse=frozenset(),
        now=time.time_ns() // 1_000_000,
        laptop=options.laptop,
    )
    for tree in TREES:
        _copy(found.path, out, tree)
    if made:
        office_kit.lay_down(out, made)
    else:
        office_kit.lay_down_fresh(out, found.header.id, public.public)
    office_keys.lay_down(out, public)
    keys.settle(out)
    (out / OFFICE_FILE).write_bytes(_office_file(found))
    return told


def _office_file(found: StickFound) -> bytes:
    """The office file of the last start that wrote on the stick. Raises GateRefused where it is not there."""
    segments, _ = read_segments(found.path)
    wanted = [one.header.digest for one in segments][::-1]
    files = {
        sha256(data := plain_file.read(file, SIZE_LIMIT)).digest(): data for file in found.path.glob("office-*.toml")
    }
    newest = next((files[digest] for digest in wanted if digest in files), None)
    if newest is None:
        raise GateRefused(
            f"{found.path} holds no {OFFICE_FILE} of this record: nothing was laid down. Give another stick, and keep this one."
        )
    return newest


def _copy(stick: Path, out: Path, tree: str) -> None:
    """The files of one folder, with their times, by which the newest is known."""
    for file in (
        one
        for one in sorted((stick / tree).rglob("*"))
        if one.is_file() and not one.is_symlink() and one.suffix != ".part"
    ):
        target = out / file.relative_to(stick)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(plain_file.read(file, LARGEST))
        os.utime(target, ns=(file.stat().st_mtime_ns,) * 2)
