"""The office's own kit and its spare sheet: made by hand before the day, one put in the safe, the other in a case outside the office."""

from dataclasses import dataclass
from pathlib import Path

from webapp.gate import office_kit, slip_code
from webapp.gate.refusals import GateRefused
from webapp.office.setup.enrolment import OfficeFolder
from webapp.office.setup.new_file import write_new
from webapp.paper import spare_sheet
from webapp.paper.slips import office_slips, slips_pdf


@dataclass(frozen=True, slots=True)
class DeskKit:
    """file: the kit. sheet: its code, the steps, and a slip with the second code of each receiver, to be printed and deleted."""

    file: Path
    sheet: Path


def make(opened: OfficeFolder, out: Path) -> DeskKit:
    """Write the office's kit and its sheet into this folder, which is not the office's own. Raises GateRefused."""
    office, folder = opened.office, opened.folder
    if office is None:
        raise GateRefused(f"{folder} has no office.toml, so nobody is known who signs at its desk: write it first.")
    if out.resolve() == folder.resolve() or folder.resolve() in out.resolve().parents:
        raise GateRefused(
            f"{out} is inside the office's folder: a kit there is lost with it. Give a stick of its own, or another disk."
        )
    made, second = office_kit.mint(folder, [official.id for official in office.officials])
    code = slip_code.mint()
    out.mkdir(parents=True, exist_ok=True)
    file, sheet = out / f"{office.id}.kit", out / f"{office.id}-spare-sheet.pdf"
    for path in (file, sheet):
        if path.exists():
            raise GateRefused(f"{path} is there already, and nothing is written over: give another folder.")
    slips = office_slips(f"{office.name}, only if its laptop is replaced", office.officials, office.parties, second)
    write_new(file, office_kit.locked(made, code))
    write_new(sheet, slips_pdf(slips, lambda paper: spare_sheet.office_page(paper, office.name, code)))
    return DeskKit(file, sheet)
