"""Where a step is done, and its words filled in for there: at each tabulator or box, at each hour, or once."""

from dataclasses import replace
from functools import lru_cache

from webapp.precinct.day.hours import clock, hours
from webapp.precinct.numbers import on_clock
from webapp.precinct.place import step_places
from webapp.precinct.place.default_steps import page_titles
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Step, at_label


def ats(step: Step, place: Place, day: DayView) -> tuple[str, ...]:
    """The things or hours at which a step is done: the readings at each hour, others once or at each tabulator or box."""
    if step.form == "reading" and step.id == "hourly":
        return tuple(clock(place, hour) for hour in hours(place, day))
    return step_places.ats(step, place)


def page_key(step: Step, at: str) -> str:
    """Steps with the same key are shown together and signed once; `:T` makes a page of its own for each tabulator."""
    return f"{step.page[:-1]}{at}" if step.page.endswith(":T") else step.page


def page_title(page: str, first: str) -> str:
    """What a page of several steps is called; the title of its first step, where the office made the page."""
    name, _, at = page.partition(":")
    return page_titles().get(name, first).replace("{at}", at)


def fill(step: Step, place: Place, at: str) -> Step:
    """The step with its words filled in for where and when it is done."""
    label, hour = at_label(place, step, at), "hourly"
    if step.id == "hourly" and at:
        label = hour = on_clock(at, place.rules.clock)
    elif not label and step.per in ("tabulator", "box"):
        label = f"{'a' if step.note else 'each'} {step.per}"
    return _filled(step, label, place.name, str(place.rules.battery_hours), hour)


@lru_cache(maxsize=4096)
def _filled(step: Step, label: str, place: str, battery: str, hour: str) -> Step:
    def say(words: str) -> str:
        if "{" not in words:
            return words
        return (
            words.replace("{at}", label).replace("{place}", place).replace("{battery}", battery).replace("{hour}", hour)
        )

    fields = tuple(
        replace(
            f,
            label=say(f.label),
            hint=say(f.hint),
            ask=say(f.ask),
            tell=say(f.tell),
            none=say(f.none),
            blank=say(f.blank),
        )
        for f in step.fields
    )
    return replace(
        step,
        title=say(step.title),
        says=say(step.says),
        why=say(step.why),
        at_once=say(step.at_once),
        do=tuple(say(line) for line in step.do),
        not_so=say(step.not_so),
        caution=say(step.caution),
        fields=fields,
    )


BUTTONS = {
    "arrivals": "Write down who is here",
    "oath": "Take the oath",
    "roles": "Say who does what",
    "goods": "Check the delivery",
    "room-view": "Look round the room",
    "access": "Check the way in",
    "notices": "Check the notices",
    "case-seals": "Read the seals",
    "tabulator-seals": "Read the seals",
    "seals-cut": "Cut and seal anew",
    "bins-empty": "Show the bins empty",
    "bins-locked": "Lock the bins",
    "aside-empty": "Show the envelopes empty",
    "key-code": "Check key and code",
    "power": "Switch on",
    "self-check": "Read the zero tape",
    "zero-tape": "Read the zero tape",
    "zero-signed": "Sign the zero tape",
    "clocks": "Compare the clocks",
    "ballots-right": "Compare the ballots",
    "packs": "Count the packs",
    "first-stub": "Write the first stubs",
    "poll-book": "Check the poll book",
    "accessible-device": "Try the device",
    "polls-open": "Declare the polls open",
    "hourly": "Take the {hour} reading",
    "noon-look": "Walk round and sign",
    "line-end": "Stand behind the last voter",
    "polls-closed": "Declare the polls closed",
    "search": "Search the room",
    "closing-seals": "Read the seals",
    "unused": "Count",
    "aside-counts": "Count",
    "book-count": "Count",
    "emergency-opened": "Count",
    "counter-read": "Read the counters",
    "first-look": "Look at the balance",
    "tabulator-closed": "Close the tabulators",
    "tape-prints": "Print and key the results tape",
    "tape-typed": "Key the results tape",
    "tape-signed": "Sign the results tape",
    "bins-out": "Take the ballots out",
    "bins-shown-empty": "Show the bins empty",
    "write-in-tally": "Tally the write-ins",
    "remark": "Write the remark",
    "statement": "Sign the statement",
    "containers-filled": "Fill and seal",
    "containers-sealed": "Seal the containers",
    "memory": "Bag the memory",
    "tabulator-away": "Put it away",
    "seals-accounted": "Account for the seals",
    "tablets-back": "Collect the tablets",
    "packet": "Make the packet",
    "copies": "Give out the copies",
    "room-left": "Leave the room",
    "depart": "See the carriers off",
    "seclusion": "Say who may leave",
    "room-open": "Show the room",
    "counting-begins": "Begin to count",
    "all-in": "Say that all is in",
    "trays-empty": "Walk round the tables",
    "problems-done": "Count the problem piles",
    "board-counts": "Count the piles",
    "notice": "Write down the notice",
    "deck-made": "Compare the sheets",
    "chart-checked": "Check the chart",
    "marked": "Count the ballots marked",
    "marks-checked": "Check every ballot",
    "device-marked": "Write down its rows",
    "test-board": "Write down who is here",
    "deck-fed": "Feed the deck",
    "compared": "Compare with the chart",
    "sums": "Compare the sums",
    "zeroed": "Clear and read the zero tape",
    "sealed": "Seal it",
    "deck-away": "Put the deck away",
    "certificate": "Sign the certificate",
}
"""What the button of a step says: what people do when they press it."""


def button(step: Step, at: str, hours: int) -> str:
    """The words on the button that begins this step, on a clock of 12 or 24 `hours`; the step's own title where the place file added it."""
    words = BUTTONS.get(step.id, step.title)
    return words.replace("{hour}", on_clock(at, hours)) if "{hour}" in words else words
