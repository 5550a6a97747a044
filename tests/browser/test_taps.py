"""What the day's work costs: taps and signatures, counted in a real browser as the pages stand, printed, and held by the numbers of the design.

A signature is a name, a tap into the field of the PIN, and Sign: three taps; its digits are keys, as are those of figures and seals.
"""

import re

from tests.browser.hand import Hand

HOUR = 3_600_000
MOST = {
    "hourly reading": 12,
    "spoiled ballot": 3,
    "page of seals signed by two": 16,
    "zero tape of one tabulator, signed by two": 20,
}
SIGNATURES = 40  # from the last voter to the sealed case, with two tabulators


def walked(hand: Hand, scene, wanted: str) -> int:
    """Steps as Now offers them, over HTTP, until it offers the page of `wanted`; the taps of that page from Now on, without the figures typed."""
    for _ in range(40):
        key = scene.crew.next_key()
        controls = " ".join(scene.form(f"/step/{key}", "/step/").controls)
        step, _, at = key.partition(":")
        scene.pass_time(1)
        if step == wanted or f"{wanted}/" in controls or f"{wanted}:" in controls:
            break
        scene.hold()
        scene.crew.do(key)
    hand.go("/now")
    offered = hand.page.locator("a.button.do").first
    assert offered.get_attribute("href") == f"/step/{key}"
    before, hand.taps, hand.typed = scene.length, 0, 0
    hand.press(offered)
    hand.taps += 1
    hand.fill_and_sign("/step/", step, at)
    assert scene.length > before, f"{key} was not kept: {hand.page.locator('[role=alert]').all_inner_texts()}"
    return hand.taps - hand.typed


def spoiled(hand: Hand, scene) -> int:
    """From any page: Note, its tile, Keep it."""
    hand.go("/count")
    before, hand.taps = scene.length, 0
    for tap in (
        hand.page.locator('nav a[href="/note"]'),
        hand.page.get_by_role("link", name=re.compile("Spoiled ballot")).first,
        hand.page.locator("button.do"),
    ):
        hand.press(tap)
        hand.taps += 1
    assert scene.kinds(before) == ["spoiled"] and "Kept as entry" in hand.page.content()
    return hand.taps


def reading(hand: Hand, scene) -> int:
    """From any page: Count, the reading that is due, its figures, one signature."""
    scene.now = scene.place.at(scene.place.opens) + 4 * HOUR
    scene.crew.clock(scene.now)
    hand.hold()
    hand.go("/note")
    before, hand.taps, hand.typed = scene.length, 0, 0
    hand.press(hand.page.locator('nav a[href="/count"]'))
    hand.press(hand.page.locator("a.button.do"))
    hand.taps += 2
    scene.answers.reading = 0.4
    hand.fill_and_sign("/step/hourly", "hourly")
    assert scene.kinds(before)[-1] == "hourly"
    taps = hand.taps - hand.typed
    hand.go("/count")
    assert hand.page.locator("svg[aria-labelledby=chart-words]").is_visible()
    return taps


def signatures(playbook) -> int:
    """Each PIN typed between the page of the last voter in line and the packet."""
    playbook.at("line-end")
    playbook.at("packet")
    return playbook.signatures["packet"] - playbook.signatures["line-end"]


def test_what_the_day_costs_in_taps_and_signatures(scene, playbook, window, capsys):
    morning = scene("sworn")
    hand = Hand(window(), morning)
    hand.hold()
    taps = {
        "page of seals signed by two": walked(hand, morning, "case-seals"),
        "zero tape of one tabulator, signed by two": walked(hand, morning, "zero-tape"),
    }
    voting = scene("voting")
    hand = Hand(window(), voting)
    hand.hold()
    taps |= {"spoiled ballot": spoiled(hand, voting), "hourly reading": reading(hand, voting)}
    signed = signatures(playbook)
    tabulators, officials = len(playbook.place.tabulators), len(playbook.place.officials)
    with capsys.disabled():
        print(
            "\n"
            + "\n".join(f"{what}: {taps[what]} taps besides the digits (at most {most})" for what, most in MOST.items())
        )
        print(
            f"from the last voter to the sealed case: {signed} signatures with {tabulators} tabulators (at most {SIGNATURES}), {officials} of them the statement's"
        )
    assert {what: n for what, n in taps.items() if n > MOST[what]} == {}
    assert tabulators == 2 and officials == 8 and 20 <= signed <= SIGNATURES
