"""The certified canvass as a PDF, made from one edition alone: certificate, totals, votes by precinct, ballots, reconciliation, narrative, editions.

What a certificate holds: a full, true and correct statement of the votes, voters registered and ballots cast, an oath and the seal (Wash. Admin. Code
434-262-070); an amended one names what it supersedes and the contests that changed (Wash. Rev. Code 29A.64.061; Colo. Rev. Stat. 1-10.5-107).
"""

from webapp.canvass.document import CanvassDocument, ContestTable, spelled
from webapp.paper import reconciliation_pages
from webapp.paper.parts.canvass_sheet import CanvassSheet, figure, wide_table
from webapp.paper.parts.sheet import MARGIN, RIGHT
from webapp.paper.parts.write_in_parts import Column, captioned, table, title

NAME = "Certificate of the canvass"
LEADING = "Most votes"
INK = ("signature in ink", 3.4)
LAW = "Local law says who certifies, what a refusal means, and who may open this canvass again."


def certificate_pdf(document: CanvassDocument) -> bytes:
    """The document. Before the board has certified, *Unofficial* is printed across its first page."""
    sheet = CanvassSheet(NAME, document, "" if document.official else "Unofficial")
    sheet.leaf()
    _certificate(sheet, document)
    _totals(sheet, document)
    _precincts(sheet, document)
    _ballots(sheet, document)
    reconciliation_pages.rows(sheet, document)
    _narrative(sheet, document)
    _editions(sheet, document)
    return bytes(sheet.output())


def _certificate(sheet: CanvassSheet, document: CanvassDocument) -> None:
    board = document.board
    amended = "Amended certificate" if board.get("supersedes") else "Certificate"
    title(sheet, f"{amended} of the canvass" if document.official else NAME, 17, right=RIGHT - sheet.stamped)
    sheet.say(document.office, 12, True)
    sheet.say(
        f"{document.election}. Edition {document.number}, {document.status_words.lower()}, {document.made_words}", 10
    )
    sheet.down(3)
    if board.get("supersedes"):
        changed = ", ".join(one.title for one in document.changed()) or "none"
        sheet.say(
            f"This certificate supersedes that of edition {board['supersedes']}. Contests that changed: {changed}.",
            11,
            True,
        )
        sheet.say(f"Opened again: {board['opened_again']}", 10)
        sheet.down(2)
    sheet.say(board["text"] if board else "Not certified. These figures are unofficial.", 12, lead=1.4)
    if document.because:
        sheet.say(document.because, 10)
    sheet.down(3)
    if board:
        _members(sheet, document)
    sheet.say(LAW, 9)
    sheet.down(3)


def _members(sheet: CanvassSheet, document: CanvassDocument) -> None:
    board = document.board
    vote = "The board was unanimous." if board["unanimous"] else "The board was not unanimous."
    sheet.say(
        f"Voted in open session, {board['met']}: {board['present']} of {len(board['members'])} members present, {board['quorum']} make a quorum. {vote}",
        10.5,
    )
    sheet.down(1)
    for one in board["members"]:
        sheet.room(20)
        said = {"for": "for", "against": "against"}.get(one["vote"], "away, not signed")
        sheet.say(f"{one['name']}, {one['party']}: {said}", 10.5, True)
        if one["statement"]:
            sheet.say(f"Statement: {one['statement']}", 10)
        if one["vote"]:
            captioned(sheet, (INK, ("date, time", 2)), height=7)
    sheet.room(32)
    sheet.say("Sworn or affirmed before", 9.5)
    captioned(sheet, (("name, office", 3), INK, ("date", 1.4)), height=7)
    top = sheet.get_y() + 1
    sheet.rect(MARGIN, top, 42, 22)
    sheet.set_y(top + 8)
    sheet.say("place for the seal", 9, x=MARGIN + 6)
    sheet.set_y(top + 24)


def _name(one: ContestTable) -> str:
    return (
        one.title + (f", {one.group}" if one.group else "") + (f", vote for {one.vote_for}" if one.vote_for > 1 else "")
    )


def _totals(sheet: CanvassSheet, document: CanvassDocument) -> None:
    sheet.room(40)
    title(sheet, "Totals" if not document.board.get("supersedes") else "Totals of the contests that changed")
    for one in document.changed():
        sheet.room(24)
        sheet.say(_name(one), 10.5, True)
        rows = [
            (line, figure(n), f"{LEADING}: {spelled(n)}" if i in one.leading else "")
            for i, (line, n) in enumerate(zip(one.lines, one.total, strict=True))
        ]
        table(sheet, (Column("", 4), Column("Votes", 1.2, "R"), Column("", 4)), rows, size=9.5)
    if not document.contests:
        sheet.say("No contest is in this edition.", 10)


def _precincts(sheet: CanvassSheet, document: CanvassDocument) -> None:
    sheet.room(40)
    title(sheet, "Votes by precinct")
    sheet.say(
        f"Precincts where fewer than {document.small} ballots carried a contest stand together with others, and are named so. A line that no tape "
        "prints is empty.",
        9,
    )
    for one in document.changed():
        sheet.room(30)
        sheet.say(_name(one), 10.5, True)
        rows = [(name, tuple(map(figure, cells))) for name, cells in one.rows]
        wide_table(sheet, "Precinct", one.lines, [*rows, ("Together", tuple(map(figure, one.total)))], total=True)


def _ballots(sheet: CanvassSheet, document: CanvassDocument) -> None:
    sheet.room(40)
    title(sheet, "Ballots by place and way")
    heads = [*(way.replace("_", " ") for way in document.ways), "Together", "Registered", "Turnout"]
    rows = []
    for row in document.ballots:
        known = document.registered.get(row["precinct"])
        whole = int(row["votes"])
        turnout = f"{100 * whole / known:.1f} %" if known else ""
        by_way = [figure(int(row[way])) if row.get(way) else "" for way in document.ways]
        rows.append((row["precinct"], (*by_way, figure(whole), figure(known), turnout)))
    sums = [sum(int(row.get(way) or 0) for row in document.ballots) for way in document.ways]
    whole = sum(int(row["votes"]) for row in document.ballots)
    all_known = len(document.registered) == len(document.ballots) and bool(document.registered)
    known = sum(document.registered.values()) if all_known else None
    turnout = f"{100 * whole / known:.1f} %" if known else ""
    rows.append(("Together", (*map(figure, sums), figure(whole), figure(known), turnout)))
    wide_table(sheet, "Place", heads, rows, total=True)


def _narrative(sheet: CanvassSheet, document: CanvassDocument) -> None:
    if not document.board:
        return
    sheet.room(30)
    title(sheet, "Narrative")
    for one in document.board["narrative"]:
        sheet.room(12)
        if one["title"]:
            sheet.say(one["title"], 10, True)
        sheet.say(one["text"], 10)
        sheet.down(1)
    if not document.board["narrative"]:
        sheet.say("Nothing was found or corrected.", 10)
    if document.board["over"]:
        sheet.room(16)
        sheet.say("Open when the board certified, and signed over by two parties", 10, True)
    for says, why in document.board["over"]:
        sheet.say(f"{says} {why}", 9.5)


def _editions(sheet: CanvassSheet, document: CanvassDocument) -> None:
    sheet.room(50)
    title(sheet, "Editions and digests")
    rows = [(f"{n}", status, made, digest[:16]) for n, status, made, digest in document.board.get("editions", ())]
    rows.append((f"{document.number}", document.status_words, document.made, document.digest[:16]))
    columns = (Column("Edition", 1), Column("", 3), Column("Made", 3), Column("Digest, first 16", 2.6))
    table(sheet, columns, rows, size=9)
    if document.board:
        board = document.board
        sheet.say(f"The office's check words after entry {board['cut']}: {board['words']}", 10.5, True)
    sheet.say(f"This edition, edition.json, SHA-256: {document.digest}", 9)
    sheet.say(f"results.csv, SHA-256: {document.results}", 9)
