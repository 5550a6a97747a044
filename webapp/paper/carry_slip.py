"""The carry slip on paper: what the carriers take, container by container, with the open questions first. Two pages; a place with dozens of containers and tabulators takes a third.

What the record knows is printed; everything else is a rule to write on. The numbers of seals are those that were written first and applied
after; each carrier reads them once more before the door.
"""

from bisect import bisect_left
from collections.abc import Sequence
from functools import cache, partial

from webapp.paper.parts.headings import place_head
from webapp.paper.parts.sheet import MARGIN, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, caution, signatures, table, tick, title
from webapp.precinct.checklist import cautions
from webapp.precinct.place.place import Place
from webapp.precinct.reports.carry_slip import Carrier, Carry, torn_words
from webapp.precinct.reports.open_questions import SORT_WORDS, Question, shortened

MIDDLE = (MARGIN + RIGHT) / 2
ROWS = (8.0, 6.6, 5.3)  # mm a row: the tallest with which the slip is two sheets
LONGEST = 260  # characters of one question; the rest stands in the packet and in the record
"""The slip names entries, so whoever holds it finds the whole sentence."""


def carry_pdf(place: Place, slip: Carry) -> bytes:
    """The slip as a PDF file of two pages: the tallest rows with which one question fits, then as many questions as fit."""
    counts = _fewer(len(slip.questions))
    for height in ROWS:
        drawn = cache(partial(_drawn, place, slip, height))
        fits = lambda kept, drawn=drawn: drawn(kept).page_no() <= 2
        if fits(counts[0]):
            return bytes(drawn(counts[0]).output())
        if fits(counts[-1]):
            return bytes(drawn(counts[bisect_left(counts, True, key=fits)]).output())
    return bytes(drawn(counts[-1]).output())


def _drawn(place: Place, slip: Carry, height: float, kept: int) -> PaperSheet:
    """The slip with rows of this height (mm) and so many of its questions."""
    sheet = _sheet(place, slip)
    pages(sheet, place, slip, height, kept)
    return sheet


def _fewer(count: int) -> list[int]:
    """How many questions are tried: all of them, then fewer, one at the least."""
    return list(dict.fromkeys([count, *(n for n in (40, 30, 24, 18, 14, 11, 8, 5, 3, 2, 1) if n < count)]))


def _sheet(place: Place, slip: Carry) -> PaperSheet:
    packet = f"  ·  beside summary packet {slip.packet}, {slip.digest}" if slip.packet else ""
    sheet = PaperSheet(
        f"Carry slip, {place.name}",
        f"{place.name}, {place.id}  ·  Carry slip{packet}",
        ("Practice",) if place.mode == "practice" else (),
        9,
    )
    sheet.again = f"Carry slip, {place.name}: continued"
    return sheet


def pages(sheet: PaperSheet, place: Place, slip: Carry, height: float = ROWS[0], kept: int = 100) -> None:
    """Draw the slip on a sheet of its own or behind other forms."""
    sheet.leaf()
    _head(sheet, place, slip)
    _questions(sheet, slip.questions, kept)
    _containers(sheet, slip, height)
    _tabulators(sheet, slip, height)
    sheet.leaf()
    sheet.say(f"Carry slip, {place.name}: what else travels, and who carries", 12, True, right=RIGHT - sheet.stamped)
    sheet.down(3)
    _counted(sheet, slip, min(height, 6.6))
    _copies(sheet, slip, min(height, 6.6))
    _people(sheet, slip)
    caution(sheet, cautions.LIFTING, size=9)
    caution(sheet, f"{cautions.CUSTODY} {cautions.LAW}", size=9)


def _head(sheet: PaperSheet, place: Place, slip: Carry) -> None:
    right = RIGHT - sheet.stamped
    sheet.say("Carry slip", 18, True, right=right)
    sheet.say(place_head(place), 10.5, right=right)
    sheet.down(1)
    beside = (
        f"Travels beside summary packet {slip.packet} ({slip.digest}). "
        if slip.packet
        else "Travels beside the summary packet or the paper statement. "
    )
    words = f"Check words to entry {slip.words_to}: {slip.words}. " if slip.words else ""
    sheet.say(
        f"{beside}{words}What is blank is written in ink. Both carriers read each seal before they leave; the desk reads it again.",
        9.5,
    )
    sheet.down(2.5)


def _questions(sheet: PaperSheet, questions: Sequence[Question], kept: int) -> None:
    """Prints what is asked at the desk while the carriers are there."""
    if not questions:
        return
    title(sheet, f"Open questions: {len(questions)}. The desk asks them first")
    for question in questions[:kept]:
        sheet.room(8)
        says = shortened(question.says, LONGEST)
        entry = f" (entry {question.entry})" if question.entry and f"entry {question.entry}" not in says else ""
        top = sheet.get_y()
        tick(sheet, MARGIN, top + 0.4, 3.4)
        sheet.say(
            f"{SORT_WORDS[question.sort]}. {says}{entry}",
            9.5,
            question.sort == "short-signed",
            x=MARGIN + 5.5,
            lead=1.18,
        )
        sheet.down(0.9)
    if len(questions) > kept:
        sheet.say(f"{len(questions) - kept} more: they are in the packet and in the record.", 9.5, True)
    sheet.down(1.5)


def _containers(sheet: PaperSheet, slip: Carry, height: float) -> None:
    title(sheet, "Containers: the seal’s number was written first, then the seal applied")
    columns = (
        Column("Container", 1.5, bold=True),
        Column("What is in it", 4.2),
        Column("Ballots counted", 1.4, "R"),
        Column("Seal", 1.6, "R", True),
        Column("1st carrier read", 1.3),
        Column("2nd carrier read", 1.3),
    )
    rows = [
        (
            c.id if c.id != "case" else "Case",
            c.holds,
            f"{c.ballots:,}" if c.ballots is not None else "" if c.counts else "–",
            c.seal or ("" if not _sealed(slip) else "in the case"),
            "",
            "",
        )
        for c in slip.containers
    ]
    together = f"{slip.ballots:,}" if slip.ballots is not None else ""
    count = len(slip.containers)
    rows.append(
        (
            "Together",
            f"{count} containers" if count != 1 else "1 container",
            together,
            f"{sum(bool(c.seal) for c in slip.containers)} seals" if _sealed(slip) else "",
            "",
            "",
        )
    )
    table(sheet, columns, rows, height=height, total=True)
    sheet.down(1.5)


def _sealed(slip: Carry) -> bool:
    """Whether the containers were sealed: then one without a number is in the case."""
    return any(c.seal for c in slip.containers)


def _tabulators(sheet: PaperSheet, slip: Carry, height: float) -> None:
    if not slip.cases:
        return
    sheet.room(14 + height * len(slip.cases))
    title(sheet, "Tabulators and their memory")
    goes = {True: "with the carriers", False: "stays, sealed", None: ""}
    columns = (
        Column("Tabulator", 1.6, bold=True),
        Column("Serial", 2),
        Column("Seal of its case", 1.7, "R", True),
        Column("Case travels or stays", 2.2),
        Column("Memory", 2.3),
        Column("Bag", 1.3, "R"),
        Column("Seal of bag or door", 1.7, "R", True),
    )
    rows = [
        (case.id, case.holds.rpartition("serial ")[2], case.seal, "", goes[memory.goes], memory.bag, memory.seal)
        for case, memory in zip(slip.cases, slip.memory, strict=True)
    ]
    table(sheet, columns, rows, height=min(height, 6.6))
    going = sum(m.goes is True for m in slip.memory)
    if any(m.goes is not None for m in slip.memory):
        sheet.say(f"{going} memory device{'' if going == 1 else 's'} with the carriers.", 9.5, True)
    sheet.down(1.5)


def _counted(sheet: PaperSheet, slip: Carry, height: float) -> None:
    """Two columns: envelopes by kind; seals, keys and things."""
    top = sheet.get_y()
    title(sheet, "Envelopes, by kind", 11, right=MIDDLE - 3)
    pair = (Column("", 5), Column("Number", 1.2, "R", True))
    table(sheet, pair, [(line.words, _n(line.n)) for line in slip.envelopes], right=MIDDLE - 3, height=height)
    below = sheet.get_y()
    sheet.set_y(top)
    title(sheet, "Seals, keys, papers", 11, x=MIDDLE + 3)
    rows = [(line.words, _n(line.n)) for line in slip.seals]
    rows += [(f"{what}{f': last with {who}' if who else ''}", "") for what, who in slip.keys]
    rows += [(words, {True: "here", False: "not here", None: ""}[here]) for words, here in slip.things]
    table(sheet, (Column("", 4), Column("Number, or here", 1.6, "R", True)), rows, x=MIDDLE + 3, height=height)
    sheet.set_y(max(below, sheet.get_y()) + 1.5)


def _n(n: int | None) -> str:
    return "" if n is None else f"{n:,}"


def _copies(sheet: PaperSheet, slip: Carry, height: float) -> None:
    if not slip.copies:
        return
    title(sheet, "Copies of the signed tapes", 11)
    rows = [
        (copy.receiver, ", ".join(copy.tapes), {True: "given", False: "not given", None: ""}[copy.given], "")
        for copy in slip.copies
    ]
    table(
        sheet,
        (
            Column("For whom", 3, bold=True),
            Column("Tapes set aside of", 2.5),
            Column("Given", 1.5),
            Column("Received by, time", 4),
        ),
        rows,
        height=height,
    )
    if slip.torn:
        sheet.say(torn_words(slip.torn).capitalize() + ".", 9.5)
    sheet.down(1.5)


def _people(sheet: PaperSheet, slip: Carry) -> None:
    sheet.room(78)
    title(sheet, "Carriers, of two different parties", 11)
    if any(c.name for c in slip.carriers):
        sheet.say(
            "In the record: "
            + "; ".join(_who(c) for c in slip.carriers if c.name)
            + (f". Left at {slip.left}." if slip.left else ".")
            + (f" Way: {slip.route}" if slip.route else ""),
            9.5,
        )
    signatures(
        sheet, ("1st carrier", "2nd carrier"), lead="They sign that they read every seal above and leave with all of it"
    )
    captioned(sheet, (("left at, time", 1.5), ("way", 5), ("office told by, time", 3)))
    sheet.down(1)
    title(sheet, "Received at the office, by two people of different parties", 11)
    signatures(
        sheet,
        ("1st receiver", "2nd receiver"),
        lead="They sign for what is ticked above; what is not is written on the receipt",
    )
    captioned(sheet, (("here at, time", 1.5), ("containers counted", 2), ("desk", 2)))


def _who(carrier: Carrier) -> str:
    return f"{carrier.name} ({carrier.role}, {carrier.party})"
