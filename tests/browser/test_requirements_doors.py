"""What a real browser makes of the tablets' door: trusted where the office prepared the tablet, refused under any other name (R23, R24, R37)."""

import pytest

from tests.browser.page_check import checked
from tests.browser.trusted import clicked_through, shared_door, tablet, trusting  # noqa: F401 - fixtures
from webapp.pages.tablets import trust
from webapp.pages.tablets.tablet_address import Doors
from webapp.serving.server import Listener, opened

REFUSED = r"ERR_CERT_(AUTHORITY_INVALID|COMMON_NAME_INVALID|INVALID)"


@pytest.fixture(scope="module")
def dawn(shared_scene, shared_door):  # noqa: F811
    """(the day's first hour, its tablets' door), which these tests only look at."""
    here = shared_scene("dawn")
    return here, shared_door(here)


def test_r24_a_prepared_tablet_finds_the_laptop_by_its_name_and_trusts_it(dawn, tablet):  # noqa: F811
    page = tablet(dawn[1])

    assert page.evaluate("isSecureContext") is True
    assert page.evaluate("'serviceWorker' in navigator") is True


def test_r24_a_tablet_that_nobody_prepared_refuses_the_laptop(dawn, tablet, clicked_through):  # noqa: F811
    with pytest.raises(Exception, match=REFUSED):
        tablet(dawn[1], browser=clicked_through)


def test_r24_a_prepared_tablet_refuses_the_laptop_under_its_address(dawn, trusting):  # noqa: F811
    page = trusting.new_context().new_page()

    with pytest.raises(Exception, match=REFUSED):
        page.goto(f"https://127.0.0.1:{dawn[1].running.port}/")
    page.context.close()


@pytest.fixture(scope="module")
def trust_door(dawn):
    """The address of the trust page, beside the tablets' door; and the laptop's page about both."""
    here, door = dawn
    here.room.doors = Doors(door.host, door.watched, lambda: (door.running.port, running.port), lambda: ("127.0.0.1",))
    running = opened([Listener(trust.make(here.room.doors, here.room.name, here.room.under, here.room.practice))])
    yield f"http://127.0.0.1:{running.port}/", f"http://localhost:{here.running.port}/tablets"
    running.stop()


def test_the_trust_page_and_the_laptops_screen_are_for_everyone(trust_door, window):
    """Automatic accessibility check, nothing wider than the screen, at three sizes, day and night; nothing loaded from elsewhere."""
    trust_page, screen = trust_door
    page = window()
    page.goto(trust_page)
    checked(page, "trust page")
    assert {url.partition("/static/")[0] for url in page.asked} <= {trust_page, trust_page.rstrip("/")}
    page.goto(screen)
    page.locator("details.fold summary").first.click()
    checked(page, "tablets")


def test_r37_the_trust_page_works_with_script_off_at_twice_the_size_with_targets_for_a_glove(trust_door, window):
    trust_page, _ = trust_door
    page = window("phone", script=False)
    page.set_viewport_size({"width": 195, "height": 422})
    page.goto(trust_page)
    box = page.locator("a.button").bounding_box()

    assert box["height"] >= 48 and box["x"] + box["width"] <= 195
    with page.expect_download() as download:
        page.locator("a.button").click()
    assert download.value.suggested_filename == "authority.crt"
