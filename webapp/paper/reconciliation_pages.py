"""The reconciliation report as a PDF: every figure of reconciliation.csv of one edition, place by place and for the county, in words where they are off."""

from webapp.canvass import reconciled
from webapp.canvass.document import CanvassDocument
from webapp.paper.parts.canvass_sheet import CanvassSheet, wide_table
from webapp.paper.parts.write_in_parts import title

NAME = "Reconciliation report"


def reconciliation_pdf(document: CanvassDocument) -> bytes:
    """The report of one edition, by itself."""
    sheet = CanvassSheet(NAME, document, "" if document.official else "Unofficial")
    sheet.leaf()
    title(sheet, NAME, 17)
    sheet.say(document.office, 12, True)
    sheet.say(
        f"{document.election}. Edition {document.number}, {document.status_words.lower()}, {document.made_words}", 10
    )
    sheet.down(2)
    rows(sheet, document)
    return bytes(sheet.output())


def rows(sheet: CanvassSheet, document: CanvassDocument) -> None:
    """The report as a section: figures of each place and of the county, then what is off."""
    sheet.room(50)
    title(sheet, "Reconciliation")
    sheet.say(
        "A figure that nobody has is empty, never 0. A gap above 0: more check-ins than ballots, or more ballots drawn than accounted for; below 0 "
        "the other way. The county's gaps are net.",
        9,
    )
    sheet.down(1)
    report = reconciled.report(document.reconciliation, document.registered)
    table_rows = [(row.name, tuple(row.cells.get(name, "") for name in report.columns)) for row in report.rows]
    heads = [report.heads[name] for name in report.columns]
    wide_table(sheet, "Place", heads, table_rows, total=True)
    sheet.room(30)
    sheet.say("Over and under", 11, True)
    for line in report.over_under:
        sheet.say(line, 10)
    for row in report.rows:
        for said in row.said:
            sheet.say(f"{row.name}: {said}", 9.5)
