"""The summary packet on paper. The first page is what people sign in ink: the ballot account in words and digits, what does not add up and why, the check words. Then come the codes that carry the same figures, the remarks in full, and the contest figures.

The first page is always one page. Where a night has more to say than it holds, the type gets smaller, then the last gaps move to the remarks.
"""

from bisect import bisect
from collections.abc import Sequence

from webapp.packet.print_model import AccountPages, AccountRow, Gap, PrintedContest
from webapp.paper.code_pages import code_pages
from webapp.paper.parts.sheet import BOTTOM, MARGIN, RIGHT, PaperSheet
from webapp.paper.remark_pages import contest_pages, remark_pages

SCALES = (1.0, 0.92, 0.85, 0.78)  # sizes tried for the first page before gaps move to the remarks
LAST_SCALES = (0.7, 0.62, 0.54, 0.46)  # and when even then it is too long
QUOTED = 120  # characters of a remark on the first page


def packet_pdf(account: AccountPages, frames: Sequence[str]) -> bytes:
    """The whole packet as a PDF; `frames` are the texts of its codes in order."""
    scale, kept = _fitting(account)
    sheet = _sheet(account)
    _first_page(sheet, account, scale, kept)
    code_pages(sheet, frames)
    remark_pages(sheet, account, kept)
    statement_pages(sheet, account.parts)
    contest_pages(sheet, account.contests)
    return bytes(sheet.output())


def statement_pages(sheet: PaperSheet, parts: Sequence[PrintedContest]) -> None:
    """A count board's account by precinct, each figure in words and digits; two or three precincts a page."""
    for number, part in enumerate(parts):
        if number == 0 or sheet.left_over < 14 + 7 * len(part.rows):
            sheet.leaf()
            sheet.say("Statement by precinct" + (", continued" if number else ""), 14, bold=True, right=RIGHT - 60)
            sheet.down(3)
        _ballot_account(sheet, part.rows, 1.0, part.title)


def _sheet(account: AccountPages) -> PaperSheet:
    stamps = ("Unofficial",) + (("Practice",) if account.mode == "practice" else ())
    foot = f"{account.place}  ·  Summary packet {account.number}  ·  {account.digest[:16]}"
    return PaperSheet(f"Summary packet {account.number}, {account.place}", foot, stamps)


def _fitting(account: AccountPages) -> tuple[float, int]:
    """(scale of type, number of gaps): the largest with which the first page is one page."""
    sheet, count = _sheet(account), len(account.gaps)

    def too_long(scale: float, kept: int) -> bool:
        return _first_page(sheet, account, scale, kept) > BOTTOM

    for scale in SCALES:
        if not too_long(scale, count):
            return scale, count
    for scale in SCALES[-1:] + LAST_SCALES:
        if not too_long(scale, 0):
            return scale, bisect(range(count), False, key=lambda gap: too_long(scale, gap + 1))
    return LAST_SCALES[-1], 0


def _first_page(sheet: PaperSheet, account: AccountPages, scale: float, kept: int) -> float:
    """Draw the first page; the height in mm at which it ends."""
    sheet.leaf()
    _head(sheet, account, scale)
    _ballot_account(sheet, account.rows, scale)
    _gaps(sheet, account.gaps[:kept], len(account.gaps), scale)
    if account.restored:
        _title(sheet, "The laptop was replaced", scale)
        sheet.say(account.restored, 9 * scale)
        sheet.down(1.5 * scale)
    _marks(sheet, account, scale)
    _ink(sheet, account, scale)
    return sheet.get_y()


def _head(sheet: PaperSheet, account: AccountPages, scale: float) -> None:
    width = 58 if account.mode == "practice" else 34
    sheet.say(account.place, 18 * scale, bold=True, right=RIGHT - width)
    sheet.say(
        ", ".join(filter(None, (account.county, account.election, account.date))), 11 * scale, right=RIGHT - width
    )
    sheet.down(1.5 * scale)
    amends = f", which takes the place of {account.amends[:16]}" if account.amends else ""
    sheet.say(
        f"Summary packet {account.number}{amends}, made {account.made}. Figures are as keyed from the tapes and counted by hand; "
        "they are unofficial. The signatures below are in ink.",
        9 * scale,
    )
    for sentence in account.short_signed:
        sheet.down(0.8 * scale)
        sheet.say(f"Short-signed: {sentence}", 9.5 * scale, bold=True)
    sheet.down(3 * scale)


def _title(sheet: PaperSheet, words: str, scale: float) -> None:
    sheet.say(words, 12 * scale, bold=True)
    sheet.down(0.6 * scale)
    sheet.rule(0.3)


def _ballot_account(sheet: PaperSheet, rows: Sequence[AccountRow], scale: float, title: str = "Ballot account") -> None:
    _title(sheet, title, scale)
    for row in rows:
        top, digits = sheet.get_y() + 0.9 * scale, "" if row.figure is None else f"{row.figure:,}"
        below = []
        for text, x, right, size, bold, align in (
            (row.label, MARGIN, 96, 10, row.total, "L"),
            (row.words, 98, 172, 10, False, "L"),
            (digits, 173, RIGHT, 11, True, "R"),
        ):
            sheet.set_y(top)
            sheet.say(text, size * scale, bold=bold, x=x, right=right, align=align)
            below.append(sheet.get_y())
        sheet.set_y(max(below) + 0.9 * scale)
        sheet.rule(0.35 if row.total else 0.12)
        if row.total:
            sheet.down(0.7)
            sheet.rule(0.35)
    sheet.down(3.5 * scale)


def _gaps(sheet: PaperSheet, gaps: Sequence[Gap], count: int, scale: float) -> None:
    _title(sheet, "What does not add up" if count else "Every line that could be drawn adds up", scale)
    for gap in gaps:
        sheet.down(0.8 * scale)
        sheet.say(gap.sentence, 9.5 * scale, bold=True)
        sheet.say(quoted(gap.remark) if gap.remark else "No remark was signed.", 9.5 * scale)
    if len(gaps) < count:
        sheet.down(0.8 * scale)
        sheet.say(
            f"{count - len(gaps)} more: they are printed in full before the remarks, after the codes.",
            9.5 * scale,
            bold=True,
        )
    sheet.down(3 * scale)


def quoted(remark: str) -> str:
    """The first 120 characters of a remark on one line, with an ellipsis where it goes on."""
    line = " ".join(remark.split())
    return line if len(line) <= QUOTED else line[:QUOTED].rstrip() + " … (in full behind the codes)"


def _marks(sheet: PaperSheet, account: AccountPages, scale: float) -> None:
    if not account.marks:
        return
    _title(sheet, "Check words", scale)
    sheet.down(0.8 * scale)
    sheet.say(
        "Compare them with the words the other party copied by hand. A difference is a question for the office.",
        8.5 * scale,
    )
    step, top = (RIGHT - MARGIN) / 2, sheet.get_y() + 0.6
    height = 5.2 * scale
    for place, mark in enumerate(account.marks):
        row, column = divmod(place, 2)
        x = MARGIN + column * step
        sheet.set_y(top + row * height)
        sheet.say(mark.words, 11 * scale, bold=True, x=x, right=x + 36)
        sheet.set_y(top + row * height + 0.35 * scale)
        sheet.say(
            f"entry {mark.entry}" + (f", {mark.when}" if mark.when else ""),
            9 * scale,
            x=x + 37 * max(scale, 0.8),
            right=x + step,
        )
    sheet.set_y(top + -(-len(account.marks) // 2) * height + 2.5 * scale)


def _ink(sheet: PaperSheet, account: AccountPages, scale: float) -> None:
    _title(sheet, "Signed in ink, by people of different parties who have read this page", scale)
    columns = 1 if len(account.signers) < 4 else 2
    width = (RIGHT - MARGIN + 6) / columns
    for place, signer in enumerate(account.signers):
        if place % columns == 0:
            sheet.down(10 * scale)
        top, x = sheet.get_y(), MARGIN + place % columns * width
        _ink_row(sheet, f"{signer.role}, {signer.party}", x, x + width - 6, scale)
        if place % columns < columns - 1 and place < len(account.signers) - 1:
            sheet.set_y(top)


def _ink_row(sheet: PaperSheet, who: str, x: float, right: float, scale: float) -> None:
    """Draw three rules to write on, each with its caption."""
    name, time = x + (right - x) * 0.42, right - 22
    top = sheet.get_y()
    for words, begin, end in (
        (f"signature: {who}", x, name - 2),
        ("name in letters", name, time - 2),
        ("time", time, right),
    ):
        sheet.set_y(top)
        sheet.rule(0.25, begin, end)
        sheet.down(0.5)
        sheet.say(words, 8 * scale, x=begin, right=end)
