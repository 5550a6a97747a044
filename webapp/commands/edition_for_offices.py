"""`office bundle OFFICE_DIR`: an edition as a file for other offices; `office merge` of such a file: what came of it."""

import time
from pathlib import Path

from webapp.commands import Stop
from webapp.commands.export import posted
from webapp.gate import keys
from webapp.merging import reporting, taking_report
from webapp.merging.reported_offices import ReportedOffices
from webapp.office.canvassing.editions import Changed
from webapp.office.setup import other_offices, roster
from webapp.office.setup.roster import Roster
from webapp.precinct.numbers import few
from webapp.record.check_words import check_words
from webapp.record.entry import Act
from webapp.record.ledger import Ledger


def report(folder: Path, number: int) -> tuple[bytes, str]:
    """The file of this edition (0: the newest), and what is printed of it. Raises Stop, BundleRefused."""
    found = roster.load(folder)
    try:
        data, told = reporting.made(folder, found, posted(folder), number)
    except Changed as wrong:
        raise Stop(str(wrong), 1) from None
    public = keys.office_key(folder).public_key().public_bytes_raw()
    return data, (
        f"edition {told.number}, {told.status}, {few(len(told.contests), 'contest')}, {len(data):,} bytes, for other offices. They write into office.toml:\n"
        f"{other_offices.as_toml(found.office.id, found.office.name, public)}\n"
        f"When they call, read aloud: {check_words(other_offices.head_of(public))}"
    )


def take_in(data: bytes, name: str, found: Roster, reported: ReportedOffices, ledger: Ledger) -> str:
    """What came of another office's edition. Raises BundleRefused."""
    now = time.time_ns() // 1_000_000
    one = taking_report.prepared(data, name, found, reported, now)
    if one.claim:
        for entry in ledger.append(Act(one.claim, (), now), now=now):
            reported.add(entry)
    return one.says
