"""Each rule at the door: the figure that cannot be is stopped with both figures and what to do; the one beside it passes; an exception lifts it.

The figures are those of a day walked with mistakes on purpose. That counters only rise, that seals issued are seals accounted for, and that a
contest holds no more votes than its ballots allow is common practice.
"""

from pathlib import Path

import pytest

from tests.checklist.cast import HOUR, LINDEN, Day, Told
from webapp.precinct.checklist import checklist
from webapp.precinct.plausibility import rules as rules_module
from webapp.precinct.plausibility.asked import Asked
from webapp.precinct.plausibility.rules import RULES, stops

NOON = LINDEN.at(LINDEN.opens) + 5 * HOUR


@pytest.fixture
def day():
    """A tape at zero, two readings, a bin emptied, eight packs."""
    day = Day(clock="06:20")
    tell(day, "zero-tape", NOON - 6 * HOUR, "T1", public=0, lifetime=9000, prints=2)
    tell(day, "zero-tape", NOON - 6 * HOUR, "T2", public=0, lifetime=4000, prints=2)
    tell(day, "goods", NOON - 7 * HOUR, packs={"3A": 8, "4B": 8})
    tell(day, "hourly", NOON - HOUR, counters={"T1": 265, "T2": 240}, check_ins={"P3": 300, "P4": 210})
    tell(day, "bin-emptied", NOON - HOUR // 2, "X", bin="main", counters={"T1": 270}, ballots=250)
    return day


def tell(day, kind, time, at="", **body):
    day.number = getattr(day, "number", 100) + 1
    day.kept.setdefault(checklist.task_key(kind, at), []).append(
        Told(day.number, kind, at, body | ({"at": at} if at else {}), time)
    )


def said(day, step, at="", beside=None, now=NOON, **body):
    return [(stop.name, stop.says) for stop in stops(Asked(step, at, body, LINDEN, day, now, beside or {}))]


STOPPED = {
    "a counter that ran back": (
        "hourly",
        "",
        {"counters": {"T1": 270, "T2": 25}},
        "counters.T2",
        "25. It stood at 240 at the 11:00 reading: 215 fewer now. A counter never runs back.",
    ),
    "the same at the close": ("counter-read", "T2", {"public": 25, "lifetime": 4265}, "public", "It stood at 240"),
    "protective counter": (
        "zero-tape",
        "T1",
        {"public": 0, "lifetime": 90_000, "prints": 2},
        "lifetime",
        "90,000. The office wrote 9,000: 81,000 more.",
    ),
    "protective counter back": (
        "counter-read",
        "T2",
        {"public": 260, "lifetime": 3990},
        "lifetime",
        "3,990. Its zero tape printed 4,000: 10 fewer now.",
    ),
    "prints": (
        "zero-signed",
        "T1",
        {"prints_signed": 3},
        "prints_signed",
        "3 prints signed in ink, 2 printed: 1 more.",
    ),
    "torn": (
        "zero-tape",
        "T1",
        {"public": 0, "lifetime": 9000, "prints": 2, "torn": 3},
        "torn",
        "3 prints torn, 2 printed",
    ),
    "ballots, not packs": (
        "packs",
        "",
        {"sealed_packs": {"3A": 7}, "opened_counted": {"3A": 100}, "received": {"3A": 7}},
        "received.3A",
        "7 sealed packs of 100 and 100 in the opened one make 800: 793 fewer.",
    ),
    "packs": ("packs", "", {"sealed_packs": {"3A": 9}}, "sealed_packs.3A", "9. 8 packs came with the goods: 1 more."),
    "bin": (
        "bin-emptied",
        "X",
        {"bin": "main", "counters": {"T1": 282}, "ballots": 50},
        "ballots",
        "50 ballots out of the bin, 282 on the counter less 250 taken out before: 18 more.",
    ),
    "seals": (
        "seals-accounted",
        "",
        {"issued": 40, "applied": 19, "returned": 20, "damaged": 0},
        "returned",
        "19 applied, 20 going back and 0 damaged make 39; 40 were issued: 1 fewer.",
    ),
    "check-ins": (
        "hourly",
        "",
        {"check_ins": {"P3": 310, "P4": 4}},
        "check_ins.P4",
        "Check-ins of Precinct 4: 4. They stood at 210 at 11:00: 206 fewer now.",
    ),
    "votes": (
        "tape-typed",
        "T1",
        {"public": 265, "contests": {"GOV": {"votes": {"A": 700, "B": 200}}}},
        "contests.GOV.votes.A",
        "Governor: 900 votes. 265 ballots with 1 vote each allow 265: 635 more.",
    ),
    "early": (
        "polls-open",
        "",
        {"time": LINDEN.at(LINDEN.opens) - 100 * 60_000},
        "time",
        "The polls open at 07:00; 05:20 was entered, 100 minutes early.",
    ),
    "closed early": (
        "polls-closed",
        "",
        {"time": LINDEN.at(LINDEN.closes) - 20 * 60_000},
        "time",
        "The polls close at 20:00; 19:40 was entered, 20 minutes early.",
    ),
    "last ballot after the close": (
        "polls-closed",
        "",
        {"time": LINDEN.at(LINDEN.closes), "last_ballot": LINDEN.at(LINDEN.closes) + 360_000},
        "last_ballot",
        "Last ballot at 20:06, polls declared closed at 20:00",
    ),
}


@pytest.mark.parametrize("case", STOPPED, ids=list(STOPPED))
def test_a_figure_that_cannot_be_is_stopped_with_both_figures(day, case):
    step, at, body, name, words = STOPPED[case]
    found = dict(said(day, step, at, **body))

    assert list(found) == [name] and words in found[name]
    assert "say below what is wrong" in found[name] or "tick that it does" in found[name]


PASSES = (
    ("hourly", "", {"counters": {"T1": 270, "T2": 240}, "check_ins": {"P3": 300, "P4": 210}}),
    ("counter-read", "T1", {"public": 300, "lifetime": 9300}),
    ("zero-tape", "T1", {"public": 0, "lifetime": 9000, "prints": 2, "torn": 2}),
    ("zero-signed", "T1", {"prints_signed": 2}),
    ("packs", "", {"sealed_packs": {"3A": 7}, "opened_counted": {"3A": [100, 99]}, "received": {"3A": 799}}),
    ("packs", "", {"sealed_packs": {"3A": 8}}),
    ("bin-emptied", "X", {"bin": "main", "counters": {"T1": 282}, "ballots": 32}),
    ("seals-accounted", "", {"issued": 40, "applied": 19, "returned": 20, "damaged": 1}),
    ("tape-typed", "T1", {"public": 265, "contests": {"GOV": {"votes": {"A": 165, "B": 100}}}}),
    ("tape-typed", "T1", {"contests": {"GOV": {"votes": {"A": 900}}}}),  # no ballots keyed: nothing to hold it against
    ("polls-open", "", {"time": LINDEN.at(LINDEN.opens)}),
    (
        "polls-closed",
        "",
        {"time": LINDEN.at(LINDEN.closes) + 360_000, "last_ballot": LINDEN.at(LINDEN.closes) + 300_000},
    ),
    ("clocks", "", {"minutes_off": {"T1": 2, "T2": 0}, "way": {"T1": "fast"}}),
)


@pytest.mark.parametrize(("step", "at", "body"), PASSES)
def test_what_can_be_passes(day, step, at, body):
    assert said(day, step, at, **body) == []


def test_a_clock_that_is_off_is_fast_or_slow(day):
    assert said(day, "clocks", minutes_off={"T1": 2, "T2": 0}) == [
        ("way.T1", "2 minutes off: select whether this clock is fast or slow.")
    ]


def test_a_bin_that_was_sealed_is_emptied_by_cutting_its_seal(day):
    tell(day, "bins-locked", NOON - 6 * HOUR, "X", seals={"main": "0405"})

    ((name, words),) = said(day, "bin-emptied", "X", bin="main", counters={"T1": 282}, ballots=3)
    assert name == "old_seal" and "not cut. Enter the number of the seal that you cut" in words and "0405" not in words
    assert said(day, "bin-emptied", "X", bin="main", counters={"T1": 282}, ballots=3, old_seal="0405") == []
    assert said(day, "bin-emptied", "X", bin="write-in", counters={"T1": 282}, ballots=3) == []


def test_prints_of_the_same_page_are_read_from_the_page(day):
    beside = {"zero-tape": {"prints": "3"}}

    assert said(day, "zero-signed", "T1", beside, prints_signed=3) == []
    assert said(day, "zero-signed", "T1", beside, prints_signed=4)[0][1].startswith("4 prints signed in ink, 3 printed")


def test_a_spare_that_began_anew_counts_from_its_own_zero(day):
    tell(day, "tabulator-in", NOON - HOUR // 4, "T2", how="fresh-start", public=0, lifetime=12)

    assert said(day, "hourly", counters={"T2": 3}) == []
    assert said(day, "counter-read", "T2", public=9, lifetime=21) == []


def test_a_form_that_was_held_on_a_tablet_is_read_against_the_day_as_it_was_then(day):
    assert said(day, "hourly", now=NOON - 2 * HOUR, counters={"T1": 120, "T2": 110}) == []


def test_while_counts_are_blind_no_rule_tells_a_figure(day):
    day.folded_away = True

    assert said(day, "power-lost", counters={"T1": 3}) == []
    assert said(day, "bin-emptied", "X", bin="main", counters={"T1": 3}, ballots=500) == []


def test_one_person_has_one_role_where_enough_are_at_work(day):
    class People:
        everybody = LINDEN.officials

        def working(self):
            return (*LINDEN.officials, LINDEN.officials[1].__class__("moss", "Ida Moss", "E", "inspector"))

    day.people = People()
    found = dict(said(day, "roles", second_in_command="calloway", securer="renn", list_keeper="vance", balancer="renn"))
    assert found["second_in_command"].startswith("Ines Calloway is the chair already")
    assert found["balancer"].startswith("Tobias Renn is the one who secures ballots and tabulators already")
    People.working = lambda self: LINDEN.officials
    assert said(day, "roles", second_in_command="calloway", securer="renn", list_keeper="vance", balancer="renn") == []


def test_every_rule_is_asked_and_says_what_law_it_holds():
    stopping = {rule.__name__ for rule in RULES}

    assert len(stopping) == len(RULES) and all(rule.__doc__ for rule in RULES)
    page = Path(rules_module.__file__).with_name("README.md").read_text(encoding="utf-8")
    assert [rule.__name__ for rule in RULES if f"`{rule.__name__}`" not in page] == []


def test_an_exception_lifts_the_stop_and_is_kept():
    from tests.checklist.cast import Pen

    day = Day(clock="06:20")
    step = checklist.fill(next(s for s in checklist.defaults() if s.id == "seals-accounted"), LINDEN, "")
    form = Pen(day).fill(step, "", "") | {"issued": "30", "applied": "10", "returned": "19", "damaged": "0"}

    assert list(checklist.read_form(step, "", LINDEN, day, form, day.now).mistakes) == ["returned"]
    form |= {"found": "One seal is missing, number 0417.", "done": "The office was told."}
    read = checklist.read_form(step, "", LINDEN, day, form, day.now)
    assert read.mistakes == {} and read.body["returned"] == 19 and "not_so" in read.body


def test_first_stubs_are_asked_for_where_there_are_stubs_and_not_where_there_are_none(day):
    def names(**body):
        return [name for name, _ in said(day, "first-stub", **body)]

    assert names() == ["stubs"] and names(stubs=False) == []
    assert names(stubs=True) == [f"first.{stock.style}" for stock in LINDEN.stock]
    assert names(stubs=True, first={"3A": 101, "4B": 1}) == []
    assert names(first={"3A": 101}) == [], "a form held on a tablet before the question was there"
