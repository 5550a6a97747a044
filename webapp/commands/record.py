"""Check a record, keep a copy of it on a stick, go on from that copy on a spare laptop, and say what is lost."""

import argparse
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp.commands import Stop, packet_file
from webapp.commands.recovery import backup, export, give_back, lost, restore
from webapp.commands.recovery.copied_words import copied
from webapp.commands.recovery.verify_copy import as_record
from webapp.gate import keys
from webapp.gate.refusals import GateRefused
from webapp.packet import envelope
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import UnusableFile, Verdict, verify

NAME = "record"
HELP = "check, copy and restore a place's record"

VERBS = (
    ("backup", backup, "one whole copy on a stick, now"),
    ("restore", restore, "go on from a stick on a spare laptop"),
    ("export", export, "the record as one file of entries, for archives"),
    ("give-back", give_back, "bring in what an old disk, a stick or a tablet still has"),
    ("lost", lost, "which numbers nobody has given back"),
)


def arguments(parser: argparse.ArgumentParser) -> None:
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="verify|backup|restore|export|give-back|lost")
    check = verbs.add_parser("verify", help="say whether a record is whole, and which entry is the first that is wrong")
    check.add_argument("file", type=Path, metavar="FILE", help="a record.db, a stick or its folder, or an export")
    check.add_argument(
        "--expect", action="append", default=[], metavar="NUMBER:WORDS", help="check words copied onto paper"
    )
    check.add_argument("--packet", type=Path, metavar="FILE", help="a packet.cose of this record")
    check.add_argument(
        "--office", type=Path, metavar="DIR", help="hold the packet's signature against the keys enrolled here"
    )
    check.add_argument("--json", action="store_true", help="one object on one line")
    check.set_defaults(of_verb=_verify)
    for name, module, says in VERBS:
        verb = verbs.add_parser(name, help=says, description=module.__doc__)
        module.arguments(verb)
        verb.set_defaults(of_verb=module.run)


def run(options: argparse.Namespace) -> int:
    return options.of_verb(options)


def _verify(options: argparse.Namespace) -> int:
    if options.office and not options.packet:
        raise Stop("--office holds a packet's signature against its keys: give the packet too, with --packet.")
    marks, heads, proven = _from_packet(options.packet, options.office) if options.packet else ([], [], "")
    try:
        with as_record(options.file) as (file, besides):
            verdict = verify(file, [*map(copied, options.expect), *marks], heads=heads, coarse=COARSE_KINDS)
    except UnusableFile as nothing:
        raise Stop(str(nothing)) from None
    verdict = replace(verdict, says=" ".join(filter(None, (verdict.says, besides))))
    if proven:
        refuted = options.office is not None and proven is not PROVEN
        verdict = replace(verdict, ok=verdict.ok and not refuted, says=f"{verdict.says} {proven}")
    print(json.dumps(_as_json(verdict), ensure_ascii=False) if options.json else verdict.says)
    return 0 if verdict.ok else 1


def _as_json(verdict: Verdict) -> dict[str, object]:
    return {
        "ok": verdict.ok,
        "entries": verdict.entries,
        "head": verdict.head and verdict.head.hex(),
        "first_wrong": verdict.first_wrong,
        "says": verdict.says,
    }


PROVEN = "The packet is signed with the key enrolled for its place."
UNCHECKED = (
    "The packet's own signature was not checked, so its maker could state any head: give --office with the "
    "office's folder, or read the packet there with `tapeseal packet read`."
)


def _from_packet(path: Path, office: Path | None) -> tuple[list[tuple[int, str]], list[tuple[int, bytes]], str]:
    """The check words, and the length and head, that a packet states; and what its signature says of it."""
    try:
        enrolled = keys.enrolments(office) if office else ()
        known = {row.kid: Ed25519PublicKey.from_public_bytes(row.public) for row in enrolled} if office else None
        opened = envelope.open_packet(packet_file.parts(path), known, None)
        core = opened.core
        marks = [(int(number), str(words)) for number, words in core["marks"]]
        return marks, [(int(core["length"]), bytes(core["head"]))], _proven(opened, enrolled) if office else UNCHECKED
    except (envelope.PacketRefused, GateRefused) as refusal:
        raise Stop(
            f"{path.name}: {refusal}" if isinstance(refusal, envelope.PacketRefused) else str(refusal),
            1 if office else 2,
        ) from None
    except OSError as wrong:
        raise Stop(
            f"{path} cannot be read ({wrong.strerror}). Give the path of the packet.cose of this record."
        ) from None
    except (KeyError, TypeError, ValueError):
        raise Stop(
            f"{path.name} states no check words, length and head. Give the packet.cose of this record."
        ) from None


def _proven(opened: envelope.Opened, enrolled: Sequence[keys.Enrolment]) -> str:
    """PROVEN, or why the packet proves nothing here."""
    row = next((row for row in enrolled if row.kid == opened.kid), None)
    if not opened.verified or row is None:
        return f"The packet is signed with the key {opened.kid.hex()}, which is not enrolled at this office: it proves nothing."
    if (row.place, row.mode) != (opened.core.get("place"), opened.mode):
        return f"The packet is signed with the key of {row.place} ({row.mode}) and speaks of another place: it proves nothing."
    return PROVEN
