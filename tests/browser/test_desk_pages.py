"""Pages of the desk in a real browser that a rehearsed night leaves behind it: goods, tapes, packets side by side, a place from paper, a wall with an edition; and a connection that is lost."""

import pytest

from tests.browser.test_everyone import checked
from tests.office.conftest import desk, night, ready  # noqa: F401 - the office's night
from tests.office.test_desk import with_seals
from tests.office.test_findings import find, withdraw
from tests.office.test_from_paper_page import PATH, key, leaf, sign  # noqa: F401 - the leaf of a place
from tests.office.test_goods_pages import page_of
from tests.office.test_posting import post
from tests.rehearsal.conftest import demo  # noqa: F401 - the same rehearsed day


@pytest.fixture
def look(night, window):  # noqa: F811
    """A function: path -> the page in a browser, looked at by axe in every size."""
    page = window()

    def looked(path: str):
        page.goto(f"http://localhost:{night.running.port}{path}")
        checked(page, path)
        return page

    return looked


def test_goods_packets_side_by_side_and_a_place_from_paper_fit_every_size_and_everyone(night, leaf, look):  # noqa: F811
    night.hold()
    night.take_in("W3", **with_seals(night))
    look("/place/W3/goods")
    page_of(night, "goods")
    for name in ("tapes", "handed-over"):
        look(f"/place/W3/{name}")
        page_of(night, name)
    night.take_in("W3", number=2, **with_seals(night))
    for path in ("/packets/W3", "/questions/W3", "/totals?find=gov", "/tablets"):
        look(path)
    look(f"{PATH}?again=yes")
    key(night, "calloway", leaf())
    key(night, "durand", leaf(stock__unused__3A="618"))
    look(f"{PATH}?again=yes")
    assert sign(night, why="doubted", **{"stock.unused.3A": "617"}).path == PATH
    look(PATH)
    find(night, "emergency/B1", 6)
    number = night.room.ledger.length
    look(f"/withdraw/W3/{number}")
    withdraw(night, number)
    assert "Counts no longer" in look("/place/W3").content()
    night.take_in("W5")
    assert post(night).path == "/posting/1"
    look("/posting/1")
    assert "Agnes Bellweather" in look("/wall").content()


def test_a_keying_at_a_desk_outlives_a_lost_connection(night, window):  # noqa: F811
    """The office's computer goes away half-way through a keying: one sentence, and nothing that was typed is lost."""
    night.hold()
    page = window()
    page.goto(f"http://localhost:{night.running.port}{PATH}?again=yes")
    form = page.locator(f'form[action="{PATH}/key"]')
    form.locator('[name="stock.unused.3A"]').fill("617")
    page.context.set_offline(True)
    form.locator("button.do").click()
    said = form.locator("[data-reach]")
    said.wait_for()
    assert "Nothing was sent, and what you typed stays on this page" in said.inner_text()
    assert form.locator('[name="stock.unused.3A"]').input_value() == "617" and "keying" not in night.kinds
    page.context.set_offline(False)
    with page.expect_navigation():
        form.locator("button.do").click()
    assert "Choose who signs" in page.content() or "No results tape has a figure" in page.content()
    assert page.locator('[name="stock.unused.3A"]').input_value() == "617"
