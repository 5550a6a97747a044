"""What a real browser makes of the tablets' door: trusted where the office prepared the tablet, refused under any other name (R23, R24, R37)."""

import pytest

from tests.browser.page_check import checked
from tests.browser.trusted import clicked_through, tablet, tablets_door, trusting  # noqa: F401 - fixtures
from webapp.pages.tablets import trust
from webapp.pages.tablets.tablet_address import Doors
from webapp.serving.server import Listener, opened

REFUSED = r"ERR_CERT_(AUTHORITY_INVALID|COMMON_NAME_INVALID|INVALID)"


def test_r24_a_prepared_tablet_finds_the_laptop_by_its_name_and_trusts_it(scene, tablets_door, tablet):  # noqa: F811
    page = tablet(tablets_door(scene("dawn")))

    assert page.evaluate("isSecureContext") is True
    assert page.evaluate("'serviceWorker' in navigator") is True


def test_r24_a_tablet_that_nobody_prepared_refuses_the_laptop(scene, tablets_door, tablet, clicked_through):  # noqa: F811
    door = tablets_door(scene("dawn"))
    with pytest.raises(Exception, match=REFUSED):
        tablet(door, browser=clicked_through)


def test_r24_a_prepared_tablet_refuses_the_laptop_under_its_address(scene, tablets_door, tablet, trusting):  # noqa: F811
    door = tablets_door(scene("dawn"))
    page = trusting.new_context().new_page()

    with pytest.raises(Exception, match=REFUSED):
        page.goto(f"https://127.0.0.1:{door.running.port}/")
    page.context.close()


@pytest.fixture
def trust_door(scene, tablets_door):  # noqa: F811
    """The address of a scene's trust page, beside its tablets' door; and the laptop's page about both."""
    running = []

    def beside(moment: str):
        here = scene(moment)
        door = tablets_door(here)
        here.room.doors = Doors(
            door.host, door.watched, lambda: (door.running.port, running[0].port), lambda: ("127.0.0.1",)
        )
        running.append(
            opened([Listener(trust.make(here.room.doors, here.room.name, here.room.under, here.room.practice))])
        )
        return f"http://127.0.0.1:{running[0].port}/", f"http://localhost:{here.running.port}/tablets"

    yield beside
    for one in running:
        one.stop()


def test_the_trust_page_and_the_laptops_screen_are_for_everyone(trust_door, window):
    """Automatic accessibility check, nothing wider than the screen, at three sizes, day and night; nothing loaded from elsewhere."""
    trust_page, screen = trust_door("dawn")
    page = window()
    page.goto(trust_page)
    checked(page, "trust page")
    assert {url.partition("/static/")[0] for url in page.asked} <= {trust_page, trust_page.rstrip("/")}
    page.goto(screen)
    page.locator("details.fold summary").first.click()
    checked(page, "tablets")


def test_r37_the_trust_page_works_with_script_off_at_twice_the_size_with_targets_for_a_glove(trust_door, window):
    trust_page, _ = trust_door("dawn")
    page = window("phone", script=False)
    page.set_viewport_size({"width": 195, "height": 422})
    page.goto(trust_page)
    box = page.locator("a.button").bounding_box()

    assert box["height"] >= 48 and box["x"] + box["width"] <= 195
    with page.expect_download() as download:
        page.locator("a.button").click()
    assert download.value.suggested_filename == "authority.crt"
