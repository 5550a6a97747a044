"""Instructions of a court or the office: what each changes from now on. The old rule stays in the place file and in every entry before it.

One that was recorded as an exception is in doubt: it is written down, and changes nothing until it is recorded again.
"""

from dataclasses import dataclass

from webapp.precinct.day.hours import in_force
from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, Step

# What proves the count or is counted blind never falls away by word of mouth: it is kept, or kept as a signed exception.
PROOF = frozenset(
    {
        "arrivals",
        "oath",
        "tabulator-seals",
        "bins-empty",
        "self-check",
        "zero-tape",
        "zero-signed",
        "polls-open",
        "line-end",
        "polls-closed",
        "closing-seals",
        "unused",
        "aside-counts",
        "book-count",
        "emergency-opened",
        "counter-read",
        "first-look",
        "tabulator-closed",
        "tape-prints",
        "tape-typed",
        "tape-signed",
        "bins-shown-empty",
        "remark",
        "statement",
        "containers-filled",
        "containers-sealed",
        "packet",
        "depart",
    }
)


@dataclass(frozen=True, slots=True)
class Order:
    """One instruction in force. closes: ms UTC. step, step_now (changed | dropped): where it is about a step. Words may be withheld ("")."""

    number: int
    time: int
    issuer: str
    code: str
    changes: str
    closes: int | None
    step: str
    step_now: str
    found_becomes: str
    provisional_as: str
    words: str


def orders(day: DayView) -> tuple[Order, ...]:
    """Every instruction in force, in order."""
    return tuple(
        Order(
            k.number,
            k.time,
            k.body.get("issuer", ""),
            k.body.get("number", ""),
            k.body.get("changes", ""),
            k.body.get("closes"),
            k.body.get("step", ""),
            k.body.get("step_now", ""),
            k.body.get("found_becomes", ""),
            k.body.get("provisional_as", ""),
            getattr(k, "texts", {}).get("what_changes", ""),
        )
        for k in in_force(day)
    )


def dropped(day: DayView) -> dict[str, int]:
    """Steps that are not done any more, each with the number of the instruction; a later one about the same step takes its place."""
    last = {order.step: order for order in orders(day) if order.step}
    return {step: order.number for step, order in last.items() if order.step_now == "dropped" and step not in PROOF}


def about(day: DayView, step: Step) -> tuple[Order, ...]:
    """The instructions that people must read before they do this step."""
    return tuple(order for order in orders(day) if order.step == step.id)


def found_becomes(place: Place, day: DayView) -> str:
    """What becomes of a ballot found from now on: by the last instruction that says so, else by the place file."""
    return next((o.found_becomes for o in reversed(orders(day)) if o.found_becomes), place.rules.found)


def provisional_as(day: DayView) -> str:
    """The kind of provisional ballot that an instruction makes the usual one from now on; ""."""
    return next((o.provisional_as for o in reversed(orders(day)) if o.provisional_as), "")
