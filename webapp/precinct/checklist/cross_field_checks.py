"""Compares the answers of one form with each other: ballots out of the emergency bin, two carriers of two parties, an opening that is late.

Each check reads one body and says what to correct; a signed exception lifts it.
"""

from collections.abc import Callable, Mapping
from typing import Any

from webapp.precinct.checklist.expected_values import NOT_SO
from webapp.precinct.checklist.field_options import NOT_ON_ROLL
from webapp.precinct.checklist.form_input import FormInput
from webapp.precinct.checklist.tasks import tasks
from webapp.precinct.day.hours import closing_hour, in_force, wall
from webapp.precinct.day.instructions import PROOF
from webapp.precinct.day.out_of_use import out_with
from webapp.precinct.day.seats import different
from webapp.precinct.place.step import all_of

MINUTE = 60_000


def emergency_adds_up(reader: FormInput, body: dict[str, Any]) -> None:
    """Found = fed + counted by hand + left, and a reason for what is left (9-106 of New York's Election Law: nothing closes over a remainder unsaid)."""
    found = body.get("ballots_found")
    parts = [n for key in ("fed", "hand_counted", "left") if (n := body.get(key)) is not None]
    found = found[-1] if isinstance(found, list) else found
    if found is not None and len(parts) == 3 and sum(parts) != found and not reader.not_so:
        reader.wrong(
            "ballots_found",
            f"Fed, counted by hand and left make {sum(parts)}; {found} were found. Count again; if it stays so, {NOT_SO}.",
        )
    if body.get("copies_by_hand", 0) > body.get("hand_counted", 0) and not reader.not_so:
        reader.wrong(
            "copies_by_hand",
            f"{body['copies_by_hand']} copies among {body.get('hand_counted', 0)} counted by hand. Count again; if it stays so, {NOT_SO}.",
        )
    if body.get("left") and "why_left" not in reader.words:
        reader.wrong("why_left", "Enter why ballots are left in the emergency bin.")


def taken_off_with_a_reason(reader: FormInput, body: dict[str, Any]) -> None:
    if body.get("subtract") and "why_subtract" not in reader.words:
        reader.wrong("why_subtract", "Enter why ballots are taken off: what failed, and which law or order allows it.")


def two_carriers(reader: FormInput, body: dict[str, Any]) -> None:
    """Ballots travel with two of different parties."""
    people = {o.id: o for o in getattr(getattr(reader.day, "people", None), "everybody", reader.place.officials)}
    pair = [people.get(body.get(key, "")) for key in ("first_carrier", "second_carrier")]
    first, second = pair
    if first and second and not reader.not_so and not different(first, second, reader.place.rules):
        same = "the same person" if first.id == second.id else "of one party"
        reader.wrong("second_carrier", f"The two carriers are {same}. Choose another second carrier, or {NOT_SO}.")


def carrier_in_words(reader: FormInput, body: dict[str, Any]) -> None:
    """A carrier who is not on the roll is named in words; words about nobody are questioned."""
    chosen = NOT_ON_ROLL in (body.get("first_carrier"), body.get("second_carrier"))
    if chosen and "not_on_roll" not in reader.words:
        reader.wrong("not_on_roll", "Enter what this carrier is, of which party, and who sent them.")
    elif not chosen and "not_on_roll" in reader.words:
        reader.wrong("not_on_roll", "Choose “Somebody who is not on the roll” as a carrier above, or leave this empty.")


def two_parties_came(reader: FormInput, body: dict[str, Any]) -> None:
    """People of two parties are here before a seal is cut; fewer is a signed exception, and the office was notified (8-102 of New York's Election Law)."""
    people = {o.id: o for o in getattr(getattr(reader.day, "people", None), "everybody", reader.place.officials)}
    earlier = {person for k in all_of(reader.day, "arrivals") for person in k.body.get("present", {})}
    came = [people[person] for person in sorted(earlier | set(body.get("present", {}))) if person in people]
    refused = any(name.startswith(f"{reader.prefix}present.") for name in reader.mistakes)
    if (
        came
        and not refused
        and not reader.not_so
        and not any(different(a, b, reader.place.rules) for i, a in enumerate(came) for b in came[:i])
    ):
        first = body["present"] and f"present.{next(iter(body['present']))}"
        reader.wrong(
            first,
            f"Only people of one party are written down so far. Wait for somebody of another party, and write all who are here; if nobody comes, call the office and {NOT_SO}.",
        )


def someone_moves(reader: FormInput, body: dict[str, Any]) -> None:
    """A relief names who leaves, who comes in, or both; an empty seat is kept as null."""
    if not body.get("out") and not body.get("in"):
        reader.wrong("out", "Select who leaves, who comes in, or both.")
    elif body.get("out") == body.get("in"):
        reader.wrong("in", "The same person cannot leave and come in at once. Select who comes in, or nobody.")
    body.setdefault("out", None)
    body.setdefault("in", None)


def opened_in_time(reader: FormInput, body: dict[str, Any]) -> None:
    """Polls that open late, or with steps missing, say so: time, reason, who was notified."""
    if reader.not_so:
        return
    task = next(
        (t for t in tasks(reader.place, reader.day, reader.now, ("opening",)) if t.step.id == reader.step.id), None
    )
    if task and task.missing:
        count = len(task.missing)
        reader.wrong(
            "not_so",
            f"{count} step{'s'[: count != 1]} above {'is' if count == 1 else 'are'} not kept yet. Open the polls all the same: "
            "say which under “Something is missing or wrong”, and keep them after.",
        )
    opens = reader.place.at(reader.place.opens)
    late = (body.get("time", opens) - opens) // MINUTE
    if late > 0:
        hour = wall(reader.place, opens)
        reader.wrong(
            "time",
            f"The polls were to open at {hour}; this is {late} minute{'s'[: late != 1]} later. Say why, and who was told, under “Something is missing or wrong”.",
        )


def own_zero_tape(reader: FormInput, body: dict[str, Any]) -> None:
    """A spare that starts fresh prints its own zero tape, or it stays shut."""
    if body.get("how") not in ("fresh-start", "fed-again") or reader.not_so:
        return
    if body.get("all_zero") is not True:
        reader.wrong(
            "all_zero",
            f"A fresh start needs a zero tape of its own. Print it and select yes, or {NOT_SO}: then it stays shut.",
        )
    if body.get("public"):
        reader.wrong(
            "public",
            f"After a fresh start the public counter reads 0; {body['public']} was entered. Read it again, or {NOT_SO}.",
        )
    if body["how"] == "fed-again" and "fed_again" not in body:
        reader.wrong("fed_again", "Enter how many ballots are fed again, in digits.")


def order_says_what(reader: FormInput, body: dict[str, Any]) -> None:
    """An instruction that changes the hours says until when; one that changes a step says which, and never takes away what proves the count."""
    if "hour_moved" in body and "hour_to" not in body and not reader.not_so:
        reader.wrong("hour_to", reader.step.known("hour_to").ask)
    if body.get("changes") == "hours" and not {"closes", "hour_moved"} & set(body) and not reader.not_so:
        reader.wrong("closes", reader.step.known("closes").ask)
    if "step_now" in body and "step" not in body:
        reader.wrong("step", "Select the step that the instruction is about.")
    elif "step" in body and "step_now" not in body:
        reader.wrong("step_now", "Select whether the step is done as the instruction says, or not done any more.")
    elif body.get("step_now") == "dropped" and body["step"] in PROOF:
        reader.wrong(
            "step_now",
            "This step proves the count and does not fall away. Keep it when it comes, as a signed exception with the number of the instruction; "
            "select “Done as the instruction says”.",
        )


def hour_is_the_one_in_force(reader: FormInput, body: dict[str, Any]) -> None:
    """The line ends at the hour in force: that of the place file, or of the last instruction."""
    said, hour = body.get("hour_in_force"), closing_hour(reader.place, reader.day)
    if said is not None and said != hour and not reader.not_so:
        moved = [k.number for k in in_force(reader.day) if k.body.get("changes") == "hours"]
        by = (
            f"the instruction of entry {moved[-1]}"
            if moved and hour != reader.place.at(reader.place.closes)
            else "the place file"
        )
        reader.wrong(
            "hour_in_force",
            f"The hour in force is {wall(reader.place, hour)} by {by}; {wall(reader.place, said)} was entered. "
            f"Enter {wall(reader.place, hour)}; if another order came, note it as an instruction first, or {NOT_SO}.",
        )


def sign_the_noon_reading_along(reader: FormInput, body: dict[str, Any]) -> None:
    """The two who look round at noon sign the last reading with it: its entry number goes into the body."""
    readings = all_of(reader.day, "hourly")
    if readings and any(field.name == "reading" for field in reader.step.fields):
        body["reading"] = readings[-1].number


def stood_still(reader: FormInput, body: dict[str, Any]) -> None:
    """A tabulator that is out of use need not be read again: its last figure still counts among the counters."""
    for tabulator in reader.place.tabulators:
        out = out_with(reader.day, tabulator.id)
        if out is not None and "public" in out.body and reader.at in ("", tabulator.box):
            body.setdefault("counters", {}).setdefault(tabulator.id, out.body["public"])


def something_printed(reader: FormInput, body: dict[str, Any]) -> None:
    """A zero tape that proves something was printed at least once."""
    if body.get("prints") == 0 and not reader.not_so:
        reader.wrong("prints", f"No zero tape was printed. Print one, or {NOT_SO}.")


Check = Callable[[FormInput, dict[str, Any]], None]
CHECKS: Mapping[str, tuple[Check, ...]] = {
    "arrivals": (two_parties_came,),
    "hourly": (stood_still,),
    "bin-emptied": (stood_still,),
    "emergency-opened": (emergency_adds_up,),
    "tape-typed": (taken_off_with_a_reason,),
    "depart": (two_carriers,),
    "carriers-in": (two_carriers, carrier_in_words),
    "relief": (someone_moves,),
    "polls-open": (opened_in_time,),
    "tabulator-in": (own_zero_tape,),
    "instruction": (order_says_what,),
    "line-end": (hour_is_the_one_in_force,),
    "noon-look": (sign_the_noon_reading_along,),
    "zero-tape": (something_printed,),
}
