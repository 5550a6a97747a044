"""`record restore`: a spare laptop becomes the place's own, from the stick and the kit, and goes on as the record's next run."""

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from webapp import plain_file
from webapp.commands import Stop
from webapp.commands.recovery import from_nothing, restore_office, saved_folder
from webapp.commands.recovery.copied_words import copied
from webapp.commands.recovery.kit_code import Opened, with_code
from webapp.gate import kit, signed_place_file, spare
from webapp.gate.refusals import GateRefused
from webapp.office.setup.enrolment import OFFICE_FILE
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.refusals import RecordRefused
from webapp.stick.folder import PLACE_FILE, StickFound, UnreadableStick, chosen, read_folder
from webapp.stick.restore import AnotherHistory, RestoreOutcome, restore

FRESH = (
    "There is no kit: this laptop has a new key, which the office does not know. Its packet will be accepted, not proven; "
    "each PIN is set with the word of two officials of different parties; and tablets need a certificate of the place's own."
)

FRESH_OFFICE = (
    "There is no kit: the record and the totals go on, packets of places are proven as before, and the office has a new key. Place files from now on are signed with "
    "it, certificates need a new authority, and nothing proves who sets a PIN."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "stick", type=Path, nargs="?", metavar="STICK", help="path of the stick, or of the folder on it"
    )
    parser.add_argument("--out", type=Path, required=True, metavar="PLACE_DIR", help="a new folder for this laptop")
    options_of_restore(parser)
    parser.add_argument("--json", action="store_true", help="one object on one line")


def options_of_restore(parser: argparse.ArgumentParser) -> None:
    """What `precinct --restore` takes as well."""
    parser.add_argument("--kit", type=Path, metavar="FILE", help="the kit that the office made for this place")
    parser.add_argument(
        "--fresh", action="store_true", help="without a kit: a new key, which is not proven at the office"
    )
    parser.add_argument(
        "--nothing",
        type=Path,
        metavar="place.cose",
        help="no stick is left, only the place file: begin a new record, to which tablets give back what they hold",
    )
    parser.add_argument("--seen", type=int, metavar="NUMBER", help="the highest entry number that anybody saw")
    parser.add_argument(
        "--expect", action="append", default=[], metavar="NUMBER:WORDS", help="check words from the witness's card"
    )
    parser.add_argument("--record", default="", metavar="DIGITS", help="which record, where the stick holds several")
    parser.add_argument(
        "--laptop", choices=("dead", "lost", "running", "unknown"), default="dead", help="what became of the old laptop"
    )


def run(options: argparse.Namespace) -> int:
    """0 restored, 1 another history, 2 refused."""
    made = restored(options, options.stick, options.out)
    if options.json:
        print(json.dumps(as_json(made), ensure_ascii=False, separators=(",", ":")))
    else:
        print(made.says)
    return 0


def restored(options: argparse.Namespace, stick: Path | None, out: Path) -> RestoreOutcome:
    """Make the folder `out` from this stick. Raises Stop; then nothing of it is left behind."""
    if bool(options.kit) == options.fresh:
        raise Stop(
            "Give --kit with the file that the office made for this place; where there is none, say --fresh instead."
        )
    if options.seen is not None and options.seen < 0:
        raise Stop("--seen is the highest entry number that anybody saw: write it as it was seen.")
    from_nothing.fits(options, stick)
    _refuse_taken(out)
    try:
        if stick is None:
            return _from_nothing(options, out)
        found = read_folder(chosen(stick, options.record))
        saved_folder.refuse_on_stick(out, (stick, found.path))
        if found.header.what == "office":
            return _office(options, found, out)
        sealed = plain_file.read(found.path / PLACE_FILE, signed_place_file.LIMIT)
        keys, place = _who(options, found, sealed)
        return _lay_down(options, found, sealed, keys, place, out)
    except (UnreadableStick, GateRefused, RecordRefused) as wrong:
        raise Stop(str(wrong)) from None
    except AnotherHistory as wrong:
        raise Stop(str(wrong), 1) from None
    except OSError as wrong:
        raise Stop(f"{wrong.filename} cannot be read or written ({wrong.strerror}). Nothing was laid down.") from None


def _office(options: argparse.Namespace, found: StickFound, out: Path) -> RestoreOutcome:
    """The office's folder from its stick."""
    if options.fresh:
        print(FRESH_OFFICE, file=sys.stderr)
    who = _opened(options, lambda code: restore_office.opened(options, found, code))
    with _new_folder(out):
        return restore_office.lay_down(options, found, who, out, [copied(one) for one in options.expect])


def _from_nothing(options: argparse.Namespace, out: Path) -> RestoreOutcome:
    """The new record in a new folder."""
    if options.fresh:
        print(FRESH, file=sys.stderr)
    with _new_folder(out):
        return _opened(options, lambda code: from_nothing.laid_down(options, out, code))


def _opened(options: argparse.Namespace, opens: Callable[[str], Opened]) -> Opened:
    """What `opens` makes of the code of the kit; of "" where there is no kit."""
    return opens("") if options.fresh else with_code(options.kit, opens)


def _who(options: argparse.Namespace, found: StickFound, sealed: bytes) -> tuple[kit.Kit | None, Place]:
    """The opened kit, None for --fresh, and the place. Raises GateRefused where kit, place file and record do not belong together."""
    digest = found.opened_with
    if options.fresh:
        print(FRESH, file=sys.stderr)
        return None, signed_place_file.pinned(sealed, digest or found.header.digest)
    data = kit.read(options.kit)
    whose, mode, for_digest = kit.named_in(data, options.kit.name)
    if (whose, mode) != (found.header.id, found.header.mode):
        raise GateRefused(
            f"{options.kit.name} is the kit of {whose} for {mode}; the stick is of {found.header.id} for {found.header.mode}. Give the kit of this place."
        )
    if digest and for_digest != digest:
        raise GateRefused(
            f"{options.kit.name} was made for another place file of {whose} than the record was opened with. Ask the office for the newer kit, or say --fresh."
        )
    opened = with_code(options.kit, lambda code: kit.opened(data, code, options.kit.name))
    return opened, signed_place_file.opened(sealed, opened.office)


def _lay_down(
    options: argparse.Namespace, found: StickFound, sealed: bytes, opened: kit.Kit | None, place: Place, out: Path
) -> RestoreOutcome:
    """Record, gate, and last the place file: with it the folder is whole."""
    expect = [copied(one) for one in options.expect]
    with _new_folder(out):
        made = restore(
            found,
            out / saved_folder.RECORD,
            seen=options.seen,
            expect=expect,
            kit="spare" if opened else "fresh",
            coarse=COARSE_KINDS,
            now=time.time_ns() // 1_000_000,
            laptop=options.laptop,
        )
        if opened:
            spare.lay_down(out, place, opened)
        else:
            spare.lay_down_fresh(out, place)
        (out / signed_place_file.FILE).write_bytes(sealed)
        return made


def _refuse_taken(out: Path) -> None:
    """Raises Stop where this folder holds anything: before anybody has typed a code."""
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise Stop(
            f"{out} is there already and not empty: nothing was written. Give a new folder; if it was restored there before, start it with `tapeseal precinct` and without --restore."
        )


@contextmanager
def _new_folder(out: Path) -> Iterator[None]:
    """An empty folder for a place; nothing of it is left where the block raises."""
    _refuse_taken(out)
    out.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        for left in (
            OFFICE_FILE,
            saved_folder.OFFICE_RECORD,
            saved_folder.RECORD,
            f"{saved_folder.RECORD}-lock",
            f"{saved_folder.RECORD}-wal",
            f"{saved_folder.RECORD}-shm",
            "gate.db",
            "gate.db-wal",
            "gate.db-shm",
            signed_place_file.FILE,
        ):
            (out / left).unlink(missing_ok=True)
        raise


def as_json(made: RestoreOutcome) -> dict[str, object]:
    return {
        "ok": True,
        "run": made.run,
        "last": made.last,
        "first": made.first,
        "head": made.head.hex(),
        "words": made.words,
        "entries": made.entries,
        "torn": made.torn,
        "proven_by": made.proven_by,
        "says": made.says,
    }
