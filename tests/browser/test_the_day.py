"""The day in a real browser at three sizes: opening, a reading, a spoiled ballot, a difference between two keyings, the packet, the intake."""

import re

import numpy
import pytest
import zxingcpp
from PIL import Image

import webapp
from tests.browser.conftest import SIZES
from tests.browser.hand import Hand
from tests.matrix import nightly, some
from webapp.packet import frames
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@nightly(
    held_by="tests/browser/test_requirements_everyone.py::test_r37_every_step_by_keyboard_at_200_percent_with_script_off"
)
@pytest.mark.parametrize(("size", "script"), [("tablet lying", False), ("phone", True)])
def test_the_whole_opening_works_also_with_script_off(scene, window, size, script):
    here = scene("dawn")
    hand = Hand(window(size, script), here)
    hand.go("/step/arrivals")
    hand.fill_and_sign("/step/arrivals", "arrivals")
    for official in here.place.officials:
        hand.oath(official.id)
    hand.hold()
    for _ in range(60):
        hand.go("/now")
        begin = hand.page.locator("a.button.do")
        if not begin.count():
            if here.now >= here.place.at(here.place.opens):
                break
            here.now = here.place.at(here.place.opens)  # all is signed, and nothing is offered before the hour
            here.crew.clock(here.now)
            hand.hold()
            continue
        key = begin.first.get_attribute("href").removeprefix("/step/")
        if key == "polls-open":
            here.now = here.place.at(here.place.opens)
            here.crew.clock(here.now)
            hand.hold()
        else:
            here.pass_time(1)
        if here.room.day.opened:
            break
        hand.go(f"/step/{key}")
        step, _, at = key.partition(":")
        before = here.length
        hand.fill_and_sign("/step/", step, at)
        assert here.length > before, f"{key} was not kept: {hand.page.locator('[role=alert]').all_inner_texts()}"
    assert here.room.day.phase == "voting"


@nightly(held_by="tests/browser/test_taps.py::test_what_the_day_costs_in_taps_and_signatures")
@pytest.mark.parametrize("size", [*SIZES])
def test_a_reading_and_a_spoiled_ballot(scene, window, size, capsys):
    here = scene("voting")
    hand = Hand(window(size), here)
    hand.hold()
    before = here.length
    hand.taps = 0
    hand.go("/note")
    hand.press(hand.page.get_by_role("link", name=re.compile("Spoiled ballot")).first)
    hand.press(hand.page.locator("button.do"))
    hand.taps += 3
    assert here.kinds(before) == ["spoiled"] and "Kept as entry" in hand.page.content()
    spoiled = hand.taps
    here.now = here.place.at(here.place.opens) + 4 * 3_600_000
    here.crew.clock(here.now)
    hand.hold()
    hand.taps = 0
    hand.go("/count")
    here.answers.reading = 0.4
    hand.press(hand.page.locator("a.button.do"))
    form = hand.form("/step/hourly")
    hand.write(here.filled(form, "hourly"))
    fields, hand.taps = hand.taps, 2
    hand.sign(form, form.action)
    assert here.kinds(before)[-1] == "hourly"
    with capsys.disabled():
        print(
            f"\n{size}: spoiled ballot {spoiled} taps; hourly reading {hand.taps} taps besides the digits of {fields} fields"
        )
    assert spoiled <= 3 and hand.taps <= 12
    hand.go("/count")
    assert hand.page.locator("svg[aria-labelledby=chart-words]").is_visible()


@pytest.mark.parametrize("size", some(["tablet upright"], [*SIZES]))
def test_a_difference_between_two_keyings_is_settled_against_the_paper(scene, window, size):
    here = scene("tape-prints")
    hand = Hand(window(size), here)
    at = here.place.tabulators[0].id
    hand.go(f"/tape/{at}")
    values = here.filled(hand.form(f"/tape/{at}/key"), "tape-typed", at)
    hand.write(values)
    first = hand.sign(hand.form(f"/tape/{at}/key"), f"/tape/{at}/key")
    name = max((n for n in values if ".votes." in n and values[n]), key=lambda n: int(values[n]))
    assert (
        f'value="{values[name]}"' not in hand.page.content()
    )  # nothing of the first set is on the second keyer's page
    hand.write({**values, name: str(int(values[name]) - 27)})
    hand.sign(hand.form(f"/tape/{at}/key"), f"/tape/{at}/key", (first,))
    assert "1 figure differs. Look at the tape together." in hand.page.locator("h1").inner_text()
    form = hand.form(f"/tape/{at}")
    own = next(n for n in form.controls if n.endswith(name))
    assert form.controls[own].value == ""  # nothing is chosen for them
    hand.fill_and_sign(f"/tape/{at}", "tape-prints", at, **{own: values[name]})
    kept = here.room.day.last(f"tape-typed:{at}")
    _, contest, _, choice = name.split(".")
    assert kept.body["contests"][contest]["votes"][choice] == int(values[name]) and len(kept.signers) == 2


@pytest.mark.parametrize("size", some(["tablet lying"], [*SIZES]))
def test_the_codes_turn_stop_and_read_from_the_screen_and_the_desk_takes_the_file_in(scene, window, size, tmp_path):
    here = scene("packet")
    hand = Hand(window(size), here)
    hand.go("/packet")
    hand.sign(hand.form("/packet/make"), "/packet/make")
    hand.sign(hand.form(hand.path), hand.path)
    number = hand.page.locator("[data-number]")
    begun = number.inner_text()
    hand.page.wait_for_function("before => document.querySelector('[data-number]').textContent !== before", arg=begun)
    hand.page.locator("[data-stop]").click()
    shown = tmp_path / "code.png"
    hand.page.locator("[data-code]").screenshot(path=shown)
    read = zxingcpp.read_barcodes(numpy.asarray(Image.open(shown).convert("L")))
    assert len(read) == 1 and frames.is_ours(read[0].text)
    stopped = number.inner_text()
    hand.page.locator("[data-next]").click()
    hand.page.wait_for_function("before => document.querySelector('[data-number]').textContent !== before", arg=stopped)
    sealed = here.window.get("/packet/packet.cose").body
    folder = _office(here)
    app = webapp.create_app(Settings("office", folder, clock="scripted", start=here.now))
    running = serve_in_thread(app)
    try:
        page = window(size)
        page.goto(f"http://localhost:{running.port}/intake")
        page.set_input_files(
            "#f-files", files=[{"name": "packet.cose", "mimeType": "application/octet-stream", "buffer": sealed}]
        )
        page.get_by_role("button", name="Read it").click()
        assert "Enough codes are in" in page.locator("h1").inner_text()
        assert page.locator(".checks li").count() >= 6
    finally:
        running.stop()
        app.extensions["room"].close()


def _office(here):
    """The office folder that the played day was enrolled at, copied."""
    import shutil

    target = here.folder.parent / "office"
    shutil.copytree(here.office, target)
    return target


def test_a_button_says_that_it_works_and_a_second_press_sends_nothing(scene, window):
    """The answer is held back: nobody at 9 pm should wonder whether the press was felt."""
    here = scene("voting")
    hand = Hand(window(), here)
    hand.hold()
    before = here.length
    hand.go("/note/spoiled")
    hand.page.evaluate(
        "() => { window.sends = 0; window.addEventListener('submit', (event) => { window.sends += !event.defaultPrevented; event.preventDefault(); }); }"
    )
    button = hand.page.locator("button.do")
    words = button.inner_text()
    button.click()
    hand.page.get_by_text("Working. Leave this page open.").wait_for()
    button.click(force=True)
    assert (button.get_attribute("aria-disabled"), hand.page.evaluate("window.sends")) == ("true", 1)
    hand.page.evaluate(
        "delete document.querySelector('button.do').form.dataset.sent"
    )  # as where the laptop did not answer
    hand.page.get_by_text(words, exact=True).first.wait_for()
    assert button.get_attribute("aria-disabled") is None and here.length == before
