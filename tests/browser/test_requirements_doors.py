"""What a real browser makes of the tablets' door: trusted where the office prepared the tablet, refused under any other name (R23, R24)."""

import pytest

from tests.browser.trusted import clicked_through, tablet, tablets_door, trusting  # noqa: F401 - fixtures

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
