"""Writes an archive into a new folder, and the office's signature over its manifest last: a folder that was cut off on the way is no archive."""

import shutil
from hashlib import sha256
from pathlib import Path

from webapp import plain_file
from webapp.archive import bag, contents
from webapp.archive.contents import OfficeToArchive
from webapp.gate import keys
from webapp.packet import cose


def written(office: OfficeToArchive, out: Path, kind: str, now: int, sealed: str | None = None) -> str:
    """Make the folder `out`; SHA-256 (hex) of its manifest. `now` ms UTC; `sealed`: of the sealed archive that a public one goes with.

    Raises FileExistsError where it is there, other OSError where it cannot be written, Changed for an edition that is not what was posted.
    """
    told = contents.facts(office, kind, now, sealed)
    out.mkdir(parents=True, mode=0o700 if kind == bag.SEALED else 0o755)
    try:
        return _fill(office, out, told, now)
    except BaseException:
        shutil.rmtree(out, ignore_errors=True)
        raise


def _fill(office: OfficeToArchive, out: Path, told: bag.Facts, now: int) -> str:
    digests, size, mode = {}, 0, 0o600 if told.kind == bag.SEALED else 0o644
    for name, data in contents.files(office, told, now):
        path = out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        digests[name], more = plain_file.write_new(path, (data,) if isinstance(data, bytes) else data, mode)
        size += more
    manifest = bag.manifest(digests)
    digest = sha256(manifest).digest()
    beside = {
        "bagit.txt": bag.BAGIT,
        bag.INFO: bag.info(told, size, len(digests)),
        bag.MANIFEST: manifest,
        bag.SIGNATURE: cose.sign(digest, keys.office_key(office.folder), bag.context(told.mode)),
    }
    beside[bag.TAG_MANIFEST] = bag.manifest({name: sha256(data).hexdigest() for name, data in beside.items()})
    for name, data in beside.items():
        plain_file.write_new(out / name, (data,), mode)
    plain_file.settle(out)
    return digest.hex()
