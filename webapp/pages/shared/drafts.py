"""A page half filled in: put aside as it is typed, opened again as it was left, gone when it is signed. See README.md here for the life of a draft.

What is counted or keyed blind is never put aside; its page asks before it is left. Nothing of a draft is an entry, nothing of it leaves `gate.db`.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from flask import current_app, g, request
from werkzeug.datastructures import MultiDict

from webapp.gate.drafts import PageDraft, rounded
from webapp.gate.refusals import GateRefused
from webapp.pages.shared import filters

NOTHING: Mapping[str, str] = {}
LASTS = 15 * 60_000  # ms: how long a first signature waits
NOT_KEPT = (
    "csrf_token",
    "signer",
    "pin",
    "usual",
    "mark_number",
    "mark_words",
    "notes_to",
    "words_copied",
    "shown",
    "looked",
)
"""What no draft holds, by the last part of its input name: signatures, the button pressed, and what the page says anew of the record as it stands when it is opened again."""


def room() -> Any:  # what a shared page takes of it lies in the site of its folder
    return current_app.extensions["room"]


def kept_of(form: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """(name, value) of all that a draft holds of a form."""
    pairs = form.items(multi=True) if isinstance(form, MultiDict) else form.items()
    return tuple((name, value) for name, value in pairs if name.rpartition("/")[2] not in NOT_KEPT)


def name_of(form: Mapping[str, str]) -> str:
    """The draft's id: that of the first entry the page would make; "" where the form lost it."""
    found = sorted((name, value) for name, value in form.items() if name.rpartition("/")[2] == "entry_id")
    return found[0][1] if found and len(found[0][1]) == 32 else ""


def made(path: str, steps: Sequence[str], coarse: bool, form: Mapping[str, str]) -> PageDraft:
    begun = rounded(g.now, coarse)
    tablet, holder = g.session.tablet, g.session.holder
    return PageDraft(name_of(form), path, tuple(steps), kept_of(form), tablet, holder, begun, "begun", None, None, None)


def put_aside(path: str, steps: Sequence[str], coarse: bool, form: Mapping[str, str]) -> bool:
    """Keeps this page as it is. False where nothing was put aside: the form lost its number, is signed already, or waits for a signature."""
    name = name_of(form)
    if not name or room().role_of_room != "place" or any_in_record(form):
        return False
    turn = request.args.get("turn", "")
    late = (request.args.get("load", "")[:40], int(turn)) if turn.isdecimal() and len(turn) < 10 else ("", 0)
    return room().gate.drafts.save(made(path, steps, coarse, form), *late)


def waits(steps: Sequence[str], coarse: bool, path: str, pending: str, signer: str) -> None:
    """The page that was just signed once: its form stays until the last signature, and after that signature lapsed or was taken back."""
    if room().role_of_room == "place" and name_of(request.form):
        draft = made(path, steps, coarse, request.form)
        room().gate.drafts.wait(draft, pending, signer, rounded(g.now, coarse))


def signed(form: Mapping[str, str]) -> None:
    """Removes the draft of a page that is in the record."""
    if room().role_of_room == "place" and (name := name_of(form)):
        forget(name)


def forget(name: str) -> None:
    """Removes the draft of a page that is in the record. One that a bad disk keeps goes when the page is opened next: it refuses nobody."""
    with suppress(GateRefused):
        room().gate.drafts.drop([name])


def any_in_record(form: Mapping[str, str], here: Any = None) -> bool:
    """Whether one of the entries that this form makes is in the record (of the site `here`, else of this page's)."""
    ledger = (here or room()).ledger
    ids = [value for name, value in form.items() if name.rpartition("/")[2] == "entry_id" and len(value) == 32]
    try:
        return any(ledger.find(bytes.fromhex(value)) for value in ids)
    except ValueError:
        return False


def opened(path: str, fresh: Mapping[str, str], chosen: Mapping[str, str] = NOTHING) -> Mapping[str, str]:
    """What the page holds when it is opened: what this tablet left there unsigned, else the `fresh` ids and what was `chosen` by the way in.

    Of several the one that is asked for (`?draft=ID`), else the newest; none that says something else than what was chosen. The others are listed on the page.
    """
    found = [draft for draft in room().gate.drafts.at(path) if not withheld(draft)]
    own = [
        one
        for one in found
        if one.tablet == g.session.tablet and {**dict(one.form), **chosen} == {**chosen, **dict(one.form)}
    ]
    mine = next((draft for draft in own if draft.id == request.args.get("draft")), next(iter(own), None))
    g.others = [draft for draft in found if draft is not mine]
    blank = {**fresh, **chosen}
    if mine is None:
        return blank
    values = MultiDict(mine.form)
    if any_in_record(values):
        forget(mine.id)
        return blank
    g.draft = mine
    for name, value in blank.items():
        values.setdefault(name, value)
    return values


def withheld(draft: PageDraft) -> bool:
    """Whether it is hidden now, with the page it belongs to: a draft begun before the polls closed, while counts are taken blind."""
    day = room().day
    if not any(day.withholds(kind) for kind in draft.steps):
        return False
    return draft.begun < (day.closed or 0)


def unsigned(here: Any) -> list[PageDraft]:
    """Every unsigned draft of this place, newest first. One whose page is in the record lies there only since the program was cut off before it went."""
    return [draft for draft in here.gate.drafts.all() if not any_in_record(dict(draft.form), here)]


def begun() -> list[PageDraft]:
    """Those that may be seen now."""
    return [draft for draft in unsigned(room()) if not withheld(draft)]


def titles(draft: PageDraft) -> str:
    """What the page is about."""
    found = [room().key_words(kind) for kind in draft.steps]
    return found[0] + (f", and {len(found) - 1} more on its page" if len(found) > 1 else "") if found else draft.path


def words(draft: PageDraft) -> str:
    """ "Begun at 05:18 by Ada Lindqvist, not signed." For a page about a single ballot without the minute."""
    here = room()
    coarse = any(here.ledger.rough(kind, {}) for kind in draft.steps)
    zone, hours = here.zone, here.hours_on_clock

    def at(ms: int) -> str:
        return "" if coarse else f" at {filters.clock(ms, zone, hours)}"

    if draft.state == "begun" or draft.signer is None or draft.signed is None:
        who = f"by {here.person_name(draft.person)}" if draft.person else f"on tablet {draft.tablet}"
        return f"Begun{at(draft.begun)} {who}, not signed."
    of = f"{here.person_name(draft.signer)}’s signature" + at(draft.signed).replace(" at ", " of ")
    end = f"lapsed{at(draft.signed + LASTS)}" if draft.state == "lapsed" else "was taken back"
    return f"{of} {end}. What was filled in is still here, unsigned."


def clock(ms: int) -> str:
    """Returns a time (ms UTC) as the clock of this place shows it."""
    return filters.clock(ms, room().zone, room().hours_on_clock)
