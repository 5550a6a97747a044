"""Whether an archive is byte for byte what the office signed: every file against the manifest, the manifest against the signature, the rest against both."""

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import file_digest
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp import plain_file
from webapp.archive import bag
from webapp.archive.findings import Findings
from webapp.packet import cose

MOST_FILES = 200_000
TAG_LIMIT = 64 * 1024 * 1024  # bytes of a manifest: 200,000 lines of 300
OF_THE_BAG = ("bagit.txt", bag.INFO, bag.MANIFEST, bag.SIGNATURE, bag.TAG_MANIFEST)


class NoArchive(Exception):
    """There is nothing to read: one sentence with what to do."""


@dataclass(frozen=True)
class WholeArchive:
    """An archive whose every byte is as the office signed it."""

    folder: Path
    facts: bag.Facts
    keys: Mapping[str, Any]

    @property
    def office(self) -> Ed25519PublicKey:
        return Ed25519PublicKey.from_public_bytes(bytes.fromhex(self.keys["office"]["public"]))

    def read(self, name: str, most: int = 512 * 1024 * 1024) -> bytes:
        """Returns the bytes of one file of the archive, by its path inside it; `most` is the size limit in bytes.

        Raises OSError where the file is missing, `plain_file.UnreadableFile` where it is no plain file or larger than
        `most`.
        """
        return plain_file.read(self.folder / name, most)


def whole(folder: Path, found: Findings) -> WholeArchive | None:
    """The archive in this folder; None where a file of it is not as it was signed, which `found` then names. Raises NoArchive."""
    if folder.is_file():
        raise NoArchive(f"{folder} is a file: unpack it, then give the folder that has bagit.txt in it.")
    if not any((folder / name).is_file() for name in OF_THE_BAG):
        raise NoArchive(f"There is no archive in {folder}: give the folder that has bagit.txt in it.")
    sizes = _sizes(folder, found)
    promised = _promised(folder, bag.MANIFEST, found)
    for name in sorted(promised.keys() | {name for name in sizes if name.startswith("data/")}):
        if name not in sizes:
            found.wrong(name, "is not there, and the manifest lists it")
        elif name not in promised:
            found.wrong(name, "was added: the manifest does not list it")
        elif _digest(folder / name) != promised[name]:
            found.wrong(name, "is not the file that was archived")
    try:
        archive = _facts(folder)
    except (OSError, KeyError, TypeError, ValueError, RecursionError):
        found.wrong(f"{bag.FACTS} or {bag.KEYS}", "cannot be read, so nothing more is checked")
        return None
    _check_signature(archive, found)
    _check_tags(archive, sizes, found)
    return archive if found.ok else None


def _facts(folder: Path) -> WholeArchive:
    facts = bag.facts_of(json.loads(plain_file.read(folder / bag.FACTS, TAG_LIMIT)))
    archive = WholeArchive(folder, facts, json.loads(plain_file.read(folder / bag.KEYS, TAG_LIMIT)))
    archive.office.public_bytes_raw()
    return archive


def _sizes(folder: Path, found: Findings) -> dict[str, int]:
    """Bytes of every plain file by its path. Raises NoArchive for more files than any archive has."""
    sizes: dict[str, int] = {}
    for where, folders, names in os.walk(folder):
        for name in (*names, *(one for one in folders if (Path(where) / one).is_symlink())):
            path = Path(where) / name
            told = path.relative_to(folder).as_posix()
            if path.is_symlink() or not path.is_file():
                found.wrong(told, "is no plain file")
            else:
                sizes[told] = path.stat().st_size
        if len(sizes) > MOST_FILES:
            raise NoArchive(
                f"{folder} has more than {MOST_FILES:,} files: no archive has. Give the archive's own folder."
            )
    return sizes


def _promised(folder: Path, manifest: str, found: Findings) -> dict[str, str]:
    """Digests by path, as a manifest lists them."""
    try:
        rows = plain_file.read(folder / manifest, TAG_LIMIT).decode("utf-8", "replace").split("\n")
    except OSError:
        return {}
    promised = {}
    for row in filter(None, rows):
        digest, gap, name = row[:64], row[64:66], row[66:]
        if (
            gap != "  "
            or not name
            or set(digest) - set("0123456789abcdef")
            or ".." in name.split("/")
            or name[0] == "/"
        ):
            found.wrong(manifest, "has a line that is none")
        else:
            promised[name] = digest
    return promised


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def _check_signature(archive: WholeArchive, found: Findings) -> None:
    key = archive.office
    try:
        data = plain_file.read(archive.folder / bag.SIGNATURE, 4096)
        signed = cose.verify(data, {cose.key_id(key): key}, bag.context(archive.facts.mode))
    except (OSError, cose.PacketRefused):
        found.wrong(bag.SIGNATURE, f"is not there, or is not signed with the office's key in {bag.KEYS}")
        return
    manifest = archive.folder / bag.MANIFEST
    if not manifest.is_file() or bytes.fromhex(_digest(manifest)) != signed:
        found.wrong(bag.MANIFEST, "is not the one that the office signed")


def _check_tags(archive: WholeArchive, sizes: Mapping[str, int], found: Findings) -> None:
    """The files outside data/ can each have one content only; any other file there was added."""
    here = {name: plain_file.read(archive.folder / name, TAG_LIMIT) for name in OF_THE_BAG if name in sizes}
    contents = [size for name, size in sizes.items() if name.startswith("data/")]
    told = bag.info(archive.facts, sum(contents), len(contents))
    if not found.ok:  # the sum of bytes says nothing where a file is wrong
        stated = here.get(bag.INFO, b"").rpartition(b"Payload-Oxum: ")[2]
        told = told.rpartition(b"Payload-Oxum: ")[0] + b"Payload-Oxum: " + stated
    if here.get("bagit.txt") != bag.BAGIT:
        found.wrong("bagit.txt", "is not what it is in every archive")
    if here.get(bag.INFO) != told:
        found.wrong(bag.INFO, "says something else than the archive's own facts")
    for name in sorted(set(sizes) - set(OF_THE_BAG)):
        if not name.startswith("data/"):
            found.wrong(name, "was added: no archive has it")
    stated_digests = _promised(archive.folder, bag.TAG_MANIFEST, found)
    right = {name: _digest(archive.folder / name) for name in here if name != bag.TAG_MANIFEST}
    named = {name: digest for name, digest in stated_digests.items() if name in found.named}
    if here.get(bag.TAG_MANIFEST) != bag.manifest({n: d for n, d in right.items() if n not in found.named} | named):
        found.wrong(bag.TAG_MANIFEST, "is not what the files beside data/ give")
