"""Fewer taps at a page: a tap on a name leads into its PIN, one tap ticks a group; a keyboard is not led about."""


def test_a_tap_on_a_name_leads_into_its_pin_and_a_key_press_does_not(scene, window):
    here = scene("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/goods")
    put = page.locator("form").last
    put.locator("label", has_text="Ada Lindqvist").first.click()
    assert page.evaluate("document.activeElement.name") == "pin"

    put.locator("[name=signer]").first.focus()
    page.evaluate("new Promise(done => setTimeout(done, 1100))")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.name") == "signer"


def test_one_tap_ticks_each_of_a_group_and_nothing_else(scene, window):
    here = scene("sworn")
    page = window("tablet upright")
    page.goto(f"http://localhost:{here.running.port}/step/goods")
    put = page.locator("form").last
    ticked = put.locator("input[type=checkbox]:checked")
    assert ticked.count() == 0
    put.locator("[data-all]").first.click()
    names = [box.get_attribute("name") for box in ticked.all()]
    assert len(names) == 7 and all(name.startswith("containers.") for name in names), names
