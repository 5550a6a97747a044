"""The demo's day: small things that really happen, at their hours, and one ballot that was carried off and noted by nobody.

Every kind of note of the day is written at least once; there is an exception, a short-signed step, a correction, and a gap with its remark.
"""

from collections.abc import Callable

from demo_precinct.rehearsed_day import MINUTE, Day, Story

GAP = (
    "Between 17:00 and 18:00 one voter who had checked in did not reach a tabulator. Booths, bins, floor and the way out were searched by both parties; "
    "no ballot was found. Consistent with a ballot carried out. Cause unknown."
)


def told() -> Story:
    """The story of the demo's place (two tabulators, two boxes, two styles)."""
    return Story(
        at_hour={
            1: first_hour,
            2: second_hour,
            3: third_hour,
            4: fourth_hour,
            5: fifth_hour,
            6: sixth_hour,
            7: seventh_hour,
            8: eighth_hour,
            9: ninth_hour,
            10: tenth_hour,
            11: eleventh_hour,
        },
        before={"search": searched},
        instead={"access": locked_door, "noon-look": alone_at_noon},
        differs=True,
        remark=GAP,
    )


def quick(day: Day, kind: str, at: str = "", /, **own: str) -> None:
    """A note, a minute after the one before."""
    day.pass_time(1)
    day.crew.note(kind, at, **own)


def locked_door(day: Day) -> None:
    """The accessible door is locked at dawn: a signed exception, not a dead end."""
    day.crew.tally.exceptions += 1
    day.crew.do(
        "access",
        not_so="yes",
        found="The accessible door was locked from inside.",
        done="The house opened it at once; the sign was moved. Office told.",
        door_unlocked="",
    )


def alone_at_noon(day: Day) -> None:
    """The other party is at lunch: the look at noon is kept short-signed, the office told."""
    day.crew.do("noon-look", short=True)


def first_hour(day: Day) -> None:
    style = day.place.stock[0].style
    quick(day, "spoiled", style=style, ballots="2")
    number = newest(day)
    day.pass_time(2)
    day.crew.correct(number, {"ballots": "1"}, "One ballot, not two: it was tapped twice.")
    day.truth.spoiled[style] = day.truth.spoiled.get(style, 0) + 1
    taken_back(day)
    tap(day, "overvote", "new-ballot")
    tap(day, "unreadable", "other-way-up")
    quick(day, "observers", came="2", left="0", here="2")


def second_hour(day: Day) -> None:
    quick(day, "provisional", kind="not-in-book")
    day.truth.provisional += 1
    nominal = day.place.stock[0]
    assert nominal.pack, "the first stock of the demo comes in packs"
    quick(day, "pack-opened", style=nominal.style, nominal=str(nominal.pack), counted=str(nominal.pack - 1))
    day.truth.moved[nominal.style] = day.truth.moved.get(nominal.style, 0) - 1
    quick(day, "absentee-handed-in", envelopes="1", surrendered="0")
    day.truth.drop_off += 1


def third_hour(day: Day) -> None:
    quick(day, "jam", day.place.tabulators[0].id, counted="yes", went="main-bin")
    quick(day, "left")
    day.truth.left += 1
    day.answers.aside += 1
    style = day.place.stock[-1].style
    quick(day, "spoiled", style=style, reissued="yes")
    day.truth.spoiled[style] = day.truth.spoiled.get(style, 0) + 1


def fourth_hour(day: Day) -> None:
    quick(day, "taken")
    day.truth.taken += 1
    day.answers.aside += 1
    quick(
        day,
        "incident",
        where="check-in",
        what="A line of twenty at check-in for ten minutes. A second table was opened.",
        told="duty clerk",
    )


def fifth_hour(day: Day) -> None:
    """The main bin under the first tabulator is full: emptied, counted, sealed by two parties."""
    box = day.place.boxes[0].id
    whole = day.answers.public(day.place.tabulators[0].id)
    taken_out = whole - 4
    container = next(c.id for c in day.place.containers if c.ballots)
    quick(
        day,
        "bin-emptied",
        box,
        bin="main",
        container=container,
        seal=day.answers.take(container),
        ballots=str(taken_out),
    )
    day.answers.emptied[box] = taken_out


def sixth_hour(day: Day) -> None:
    """The lights go out for a quarter of an hour: batteries, emergency bin, and back."""
    box = day.place.boxes[0].id
    quick(
        day,
        "power-lost",
        runs_on="battery",
        office_told="yes",
        **{f"minutes_left.{t.id}": "240" for t in day.place.tabulators},
    )
    quick(day, "emergency-on", box, cause="power", locked="yes")
    for _ in range(2):
        quick(day, "emergency-plus", box)
    day.truth.emergency[box] = 2
    day.answers.aside += 2
    day.pass_time(8)
    quick(day, "power-back", clocks_right="yes", **{f"minutes_left.{t.id}": "226" for t in day.place.tabulators})
    quick(day, "emergency-off", box, cause="power", locked="yes")


def seventh_hour(day: Day) -> None:
    """The second tabulator fails; its memory moves to a spare, which goes on counting."""
    tabulator = day.place.tabulators[1].id
    quick(day, "tabulator-out", tabulator, message="Feeder fault 12, opened twice, the same again.")
    public = day.answers.public(tabulator)
    day.answers.units[tabulator] = (4000, public)
    memory, door = (day.answers.take(f"{tabulator}-{part}") for part in ("memory", "door"))
    quick(
        day,
        "tabulator-in",
        tabulator,
        serial="84-2002",
        how="memory-moved",
        certificate="yes",
        public=str(public),
        lifetime="4000",
        memory_seal=memory,
        door_seal=door,
    )


def eighth_hour(day: Day) -> None:
    quick(day, "found", where="booth", unread="yes", becomes="spoiled-not-reissued")
    day.truth.found += 1
    day.answers.aside += 1
    first = day.place.stock[0].style
    day.truth.spoiled[first] = day.truth.spoiled.get(first, 0) + 1
    quick(day, "resupply", style=first, ballots="100", origin="paper", receipt="R-12")
    day.truth.moved[first] = day.truth.moved.get(first, 0) + 100
    last = day.place.stock[-1].style
    quick(day, "sent", style=last, ballots="25", receipt="R-13", to="Heathfield Chapel, by their deputy")
    day.truth.moved[last] = day.truth.moved.get(last, 0) - 25


def ninth_hour(day: Day) -> None:
    point = f"{day.place.boxes[0].id}-emergency"
    old = f"{day.place.tabulators[0].id}-emergency"
    where = old if old in day.answers.on else point
    quick(
        day,
        "seal-broken",
        where=where,
        old=day.answers.on[where],
        new=day.answers.take(where),
        why="The flap was bumped by a cart; both parties saw it. The bin stayed locked.",
    )
    quick(
        day,
        "seal-applied",
        where=f"{day.place.boxes[1].id}-write-in",
        new=day.answers.take(f"{day.place.boxes[1].id}-write-in"),
        why="An extra seal, as the office asked by telephone.",
    )
    style = day.place.stock[0].style
    quick(day, "wrong-style", style=style, right_given="yes")
    quick(day, "unmarked-back", style=style, in_envelope="yes")
    day.truth.spoiled[style] = day.truth.spoiled.get(style, 0) + 2
    day.truth.found += 1
    day.answers.aside += 1


def tenth_hour(day: Day) -> None:
    """A smoke alarm, five minutes outside; then word from the office; and a greeter goes home."""
    begin = day.now
    day.pass_time(6)
    day.crew.note(
        "evacuation",
        time=day.answers.hhmm(begin),
        list_out="yes",
        all_out="yes",
        stayed_with="Nobody. The doors were locked behind us.",
        why="Smoke alarm in the kitchen; the fire service let us back in.",
        back=day.answers.hhmm(),
    )
    quick(
        day,
        "instruction",
        issuer="office",
        number="17",
        read_back="yes",
        changes="other",
        closes="",
        told_by="Duty clerk of the election office",
        text="Voters in line at the hour may wait inside.",
        what_changes="The line at the close waits in the hall.",
    )
    quick(day, "relief", out=day.place.officials[-1].id, **{"in": ""}, open_matters="None.")


def eleventh_hour(day: Day) -> None:
    """Somebody walks out with a ballot, and nobody writes it down."""
    day.truth.unnoted_taken += 1
    day.answers.aside += 1  # checked in, and on no counter: the reading shows one more than the heads counted
    quick(day, "provisional", kind="absentee-shown")
    day.truth.provisional += 1


def searched(day: Day) -> None:
    day.go(day.now + 6 * MINUTE)


def tap(day: Day, message: str, outcome: str) -> None:
    """One ballot handed back: a tally of the hour."""
    page = day.crew.window.get("/note/handed-back")
    day.crew.sent(page.form("/note/handed-back"), {"cell": f"{message}/{outcome}"})


def taken_back(day: Day) -> None:
    """Tapped by mistake: taken back within the minute, without ceremony."""
    page = day.crew.note("taken")
    day.crew.sent(page.form("/note/back/"), {})


def newest(day: Day) -> int:
    """Number of the note that was just kept."""
    import re

    return int(re.findall(r'href="/record/(\d+)">Correct', day.crew.window.get("/note").text)[0])


Event = Callable[[Day], None]
