"""Prints the desk's receipt: goods of one place taken over by two receivers of two parties, what was read off them, what is open.

Printed once the seals on the table were read; both sides sign in ink and the carriers keep a copy. `office/received/receipt.py` fills it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.paper.parts.headings import place_head, sheet_for
from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, caution, signatures, table, tick, title
from webapp.precinct.checklist import cautions
from webapp.precinct.place.place import Place
from webapp.precinct.reports.open_questions import shortened

NAME = "Receipt"
LONGEST = 300  # characters of one question


@dataclass(frozen=True, slots=True)
class AskedAtDesk:
    """One open question: its category, and a whole sentence."""

    sort: str
    says: str


@dataclass(frozen=True, slots=True)
class Goods:
    """One container. `here`, `unhurt`: None while nobody said; `read`: the seal at the desk; `said`: the packet's; `verdict` in words."""

    id: str
    holds: str
    here: bool | None = None
    unhurt: bool | None = None
    read: str = ""
    said: str = ""
    verdict: str = ""


@dataclass(frozen=True, slots=True)
class HeldAside:
    """A figure of the packet and what was counted or read at the desk; None where one is not there."""

    words: str
    said: int | None
    found: int | None
    name: str = ""  # of its question: tape/T1, envelopes/provisional

    @property
    def verdict(self) -> str:
        """Compares both figures in words: "agree", or how many more or fewer are here; "" where one is missing."""
        if self.said is None or self.found is None:
            return ""
        gap = self.found - self.said
        return "agree" if not gap else f"{abs(gap):,} {'more' if gap > 0 else 'fewer'} here"


@dataclass(frozen=True, slots=True)
class Hand:
    """Who brought or took over, and when, in words."""

    name: str
    about: str
    when: str = ""


@dataclass(frozen=True, slots=True)
class Receipt:
    """Everything the receipt says; times in words. `on_slip`: containers that the carry slip names."""

    questions: tuple[AskedAtDesk, ...] = ()
    answers: str = ""
    packet: str = ""
    goods: tuple[Goods, ...] = ()
    on_slip: int | None = None
    held: tuple[HeldAside, ...] = ()
    here_at: str = ""
    carriers: tuple[Hand, ...] = ()
    missing: str = ""
    receivers: tuple[Hand, ...] = ()
    received_at: str = ""
    shelf: str = ""
    cage: str = ""
    closed: tuple[AskedAtDesk, ...] = ()  # answered, and gaps with a signed remark: what was asked, and the answer


def blank(place: Place) -> Receipt:
    """An empty receipt, for the paper forms."""
    goods = tuple(Goods(c.id, c.holds) for c in place.containers) + (Goods("case", "transfer case"),)
    held = (
        "Provisional envelopes",
        "Absentee envelopes dropped off",
        "Spoiled ballots",
        *(f"Public counter on the tape of {t.id}" for t in place.tabulators),
    )
    return Receipt(goods=goods, held=tuple(HeldAside(words, None, None) for words in held))


def receipt_pdf(place: Place, receipt: Receipt) -> bytes:
    """The receipt as a PDF."""
    sheet = sheet_for(place, NAME)
    pages(sheet, place, receipt)
    return bytes(sheet.output())


def pages(sheet: PaperSheet, place: Place, receipt: Receipt) -> None:
    """Draw it on a sheet of its own or after other forms."""
    sheet.again = f"Receipt for {place.name}, continued"
    sheet.leaf()
    right = RIGHT - sheet.stamped
    sheet.say(f"Receipt for {place.name}", 18, True, right=right)
    sheet.say(place_head(place), 10.5, right=right)
    sheet.say(receipt.packet or "The figures come from the summary packet, or from paper.", 9.5)
    sheet.down(2)
    _questions(sheet, receipt)
    _goods(sheet, receipt)
    _held(sheet, receipt.held)
    _people(sheet, receipt)
    caution(sheet, f"{cautions.LIFTING} {cautions.CUSTODY}", size=9)
    caution(sheet, cautions.LAW, size=9, lead="")


def _questions(sheet: PaperSheet, receipt: Receipt) -> None:
    if receipt.questions:
        title(sheet, f"Open questions: {len(receipt.questions)}. Ask while the carriers are here")
        for asked in receipt.questions:
            sheet.room(9)
            tick(sheet, MARGIN, sheet.get_y() + 0.4, 3.4)
            sheet.say(
                f"{asked.sort}. {shortened(asked.says, LONGEST)}",
                9.5,
                asked.sort == "Short-signed",
                x=MARGIN + 5.5,
                lead=1.18,
            )
            sheet.down(0.9)
    for said in receipt.closed:
        sheet.room(7)
        sheet.say(f"Closed. {said.sort}. {shortened(said.says, LONGEST)}", 9, lead=1.15)
    if receipt.questions or receipt.answers:
        if receipt.answers:
            sheet.say(f"They answered: {receipt.answers}", 9.5, lead=1.2)
    captioned(sheet, (("answers of the carriers", 1),), height=8)
    sheet.down(1)


def _goods(sheet: PaperSheet, receipt: Receipt) -> None:
    title(sheet, "Containers: the seal is read here before the packet’s number is looked at")
    said = {True: "yes", False: "no", None: ""}
    rows = [
        ("Case" if g.id == "case" else g.id, g.holds, said[g.here], said[g.unhurt], g.read, g.said, g.verdict)
        for g in receipt.goods
    ]
    here = [g.here for g in receipt.goods if g.id != "case" and g.here is not None]
    slip = "" if receipt.on_slip is None else f"{receipt.on_slip} on the carry slip"
    rows.append(("Together", slip, f"{sum(here)}" if here else "", "", "", "", ""))
    table(
        sheet,
        (
            Column("Container", 1.5, bold=True),
            Column("What is in it", 3.4),
            Column("Here", 0.9),
            Column("Whole", 1.1),
            Column("Seal read here", 1.6, "R", True),
            Column("In the packet", 1.5, "R"),
            Column("Do they agree", 1.9),
        ),
        rows,
        height=7.0,
        total=True,
    )
    sheet.down(1)


def _held(sheet: PaperSheet, held: Sequence[HeldAside]) -> None:
    sheet.room(14 + 7 * len(held))
    title(sheet, "Counted and read here, against the packet")
    rows = [
        (
            row.words,
            "" if row.found is None else f"{row.found:,}",
            "" if row.said is None else f"{row.said:,}",
            row.verdict,
        )
        for row in held
    ]
    table(
        sheet,
        (
            Column("", 4),
            Column("Here", 1.5, "R", True),
            Column("In the packet", 1.5, "R"),
            Column("Do they agree", 2.4),
        ),
        rows,
        height=7.0,
    )
    sheet.down(1)


def _people(sheet: PaperSheet, receipt: Receipt) -> None:
    sheet.room(70)
    title(sheet, "Handed over, and taken over by two people of different parties", 11)
    for who, hands, more in (
        ("Brought", receipt.carriers, f", arrived {receipt.here_at}" if receipt.here_at else ""),
        ("Taken over", receipt.receivers, ""),
    ):
        if hands:
            sheet.say(
                f"{who} by {' and '.join(f'{h.name} ({h.about})' for h in hands)}{more}{f', signed {hands[0].when}' if hands[0].when else ''}.",
                9.5,
                lead=1.2,
            )
    if receipt.missing:
        sheet.say(f"Missing: {receipt.missing}", 9.5, True)
    signatures(
        sheet,
        ("1st carrier", "2nd carrier", "1st receiver", "2nd receiver"),
        lead="Signed in ink by all four, for what stands above",
    )
    parts = [
        (f"received{f': {receipt.received_at}' if receipt.received_at else ''}", 2),
        (f"shelf{f': {receipt.shelf}' if receipt.shelf else ''}", 2),
        (f"seal of the cage{f': {receipt.cage}' if receipt.cage else ''}", 2),
    ]
    captioned(sheet, parts)
    sheet.say("One copy for the carriers, one with the goods.", 9)
    sheet.down(1)
