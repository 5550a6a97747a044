"""What is printed at a place, through its pages: what is ready before dawn, the papers, the card named where check words are copied, the carry slip in its time."""

import re
from pathlib import Path

import pytest

from tests.pages.conftest import playbook, scene  # noqa: F401 - the same day, stopped at its moments
from tests.paper.printed import Printed
from webapp.pages.shared import host_status
from webapp.precinct.balance import summary
from webapp.precinct.reports.readiness import GB, Looked, at_place, counted

HOUR = 3_600_000


def test_before_roll_call_a_browser_comes_in_at_what_is_ready(scene):  # noqa: F811 - a fixture
    here = scene("dawn")
    page = here.window.get("/")
    assert page.path == "/ready" and "Begin roll call" in page.text and "a look" in page.text
    for words in (
        "Lantern Street School (W3), edition demo 1",
        "signed by the office",
        "Practice: nothing that is kept here counts",
        "election day. Polls open at 07:00",
        "8 officials, 8 slips from the office, 0 PINs set",
        "Nobody is written down yet",
        "40 for the day, 0412 to 0451; 7 seals on the equipment",
        "T1 (serial 84-1127)",
        "1,400 received: 3A 800, 4A 600",
        "GB free",
        "not asked for",
    ):
        assert words in page.text, words


def test_once_roll_call_has_begun_a_browser_comes_in_at_now(scene):  # noqa: F811
    here = scene("sworn")
    assert here.window.get("/").path == "/now"
    page = here.window.get("/ready")
    assert "8 officials, 8 slips from the office, 8 PINs set." in page.text and "8 of 8 here, 8 sworn." in page.text
    assert "Roll call has begun" in page.text


@pytest.mark.parametrize(
    "path, words",
    [
        ("/papers/forms.pdf", "Ballot account worksheet"),
        ("/papers/guide.pdf", "Guide for the chair"),
        ("/papers/card.pdf", "Zero tape of T2"),
    ],
)
def test_forms_guide_and_card_are_printed_from_the_menu_at_any_time(scene, path, words):  # noqa: F811
    here = scene("dawn")
    assert 'href="/papers"' in here.window.get("/now").text
    page = here.window.get("/papers")
    assert f'href="{path}"' in page.text
    assert words in Printed(here.window.get(path).body).all


def test_the_screens_that_ask_for_check_words_name_the_card(scene):  # noqa: F811
    here = scene("line-end")
    page = here.window.get("/step/zero-signed:T1")
    here.crew.do("line-end")
    page = here.window.get("/step/polls-closed")
    assert (
        "copy them by hand onto the witness’s card" in page.text
        and "Check words copied onto the witness’s card, read back aloud" in page.text
    )
    assert "The other party keeps the card" in page.text


def test_the_carry_slip_opens_when_the_containers_are_sealed_and_says_what_was_signed(scene):  # noqa: F811
    early = scene("remark")
    assert (
        "not due yet" in early.window.get("/carry").text
        and "opens when the containers are sealed" in early.window.get("/papers").text
    )
    assert "not due yet" in early.window.get("/carry/slip.pdf").text
    here = scene("packet")
    day = here.room.day
    page, printed = here.window.get("/carry"), Printed(here.window.get("/carry/slip.pdf").body).all
    filled, sealed = day.last("containers-filled").body["ballots"], day.last("containers-sealed").body["seals"]
    words = re.sub(r"<[^>]*>|\s+", " ", page.text)
    for container, number in sealed.items():
        assert number in words and number in printed, container
    for n in filled.values():
        n = n[-1] if isinstance(n, list) else n
        assert f"{n:,}" in printed and f"{n:,}" in words
    counts = day.last("aside-counts").body
    assert f"Spoiled, style 3A {counts['spoiled']['3A']}" in printed
    memory = [day.last(f"memory:{t.id}").body["seal"] for t in here.place.tabulators]
    assert all(number in printed for number in memory)
    assert f"Seals going back unused {day.last('seals-accounted').body['returned']}" in printed
    assert [line.says for line in day.balance.gaps if summary.capital(line.says) not in printed] == []
    assert "stamp" in page.text and "PRACTICE" in printed


def test_the_slip_keeps_what_the_day_hides(scene):  # noqa: F811
    """Between the close and the last blind count nothing of the count is printed anywhere."""
    here = scene("unused")
    assert here.room.day.folded_away
    for path in ("/carry", "/carry/slip.pdf"):
        assert "not due yet" in here.window.get(path).text


def looked(place, **changes) -> Looked:
    people = frozenset(o.id for o in place.officials)
    return Looked(
        **{
            "now": place.at(place.opens) - HOUR,
            "free": 40 * GB,
            "power": "mains",
            "slips": dict.fromkeys(people, True),
            "pins": people,
            "present": people,
            "sworn": people,
            **changes,
        }
    )


@pytest.mark.parametrize(
    "changes, name, state, words",
    [
        ({"free": 90_000_000}, "Room on the disk", "look", "90 MB free: too little for a day"),
        ({"free": None}, "Room on the disk", "look", "cannot be read"),
        ({"power": "battery", "charge": 63}, "Power", "look", "On battery, battery at 63 %. Plug the laptop in"),
        ({"power": ""}, "Power", "todo", "Look at the plug"),
        ({"signed": False}, "Place file", "look", "Nobody signed it: it is for practice only."),
        ({"present": frozenset(), "sworn": frozenset()}, "Officials here", "todo", "Nobody is written down yet."),
        (
            {"present": frozenset({"lindqvist", "tanaka"}), "sworn": frozenset()},
            "Officials here",
            "look",
            "All of one party: no seal is cut",
        ),
        ({"slips": {"lindqvist": True}, "pins": frozenset()}, "Slips and PINs", "look", "No slip for Benedict Okafor"),
        ({"tablets": (2, 1)}, "Tablets", "todo", "2 admitted, 1 waiting"),
    ],
)
def test_what_is_missing_is_said_with_what_to_do(school, changes, name, state, words):
    line = next(line for line in at_place(school, looked(school, **changes)) if line.name == name)
    assert line.state == state and words in line.says


def test_a_live_laptop_on_another_day_is_told_so(school):
    from dataclasses import replace

    live = replace(school, mode="live")
    found = {line.name: line for line in at_place(live, looked(live, now=live.at(live.opens) - 26 * HOUR))}
    assert (
        found["Clock"].state == "look"
        and "1 day before election day, 3 November 2026" in found["Clock"].says
        and found["Mode"].state == "done"
    )
    ready = at_place(live, looked(live))
    assert [line.name for line in ready if line.state not in ("done", "listed", "expected")] == [
        "Paper for when all else fails"
    ]
    assert counted(ready) == f"{len(ready) - 6} of {len(ready) - 1} ready, 4 listed by the office"


def test_a_place_file_that_lists_nothing_is_asked_about(school):
    from dataclasses import replace

    bare = replace(school, seals=(), applied=(), containers=(), stock=(), mode="live")
    found = {line.name: line.state for line in at_place(bare, looked(bare))}
    assert [found[name] for name in ("Seals", "Ballots", "Containers and copies")] == ["look"] * 3


def supply(folder: Path, name: str, **words: str) -> None:
    (folder / name).mkdir(parents=True)
    for key, value in words.items():
        (folder / name / key).write_text(value + "\n")


@pytest.mark.parametrize(
    "supplies, said",
    [
        ({}, ("", None)),
        (
            {"AC": {"type": "Mains", "online": "1"}, "BAT0": {"type": "Battery", "capacity": "97", "status": "Full"}},
            ("mains", 97),
        ),
        (
            {
                "AC": {"type": "Mains", "online": "0"},
                "BAT0": {"type": "Battery", "capacity": "41", "status": "Discharging"},
            },
            ("battery", 41),
        ),
        ({"BAT1": {"type": "Battery", "capacity": "8", "status": "Discharging"}}, ("battery", 8)),
        ({"mouse": {"type": "Battery", "scope": "Device", "capacity": "50", "status": "Discharging"}}, ("", None)),
        ({"ucsi": {"type": "USB", "online": "1"}}, ("mains", None)),
    ],
)
def test_power_is_read_as_linux_shows_it(tmp_path, supplies, said):
    """Files and words of Linux' class power_supply: Documentation/ABI/testing/sysfs-class-power (type, online, capacity, status, scope)."""
    for name, words in supplies.items():
        supply(tmp_path, name, **words)
    assert host_status.power(tmp_path) == said


def test_power_that_cannot_be_read_is_not_guessed(tmp_path):
    assert host_status.power(tmp_path / "not-there") == ("", None)
