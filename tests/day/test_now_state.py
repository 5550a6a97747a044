"""What Now says in each of its states, and that a day asked each quarter hour never hears a sentence that is false or a step that is refused."""

import json
import random
import re
from dataclasses import fields
from datetime import time
from pathlib import Path

import pytest

from day.story import HARROW, Story
from tests.matrix import some
from webapp.precinct.account.balanced_day import BalancedDay as Day
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.checklist import checklist
from webapp.precinct.day.hours import clock
from webapp.precinct.reports.alerts import Alert
from webapp.precinct.reports.now_state import LINE, WITHHELD, Waiting, due_reading, now_state
from webapp.record.entry import Entry

QUARTER, MINUTE = 15 * 60_000, 60_000
OPEN = "07:00 polls-open time 07:00 by Calloway, Renn\n"
SWORN = """
    05:00 arrivals present.Calloway 05:00 present.Renn 05:02
    05:05 oath person Calloway row 1 by Calloway
    05:06 oath person Renn row 2 by Renn
"""
EIGHT = "08:00 hourly hour 08:00 counters.T1 64 check_ins.P4 71 in_hand 7 by Calloway\n"
MORE_BALLOTS = "09:00 hourly hour 09:00 counters.T1 131 check_ins.P4 129 in_hand 0 by Calloway\n"
CLOSED = "20:01 line-end officer_behind yes by Calloway, Renn\n20:04 polls-closed time 20:04 last_ballot 20:03 by Calloway, Renn\n"
BLIND = """
    20:20 unused unused.4A 966 by Calloway, Renn
    20:21 aside-counts spoiled.4A 1 by Calloway, Renn
    20:22 book-count check_ins.P4 129 by Calloway, Renn
    20:23 emergency-opened X1 ballots_found 0 by Calloway, Renn
    20:30 counter-read T1 public 131 lifetime 9131 by Calloway, Renn
"""


def at(hhmm: str) -> int:
    return HARROW.at(time.fromisoformat(hhmm))


def asked(text: str, hhmm: str, **more):
    """What Now says at that minute of a story."""
    day = fold(HARROW, Story().entries(text))
    return now_state(HARROW, day, checklist.tasks(HARROW, day, at(hhmm)), at(hhmm), **more)


def words(state) -> str:
    """Every word of it, figures of the last reading with them."""
    return repr([getattr(state, f.name) for f in fields(state) if f.name not in ("then", "done", "next", "due")])


# --- the states, one by one


@pytest.mark.parametrize(
    "story, hhmm, kind, heading",
    [
        ("", "05:00", "step", "Write down who is here"),
        (SWORN, "05:10", "step", "Say who does what in an emergency"),
        (SWORN + OPEN, "07:01", "between", "Polls are open until 20:00"),
        (SWORN + OPEN, "07:46", "reading", "Take the 08:00 reading"),
        (SWORN + OPEN, "08:20", "overdue", "Take the 08:00 reading"),
        (SWORN + OPEN + EIGHT, "08:22", "between", "Polls are open until 20:00"),
        (SWORN + OPEN + EIGHT + MORE_BALLOTS, "09:03", "alert", "2 more ballots than check-ins"),
    ],
)
def test_what_now_says_first(story, hhmm, kind, heading):
    opening = "".join(
        f"06:00 {t.key.replace(':', ' ')} by Calloway, Renn\n"
        for t in checklist.tasks(HARROW, Day(HARROW), at("06:00"))
        if t.step.list == "opening" and t.step.id not in ("arrivals", "oath", "polls-open")
    )
    state = asked(story.replace(OPEN, opening + OPEN), hhmm)
    assert (state.kind, state.heading) == (kind, heading)


def test_polls_do_not_open_before_their_hour_however_early_all_is_signed():
    state = asked(opened_by_the_book(until="06:30"), "06:30")
    assert (state.kind, state.heading, state.offered) == ("ready", "Polls open at 07:00", None)
    assert [one.says for one in state.coming] == ["07:00: Declare the polls open"]
    assert asked(opened_by_the_book(until="06:30"), "07:00").offered.key == "polls-open"


def test_between_two_readings_it_says_until_when_and_which_reading_opens_when():
    state = asked(opened_by_the_book() + EIGHT, "08:22")
    assert state.brow == "Voting, 1 of 12 readings signed" and state.offered is None
    assert [one.says for one in state.coming] == ["The 09:00 reading opens at 08:45"]
    assert (state.stood.hour, state.notes) == (at("08:00"), True)


def test_the_last_hour_says_when_the_polls_close_and_sends_nobody_out_an_hour_early():
    story = opened_by_the_book() + readings("08:00", "19:00")
    state = asked(story, "19:02")
    assert (state.kind, state.heading, state.offered) == ("last-hour", "Polls close at 20:00", None)
    assert [one.says for one in state.coming] == ["20:00: Stand behind the last voter in line"]
    assert asked(story, "19:50").offered.key == "line-end"


def test_readings_that_nobody_took_are_named_and_not_counted_as_done():
    story = opened_by_the_book() + readings("08:00", "08:00")
    state = asked(story, "11:10")
    assert state.offered.key == "hourly:11:00" and [t.at for t in state.stands_for] == ["09:00", "10:00"]
    assert asked(story + readings("11:00", "11:00"), "11:20").brow == "Voting, 2 of 12 readings signed, 2 not taken"


def test_a_step_that_waits_for_a_signature_is_named_and_not_begun_again():
    waits = Waiting(
        "ab",
        ("hourly:08:00",),
        "Take the 08:00 reading",
        ("Ines Calloway",),
        at("08:15"),
        "an official of another party",
    )
    state = asked(opened_by_the_book(), "08:00", waiting=(waits,))
    assert (state.kind, state.heading, state.offered, state.signs) == (
        "signature",
        "Take the 08:00 reading",
        None,
        waits,
    )
    assert state.waiting == ()


def test_a_warning_of_others_stands_beside_or_above():
    clock, memory = Alert("clock:A", "The clock of tablet A is off"), Alert("memory:9", "Tablet A differs", urgent=True)
    state = asked(opened_by_the_book() + EIGHT, "08:22", warnings=(clock, memory))
    assert (state.main, state.alerts) == (memory, (clock,))


def test_an_alarm_stands_until_a_later_reading_a_correction_or_two_parties_who_looked():
    story = opened_by_the_book() + EIGHT + MORE_BALLOTS
    number = len(Story().entries(story))
    assert asked(story, "09:40").main.reading == number
    looked = f"09:20 looked of {number} found 'Two voters were let through; both checked in now.' by Calloway, Renn\n"
    assert asked(story + looked, "09:21").main is None
    fixed = (
        f"09:21 correct {number} hour 09:00 counters.T1 121 check_ins.P4 129 in_hand 8 because 'misread' by Calloway\n"
    )
    assert asked(story + fixed, "09:22").main is None
    worse = (
        f"09:30 correct {number} hour 09:00 counters.T1 133 check_ins.P4 129 in_hand 0 because 'again' by Calloway\n"
    )
    assert asked(story + looked + worse, "09:31").main.says == "4 more ballots than check-ins"
    later = "10:00 hourly hour 10:00 counters.T1 150 check_ins.P4 155 in_hand 5 by Calloway\n"
    assert asked(story + later, "10:01").main is None


def test_a_note_that_accounts_for_the_difference_settles_it_and_another_one_does_not():
    story = opened_by_the_book() + "08:00 hourly hour 08:00 counters.T1 64 check_ins.P4 65 in_hand 0 by Calloway\n"
    assert asked(story, "08:02").main.says == "1 check-in with no ballot on a counter and nobody in the room"
    assert asked(story + "08:03 left ballots 1 book P4 by Pellow\n", "08:04").main is None
    assert asked(story + "08:03 spoiled ballots 1 style 4A reissued yes by Pellow\n", "08:04").main is not None


def test_a_counter_that_ran_back_is_told_by_its_name_unless_its_memory_began_anew():
    story = opened_by_the_book() + EIGHT
    back = "09:00 hourly hour 09:00 counters.T1 60 check_ins.P4 73 in_hand 13 by Calloway\n"
    state = asked(story + back, "09:02")
    assert state.main.says == "The public counter of T1 ran back by 4"
    assert state.main.more == ("It reads 60; at 08:00 it read 64. It never runs back.",)
    fresh = "08:30 tabulator-out T1 public 64 by Calloway, Renn\n08:40 tabulator-in T1 how fresh-start serial B-9 public 0 by Calloway, Renn\n"
    anew = "09:00 hourly hour 09:00 counters.T1 6 check_ins.P4 73 in_hand 3 by Calloway\n"
    assert asked(story + fresh + anew, "09:02").main is None


def test_ballots_that_run_out_stand_on_now_until_more_are_brought():
    low = "08:00 hourly hour 08:00 counters.T1 64 check_ins.P4 71 in_hand 7 unused.4A 300 by Calloway\n"
    story = opened_by_the_book() + low
    state = asked(story, "08:10")
    assert state.main.says == "Ballots run out before the close" and "Order more now" in state.main.more[0]
    assert asked(story + "08:30 resupply style 4A ballots 400 origin paper by Calloway, Renn\n", "08:31").main is None


def test_from_the_close_to_the_counts_nothing_of_the_day_is_told():
    story = opened_by_the_book() + EIGHT + MORE_BALLOTS + CLOSED
    state = asked(story, "20:10")
    assert (state.main, state.alerts, state.withheld, state.stood, state.notes) == (None, (), WITHHELD, None, False)
    assert not re.search(r"\b(129|131|64|71)\b", words(state))
    counted = asked(story + BLIND, "20:31")
    assert counted.withheld == "" and counted.main is None
    assert [a.says for a in counted.alerts] == ["At the last reading: 2 more ballots than check-ins"]
    assert asked(story + BLIND + "20:32 first-look seen yes by Calloway, Renn\n", "20:33").alerts == ()


def test_a_kept_look_reads_the_same_for_ever():
    """One entry `looked` as it was kept once: its bytes, its body, its sentence."""
    stored = json.loads((Path(__file__).parent / "stored" / "looked.json").read_text())
    entry = Entry.unpack(bytes.fromhex(stored["entry"]))
    assert (entry.kind, {"of": entry.body["of"], "words": sorted(entry.body["words"])}) == ("looked", stored["body"])
    assert checklist.statement(entry.kind, entry.body, HARROW, None, {"found": stored["found"]}) == stored["says"]


# --- days asked each quarter hour


def opened_by_the_book(until: str = "07:00") -> str:
    """Every step of the opening signed; the polls open at seven where `until` says so."""
    rows = [SWORN.replace("\n    ", "\n")]
    for task in checklist.tasks(HARROW, Day(HARROW), at("06:00")):
        if task.step.list == "opening" and task.step.id not in ("arrivals", "oath", "polls-open"):
            rows.append(f"06:00 {task.key.replace(':', ' ')} by Calloway, Renn\n")
    return "".join(rows) + (OPEN if until == "07:00" else "")


def readings(first: str, last: str) -> str:
    """A reading at each full hour, 60 voters an hour, two people between."""
    rows = []
    for hour in range(int(first[:2]), int(last[:2]) + 1):
        n = 60 * (hour - 7)
        rows.append(
            f"{hour:02}:00 hourly hour {hour:02}:00 counters.T1 {n - 2} check_ins.P4 {n} in_hand 2 by Calloway\n"
        )
        if hour == 12:
            rows.append("12:05 noon-look by Calloway, Renn\n")
    return "".join(rows)


class Drawn:
    """One day drawn at random: somebody does what Now offers, sooner or later, and things happen in between."""

    def __init__(self, seed: int):
        self.draw, self.story, self.rows = random.Random(seed), Story(), []
        self.day, self.folded = Day(HARROW), 0
        self.voters = self.counter = self.before = (
            0  # check-ins, public counter since its memory began, ballots on memories before it
        )
        self.closes, self.wrong = at("20:00"), None
        chance = self.draw.random
        self.late = self.draw.choice([0, 0, 25, 50])
        self.alone = chance() < 0.3
        self.forgets = chance() < 0.6
        self.swaps = self.draw.randrange(9, 15) if chance() < 0.6 else 0
        self.dark = self.draw.randrange(9, 18) if chance() < 0.5 else 0
        self.order = self.draw.randrange(12, 19) if chance() < 0.4 else 0
        self.alarm = self.draw.randrange(9, 18)

    def by(self) -> str:
        return "Calloway" if self.alone else "Calloway, Renn"

    def today(self) -> Day:
        """The day so far; each entry is folded once."""
        for entry, texts in self.rows[self.folded :]:
            self.day.add(entry, texts)
        self.folded = len(self.rows)
        return self.day

    def tell(self, now: int, line: str, by: str = "") -> None:
        self.rows += self.story.entries(f"{checklist_clock(now)} {line} by {by or self.by()}")

    def happens(self, now: int) -> None:
        """What nobody asked for."""
        hour, minute = map(int, checklist_clock(now).split(":"))
        if minute != 30:
            return
        if hour == self.swaps:
            self.tell(now, f"tabulator-out T1 public {self.counter}")
            self.tell(now, "tabulator-in T1 how fresh-start serial B-77 public 0")
            self.before, self.counter = self.before + self.counter, 0
        if hour == self.dark:
            self.tell(now, f"power-lost time {checklist_clock(now)} runs_on battery")
        if hour == self.dark + 1 and self.dark:
            self.tell(now, f"power-back time {checklist_clock(now)}")
        if hour == self.order:
            self.tell(now, "instruction issuer court changes hours closes 21:00 read_back yes")
            self.closes = at("21:00")

    def does(self, now: int, key: str) -> None:
        """One step as it is offered, with a plausible body."""
        kind, _, where = key.partition(":")
        hhmm = checklist_clock(now)
        if kind == "arrivals":
            return self.tell(now, f"arrivals present.Calloway {hhmm} present.Renn {hhmm}", "Calloway")
        if kind == "oath":
            self.tell(now, "oath person Calloway row 1", "Calloway")
            return self.tell(now, "oath person Renn row 2", "Renn")
        if kind == "hourly":
            return self.reads(now, where)
        more = {
            "polls-open": f" time {hhmm}",
            "polls-closed": f" time {hhmm} last_ballot {hhmm}",
            "line-end": " officer_behind yes",
        }
        self.tell(now, f"{kind}{' ' + where if where else ''}{more.get(kind, '')}")
        return None

    def reads(self, now: int, hour: str) -> None:
        self.voters += self.draw.randrange(20, 80)
        heads = self.draw.randrange(0, 6)
        self.counter = max(self.voters - heads - self.before, self.counter)
        self.wrong = None
        shown = self.counter
        if int(hour[:2]) == self.alarm:
            shown += heads + 3
        self.tell(now, f"hourly hour {hour} counters.T1 {shown} check_ins.P4 {self.voters} in_hand {heads}", "Calloway")
        if self.before + shown > self.voters:
            self.wrong = len(self.rows), self.before + shown - self.voters

    def settles(self, now: int) -> None:
        """Two look, or the figure was mistyped."""
        number, _ = self.wrong
        if self.draw.random() < 0.5:
            self.tell(now, f"looked of {number} found 'Counted again.'")
        else:
            hour = checklist_clock(self.rows[number - 1][0].body["hour"])
            self.tell(
                now,
                f"correct {number} hour {hour} counters.T1 {self.counter} check_ins.P4 {self.voters} in_hand {self.voters - self.before - self.counter} because 'misread'",
                "Calloway",
            )
        self.wrong = None


def checklist_clock(now: int) -> str:
    return clock(HARROW, now)


BY_THE_MINUTE = some([4], list(range(10)))  # days in which Now is asked between the quarter hours too:
BETWEEN = some([7 * MINUTE], [7 * MINUTE, MINUTE])[-1]  # in every minute with --all, else in every seventh


@pytest.mark.parametrize("seed", some([4, 7], range(10)))
def test_days_drawn_at_random_hear_nothing_false_and_are_offered_nothing_that_is_refused(seed):
    drawn, now, done = Drawn(seed), at("05:00"), False
    begin, kinds = at("05:00") + drawn.late * MINUTE, set()
    while now < at("23:59") and not done:
        drawn.happens(now)
        day = drawn.today()
        tasks = checklist.tasks(HARROW, day, now)
        state = now_state(HARROW, day, tasks, now)
        true_at(drawn, day, tasks, state, now)
        kinds.add(state.kind)
        done = state.kind == "done"
        closes_early(drawn, tasks, state, now)
        if drawn.wrong and drawn.draw.random() < 0.5 and not day.closed:
            drawn.settles(now)
        quick = 6 if day.closed or not day.opened else 1
        for _ in range(quick if now >= begin else 0):
            day = drawn.today()
            tasks = checklist.tasks(HARROW, day, now)
            state = now_state(HARROW, day, tasks, now)
            true_at(drawn, day, tasks, state, now)
            forgotten = (
                state.offered and state.offered.step.id == "hourly" and drawn.forgets and drawn.draw.random() < 0.6
            )
            if state.offered and not forgotten:
                drawn.does(now, state.offered.key)
        if seed in BY_THE_MINUTE:
            until_the_next_quarter(drawn, now)
        now += QUARTER
    assert done and {"between", "alert", "step"} <= kinds


def until_the_next_quarter(drawn, now: int) -> None:
    """Nobody does anything; minutes pass, and what Now says stays true."""
    day = drawn.today()
    for moment in range(now + BETWEEN, now + QUARTER, BETWEEN):
        tasks = checklist.tasks(HARROW, day, moment)
        true_at(drawn, day, tasks, now_state(HARROW, day, tasks, moment), moment)


def closes_early(drawn, tasks, state, now: int) -> None:
    """Somebody tries to close the polls early: neither Now nor the checklist takes it."""
    early = next((t for t in tasks if t.key == "polls-closed"), None)
    if early and now < drawn.closes - 60 * MINUTE:
        assert checklist.why_not(early) and (state.offered is None or state.offered.key != "polls-closed")


def true_at(drawn, day, tasks, state, now: int) -> None:
    """Each sentence of Now held against what this day's teller knows."""
    kinds = [entry.kind for entry, _ in drawn.rows]
    opened, closed = "polls-open" in kinds, "polls-closed" in kinds
    if state.offered:
        assert not checklist.why_not(state.offered)
        assert state.offered.key != "polls-open" or now >= at("07:00")
        assert state.offered.key != "line-end" or now >= drawn.closes - LINE
    if state.heading.startswith("Polls are open until"):
        assert opened and not closed and now < drawn.closes and state.heading.endswith(checklist_clock(drawn.closes))
    if state.heading.startswith("Polls close at"):
        assert opened and not closed and drawn.closes - 60 * MINUTE <= now < drawn.closes
    if state.heading.startswith("Polls open at"):
        assert not opened and now < at("07:00")
    assert (state.kind == "done") == ("depart" in kinds)
    for one in state.coming:
        assert one.at > now
        if one.key.startswith("hourly"):
            assert opens(day, one.key, one.at) and not opens(day, one.key, one.at - MINUTE)
    blind = closed and "counter-read" not in kinds
    assert bool(state.withheld) == bool(drawn.wrong and blind)
    if blind:
        assert state.stood is None and not state.notes and not state.main
    else:
        heads = [a.says for a in (state.main, *state.alerts) if a and not a.id.startswith("stock")]
        stands = drawn.wrong and "first-look" not in kinds
        heads = [head.removeprefix("At the last reading: ") for head in heads]
        assert heads == (
            [f"{drawn.wrong[1]} more ballot{'s' if drawn.wrong[1] > 1 else ''} than check-ins"] if stands else []
        )
    late = re.search(r"Take the (\d\d:\d\d) reading", state.heading)
    if late and state.kind == "overdue":
        assert state.late == (now - at(late[1])) // MINUTE > 5
    reading, _ = due_reading(tasks)
    if reading and not closed:
        assert reading in (state.next, *state.due)


def opens(day, key: str, moment: int) -> bool:
    return any(t.key == key and t.state in ("open", "next", "overdue") for t in checklist.tasks(HARROW, day, moment))
