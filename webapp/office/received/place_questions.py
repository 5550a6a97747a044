"""Where the open questions of one place come from: the packet that counts, the goods on the table, what the desk kept as not so."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from webapp.office.checking.packet_checks import Report
from webapp.office.checking.what_counts import PacketsInForce
from webapp.office.questions import desk_questions
from webapp.office.questions.canvass_board import LineGap, line_title
from webapp.office.questions.desk_questions import DeskQuestion
from webapp.packet import contents
from webapp.paper.receipt_page import Goods, HeldAside
from webapp.precinct.balance.line_sentences import way
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.statement import ended
from webapp.precinct.day.day import Day
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

OF_CHECKS = {"Signature of the place": "signature", "Stock": "stock", "Seals": "seals"}
"""Checks of a packet that ask by themselves; steps, gaps and what is missing are asked about one by one."""


def of_packet(report: Report, gaps: Sequence[LineGap]) -> tuple[DeskQuestion, ...]:
    """What the packet that counts leaves open: short-signed steps, gaps without a remark, what is missing, what was not so, what its checks say."""
    return (*_short(report), *_gaps(report.place, gaps), *_not_so(report), *_missing(report), *_checks(report))


def of_outcome(place: str, outcome: PacketsInForce) -> Iterator[DeskQuestion]:
    """Packets that disagree and packets that are held: settled on the page of packets, by no answer."""
    page = f"/packets/{place}"
    if outcome.contradicted:
        facts = tuple(digest.hex()[:16] for digest in outcome.against)
        both = "A packet and the paper disagree" if outcome.paper else "Two packets disagree"
        yield DeskQuestion("against", "Packet", f"{both}. Say which one counts.", facts, page)
    for digest in outcome.held:
        name = digest.hex()[:16]
        yield DeskQuestion(
            f"held/{name}",
            "Packet",
            f"Packet {name} is held: it is not proven. Let it count, or set it aside.",
            (name,),
            page,
        )


def of_desk(place: Place, desk: Day, goods: Sequence[Goods], held: Sequence[HeldAside]) -> Iterator[DeskQuestion]:
    """What the goods on the table and the desk's own steps leave open. Seals are compared once they were read here."""
    body = {
        name: kept.body if (kept := desk.last(name)) else None for name in ("carriers-in", "containers-in", "memory-in")
    }
    yield from desk_questions.of_carriers(body["carriers-in"], {one.id: one.party for one in place.officials})
    yield from desk_questions.of_containers(body["containers-in"], {one.id: one.holds for one in goods})
    waits = () if body["memory-in"] else tuple(one.id for one in goods if one.id.endswith("-bag"))
    for one in goods:
        if one.verdict and one.id not in waits and (one.read or not one.id.endswith("-case")):
            yield from desk_questions.of_a_seal(one.id, one.read, one.said)
    for row in held:
        sort = "Tape" if row.name.startswith("tape/") else "Envelopes"
        yield from desk_questions.of_two_figures(row.name, sort, row.words, row.found, row.said)
    yield from desk_questions.of_memory(body["memory-in"])
    for kept in desk.entries:
        if kept.not_so and kept.taken_back is None:
            title, found, done = checklist.title(kept.kind, kept.at, place), kept.word("found"), kept.word("done")
            says = f"At the desk, {title}. Found: {ended(found or 'words withheld')} Done: {ended(done or 'words withheld')}"
            yield DeskQuestion(_named("desk", kept.kind, kept.at), "Not so", says, (kept.number,))


def _named(sort: str, kind: str, at: str | None) -> str:
    return f"{sort}/{kind}" + (f"/{at}" if at else "")


def _short(report: Report) -> Iterator[DeskQuestion]:
    core, remarks = report.opened.core, report.opened.remarks
    said = contents.account(core, remarks, report.place, report.opened.digest, report.balance).short_signed
    for sentence, (number, kind, at, *_) in zip(said, remarks["short"], strict=True):
        yield DeskQuestion(_named("short", kind, at), "Short-signed", sentence, (number,))
    told = {kind for _, kind, *_ in remarks["short"]}
    for kind, at, _, _, flags in core["steps"]:
        if flags & contents.SHORT and kind not in told:
            says = f"{checklist.title(kind, at or '', report.place)}: short-signed, and the packet does not say why."
            yield DeskQuestion(_named("short", kind, at), "Short-signed", says)


def _gaps(place: Place, gaps: Sequence[LineGap]) -> Iterator[DeskQuestion]:
    """Lines that are off and without a remark; precincts and styles only where the whole line is level. Contests short by the same ballots are one question."""
    whole = {gap.line for gap in gaps if gap.whole}
    silent = [gap for gap in gaps if not gap.remarked and (gap.whole or gap.line.partition("@")[0] not in whole)]
    together = [group for group in shared(silent, place) if len(group.lines) > 1]
    taken = {line for group in together for line in group.lines}
    for group in together:
        yield DeskQuestion(
            f"gap/contests/{group.ballots}", "Figures", f"{group.says} No remark was signed.", group.lines
        )
    for gap in silent:
        if gap.line not in taken:
            words = f"{line_title(gap.line, place)}: {way(gap.line.partition('@')[0], gap.gap)}. No remark was signed."
            yield DeskQuestion(f"gap/{gap.line}", "Figures", words, (gap.gap,))


@dataclass(frozen=True, slots=True)
class SharedShortfall:
    """Contest lines of one place that are short by the same number of ballots."""

    ballots: int
    lines: tuple[str, ...]

    @property
    def says(self) -> str:
        """ "28 contests, each short by the same 7 ballots: one sheet not returned, or ballots that do not carry them." """
        short = few(self.ballots, "ballot")
        return f"{len(self.lines)} contests, each short by the same {short}: consistent with sheets not returned, or ballots that do not carry them."


def shared(gaps: Sequence[LineGap], place: Place) -> list[SharedShortfall]:
    """Contests that are short by a whole number of ballots, those of one number together; the largest group first. An excess is in none."""
    n_of, found = {contest.id: contest.n for contest in place.contests}, dict[int, list[str]]()
    for gap in gaps:
        kind, _, rest = gap.line.partition(":")
        n = n_of.get(rest.partition(":")[0], 1)
        if kind == "contest" and gap.gap < 0 and gap.gap % n == 0:
            found.setdefault(-gap.gap // n, []).append(gap.line)
    return sorted(
        (SharedShortfall(n, tuple(lines)) for n, lines in found.items()), key=lambda one: (-len(one.lines), one.ballots)
    )


def _not_so(report: Report) -> Iterator[DeskQuestion]:
    for number, kind, at, found, done in report.opened.remarks["not_so"]:
        title = checklist.title(kind, at or "", report.place)
        said = f"{title}. Found: {ended(found or 'words missing')} Done: {ended(done or 'words missing')}"
        yield DeskQuestion(_named("not-so", kind, at), "Not so", said, (number,))


def _missing(report: Report) -> Iterator[DeskQuestion]:
    packet = report.opened.digest.hex()[:16]
    where = "Not on the paper" if report.from_paper else "Not in this packet"
    for lack in report.lacks:
        says = f"{lack.words[:1].upper()}{lack.words[1:]}." if lack.kind == "odd" else f"{where}: {lack.words}."
        yield DeskQuestion(lack.name, "Missing", says, (packet,))


def _checks(report: Report) -> Iterator[DeskQuestion]:
    """Checks that need attention and that nothing above asks about already."""
    packet = report.opened.digest.hex()[:16]
    for check in report.questions:
        name = OF_CHECKS.get(check.name)
        if check.name == "Packet" and "not read here" in check.says and report.proven:
            name = "amends"
        if check.name.startswith("Balances") and "differ on" in check.says:
            name = "balances"
        if name and not (name == "seals" and set(_sorts(check.says)) == {"not in this packet"}):
            yield DeskQuestion(name, "Packet", f"{check.name}: {ended(check.says)}", (packet,))


def _sorts(says: str) -> Sequence[str]:
    """How each part of a check's sentence begins."""
    return [part.strip().partition(":")[0] for part in says.split(";")]
