"""What a tablet shows and holds while the laptop does not answer: one tablet of the voting day, out of reach and back within it, and one that walked over
the pages with most figures."""

import copy
import json
import re
from types import SimpleNamespace

import pytest

from tests.browser.laptop import ServedLaptop
from tests.browser.test_alone import CACHED, Tablet, record, until
from tests.matrix import some
from tests.pages.test_held import leaves
from webapp.pages.tablets import app_shell

HOUR = 3_600_000
WITHIN = (
    "/now", "/steps", "/steps/closing", "/note", "/count", "/seals", "/record", "/record/60", "/balance", "/tape/T1", "/packet", "/people", "/tablet",
    "/held", "/note/spoiled", "/alarm",
)  # fmt: skip
FEW = ("/now", "/count", "/record", "/record/60", "/balance", "/tape/T1", "/packet", "/held", "/note/spoiled", "/alarm")
BEYOND = ("/now", "/count", "/record/60", "/tape/T1", "/held", "/note/spoiled", "/alarm")


# --- the shell


@pytest.fixture(scope="module")
def walked(shared_scene, shared_window):
    """A tablet after a walk over the pages with most figures, within reach and out of it, and an entry held and kept: what it cached, what it asked for."""
    one = ServedLaptop(here := shared_scene("packet"))
    page = shared_window(worker=True)
    asked = []
    page.context.on("request", lambda request: asked.append(request.url))
    tablet = Tablet(page, here, one)
    for path in some(FEW, WITHIN):
        tablet.go(path)
    one.kill()
    for path in BEYOND:
        tablet.go(path)
    tablet.note_alone("/note/incident", where="entrance", what="The lamp went out.")
    one.start()
    tablet.keep()
    return SimpleNamespace(here=here, root=one.root, asked=asked, kept=page.evaluate(CACHED))


def test_the_shell_holds_no_figure_and_no_name_of_the_day_and_nothing_else_is_ever_cached(walked):
    here, kept = walked.here, walked.kept
    listed = json.loads(re.search(r"PAGES = (.*);", here.app.test_client().get("/worker.js").text)[1])
    assert {path for path in kept if not path.startswith("/static/")} == set(listed)
    assert {path.split("/", 3)[3] for path in kept if path.startswith("/static/")} == set(app_shell.FILES)
    figures = {
        str(value) for entry in record(here) for value in leaves(entry.body) if type(value) is int and value > 99
    }
    names = {word for official in here.place.officials for word in official.name.split()}
    assert len(figures) > 40
    for path, text in kept.items():
        if path.startswith("/shell"):
            words = re.sub(r"<svg.*?</svg>|/static/\\S+|/static/[^\"']+|data-holds='[^']*'", "", text, flags=re.DOTALL)
            assert not figures & set(re.findall(r"\d+", words)) and not names & set(re.findall(r"\w+", text)), path


def test_r29_no_request_leaves_the_origin_over_a_walk_within_reach_and_out_of_it(walked):
    assert len(walked.asked) > 60 and [url for url in walked.asked if not url.startswith(walked.root)] == []


# --- one tablet out of reach


@pytest.fixture(scope="module")
def put_out_of_reach(shared_scene, shared_window):
    """(the tablet, its page opened within reach as a second one) of the voting day, whose laptop answers no more."""
    one = ServedLaptop(here := shared_scene("voting"))
    tablet = Tablet(shared_window(worker=True), here, one)
    second = tablet.page.context.new_page()
    second.goto(one.root + "/note/seal-broken")
    tablet.go("/note/observers")
    until(
        tablet.page, "!document.querySelector('[data-alone]').hidden"
    )  # the page's script is through: the tablet knows who holds it
    one.kill()
    tablet.laptop = one
    return tablet, second


@pytest.fixture
def alone(put_out_of_reach):
    """That tablet with nothing held."""
    tablet, _ = put_out_of_reach
    yield tablet
    tablet.page.evaluate(EMPTIED)


EMPTIED = """() => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    const deed = target.result.transaction("outbox", "readwrite");
    deed.objectStore("outbox").clear();
    deed.oncomplete = () => { target.result.close(); done(null); };
  };
})"""


def test_a_form_opened_within_reach_whose_send_fails_is_held_without_the_pin(alone):
    """The first test on this tablet: the form was opened before the laptop went."""
    here, page = alone.scene, alone.page
    alone.write({"here": "2"})
    alone.choose()
    page.locator('[name="signer"][value="okafor"]').check()
    page.locator('[name="pin"]').fill(here.pins["okafor"])
    page.locator("button.do").click()
    page.wait_for_url("**/held")
    until(page, "document.querySelector('.head').innerText.includes('1 held here, kept to')")
    (held,) = alone.held()
    assert held["kind"] == "observers" and held["form"]["here"] == "2" and held["holder"] == "lindqvist"
    assert here.pins["okafor"] not in json.dumps(held) and not {"pin", "signer", "csrf_token"} & set(held["form"])


def test_what_needs_the_laptop_says_so_and_keeps_what_was_typed_but_not_the_pin(alone, put_out_of_reach):
    _, page = put_out_of_reach
    assert "within reach" not in page.inner_text("main")  # this window is on the laptop itself
    page.locator('[name="old"]').fill("40217")
    page.locator('[name="why"]').fill("The tape had come loose.")
    page.locator('[name="signer"]').first.check()
    page.locator('[name="pin"]').fill("314159")
    page.locator("button.do").click()
    page.wait_for_selector("[data-notice=unsent]")
    assert "this needs the laptop" in page.inner_text("[data-notice=unsent]")
    assert (page.input_value('[name="old"]'), page.input_value('[name="why"]'), page.input_value('[name="pin"]')) == (
        "40217",
        "The tape had come loose.",
        "",
    )
    assert alone.held() == [] and page.evaluate("document.activeElement.dataset.notice") == "unsent"


@pytest.mark.parametrize(
    ("path", "heading"),
    [
        ("/note/spoiled", "Spoiled"),
        ("/note/emergency-plus/B1", "emergency bin"),
        ("/note/handed-back", "Handed back"),
        ("/step/hourly:11:00", "reading"),
        ("/step/power:T1", "T1"),
        ("/held", "Nothing is held"),
        ("/now", "does not answer"),
        ("/nothing", "does not answer"),
        ("/step/zero-tape:T1", "does not answer"),
    ],
)
def test_out_of_reach_every_address_opens_its_blank_form_or_the_page_that_says_what_may_be_held(alone, path, heading):
    page = alone.page
    assert page.evaluate("navigator.onLine")  # the browser thinks that all is well
    alone.go(path)
    until(page, f"document.querySelector('h1').textContent.toLowerCase().includes({json.dumps(heading.lower())})")
    assert page.locator("input[type=password]").count() == 0 and page.locator("[data-now]").count() == 0
    if path.startswith("/step/zero"):
        assert "The page you opened needs the laptop." in alone.says()


def test_a_form_with_a_gap_is_not_held_and_says_what_to_fill_in(alone):
    page = alone.page
    alone.note("/step/hourly:11:00", **{"in_hand": "3"})
    page.wait_for_selector("[data-notice=unsent]")
    assert "Enter the public counter in digits" in page.inner_text("[data-notice=unsent]") and alone.held() == []
    page.locator("[data-notice=unsent] a").first.click()
    assert page.evaluate("document.activeElement.name").startswith(("counters.", "check_ins."))


def test_taps_are_held_one_by_one_on_the_sheet_that_stays_open(alone):
    alone.go("/note/handed-back")
    for n in (1, 2):
        alone.page.locator('button[value="overvote/as-is"]').click()
        until(
            alone.page,
            "n => document.querySelector('[data-tapped]').textContent.includes(n === 1 ? '1st' : '2nd')",
            arg=n,
        )
    held = alone.held()
    assert len({one["id"] for one in held}) == 2 and all(one["made"] % HOUR == 0 for one in held)


# --- its store


def test_a_store_that_takes_nothing_more_says_so_and_what_was_typed_stays(alone):
    alone.go("/note/incident")
    alone.page.evaluate(
        "() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"
    )
    alone.write({"where": "booths", "what": "The lamp over booth 2 went out."})
    alone.page.locator("button.do").click()
    until(alone.page, "document.querySelector('[data-notice=unsent]')")
    assert "This tablet's store takes nothing more. Write it on the paper log" in alone.says()
    assert alone.page.locator("[name=what]").input_value() == "The lamp over booth 2 went out." and alone.held() == []


def test_two_windows_of_one_tablet_hold_into_one_list_without_a_hole(alone, put_out_of_reach):
    first, second = alone, copy.copy(alone)
    second.page = put_out_of_reach[1]
    for i in range(4):
        (first, second)[i % 2].note_alone("/note/left")
    held = first.held()
    assert [entry["seq"] for entry in held] == list(range(held[0]["seq"], held[0]["seq"] + 4)) and len(
        {entry["id"] for entry in held}
    ) == 4
    assert second.held() == held
    first.laptop.start()
    first.keep()
    assert first.held() == [] == second.held()
    second.go("/record")
    assert second.page.inner_text("main").count("Voter left without a ballot cast") >= 4
    first.laptop.kill()


# --- back within reach


def test_what_the_record_refuses_is_done_anew_or_put_aside_and_nothing_is_dropped(alone):
    tablet, here, page, one = alone, alone.scene, alone.page, alone.laptop
    tablet.note_alone("/note/observers", here="two")
    tablet.note_alone("/note/observers", here="many")
    tablet.note_alone("/note/left")
    page.locator("[data-list] li").nth(2).locator("[data-apart]").click()
    until(page, "document.querySelectorAll('[data-settle] li').length === 1")
    one.start()
    tablet.keep()
    until(page, "document.querySelectorAll('[data-settle] li').length === 3")
    until(page, "document.querySelector('.head').innerText.includes('3 held here')")
    assert tablet.held() == [] and "digits" in page.inner_text("[data-settle]")
    page.locator("[data-settle] li", has_text="two").locator("[data-anew]").click()
    until(page, "document.querySelector('[name=here]').value === 'two'")
    page.wait_for_selector("[data-notice=anew]")
    tablet.write({"here": "2"})
    tablet.sign(tablet.form("/note/observers"), "/note/observers")
    page.wait_for_url("**/note?kept=*")
    tablet.go("/held")
    until(page, "document.querySelectorAll('[data-settle] li').length === 2")
    assert "done again, entry" in page.inner_text("[data-done]")
    for left in (1, 0):
        page.locator("[data-settle] li [data-put]").first.click()
        aside = page.locator("[data-aside]")
        aside.locator("textarea").fill("Nobody remembers the number.")
        if left:  # the page is left in the middle of it: the tablet has the reason
            tablet.go("/held")
            page.locator("[data-settle] li [data-put]").first.click()
            until(page, "document.querySelector('[data-aside] textarea').value === 'Nobody remembers the number.'")
        aside.locator('[name="aside-signer"][value="okafor"]').check()
        aside.locator('[name="aside-pin"]').fill(here.pins["okafor"])
        aside.locator("button.do").click()
        until(page, "n => document.querySelectorAll('[data-settle] li').length === n", arg=left)
    until(page, "!document.querySelector('.head').innerText.includes('held here')")
    assert [entry.kind for entry in record(here)][-3:] == ["observers", "incident", "incident"]
    one.kill()


def test_past_midnight_the_list_names_the_evening_before(alone):
    """The last test on this tablet: its clock stays a day ahead."""
    alone.note_alone("/note/incident", where="booths", what="The lamp over booth 2 went out.")
    times = lambda: alone.page.locator("[data-list] [data-time]").all_inner_texts()  # noqa: E731
    assert len(times()) == 1 and len(times()[0]) == 5  # 16:02, today
    alone.page.add_init_script(f"const now = Date.now; Date.now = () => now() + {24 * HOUR};")
    alone.go("/held")
    until(alone.page, "document.querySelectorAll('[data-list] li').length")
    day, clock = times()[0].split()
    assert day in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun") and len(clock) == 5
