"""A whole day walked step by step as Now offers it: nothing is out of reach, every form can be filled, every page is signed once."""

from dataclasses import replace

import pytest

from checklist.cast import HOUR, LINDEN, MINUTE, Day, Pen
from tests.matrix import some
from webapp.precinct.checklist import checklist
from webapp.precinct.place.place import Rules


def keep_page(day: Day, pen: Pen, task: checklist.Task) -> list[str]:
    """Fill and keep all steps that are signed with this one; their keys."""
    group = (
        [
            t
            for t in day.tasks("opening", "voting", "closing", "hand-over", "office")
            if t.page == task.page and t.state != "done"
        ]
        if task.page
        else [task]
    )
    for t in group:
        assert t.state not in ("later", "missed"), f"{t.key} stands on a page with {task.key} and opens {t.opens}"
    read = []
    for t in group:
        if t.state == "shut":
            continue
        prefix = f"{t.key}/" if len(group) > 1 else ""
        said = checklist.read_form(
            t.step,
            t.at if t.step.per else "",
            day.place,
            day,
            pen.fill(t.step, t.at if t.step.per else "", prefix),
            day.now,
            prefix,
        )
        assert said.mistakes == {}
        read.append((t, said))
    for t, said in read:
        body = dict(said.body)
        if t.step.id == "hourly":
            body["hour"] = t.due
        body.pop("at", None)
        day.keep(t.step.id, t.at if t.step.per else "", bool(body.get("not_so")), **body)
    return [t.key for t, _ in read]


def walk(day: Day, *lists: str) -> list[str]:
    """Keep what is next, minute by minute, until nothing is left; the keys in order."""
    pen, done = Pen(day), []
    for _ in range(800):
        task = next((t for t in day.tasks(*lists) if t.state in ("next", "overdue")), None)
        if task is None:
            waiting = [t for t in day.tasks(*lists) if t.state == "later"]
            if not waiting:
                return done
            day.now += 10 * MINUTE
            continue
        hour = {"polls-open": day.place.opens, "polls-closed": day.place.closes}.get(task.step.id)
        day.now = max(day.now + MINUTE // 2, day.place.at(hour) if hour else 0)
        done += keep_page(day, pen, task)
    raise AssertionError(
        f"the day does not end: {[(t.key, t.opens) for t in day.tasks(*lists) if t.state not in ('done', 'missed', 'shut')]}"
    )


PLACES = {
    "two tabulators": LINDEN,
    "results first": replace(LINDEN, rules=replace(LINDEN.rules, first="results")),
    "no tabulator": replace(LINDEN, boxes=(), tabulators=(), applied=LINDEN.applied[3:]),
    "counters only, no write-ins": replace(
        LINDEN, rules=Rules(typed="counters"), contests=tuple(replace(c, write_in=False) for c in LINDEN.contests)
    ),
    "nothing sealed, no seals issued": replace(LINDEN, applied=(), seals=()),
    "opens at half past": replace(LINDEN, opens=LINDEN.opens.replace(hour=6, minute=30)),
}


DAILY = ["two tabulators", "no tabulator", "opens at half past"]


@pytest.mark.parametrize("name", some(DAILY, list(PLACES)))
def test_every_step_of_the_day_is_reached_and_can_be_kept(name):
    place = PLACES[name]
    day = Day(place)

    walk(day)

    left = [(t.key, t.state) for t in day.tasks() if t.state != "done" and not t.step.optional]
    assert left == []
    assert {t.step.id for t in day.tasks()} == {
        s.id for s in checklist.steps(place) if s.list != "office" and not s.note and checklist.ats(s, place)
    }


def test_the_office_desk_is_walked_to_the_receipt():
    day = Day(LINDEN, "22:30")

    done = walk(day, "office")

    assert done.index("receipt") == len(done) - 1
    assert [t.key for t in day.tasks("office") if t.state != "done"] == [
        "packet-read",  # the program knows it by itself, and asks nobody
        "paper-typed",  # offered no more
        "boxes-opened:X",
        "boxes-opened:Y",
    ]


def test_the_order_of_the_day_holds_everywhere():
    """Each step stands after all that its row names, in the order in which they were really kept."""
    day = Day(LINDEN)
    done = walk(day)

    first = {key: number for number, key in enumerate(done)}
    for task in day.tasks():
        for name in task.step.after:
            earlier = [
                k
                for k in first
                if k.partition(":")[0] == name and not (task.step.page and day.task(k).page == task.page)
            ]
            shared_at = [k for k in earlier if ":" in k and task.at and k.partition(":")[2] == task.at] or (
                [] if task.at else earlier
            )
            if task.key in first and name != "hourly":
                assert all(first[k] < first[task.key] for k in shared_at), f"{task.key} before {name}"


def test_a_day_needs_few_signatures_from_the_last_voter_to_the_sealed_case():
    """Design 6: at most 40 with one tabulator, a typical board of four and blind keying."""
    place = replace(LINDEN, boxes=LINDEN.boxes[:1], tabulators=LINDEN.tabulators[:1])
    day = Day(place)
    walk(day)

    weights = {"T": 0, "1": 1, "2": 2, "P": 2, "all": len(place.officials)}
    signed = {
        (t.page or t.key): weights[t.step.signs]
        for t in day.tasks("closing", "hand-over")
        if not t.step.optional
        and t.step.id not in ("line-end", "polls-closed")
        and (t.step.list == "closing" or t.page == "sealing")
    }
    keyings = 2
    assert sum(signed.values()) + keyings <= 40


def test_readings_are_kept_at_each_full_hour_of_voting():
    day = Day(LINDEN)
    walk(day)

    assert [k.body["hour"] for k in day.kept["hourly"]] == list(
        range(LINDEN.at(LINDEN.opens) + HOUR, LINDEN.at(LINDEN.closes), HOUR)
    )
