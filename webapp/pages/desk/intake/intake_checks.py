"""Packets that are being read at a tablet, checked before anybody accepts them: their checks, figures and gaps. No envelope, container or seal."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.office.checking.packet_checks import Report
from webapp.office.questions import canvass_board
from webapp.office.questions.canvass_board import line_title
from webapp.office.reading.packet_stack import PacketStack
from webapp.office.totals import totals
from webapp.packet.envelope import PacketRefused
from webapp.packet.frames import Collector
from webapp.packet.print_content import total
from webapp.pages.desk.site.office_state import OfficeState
from webapp.precinct.balance import line_sentences
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.numbers import few


@dataclass(frozen=True, slots=True)
class Row:
    """One packet of a stack; `report` None: it is refused, with the sentence `refused`, or codes of it are wanted."""

    packet: Collector
    report: Report | None
    refused: str = ""

    @property
    def name(self) -> str:
        return (self.packet.digest or b"").hex()

    @property
    def agrees(self) -> bool:
        """Whether it may be accepted together with others: proven, and no check of it needs attention."""
        return self.report is not None and self.report.proven and not self.report.questions


def rows(site: OfficeState, stack: PacketStack) -> list[Row]:
    """Every packet of this tablet's stack with its checks, those that agree first."""
    found = [
        Row(one, *checked(site, one)) if one.complete else Row(one, None, one.says) for one in stack.packets.values()
    ]
    return sorted(
        found, key=lambda row: (not row.agrees, row.report is None, row.report.place.name if row.report else "")
    )


def in_table(report: Report) -> tuple[dict[str, int | None], list[tuple[str, bool]]]:
    """(ballots and check-ins, gaps in words) of one packet."""
    return dict(figures(report)), gaps(report)


def figures(report: Report) -> list[tuple[str, int | None]]:
    """What is compared with the signed tape before a packet is accepted: ballots, check-ins, unused. No envelope, container or seal."""
    core = report.opened.core
    book: Mapping[str, Any] = next((one for one in core["people"] if one["id"] == "poll_book"), {})
    check_ins = total(book.get("n"))
    tapes = [(f"Ballots on the tape of {one['id']}", total(one.get("tape"))) for one in core["tabulators"]]
    counted = totals.ballots(core) if any(n is not None for _, n in tapes) else None
    return [
        *(tapes if len(tapes) > 1 else []),
        ("Ballots counted", counted),
        ("Check-ins", None if check_ins is None else check_ins - (total(book.get("cancelled")) or 0)),
        ("Unused ballots", total(core["stock"].get("unused"))),
    ]


def gaps(report: Report) -> list[tuple[str, bool]]:
    """Each gap of ballots against voters in words, and whether a remark was signed; contest lines as one number."""
    found = canvass_board.gaps(report.balance, report.opened.remarks)
    whole = [gap for gap in found if gap.whole and not gap.contest]
    off = [
        (f"{line_title(gap.line, report.place)}: {line_sentences.way(gap.line, gap.gap)}", gap.remarked)
        for gap in whole
    ]
    contests = [gap for gap in found if gap.contest]
    if contests:
        off.append((f"{few(len(contests), 'contest line')} off", all(gap.remarked for gap in contests)))
    return off


def known_since(site: OfficeState, report: Report) -> CurrentEntry | None:
    """The entry by which this very packet was accepted before; None for a new one."""
    digest = report.opened.digest
    if not site.tray.holds(report.place.id, digest):
        return None
    entries = site.desks[report.place.id].of("packet-received")
    return next((kept for kept in entries if bytes(kept.body["digest"]) == digest), None)


def checked(site: OfficeState, have: Collector) -> tuple[Report | None, str]:
    """(report, "") when the packet is complete and passes, (None, sentence) when it is refused."""
    if not have.complete:
        return None, ""
    try:
        return site.reports.being_read.check(have.parts()), ""
    except PacketRefused as wrong:
        return None, str(wrong)
