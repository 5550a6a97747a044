"""The certificate of the accuracy test: what was tested with what, what the deck shows and cannot show, counters, seals and people in ink."""

from webapp.deck.deck import Deck
from webapp.deck.outcome import Outcome
from webapp.paper.parts.deck_marking import LAW, sheet_of_deck
from webapp.paper.parts.headings import place_head
from webapp.paper.parts.sheet import RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import Column, captioned, caution, signatures, table, ticked, title
from webapp.precinct.place.place import Place

NAME = "Certificate of the accuracy test"
NOT_SHOWN = (
    "The deck cannot show: a fault that begins at an hour, after many ballots, or only for some combinations of marks; marginal marks and light pens; "
    "three or more ovals of different contests rearranged at once; paper, ink and humidity of the day; a program changed after the seal."
)
FROM_RECORD = "From the signed record of the test; compare with seals and tapes before you sign."
FEDERAL = "records of federal elections 22 months"
SAID = (
    "Every tabulator began at zero, and its zero tape is attached.",
    "The whole deck went through each tabulator, and every figure of every tape agreed with the chart.",
    "The three cards that must be refused were handed back, and the counter did not move.",
    "After the last tape each tabulator was zeroed, and memory and doors were sealed as written below.",
    "The test ballots were counted out, none missing, and sealed apart from live stock.",
)


def certificate_pdf(
    place: Place, deck: Deck, faults: int, hidden: tuple[str, ...] = (), outcome: Outcome | None = None
) -> bytes:
    """The certificate. `faults`: how many were played on the deck; `hidden`: those that no tape would show; `outcome`: what the record holds, None
    before a test. What it does not hold is left to a pen; the five sentences are always ticked by hand, and everybody signs in ink."""
    sheet = sheet_of_deck(place, deck, NAME)
    sheet.again = NAME
    sheet.leaf()
    title(sheet, NAME, 15, right=RIGHT - sheet.stamped)
    sheet.say(place_head(place), 10)
    if place.test.public_from:
        sheet.say(f"Open to the public from {place.test.public_from:%d %B %Y, %H:%M}.", 10)
    sheet.down(1)
    plan = deck.plan
    table(
        sheet,
        (Column("", 3), Column("", 7, bold=True)),
        [
            ("Edition", plan.edition),
            ("Place file, SHA-256", in_groups(plan.digest)),
            ("Test deck, SHA-256", in_groups(deck.digest)),
            ("Ballots of the deck", f"{len(deck.rows)}, 3 cards to be refused among them"),
            ("Counted", ", ".join(f"{one.ballots} on {tabulator}" for tabulator, one in deck.feeds.items())),
            (
                "Faults played on it",
                f"{faults}, all shown by some figure" if not hidden else f"{faults}, of which {len(hidden)} NOT shown",
            ),
            ("Kept", retention_line(place)),
        ],
        size=9,
    )
    for sentence in hidden:
        caution(sheet, sentence, lead="Not shown by this deck: ")
    sheet.say(NOT_SHOWN, 9)
    sheet.down(1)
    for words in SAID:
        ticked(sheet, words, 28, RIGHT)
    sheet.down(1)
    _outcome(sheet, place, outcome or Outcome())
    sheet.say(LAW, 9)
    signatures(sheet, ("for the office", "of another party", "present", "present"))
    return bytes(sheet.output())


def _outcome(sheet: PaperSheet, place: Place, known: Outcome) -> None:
    """Counters, seals, container, times, differences: what is known, and room for a pen."""
    title(sheet, "Tabulators")
    columns = (
        Column("", 1),
        Column("Serial", 2),
        Column("Public counter after zeroing", 2),
        Column("Protective counter", 2),
        Column("Memory seal", 2),
        Column("Door seals", 3),
    )
    blank = ("", "")
    table(
        sheet,
        columns,
        [(t.id, t.serial, *known.counters.get(t.id, blank), *known.seals.get(t.id, blank)) for t in place.tabulators],
        height=9,
    )
    if known.tapes:
        sheet.say(f"{FROM_RECORD} {' '.join(known.tapes)}", 9)
    captioned(
        sheet,
        (("test ballots: container", 2), ("its seal", 2), ("kept until", 2), ("spoiled in marking: number", 2)),
        said=(known.container, known.seal, known.until, known.spoiled),
    )
    captioned(
        sheet,
        (("public notice: where, when", 3), ("test began", 3), ("test ended", 3), ("observers: number", 2)),
        said=("", known.began, known.ended, known.observers),
    )
    sheet.say(
        "A difference, its cause and what was mended; each change begins the whole test of every tabulator again:", 9
    )
    for sentence in known.changes:
        sheet.room(20)
        sheet.say(sentence, 9)
    sheet.room(20)
    for _ in range(2):
        captioned(sheet, (("", 1),), height=7)


def retention_line(place: Place) -> str:
    """How long ballots and certificate are kept."""
    days = place.test.retain_days
    return f"{days} days, {FEDERAL}" if days else f"as the office says; {FEDERAL}"


def in_groups(digest: str) -> str:
    """Hex digits in groups of eight, to be read aloud."""
    return " ".join(digest[i : i + 8] for i in range(0, len(digest), 8))
