"""The editions of an office on the disk: `editions/N/` holds what may be handed out, `editions-sealed/N.json` the figures of each atom, never handed out.

The files are whole on the disk before anybody signs; two signatures make them edition N. They are compared with the
digests in the record whenever they are read: an edition whose files were changed is named, and no further one is made
over it.
"""

import hashlib
import json
import shutil
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.canvass import changes, edition, posting_page, results_csv
from webapp.canvass.changes import ContestChange
from webapp.canvass.edition import Edition
from webapp.canvass.published import OneContest

FOLDER, SEALED = "editions", "editions-sealed"
EDITION = "edition.json"
LIMIT = 512 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Posted:
    """An edition as the record has it; times in ms UTC."""

    number: int
    status: str
    cut: int
    digest: bytes
    sealed: bytes
    inn: int
    of: int
    waiting: int
    kept: int
    entry: int
    because: str


def is_posted(entry: Any) -> bool:
    """Whether this entry of the record posts an edition: signed by two parties, as one signed short posts nothing."""
    parties = {signer.party for signer in entry.signers}
    return entry.kind == "edition-posted" and len(parties) > 1 and not entry.body.get("short")


def posted_of(entry: Any, because: str) -> Posted:
    """An `edition-posted` entry as what it says."""
    body = entry.body
    return Posted(
        body["number"],
        body["status"],
        body["cut"],
        bytes(body["digest"]),
        bytes(body["sealed"]),
        body["in"],
        body["of"],
        body["waiting"],
        entry.kept,
        entry.number,
        because,
    )


class Changed(Exception):
    """A file of an edition is not what was posted: one sentence with what to do."""


class HeldFile:
    """A file that is not on the disk yet, held deflated: a large county's results are 50 times as long as what is held of them."""

    def __init__(self, pieces: Iterable[bytes], behind: str = ""):
        """`behind`: what `figures` covers besides the file."""
        self._held: list[bytes] = []
        found, packer = hashlib.sha256(), zlib.compressobj(1)
        for piece in pieces:
            found.update(piece)
            self._held.append(packer.compress(piece))
        self._held.append(packer.flush())
        self.digest = found.hexdigest()
        found.update(behind.encode())
        self.figures = found.hexdigest()

    def pieces(self) -> Iterator[bytes]:
        """The file's bytes, a piece at a time."""
        unpacker = zlib.decompressobj()
        for piece in self._held:
            while piece:
                yield unpacker.decompress(piece, plain_file.PIECE)
                piece = unpacker.unconsumed_tail
        yield unpacker.flush()


@dataclass(frozen=True)
class Ready:
    """Files of an edition that nobody has signed yet, by name; `sealed` for the office alone."""

    edition: Edition
    files: Mapping[str, HeldFile]
    sealed: bytes
    changed: tuple[ContestChange, ...]

    @property
    def digest(self) -> bytes:
        return bytes.fromhex(self.files[EDITION].digest)

    @property
    def figures_digest(self) -> str:
        """What the figures are known by, whatever the hour: SHA-256 of results.csv and of what waits."""
        return self.files["results.csv"].figures

    def body(self) -> dict[str, Any]:
        """The body of the entry `edition-posted` for this edition."""
        one = self.edition
        return {
            "number": one.number,
            "status": one.status,
            "cut": one.cut,
            "digest": self.digest,
            "sealed": hashlib.sha256(self.sealed).digest(),
            "in": one.inn,
            "of": one.awaited,
            "waiting": one.waiting,
            "supersedes": one.supersedes,
        }


def ready(
    new: Edition,
    before: Mapping[str, OneContest],
    made: str,
    shown: str,
    shown_before: str,
    more: Mapping[str, bytes | Iterable[bytes]],
) -> Ready:
    """Every file of an edition. `made` is the time with its zone (ISO 8601), `shown` as people read it; `more`: further files by name, or in pieces."""
    changed = tuple(changes.between(before, new))
    page = posting_page.written(new, shown, changed if before else (), shown_before)
    files = {
        "results.csv": HeldFile(results_csv.pieces(new), str(new.waiting)),
        "posting.html": HeldFile((page,)),
        **{name: HeldFile((data,) if isinstance(data, bytes) else data) for name, data in more.items()},
    }
    digests = {name: one.digest for name, one in files.items()}
    files[EDITION] = HeldFile((as_json(edition.public(new, made, digests)),))
    return Ready(new, files, as_json(edition.stored(new)), changed)


def as_json(document: Mapping[str, Any]) -> bytes:
    """JSON of one line a key at the top, in the order given: the same document gives the same bytes."""
    rows = [f"{json.dumps(name)}: {json.dumps(value, ensure_ascii=False)}" for name, value in document.items()]
    return ("{" + ",\n".join(rows) + "}\n").encode()


class Editions:
    """What was posted, in order, and the files."""

    def __init__(self, folder: Path, move: bool = True):
        """move: whether files that waited for their signatures get their number here; False for a caller that only looks."""
        self._move = move
        self.folder, self.private = Path(folder) / FOLDER, Path(folder) / SEALED
        self.posted: list[Posted] = []

    @property
    def next(self) -> int:
        return len(self.posted) + 1

    def post(self, one: Posted) -> None:
        """The record names this edition: its files get their number, if they have not got it yet."""
        if one.number != self.next:
            return
        self.posted.append(one)
        if not self._move:
            return
        for waiting, home in (
            (self._waiting(one.digest), self.path(one.number)),
            (self._waiting_sealed(one.sealed), self._sealed(one.number)),
        ):
            if waiting.exists() and not home.exists():
                waiting.rename(home)
                plain_file.settle(home.parent)
        for left in self.folder.glob("waiting-*"):  # of signatures that lapsed: their number is taken now
            shutil.rmtree(left, ignore_errors=True)
        for left in self.private.glob("waiting-*.json"):
            left.unlink(missing_ok=True)

    def lay(self, found: Ready) -> None:
        """The files, whole on the disk, under the name of their digest until two parties have signed."""
        home = self._waiting(found.digest)
        for folder in (self.folder, self.private):
            folder.mkdir(mode=0o700, exist_ok=True)
        shutil.rmtree(home, ignore_errors=True)
        home.mkdir(mode=0o700)
        for name, one in found.files.items():
            plain_file.write_new(home / name, one.pieces())
        plain_file.settle(home)
        plain_file.write(self._waiting_sealed(hashlib.sha256(found.sealed).digest()), found.sealed)

    def path(self, number: int) -> Path:
        """Returns the folder of edition `number`, whether it is there or not."""
        return self.folder / str(number)

    def _sealed(self, number: int) -> Path:
        return self.private / f"{number}.json"

    def _waiting(self, digest: bytes) -> Path:
        return self.folder / f"waiting-{digest.hex()[:32]}"

    def _waiting_sealed(self, digest: bytes) -> Path:
        return self.private / f"waiting-{digest.hex()[:32]}.json"

    def figures(self, number: int = 0) -> dict[str, OneContest]:
        """The figures of an edition by contest, with each atom, of the newest without a number; {} where there is none. Raises Changed."""
        one = self.posted[number - 1] if 0 <= number <= len(self.posted) and self.posted else None
        if one is None:
            return {}
        name = f"{SEALED}/{one.number}.json"
        data = self._read(self._sealed(one.number), name)
        if hashlib.sha256(data).digest() != one.sealed:
            raise Changed(
                f"{name} is not what edition {one.number} was made of. Put it back from a copy of the office's folder."
            )
        return edition.figures_of(json.loads(data))

    def files(self, number: int) -> dict[str, Path]:
        """Every file of one edition by its name, each checked against the record. Raises Changed; KeyError for no such edition."""
        one = next((one for one in self.posted if one.number == number), None)
        if one is None:
            raise KeyError(number)
        home, named = self.path(number), f"{FOLDER}/{number}/{EDITION}"
        data = self._read(home / EDITION, named)
        if hashlib.sha256(data).digest() != one.digest:
            raise Changed(f"{named} is not what was posted. Put the folder back from a copy of the office's folder.")
        found = {EDITION: home / EDITION}
        for name, digest in json.loads(data)["files"].items():
            found[name] = home / name
            try:
                same = plain_file.digest(found[name], LIMIT) == digest
            except OSError as wrong:
                raise self._unreadable(f"{FOLDER}/{number}/{name}", wrong) from None
            if not same:
                raise Changed(
                    f"{FOLDER}/{number}/{name} is not what was posted. Put it back from a copy of the office's folder."
                )
        return found

    def data(self, number: int, *names: str) -> dict[str, bytes]:
        """The bytes of these files of one edition, as far as it has them; checked against the record like `files`. Raises Changed, KeyError."""
        found = self.files(number)
        return {name: self._read(found[name], f"{FOLDER}/{number}/{name}") for name in names if name in found}

    @staticmethod
    def _unreadable(named: str, wrong: OSError) -> Changed:
        return Changed(f"{named} cannot be read ({wrong.strerror}). Put it back from a copy of the office's folder.")

    @classmethod
    def _read(cls, path: Path, named: str) -> bytes:
        try:
            return plain_file.read(path, LIMIT)
        except OSError as wrong:
            raise cls._unreadable(named, wrong) from None
