"""How many taps the day's work costs: counted in a real browser as the pages stand, printed, and held by the numbers of the look and the design."""

from tests.browser.hand import Hand

MORE_TABULATORS = 8              # signatures of each tabulator beyond the first: its counters, its closing, two keyings of its tape, its prints, each pair two
SIGNATURE = 3                    # name, into the field of the PIN, Sign; its digits are keys


def walked(hand: Hand, scene, wanted: str) -> tuple[int, int]:
    """Do steps as Now offers them until the page of `wanted` was signed. (taps, figures typed) of that page, from Now."""
    for _ in range(40):
        hand.go("/now")
        key = hand.page.locator("a.button.do").first.get_attribute("href").removeprefix("/step/")
        scene.pass_time(1)
        hand.taps = hand.typed = 0
        hand.page.locator("a.button.do").first.click()
        hand.taps += 1
        step, _, at = key.partition(":")
        controls = " ".join(hand.form("/step/").controls)
        before = scene.length
        hand.fill_and_sign("/step/", step, at)
        assert scene.length > before, f"{key} was not kept: {hand.page.locator('[role=alert]').all_inner_texts()}"
        if step == wanted or f"{wanted}/" in controls or f"{wanted}:" in controls:
            return hand.taps - hand.typed, hand.typed
    raise AssertionError(f"Now never offered {wanted}")


def test_the_seals_page_and_the_zero_tape_signed_by_two(scene, window, capsys):
    here = scene("sworn")
    hand = Hand(window(), here)
    hand.hold()
    seals, typed = walked(hand, here, "case-seals")
    zero, counters = walked(hand, here, "zero-tape")
    with capsys.disabled():
        print(f"\nseals read, cut and applied, signed by two: {seals} taps and {typed} numbers typed; self-check, zero tape and its ink of one tabulator, signed by two: {zero} taps and {counters} figures typed")
    assert seals <= 2 * SIGNATURE + 1 + 8       # the look's five for one seal, and a tick for each label and door
    assert zero <= 32                           # the look's number for the zero tape, keyed by both


def test_signatures_from_the_last_voter_to_the_sealed_case_are_at_most_forty_with_one_tabulator(playbook, capsys):
    playbook.at("line-end")
    playbook.at("packet")
    needed = playbook.signatures["packet"] - playbook.signatures["line-end"]
    tabulators, officials = len(playbook.place.tabulators), len(playbook.place.officials)
    with capsys.disabled():
        print(f"\nfrom the last voter to the sealed case, the seals accounted for and the tablets collected: {needed} signatures "
              f"({tabulators} tabulators; {officials} officials, who all sign the statement)")
    assert 20 <= needed - MORE_TABULATORS * (tabulators - 1) <= 40
