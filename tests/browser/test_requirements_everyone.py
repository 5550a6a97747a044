"""R37: a whole day by keyboard, at 200 % zoom, with script off, with targets of 48 px."""

from demo_precinct.rehearsed_day import Day, Story
from tests.browser.keyboard import Keyboard


def test_r37_every_step_by_keyboard_at_200_percent_with_script_off(scene, window, capsys):
    """A tablet of 820 by 1180 at 200 % zoom has 410 by 590 CSS px. The day is the rehearsed one, from the first arrival to the last step of the hand-over."""
    here = scene("dawn")
    page = window(script=False)
    page.set_viewport_size({"width": 410, "height": 590})
    day = Day(here.place, here.truth, here.running.port, here.codes, Story({}, {}, {}))
    day.crew.window = hand = Keyboard(here.running.port, page)
    assert day.play()
    kept = set(here.kinds())
    with capsys.disabled():
        print(
            f"\nthe day by keyboard: {hand.keys} keys besides figures and words, {len(hand.sent)} forms by keys, {len(kept)} kinds of entry"
        )
    assert {
        "oath",
        "zero-tape",
        "polls-open",
        "hourly",
        "unused",
        "tape-typed",
        "remark",
        "packet-made",
        "depart",
    } <= kept
    for what, found in (
        ("wider than the screen", hand.wide),
        ("lower than 48 px", hand.low),
        ("the focus is not seen", hand.unseen),
        ("the focus does not get there", hand.unreached),
    ):
        assert len(found) == 0, f"{what}, {len(found)} in all: {sorted(found)[:5]}"
