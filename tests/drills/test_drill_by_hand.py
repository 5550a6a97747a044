"""`tapeseal drill --hands`: a trainer's screen, with somebody at the spare laptop who does what the printed page says, or nothing of it."""

import json
import re
import shutil
from dataclasses import replace

import pytest

from demo_precinct import drill_by_hand, drill_morning, rehearsed_county
from demo_precinct.drill_by_hand import Hands, in_a_table
from demo_precinct.drill_morning import at_noon
from demo_precinct.http_window import Window
from tests.browser.commanded import free_port
from tests.stick.test_served import posix, serving
from webapp.commands import drill, main
from webapp.paper import spare_sheet
from webapp.precinct.place import place_file

CREW = {"lindqvist": "739152", "okafor": "481739"}


class Trainee:
    """Answers each line of the drill; at the step of that number does what the page says."""

    def __init__(self, hands: Hands, stack):
        self.hands, self.stack, self.step, self.said = hands, stack, 0, []

    def say(self, line: str) -> None:
        self.said.append(line)
        self.step = int(found[1]) if (found := re.match(r"Step (\d+)\.", line)) else self.step

    def ask(self, line: str) -> str:
        if "No record lies" in line:
            return str(self.other)
        if "note has a number" in line:
            self.note(Window(self.hands.port), "lindqvist", drill_by_hand.PINS[0])
        if self.step == 4 and not hasattr(self, "window"):
            self.other = self.hands.folder / "SPARE"  # the name on the page, not the one the trainer was told
            words = (self.other, "--restore", self.hands.stick, "--kit", self.hands.made.kit)
            code = {"TAPESEAL_KIT_CODE": self.hands.codes["kit"]}
            _, address, _ = self.stack.enter_context(serving(*words, env=code))
            self.window = Window(int(address.rsplit(":", 1)[1].strip("/")))
            return "The kit was not found at once."
        if self.step == 6:
            for person, pin in CREW.items():
                form = self.window.get(f"/people/pin/{person}").form(f"/people/pin/{person}")
                self.window.send(form, {"pin": pin, "pin_again": pin, "code": self.hands.codes["second"][person]})
        if self.step == 9:
            form = self.window.get("/restored").form("/restored")
            page = self.window.send(form, {"seen": str(self.number), "signer": "lindqvist", "pin": CREW["lindqvist"]})
            form = next(form for form in page.forms if "signer" in form.controls)
            assert self.window.send(form, {"signer": "okafor", "pin": CREW["okafor"]}).status == 200
        return ""

    def note(self, window, person, pin) -> None:
        form = window.get("/note/observers").form("/note/observers")
        page = window.send(form, {"here": "2", "came": "1", "left": "0", "signer": person, "pin": pin})
        self.number = int(re.search(r"kept=(\d+)", page.path)[1])


@posix
def test_somebody_goes_on_from_the_page_and_each_step_is_timed_and_judged(tmp_path, monkeypatch):
    from contextlib import ExitStack

    monkeypatch.setattr(drill_morning.UntilNow, "few", 12)
    clock = iter(range(0, 10_000, 30))
    with ExitStack() as stack:
        hands = Hands(
            tmp_path, free_port(), lambda line: trainee.ask(line), lambda line: trainee.say(line), lambda: next(clock)
        )
        trainee = Trainee(hands, stack)
        found = hands.play()
    assert found.wrong == [] and trainee.number in found.lost
    assert [step.number for step in found.steps] == list(range(1, len(spare_sheet.STEPS) + 1))
    assert found.steps[3].noted == ["The kit was not found at once."] and found.seconds == 30 * len(found.steps)
    assert [step.seen for step in found.steps if step.seen is not None] == [True, True, True, False]
    assert any("does not show step 11" in line for line in trainee.said) and not (tmp_path / "laptop").exists()
    assert json.loads(found.as_json())["ok"] and "All that was signed is true." in in_a_table(found)

    short = hands.judged(hands.night[:5], [])
    assert any("is stated as" in words and "is 5" in words for words in short.wrong)

    lazy = replace(hands, folder=tmp_path)
    lazy.new, lazy.stick = tmp_path / "never", hands.stick
    nothing = lazy.judged(hands.night, [])
    assert nothing.wrong == [f"No record of a spare laptop lies in {tmp_path / 'never'}: nothing could be checked."]
    assert "Not as it should be" in in_a_table(nothing)


@pytest.mark.parametrize("hour", (0, 7, 12, 18, 23))
def test_it_is_noon_at_the_place_whatever_the_hour_here(hour):
    from datetime import UTC, datetime

    for minute in (0, 29, 30, 59):
        now = datetime(2027, 3, 1, hour, minute, tzinfo=UTC)
        toml = (rehearsed_county.HERE / "place.toml").read_bytes()
        place = place_file.read(at_noon(toml, now))
        there = now.astimezone(place.tz)
        assert (there.hour, there.minute) in {(12, minute), (11, minute)} and there.date() == place.date
        assert (there.hour == 12) == (minute < 30)


def test_a_folder_that_holds_something_and_a_screen_that_cannot_be_typed_at_are_said(tmp_path, monkeypatch, capsys):
    (tmp_path / "thing").write_text("")
    assert main(["drill", "--hands", "--folder", str(tmp_path)]) == 2
    assert "not empty" in capsys.readouterr().err

    def closed(self):
        raise EOFError

    monkeypatch.setattr(Hands, "play", closed)
    monkeypatch.setattr(drill.tempfile, "mkdtemp", lambda prefix: str(tmp_path / "new"))
    assert main(["drill", "--hands"]) == 2 and "where you can type" in capsys.readouterr().err
    shutil.rmtree(tmp_path / "new")
