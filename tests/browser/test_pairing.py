"""The level of a tablet, found by a real browser: a prepared one is full, one that was only told to go on past the warning is online.

That no worker registers behind a certificate that was merely clicked through: Service Workers, W3C, section 6.1 (secure contexts alone are not
enough, the script's fetch must be free of certificate errors); that a page there may yet use its own store: Secure Contexts, W3C.
"""

import re

import pytest

from tests.browser.hand import Hand
from tests.browser.page_check import checked
from tests.browser.trusted import clicked_through, shared_door, shared_tablet, tablet, trusting  # noqa: F401 - fixtures
from tests.pages.tablets import invited


def paired(here, page) -> str:
    """The page types the laptop's code once its own test is over; what the test said."""
    said = page.locator("[data-tested]").filter(has_text=re.compile("^(Full|Online only):"))
    said.wait_for()
    words = said.inner_text()
    page.get_by_label("Code on the laptop's screen").fill(invited(here))
    page.get_by_role("button", name="Send the code").click()
    page.get_by_role("heading", name=re.compile("This is tablet")).wait_for()
    return words


def admit(here, letter: str = "A") -> None:
    page = here.window.send(
        here.window.get("/tablets").form(f"/tablets/{letter}/admit"),
        {"signer": "lindqvist", "pin": here.pins["lindqvist"]},
    )
    assert page.status == 200, page.said()


def last_paired(here) -> dict:
    return [e.body for e in here.room.ledger.entries() if e.kind == "paired"][-1]


@pytest.fixture(scope="module")
def place(shared_scene, shared_door):  # noqa: F811
    """(the voting day, its tablets' door)."""
    here = shared_scene("voting")
    return here, shared_door(here)


@pytest.fixture(scope="module")
def full(place, shared_tablet):  # noqa: F811
    """A prepared tablet at that door: the first test pairs it, the second goes on with it."""
    return shared_tablet(place[1])


def test_a_prepared_tablet_is_full_and_goes_on_by_itself_once_it_is_admitted(place, full):
    (here, _), page = place, full
    assert page.url.endswith("/pair")
    checked(page, "pair")
    assert paired(here, page).startswith("Full: this tablet goes on")
    checked(page, "pair, waiting")
    admit(here)
    page.wait_for_url("**/tablet")
    assert last_paired(here) == {"tablet": "A", "level": "full"}
    assert page.get_by_text("Full: this tablet goes on").is_visible()
    assert page.evaluate("navigator.serviceWorker.ready.then((one) => one.active.scriptURL)").endswith("/worker.js")


def test_another_level_found_on_this_tablet_is_an_entry(place, full):
    """As when the office's certificate was installed on it later."""
    (here, _), page = place, full
    here.room.gate.tablets.set_level("A", "online")
    page.reload()
    assert page.get_by_text("Online only: this tablet").is_visible()
    before = here.length
    with page.expect_navigation():  # another level is sent at once
        page.get_by_role("button", name="Test again").click()
    assert page.locator("[data-level]").get_attribute("value") == "full"
    entry = list(here.room.ledger.entries(after=before))[-1]
    assert entry.kind == "paired" and entry.body == {"tablet": "A", "level": "full"} and entry.signers == ()
    before = here.length
    page.get_by_role("button", name="Test again").click()
    page.locator("[data-again]:enabled").wait_for()  # the click itself disables it until the test is over
    assert "paired" not in here.kinds(before), "the same level again is no news"


def test_past_a_warning_that_was_clicked_away_a_tablet_is_online_only_holds_nothing_and_says_so(
    place, tablet, clicked_through
):  # noqa: F811
    here, door = place
    page = tablet(door, browser=clicked_through, ignore_https_errors=True)
    assert paired(here, page).startswith("Online only: this tablet works within reach")
    assert "does not trust the office's certificate" in page.locator("main").inner_text()
    admit(here, "B")
    page.evaluate("location.reload()")  # it would look by itself within seconds
    page.wait_for_url("**/tablet")
    assert last_paired(here) == {"tablet": "B", "level": "online"}
    hand = Hand(page, here)
    hand.root = door.root
    hand.hold()
    hand.go("/held")
    page.locator("[data-worker]").filter(has_text=re.compile(".")).wait_for(state="attached")
    assert "out of reach of the laptop nothing can be held here (online only)" in page.inner_text("main")
    hand.go("/note/left")
    assert not page.locator("[data-alone]").is_visible()  # so no page promises to hold it
    assert page.evaluate("caches.keys()") == []


def test_with_script_off_a_tablet_is_online_only(place, tablet):  # noqa: F811
    here, door = place
    page = tablet(door, java_script_enabled=False)
    assert "Without script this tablet is online only" in page.locator("main").inner_text()
    page.get_by_label("Code on the laptop's screen").fill(invited(here))
    page.get_by_role("button", name="Send the code").click()
    admit(here, "C")
    page.get_by_role("link", name="Look again").click()
    assert page.url.endswith("/tablet") and last_paired(here) == {"tablet": "C", "level": "online"}
    assert not page.get_by_role("button", name="Test again").is_visible()
