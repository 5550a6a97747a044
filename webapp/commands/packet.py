"""Draw the newest signed packet of a place as pages, codes and a file; or read a packet back from any of them."""

import argparse
import json
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp import plain_file
from webapp.commands import Stop, packet_file
from webapp.gate import keys, refusals
from webapp.gate.signed_place_file import load_place
from webapp.office.reading import code_reading
from webapp.office.reading.code_reading import FileRefused
from webapp.packet import codes, envelope, frames
from webapp.packet.contents import account
from webapp.paper.packet_pages import packet_pdf
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

NAME = "packet"
HELP = "draw a place's summary packet, or read one from images, PDFs, files and scanned text"


def arguments(parser: argparse.ArgumentParser) -> None:
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="build|read")
    build = verbs.add_parser(
        "build", help="write packet.pdf, packet.cose and frame-NN.png of the newest packet that two parties signed"
    )
    build.add_argument("place", type=Path, metavar="PLACE_DIR")
    build.add_argument("--out", type=Path, required=True, metavar="DIR")
    read = verbs.add_parser("read", help="read a packet; nothing is stored")
    read.add_argument("files", type=Path, nargs="+", metavar="FILE")
    read.add_argument("--office", type=Path, metavar="DIR", help="hold the signature against the keys enrolled here")
    for verb in (build, read):
        verb.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    try:
        if options.verb == "build":
            return _build(options.place, options.out, options.json)
        return _read(options.files, options.office, options.json)
    except (envelope.PacketRefused, refusals.GateRefused, RecordRefused) as refusal:
        raise Stop(str(refusal)) from None


def _build(folder: Path, out: Path, as_json: bool) -> int:
    if (folder / "place.cose").is_file() and load_place(folder).kind == "test":
        raise Stop("A test makes no packet: none of its figures may reach a total.", 1)
    number, parts = _newest(folder)
    opened = envelope.open_packet(parts, None, None)
    texts = frames.split(parts)
    place = load_place(folder)
    try:
        shown = account(opened.core, opened.remarks, place, opened.digest)
    except (KeyError, TypeError, ValueError, AttributeError) as wrong:
        raise Stop(
            f"Packet {number} was made by another version, and its figures cannot be set in type by this one ({wrong!r}): let two parties make another packet."
        ) from None
    pages = packet_pdf(shown, texts)
    pictures = {f"frame-{place:02d}.png": codes.as_png(text) for place, text in enumerate(texts, 1)}
    beside = _beside(folder / "packet", number, opened.digest)
    _write(out, {"packet.pdf": pages, "packet.cose": b"".join(parts), **pictures, **beside})
    said = {
        "frames": len(texts),
        "needed": frames.needed(parts),
        "bytes": sum(map(len, parts)),
        "digest": opened.digest.hex(),
    }
    print(
        json.dumps(said)
        if as_json
        else f"Packet {number} of {folder.name}: {said['frames']} codes, of which {said['needed']} are needed; "
        f"{said['bytes']} bytes; digest {said['digest']}. Written to {out}."
    )
    return 0


def _newest(folder: Path) -> tuple[int, tuple[bytes, bytes]]:
    """Number and parts of the packet that the record's last `packet-made` names; the record is only looked into."""
    if not folder.is_dir():
        raise Stop(f"{folder} is not a folder: give the place's folder, which holds place.cose and record.db.")
    with Ledger.read_only(folder / "record.db") as record:
        signed = [entry for entry in record.entries() if entry.kind == "packet-made" and len(entry.signers) > 1]
    if not signed:
        raise Stop(
            f"No packet of {folder.name} was signed by two parties yet: make it at the step Summary packet, then build.",
            1,
        )
    number, digest = signed[-1].body["number"], bytes(signed[-1].body["digest"])
    files = (
        folder / "packet" / f"{number}.cose",
        folder / "packet" / f"waiting-{digest.hex()}.cose",
    )  # the second until its page is opened once
    path = next((path for path in files if path.is_file()), files[0])
    try:
        parts = packet_file.parts(path)
    except envelope.PacketRefused as refusal:
        raise Stop(f"{path.name}: {refusal}") from None
    except OSError as wrong:
        raise Stop(
            f"{path} cannot be read ({wrong.strerror}): take it from the backup, or let two parties make another packet."
        ) from None
    if envelope.Packet(parts).digest != digest:
        raise Stop(
            f"{path.name} is not the packet that entry {signed[-1].number} names. Take it from the backup, or let two parties make another packet."
        )
    return number, parts


def _beside(lot: Path, number: int, digest: bytes) -> dict[str, bytes]:
    """The files of a count board that were signed with this packet: its list of batches, its votes by precinct."""
    found: dict[str, bytes] = {}
    for name in ("batches.csv", "votes.csv"):
        for path in (lot / f"{number}-{name}", lot / f"waiting-{digest.hex()}-{name}"):
            if path.is_file():
                found.setdefault(name, path.read_bytes())
    return found


def _write(out: Path, files: Mapping[str, bytes]) -> None:
    """Write each file whole under another name first, so that none is ever seen half written."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        stale = sorted(path.name for path in out.glob("frame-*.png") if path.name not in files)
        if stale:
            raise Stop(
                f"{out} holds {stale[0]} of another packet: choose an empty folder, so that codes of two packets are never mixed."
            )
        for name, data in files.items():
            half = out / f".{name}.half"
            half.write_bytes(data)
            os.replace(half, out / name)
    except OSError as wrong:
        raise Stop(f"{out} cannot be written ({wrong.strerror}): choose a folder that may be written.") from None


def _read(files: Sequence[Path], office: Path | None, as_json: bool) -> int:
    enrolled = None if office is None else keys.enrolments(office)
    collected, foreign, doubts = _collected(files)
    said: dict[str, Any] = {
        "complete": collected.complete,
        "digest": None,
        "verified": None,
        "place": None,
        "frames_read": collected.read,
        "foreign": foreign,
        "missing": list(collected.missing),
    }
    if collected.complete:
        doubts += _opened(collected, enrolled, said)
    else:
        doubts.append(collected.says)
    if as_json:
        print(json.dumps(said))
    else:
        print(_in_words(said))
    for doubt in doubts:
        print(f"tapeseal packet: {doubt}", file=sys.stderr)
    return 0 if said["complete"] and said["verified"] is not False else 1


def _collected(files: Sequence[Path]) -> tuple[frames.Collector, int, list[str]]:
    """All codes of all files, how many foreign ones there were, and what was damaged; `Stop` for a broken file or two packets."""
    collected, foreign, doubts, handed = frames.Collector(), 0, [], []
    for path in files:
        try:
            handed.append((path.name, plain_file.read(path, code_reading.BYTES)))
        except OSError as wrong:
            raise Stop(
                f"{path} cannot be read ({wrong.strerror}): give the path of an image, PDF, packet.cose or text of scanned codes."
            ) from None
    for (name, _), seen in zip(handed, code_reading.read_all(handed), strict=True):
        if isinstance(seen, FileRefused):
            raise Stop(str(seen))
        foreign += seen.foreign
        if mixed_up := [
            said for said in (collected.take_parts(seen.parts) if seen.parts else ()) if said not in frames.TAKEN
        ]:
            raise Stop(f"{name}: {mixed_up[0]}")
        for text in seen.texts:
            try:
                frame = frames.read(text)
            except frames.PacketRefused as damaged:
                doubts.append(f"{name}: {damaged}")
                continue
            try:
                collected.take(frame)
            except frames.PacketRefused as mixed:
                raise Stop(f"{name}: {mixed}") from None
    if not collected.read:
        raise Stop(
            doubts[0]
            if doubts
            else f"No code of a summary packet is in {', '.join(name for name, _ in handed)}: give images of its codes, packet.pdf or packet.cose."
        )
    return collected, foreign, doubts


def _opened(collected: frames.Collector, enrolled: Sequence[keys.Enrolment] | None, said: dict[str, Any]) -> list[str]:
    """Open a complete packet and fill in what it says; what is doubtful, as sentences."""
    parts = collected.parts()
    said["digest"] = envelope.Packet(parts).digest.hex()
    held = None if enrolled is None else {row.kid: Ed25519PublicKey.from_public_bytes(row.public) for row in enrolled}
    try:
        opened = envelope.open_packet(parts, held, None)
    except envelope.PacketRefused as refusal:
        said["verified"] = False if enrolled is not None else None
        if enrolled is None:
            raise
        return [str(refusal)]
    said["verified"], said["place"] = opened.verified, opened.core.get("place")
    if not opened.verified:
        return [] if enrolled is None else [str(envelope.UnknownKey(opened.kid, b""))]
    row = next(row for row in enrolled or () if row.kid == opened.kid)
    if (row.place, row.mode) != (said["place"], opened.mode):
        said["verified"] = False
        return [
            f"The key of {row.place} ({row.mode}) signed a packet of {said['place']} ({opened.mode}). Set it aside and ask both places."
        ]
    return []


def _in_words(said: Mapping[str, Any]) -> str:
    proven = {
        True: "signed with the key enrolled for it",
        False: "not proven",
        None: "signature not asked for (give --office)",
    }[said["verified"]]
    head = (
        f"Packet {said['digest']} of {said['place']}, complete, {proven}." if said["complete"] else "Not complete yet."
    )
    return f"{head} {said['frames_read']} codes read, {said['foreign']} foreign."
