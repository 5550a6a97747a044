"""`office desk`, `office bundle`, `office merge`: a desk in another building, what it brings, and one night out of many; editions between offices.

Exit 0: done; 1: a bundle waits for an earlier one; 2: refused, and nothing of that bundle was taken.
"""

import argparse
import secrets
import sys
import time
import uuid
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop, edition_for_offices
from webapp.commands.recovery.saved_folder import OFFICE_RECORD
from webapp.gate.refusals import GateRefused
from webapp.merging import bundle as bundles
from webapp.merging import bundling, desk_apart, desk_folder, office_report, receipt_of_bundle
from webapp.merging.brought import Brought
from webapp.merging.refusals import BundleRefused, OtherHistory
from webapp.merging.reported_offices import ReportedOffices
from webapp.merging.taking_in import MergingTable, after_waiting, locked
from webapp.office.reading.refused_files import RefusedFiles
from webapp.office.setup import office_file, roster
from webapp.office.setup.enrolment import OFFICE_FILE
from webapp.paper import bundle_receipt
from webapp.precinct.numbers import few
from webapp.record.check_words import check_words
from webapp.record.entry import Act, Claim, Text
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused

WORDS = ("desk", "bundle", "merge")
LONGEST = 400  # letters of a sentence that are kept


def run(options: argparse.Namespace) -> int:
    """The word is the first of the files. Raises Stop."""
    word, *files = options.files
    todo = {"desk": _desk, "bundle": _bundle, "merge": _merge}[word]
    try:
        return todo(options, [Path(file) for file in files])
    except (GateRefused, RecordRefused, BundleRefused) as wrong:
        raise Stop(str(wrong)) from None
    except office_file.Mistakes as wrong:
        line, sentence = wrong.found[0]
        raise Stop(f"office.toml, line {line}: {sentence}") from None
    except OSError as wrong:
        raise Stop(f"{wrong.filename or 'A file'} cannot be read or written ({wrong.strerror}).") from None


def _one(files: Sequence[Path], what: str) -> Path:
    if len(files) != 1:
        raise Stop(f"Give one folder: tapeseal office {what}")
    return files[0]


def _desk(options: argparse.Namespace, files: Sequence[Path]) -> int:
    office = _one(files, "desk OFFICE_DIR --name NAME --out DESK_DIR")
    if not options.name or options.out is None:
        raise Stop("Say how the desk is called and where its folder goes: --name north --out DESK_DIR.")
    made = desk_folder.make(office, options.name, options.out, time.time_ns() // 1_000_000, options.replace)
    print(
        f"{made.folder}: the folder of desk {made.desk.id}. Copy it to the desk's laptop, and open it with `tapeseal office`."
    )
    print(f"{made.slips}: slips for the desk. Print them, hand each over in person, and delete the file.")
    return 0


def _bundle(options: argparse.Namespace, files: Sequence[Path]) -> int:
    folder = _one(files, "bundle DIR --out FILE")
    if options.out is None:
        raise Stop("Say where the bundle goes: --out FILE.")
    if (folder / OFFICE_FILE).is_file() and not (folder / desk_apart.FILE).exists():
        if options.receipt or options.after is not None:
            raise Stop(
                "--receipt and --after belong to the bundle of a desk: an office gives one edition, by --edition."
            )
        report, says = edition_for_offices.report(folder, options.edition or 0)
        written(options.out, report)
        print(f"{options.out}: {says}")
        return 0
    if options.edition is not None:
        raise Stop("--edition belongs to an office: a desk apart posts no editions.")
    data, told = bundling.made(folder, time.time_ns() // 1_000_000, options.after or 0)
    written(options.out, data)
    if options.receipt:
        words = check_words(sha256(data).digest())
        carried = receipt_of_bundle.of_bundle(data, told, roster.load(folder), options.out.name, words)
        written(options.receipt, bundle_receipt.receipt_pdf(carried))
        print(f"{options.receipt}: its receipt. Print it, sign it in ink, and let it go with the bundle.")
    packets = sum(name.endswith(".cose") for name in bundles.names(data))
    which = f"entries {told.after + 1} to {told.to}" if told.to > told.after + 1 else f"entry {told.to}"
    print(
        f"{options.out}: {which} of this desk, {few(packets, 'packet')}, {len(data):,} bytes. Bring it to the office."
    )
    return 0


def written(out: Path, data: bytes) -> None:
    """A new file. Raises Stop where one of this name is there."""
    try:
        plain_file.write_new(out, (data,))
    except FileExistsError:
        raise Stop(f"{out} is there already, and nothing is written over: choose another name.") from None


def _merge(options: argparse.Namespace, files: Sequence[Path]) -> int:
    if len(files) < 2:
        raise Stop(
            "Give the office's folder and the bundles, or editions of other offices: tapeseal office merge OFFICE_DIR FILE ..."
        )
    office, *bundle_files = files
    if options.words and len(bundle_files) > 1:
        raise Stop("--words are those of one bundle, from its receipt: merge that one by itself.")
    path, found = office / OFFICE_RECORD, roster.load(office)
    with Ledger.open(path) if path.exists() else Ledger.create(path) as ledger:
        brought, reported = Brought(), ReportedOffices(found)
        entries = [brought.read(entry) for entry in ledger.entries()]
        for entry in entries:
            reported.add(entry)
        table = MergingTable(office, found, brought, ledger.find, locked(entries))
        return max(_merge_one(table, reported, ledger, file, options.words or "") for file in bundle_files)


def _merge_one(table: MergingTable, reported: ReportedOffices, ledger: Ledger, file: Path, typed: str = "") -> int:
    """0 merged, 1 it waits, 2 refused and said. `typed`: the check words on its receipt, "" where nobody compared."""
    now = time.time_ns() // 1_000_000

    def keep(claims: Sequence[Claim]) -> None:
        for entry in ledger.append(*(Act(claim, (), now) for claim in claims), now=now):
            table.brought.read(entry)

    try:
        data = plain_file.read(file, bundles.LARGEST)
    except OSError as wrong:
        print(f"tapeseal office: {_unread(file, wrong)}", file=sys.stderr)
        return 2
    try:
        if office_report.is_report(data):
            print(edition_for_offices.take_in(data, file.name, table.roster, reported, ledger))
            return 0
        words = check_words(sha256(data).digest())
        if another := receipt_of_bundle.not_that_one(file.name, typed, words):
            raise BundleRefused(another)
        one = table.prepared(data, file.name)
    except BundleRefused as wrong:
        _trace(table.folder, keep, data, file.name, wrong, now)
        print(f"tapeseal office: {wrong}", file=sys.stderr)
        return 2
    table.lay_down(one, data)
    if one.claims:
        keep(one.claims)
    compared = "as on its receipt" if typed else "compare them with its receipt"
    print(f"{file.name}: check words {words}, {compared}.")
    print("\n".join([one.says, *after_waiting(table, one.bundle.desk.id, keep)]))
    return 1 if one.hole else 0


def _unread(file: Path, wrong: OSError) -> str:
    """Too large, no plain file, not there."""
    return f"{file} is not read: {wrong.strerror}. A bundle has at most {bundles.LARGEST // 1048576} MB; nothing of it was taken."


def _trace(
    office: Path, keep: Callable[[Sequence[Claim]], None], data: bytes, name: str, wrong: BundleRefused, now: int
) -> None:
    """What was refused is kept aside and named in the record, as at intake."""
    digest, kept = RefusedFiles(office).keep(data)
    words = {"says": Text(secrets.token_bytes(16), str(wrong)[:LONGEST])}
    if plain := "".join(letter for letter in name if letter.isprintable())[:LONGEST]:
        words["name"] = Text(secrets.token_bytes(16), plain)
    desk = {"desk": wrong.desk} if isinstance(wrong, OtherHistory) else {}
    body = {"digest": digest, "size": len(data), "kept": kept, **desk}
    keep([Claim(uuid.uuid4().bytes, "packet-refused", body, now, "L", 0, words)])
