"""Check a record: whether every entry is as it was kept, and if not, which is the first that is wrong."""

import argparse
import json
from pathlib import Path

from webapp.commands import Stop, packet_file
from webapp.packet import envelope
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.record.audit import UnusableFile, Verdict, verify

NAME = "record"
HELP = "check a place's record"


def arguments(parser: argparse.ArgumentParser) -> None:
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="verify")
    check = verbs.add_parser("verify", help="say whether a record is whole, and which entry is the first that is wrong")
    check.add_argument("file", type=Path, metavar="FILE")
    check.add_argument(
        "--expect", action="append", default=[], metavar="NUMBER:WORDS", help="check words copied onto paper"
    )
    check.add_argument("--packet", type=Path, metavar="FILE", help="a packet.cose of this record")
    check.add_argument("--json", action="store_true", help="one object on one line")


def run(options: argparse.Namespace) -> int:
    marks, heads = _from_packet(options.packet) if options.packet else ([], [])
    try:
        verdict = verify(options.file, [*map(_copied, options.expect), *marks], heads=heads, coarse=COARSE_KINDS)
    except UnusableFile as nothing:
        raise Stop(str(nothing)) from None
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


def _copied(text: str) -> tuple[int, str]:
    """`41:XXXX-XXXX-XXXX` as typed from the paper."""
    number, colon, words = text.partition(":")
    if not colon or not number.isascii() or not number.isdecimal() or not words.strip():
        raise Stop(
            f"--expect {text}: write the entry's number, a colon and the words from the paper, as 41:XXXX-XXXX-XXXX."
        )
    return int(number), words.strip()


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
