"""The accuracy test in a real browser at tablet size: a ballot marked by its sheet and ticked, checked by somebody else; a tape that differs read,
signed as it is by two parties, what was changed noted, and the next round begun. Every page of a test is looked at in all sizes.
"""

import pytest

import webapp
from demo_precinct import rehearsed_county
from demo_precinct.rehearsed_test import BEFORE, DeckTest
from demo_precinct.tests_first import enrolled, test_place
from tests.browser.page_check import looked_at
from webapp.gate import verifier
from webapp.precinct.place import place_file
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings

DEMO = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
DECK_PAGES = ("/now", "/steps", "/deck", "/deck/style/3A", "/deck/row/3A-001", "/deck/row/3A-012", "/deck/row/X-001", "/note", "/papers", "/ready", "/step/marked")  # fmt: skip
TAPE_PAGES = ("/now", "/tapes", "/tapes/T1", "/compared/T1", "/compared/T1/edition", "/note/changed", "/note/again", "/note/own-ballots", "/step/sums", "/seals", "/menu-is-nothing", "/shell", "/shell/step/notice")  # fmt: skip
LOW = """all => all.filter(one => one.offsetParent && one.getBoundingClientRect().height < 48).map(one => one.outerHTML.slice(0, 80))"""


class Bench:
    """One tablet at the test, and the people around it."""

    def __init__(self, page, test: DeckTest, port: int):
        self.page, self.test, self.root = page, test, f"http://localhost:{port}"

    def go(self, path: str) -> None:
        self.page.goto(self.root + path)

    def press(self, words: str) -> None:
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=words, exact=True).click()

    def sign(self, party: str = "") -> None:
        """Somebody (of this party) signs on the page at hand."""
        people = [o.id for o in DEMO.officials if party in ("", o.party)]
        names = self.page.locator('[name="signer"]')
        all_ = [names.nth(i).get_attribute("value") for i in range(names.count())]
        who = next(one for one in all_ if one in people)
        self.page.locator(f'[name="signer"][value="{who}"]').check()
        pin = self.page.locator('[name="pin"]').first
        pin.fill(self.test.crew.pins[who])
        with self.page.expect_navigation():
            pin.press("Enter")

    def take(self, person: str) -> None:
        self.go("/tablet?back=/deck")
        form = self.page.locator('form[action="/tablet/take"]')
        form.locator(f'[name="signer"][value="{person}"]').check()
        form.locator('[name="pin"]').fill(self.test.crew.pins[person])
        with self.page.expect_navigation():
            form.locator('[name="pin"]').press("Enter")

    def heading(self) -> str:
        return self.page.locator("h1").first.inner_text()


@pytest.fixture(scope="module")
def bench(shared_window, tmp_path_factory):
    """A function: the step before which the test stands -> the bench. One test for the file, which goes on from where it stood."""
    root = tmp_path_factory.mktemp("test") / "demo"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(verifier, "MEMORY_KIB", 64)
        patch.setattr(verifier, "PASSES", 1)
        rehearsed_county.open_office(root, (rehearsed_county.HERE / "office.toml").read_bytes())
        folder = root / "tests" / DEMO.id
        folder.parent.mkdir()
        codes = enrolled(folder, root / "office", DEMO)
        app = webapp.create_app(Settings("place", folder, clock="scripted", start=DEMO.at(DEMO.opens) - BEFORE))
        server = serve_in_thread(app)
        test = DeckTest(test_place(DEMO), server.port, codes)
        page = shared_window()

        def standing(before: str) -> Bench:
            test.stop_before = before
            assert not test.play()
            test.arrive = lambda: None  # they are here now
            return Bench(page, test, server.port)

        yield standing
        server.stop()
        app.extensions["room"].close()


def test_a_ballot_is_marked_by_its_sheet_and_checked_by_somebody_else(bench):
    at = bench("marked")
    chair, other = DEMO.officials[0].id, DEMO.officials[1].id
    at.take(chair)
    at.go("/deck")
    with at.page.expect_navigation():
        at.page.get_by_role("link", name="Its ballots").first.click()
    with at.page.expect_navigation():
        at.page.get_by_role("link", name="Sheet").first.click()
    assert at.heading() == "3A-001" and "Place in the contest" in at.page.inner_text("main")

    at.go("/deck/style/3A")
    at.page.locator('[name="row"][value="3A-001"]').check()
    at.press("Record as marked")
    at.page.locator('[name="row"][value="3A-001"]').check()
    at.press("Record as checked")
    assert "Somebody else checks" in at.page.inner_text("main")
    assert at.page.locator('[name="row"][value="3A-001"]').is_checked()  # nothing chosen is lost

    at.take(other)
    at.go("/deck/style/3A")
    at.page.locator('[name="row"][value="3A-001"]').check()
    at.press("Record as checked")
    assert "checked by" in at.page.inner_text("main")
    at.go("/deck")
    assert "1 ticked as marked, 1 as checked" in at.page.inner_text("main")
    for path in DECK_PAGES:
        looked_at(at.page, at.root + path)
        if path.startswith("/deck"):
            at.page.set_viewport_size({"width": 820, "height": 1180})
            low = at.page.eval_on_selector_all("button, .button, .choice, .places a", LOW)
            assert low == [], f"{path}: {low}"


def test_a_tape_that_differs_is_signed_as_it_is_and_the_test_begins_again(bench):
    at = bench("compared")
    at.go("/now")
    with at.page.expect_navigation():
        at.page.get_by_role("link", name="Compare with the chart").first.click()
    assert at.heading() == "2 of 69 figures of T1 differ"
    words = at.page.inner_text("main")
    assert "Consistent with positions 1 and 2 of Governor exchanged" in words and "expected 4" in words

    at.sign("M")  # as if all were well
    assert "2 figures differ" in at.page.inner_text("main")
    at.page.locator('[name="not_so"]').check()
    at.page.locator('[name="found"]').fill("Two ovals of Governor stand in each other's place.")
    at.page.locator('[name="done"]').fill("The program is mended. The office was told.")
    at.sign("M")
    at.sign("P")
    at.go("/now")
    assert "Not as expected" in at.page.inner_text("main")
    for path in TAPE_PAGES:
        if path.startswith("/shell"):
            at.page.route("**/contact", lambda asked: asked.abort())
        looked_at(at.page, at.root + path)
    at.page.unroute("**/contact")
    at.page.set_viewport_size({"width": 820, "height": 1180})

    at.go("/note/changed")
    at.page.locator('[name="part"][value="program"]').check()
    at.page.locator('[name="tabulators.T1"]').check()
    at.page.locator('[name="what"]').fill("Style 3A was read again from its layout.")
    at.sign("M")
    at.sign("P")
    at.go("/tapes")
    assert at.heading() == "Tapes, round 2"
    assert "Rounds before" in at.page.inner_text("main")
    at.go("/now")
    assert at.heading() == "Write down who is here for the test"
    assert [url for url in at.page.asked if not url.startswith(at.root)] == []
