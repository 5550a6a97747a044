"""`export --archive`: an office's sealed or public archive in a new folder, checked once it is written."""

import argparse
import json
import time
from hashlib import sha256
from pathlib import Path

from webapp.archive import bag, check, contents, writing
from webapp.archive.findings import Findings
from webapp.archive.folder_check import NoArchive, whole
from webapp.commands import Stop
from webapp.gate.refusals import GateRefused
from webapp.office.canvassing.editions import Changed
from webapp.precinct.place.place_file import Mistakes
from webapp.record.refusals import RecordRefused


def run(options: argparse.Namespace) -> int:
    """0 written and checked, 1 nothing is posted or something in it does not agree, 2 refused."""
    if options.edition is not None:
        raise Stop("An archive holds every edition that was posted: leave out --edition.")
    if options.with_sealed and options.archive != bag.PUBLIC:
        raise Stop("--with-sealed belongs to --archive public: say both, or neither.")
    if not (options.office / contents.RECORD).is_file():
        raise Stop(f"{options.office} holds no office.db: give the folder of an office that was opened before.")
    try:
        office = contents.opened(options.office)
        if not office.posted.posted:
            raise Stop("Nothing is posted yet: post an edition at the desk first.", 1)
        sealed = _digest_of(options.with_sealed, office) if options.with_sealed else None
        digest = writing.written(office, options.out, options.archive, time.time_ns() // 1_000_000, sealed)
    except FileExistsError:
        raise Stop(f"{options.out} is there already, and nothing is written over: choose another name.") from None
    except OSError as wrong:
        raise Stop(f"{options.out} cannot be written ({wrong.strerror}): choose another place.") from None
    except Changed as wrong:
        raise Stop(str(wrong), 1) from None
    except Mistakes as wrong:
        raise Stop(f"office.toml cannot be used: {wrong.found[0][1]}") from None
    except (RecordRefused, GateRefused, NoArchive) as wrong:
        raise Stop(str(wrong)) from None
    found = check.checked(options.out)
    answer = {
        "kind": options.archive,
        "editions": [one.number for one in office.posted.posted],
        "manifest": digest,
        "ok": found.ok,
        "differs": [f"{name} {words}" for name, words in found.differs],
    }
    print(json.dumps(answer) if options.json else _told(options.out, options.archive, found))
    return 0 if found.ok else 1


def _digest_of(folder: Path, office: contents.OfficeToArchive) -> str:
    """SHA-256 of the manifest of this sealed archive, once its bytes agree and it is of this office. Raises Stop and NoArchive."""
    archive = whole(folder, found := Findings())
    if archive is None:
        raise Stop(f"{folder} is not as it was made: {found.differs[0][0]} {found.differs[0][1]}.", 1)
    if (archive.facts.kind, archive.facts.office) != (bag.SEALED, office.roster.office.id):
        raise Stop(f"{folder} is no sealed archive of this office: give the one made with --archive sealed.")
    return sha256(archive.read(bag.MANIFEST)).hexdigest()


def _told(out: Path, kind: str, found: Findings) -> str:
    held = "Not for the public: two people of two parties open it. " if kind == bag.SEALED else ""
    rows = [f"A {kind} archive is in {out}. {held}READ-ME-FIRST.txt in its folder data says how anybody checks it."]
    return "\n".join([*rows, *(f"Does not agree: {name} {words}" for name, words in found.differs)])
