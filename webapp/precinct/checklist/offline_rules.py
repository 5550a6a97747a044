"""What a tablet may hold while the laptop is out of its reach, and what needs the laptop: said on the page before anybody types.

Held entries are one person's, seen by others at once if they wish: a tick or one signature. Two parties sign over one screen, and blind
figures are compared on the laptop, so these wait. A page that names people waits too, since the pages kept on a tablet name nobody.
"""

from collections.abc import Sequence

from webapp.precinct.checklist import field_options
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Step
from webapp.record.entry import QUARTER

ALONE = ("T", "1")  # weights of one person
FORMS = ("", "reading", "tally")  # roll call, oaths, blind figures, balance and packet have pages of their own
PEOPLE = frozenset({"official", "carrier", "working"})
HOUR = 4 * QUARTER


def needs_laptop(step: Step) -> str:
    """Why this step or note cannot be held on a tablet; "" when it can."""
    if step.list == "office":
        return "It is kept at the office."
    if step.form not in FORMS:
        return "Its page is on the laptop only."
    if step.signs not in ALONE:
        return "More than one person signs it, over one screen."
    if any({field.per, field.of} & PEOPLE for field in step.fields):
        return "It names people, and a page kept on a tablet names nobody."
    return ""


def together_need_laptop(steps: Sequence[Step]) -> str:
    """Why a page of several steps cannot be held: one of them cannot."""
    return next(filter(None, map(needs_laptop, steps)), "")


def coarse(step: Step) -> int:
    """How finely the tablet may note when it was filled in, in ms: a ballot's quarter hour, a tally's hour, else the moment."""
    return HOUR if step.form == "tally" else QUARTER if step.ballot else 1


def asks(step: Step, place: Place, day: DayView, at: str) -> dict[str, str]:
    """What each control needs before a form can be held on a tablet, as {input name: the sentence that asks for it}."""
    found = {}
    for field in step.fields:
        if field.optional or field.kind in ("tick", "worked-out") or field_options.default(field, place, day, at):
            continue
        each = field_options.things(field.per, place, day, at) if field.per else (("", ""),)
        for thing, words in each:
            label = field.named(words) if field.per else field.label
            sentence = (
                f"Tick “{label}”, or say below what is wrong."
                if field.kind == "yes"
                else field.ask or f"Enter {label[:1].lower()}{label[1:]}."
            )
            found[f"{field.name}.{thing}" if field.per else field.name] = (
                f"{words}: {sentence}" if len(each) > 1 and field.ask else sentence
            )
    return found
