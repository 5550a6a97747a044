"""Check a record, keep a copy of it on a stick, go on from that copy on a spare laptop, and say what is lost."""

import argparse
import json
from dataclasses import replace
from pathlib import Path

from webapp.commands import Stop, packet_file
from webapp.commands.recovery import backup, export, give_back, lost, restore
from webapp.commands.recovery.copied_words import copied
from webapp.commands.recovery.verify_copy import as_record
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
    check.add_argument("--json", action="store_true", help="one object on one line")
    check.set_defaults(of_verb=_verify)
    for name, module, says in VERBS:
        verb = verbs.add_parser(name, help=says, description=module.__doc__)
        module.arguments(verb)
        verb.set_defaults(of_verb=module.run)


def run(options: argparse.Namespace) -> int:
    return options.of_verb(options)


def _verify(options: argparse.Namespace) -> int:
    marks, heads = _from_packet(options.packet) if options.packet else ([], [])
    try:
        with as_record(options.file) as (file, besides):
            verdict = verify(file, [*map(copied, options.expect), *marks], heads=heads, coarse=COARSE_KINDS)
    except UnusableFile as nothing:
        raise Stop(str(nothing)) from None
    verdict = replace(verdict, says=" ".join(filter(None, (verdict.says, besides))))
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


def _from_packet(path: Path) -> tuple[list[tuple[int, str]], list[tuple[int, bytes]]]:
    """The check words, and the length and head, that a packet states. Its signature is looked at by `tapeseal packet read`, not here."""
    try:
        core = envelope.open_packet(packet_file.parts(path), None, None).core
        return [(int(number), str(words)) for number, words in core["marks"]], [
            (int(core["length"]), bytes(core["head"]))
        ]
    except envelope.PacketRefused as refusal:
        raise Stop(f"{path.name}: {refusal}") from None
    except OSError as wrong:
        raise Stop(
            f"{path} cannot be read ({wrong.strerror}). Give the path of the packet.cose of this record."
        ) from None
    except (KeyError, TypeError, ValueError):
        raise Stop(
            f"{path.name} states no check words, length and head. Give the packet.cose of this record."
        ) from None
