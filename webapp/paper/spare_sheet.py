"""The spare sheet: the code that opens a place's kit, and what is done when the laptop dies, in one's hands without a screen.

It is printed at the office with the slips, goes into a numbered envelope that is sealed, and travels in the place's case. Two of two parties open it.
"""

from webapp.paper.headings import place_head
from webapp.paper.sheet import LEFT, RIGHT, PaperSheet
from webapp.paper.write_in_parts import LEAST, captioned, caution, ticked
from webapp.precinct.place.place import Place

NAME = "Spare sheet"
STEPS = (
    "Write down the time. Go on with the paper forms at the step where you are: voting goes on. Ring the election office.",
    "Two of you, of two parties, open the sealed envelope. Write its number on the paper log, with the time.",
    "Take the stick out of the old laptop. Switch the old laptop off, and leave it off: two laptops under one name raise an alarm on each tablet. Seal it; it is evidence.",
    "Put the stick into the spare laptop and lay the kit beside it. Type: tapeseal precinct NEW_FOLDER --restore STICK --kit FILE --stick STICK, with --tablets where tablets are used, and then the code of the kit.",
    "Hold the laptop’s clock against the wall, the poll book and the tabulators.",
    "Each of you sets a PIN again, with the second code on your own slip. A slip is lost: two of two parties vouch.",
    "Read aloud what the screen says is there and what is not. The witness holds the check words on the card against it.",
    "Look at every seal, and take one reading now.",
    "Pair the tablets again. What they give back is in a list; two people of different parties read it and sign.",
    "Enter the paper log, each line with the time that is written there.",
    "Before the packet: two of two parties sign the list of numbers that nobody can give back.",
)


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
        "nobody is signed for, also when it is late. What is lost is listed, not made up. Local law and the election office’s instructions come first.",
        x=LEFT,
    )
