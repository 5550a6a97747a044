"""The spare sheet: the code that opens a place's kit, and what to do when the laptop dies, readable without a screen.

It is printed at the office with the slips, goes into a numbered envelope that is sealed, and travels in the place's case. Two of two parties open it.
"""

from webapp.paper.parts.headings import place_head
from webapp.paper.parts.sheet import LEFT, RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import LEAST, captioned, caution, ticked
from webapp.precinct.place.place import Place

NAME = "Spare sheet"
STEPS = (
    "Write down the time. Go on with the paper forms at the step where you are: voting goes on. Call the election office.",
    "Two of you, of two parties, open the sealed envelope. Write its number on the paper log, with the time.",
    "Take the stick out of the old laptop. Switch the old laptop off, and leave it off: two laptops under one name raise an alarm on each tablet. Seal it; it is evidence.",
    "Put the stick into the spare laptop, and the kit. In the window for commands, type: tapeseal precinct SPARE --restore STICK --kit FILE --stick STICK, with --tablets where tablets are used. For STICK and FILE drag the stick and the kit into the window. SPARE is the name of a new folder: if it is there already, take another name. Wait until the code of the kit is asked for, then type it; nothing shows while you type. After up to a minute an address appears: open it.",
    "Compare the laptop’s clock with the wall clock, the poll book and the tabulators.",
    "Each of you sets a PIN again: Menu, People. The code is the second one, the lower one on your own slip. A slip is lost: two of two parties vouch.",
    "Open Menu, What was restored. Read aloud what is there and what is not. The witness compares the check words on the card with those on the page. Sign nothing there yet.",
    "Look at every seal where it is. One that is broken or has another number: Note, Seal broken.",
    "Pair the tablets again: Menu, Tablets. Then open What was restored and type the highest entry number that anybody wrote down. Two of two parties read the list and sign it: what came back counts from then on, and what nobody has is lost.",
    "Enter the paper log: take the laptop or a tablet with your PIN, then Note. Each line gets the time that is written there. What two had signed and is lost, two sign again.",
    "Take one reading now, under Count. If a tablet gives back more later, sign the list again before the packet.",
)


OFFICE_STEPS = (
    "Write down the time. Go on receiving: goods, seals and packets are written on the paper forms of the desk, and packets stay in their envelopes.",
    "Two of you, of two parties, open the sealed envelope. Write its number on the paper log, with the time.",
    "Take the stick out of the old laptop. Switch the old laptop off, leave it off, and seal it; it is evidence.",
    "Put the stick and the kit into the other laptop. Type: tapeseal record restore STICK --out NEW_FOLDER --kit FILE, with STICK and FILE dragged into the window. Wait until the code of the kit is asked for, then type it; nothing shows while you type.",
    "Then type: tapeseal office NEW_FOLDER --stick STICK, and open the address that appears.",
    "Each of you sets a PIN again: Menu, People. The code is on the second slip.",
    "Read aloud up to which entry the record is back. Compare the check words on paper with those in the record.",
    "Take in every packet again that came after that entry: a packet that is in already changes nothing. Enter the paper forms.",
    "Type: tapeseal record lost NEW_FOLDER --seen NUMBER, with the highest entry number that anybody wrote down. What it lists is written into the canvass file.",
)


def office_page(sheet: PaperSheet, office: str, code: str) -> None:
    """The office's own sheet, on one page: the code of its kit and what is done at the desk."""
    sheet.leaf(ruled=False)
    sheet.say(f"{NAME}: the office’s laptop dies", 18, True, x=LEFT, right=RIGHT)
    sheet.say(office, 10, x=LEFT, right=RIGHT)
    sheet.down(2)
    sheet.say("Code of the kit", LEAST, x=LEFT)
    sheet.say(code, 26, True, x=LEFT)
    sheet.say("Seal this sheet into a numbered envelope. Keep it in another place than the kit.", LEAST, x=LEFT)
    sheet.down(2)
    sheet.say("Step by step", 13, True, x=LEFT)
    sheet.down(1)
    for number, step in enumerate(OFFICE_STEPS, 1):
        ticked(sheet, f"{number}. {step}", LEFT, RIGHT, 10.5)
        sheet.down(1.2)
    captioned(sheet, (("Number of the envelope", 3), ("opened at", 2), ("last entry on the screen", 3)), LEFT)
    captioned(sheet, (("Opened by: name and party", 5), ("and by: name and party", 5)), LEFT)
    caution(sheet, "nobody signs for another. What is lost is listed, not made up. Local law comes first.", x=LEFT)


def pages(sheet: PaperSheet, place: Place, code: str) -> None:
    """The sheet, on one page; without a code a copy for everybody to learn from."""
    sheet.leaf(ruled=False)
    right = RIGHT - sheet.stamped
    sheet.say("The laptop dies" if not code else f"{NAME}: the laptop dies", 18, True, x=LEFT, right=right)
    sheet.say(place_head(place), 10, x=LEFT, right=right)
    sheet.down(2)
    if code:
        sheet.say("Code of the kit", LEAST, x=LEFT)
        sheet.say(code, 26, True, x=LEFT)
        sheet.say(
            "Seal this sheet into a numbered envelope and put it into the case. The code alone opens nothing, and neither does the kit alone.",
            LEAST,
            x=LEFT,
        )
        sheet.down(2)
    if place.host:
        sheet.say(f"Name of the laptop for tablets: {place.host}. The spare takes the same name.", 10.5, x=LEFT)
    for one in place.phones:
        sheet.say(f"{one.who}: {one.number}", 10.5, x=LEFT)
    captioned(
        sheet, (("Election office: telephone, day and night", 6), ("Who brings the spare laptop: telephone", 6)), LEFT
    )
    sheet.down(2)
    sheet.say("Ten minutes, step by step", 13, True, x=LEFT)
    sheet.down(1)
    for number, step in enumerate(STEPS, 1):
        ticked(sheet, f"{number}. {step}", LEFT, RIGHT, 10.5)
        sheet.down(1.2)
    sheet.down(1)
    captioned(sheet, (("Number of the envelope", 3), ("opened at", 2), ("last entry on the screen", 3)), LEFT)
    captioned(sheet, (("Opened by: name and party", 5), ("and by: name and party", 5)), LEFT)
    sheet.down(1)
    caution(
        sheet,
        "nobody signs for another, even when it is late. What is lost is listed, not made up. Local law and the election office’s instructions come first.",
        x=LEFT,
    )
