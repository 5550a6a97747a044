"""For the command `place build --after`: the folder of a finished test, read and carried into the place file of the day."""

from pathlib import Path

from webapp.commands import Stop
from webapp.deck.next_place import Carried, NotCarried, carried
from webapp.gate.refusals import GateRefused
from webapp.gate.signed_place_file import load_place
from webapp.precinct.day.day import Day
from webapp.precinct.place import place_file
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.audit import verify
from webapp.record.ledger import Ledger
from webapp.record.refusals import RecordRefused


def after(place: Place, folder: Path) -> Carried:
    """The place with what the test in the folder leaves to it. Raises Stop: no folder, a record that does not check, or nothing to carry over."""
    if not folder.is_dir():
        raise Stop(f"{folder} is not a folder: give the folder of the test, which holds place.cose and record.db.")
    try:
        test = load_place(folder)
        verdict = verify(folder / "record.db", coarse=COARSE_KINDS)
        if not verdict.ok:
            raise Stop(f"The record of the test does not check: {verdict.says} Nothing is taken from it.")
        return carried(place, test, _day(test, folder))
    except (NotCarried, GateRefused, RecordRefused) as refusal:
        raise Stop(str(refusal)) from None
    except OSError as wrong:
        raise Stop(f"{folder} cannot be read ({wrong.strerror}): give the folder of the test.") from None


def _day(test: Place, folder: Path) -> Day:
    """The test's record, folded."""
    day = Day(test)
    with Ledger.read_only(folder / "record.db") as record:
        for entry in record.entries():
            day.add(entry, record.texts(entry.number))
    return day


def filled_toml(found: Carried) -> bytes:
    """The place file as filled in, as it is signed."""
    return place_file.write(found.place).encode()


def free_beside(out: Path) -> Path:
    """The path of the filled-in TOML: next to the signed file, never over anything. Raises Stop where the name is taken."""
    path = out.with_suffix(".toml")
    if path.exists():
        raise Stop(f"{path} is there already, and the filled-in place file would go there: choose another --out.")
    return path


def write_plain(path: Path, data: bytes) -> None:
    """Writes a text file of a command. Raises Stop where it cannot be written."""
    try:
        path.write_bytes(data)
    except OSError as wrong:
        raise Stop(f"{path} cannot be written ({wrong.strerror}): choose a folder that may be written to.") from None


def told_filled(found: Carried, beside: Path | None) -> list[str]:
    """What the test left, and where the file said something else."""
    counters = ", ".join(f"{t} {n:,}" for t, n in found.lifetime.items())
    lines = [
        f"{beside}: the place file as filled in after the test. Protective counters: {counters}. Seals on: {len(found.seals)}."
    ]
    return [*lines, *(f"  {sentence}" for sentence in found.says)]
