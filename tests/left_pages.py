"""Every page of the place that has a form, typed on in a real browser and then left by each way: `python tests/left_pages.py [--at MOMENT ...]`.

The demo's day is played to each moment; the pages are found by walking the app's own addresses. On each form one field of each sort is filled in, and
the page is left in the same breath: by a tab, a link, Back, reload, a closed window, a browser that is killed. Then it is opened again. Prints a table of
pages and ways: kept, asked before (blind pages, whose figures are stored nowhere), or why nothing is kept. Exit 1 where something typed was lost.
"""

import argparse
import copy
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import Error, sync_playwright  # noqa: E402 - the folder above must be found first

from tests.browser.conftest import SIZES, launched  # noqa: E402
from tests.browser.hand import Hand  # noqa: E402
from tests.pages.scene import Playbook, Scene  # noqa: E402
from tests.pages.test_balance import counted_again, newest  # noqa: E402
from tests.pages.test_every_form_is_kept import NEVER_PUT_ASIDE, filled_in  # noqa: E402
from tests.pages.walk import paths  # noqa: E402

# In the order of the day; here the page of the step that Now offers is asked, and at WALKED every address.
MORNING = "dawn sworn roles goods room-view access notices case-seals bins-empty key-code power self-check clocks ballots-right first-stub".split()
DAY = "accessible-device polls-open voting noon-look line-end polls-closed search unused counter-read first-look tabulator-closed tape-prints".split()
NIGHT = "bins-out write-in-tally remark statement containers-filled tablets-back packet copies depart".split()
WALKED = "sworn voting alarm unused first-look tape-prints keyed remark packet copies".split()
PLAYED = (*MORNING, *DAY, *NIGHT)
STAGED = {
    "alarm": "voting",
    "keyed": "tape-prints",
    "remark": "remark",
}  # what is done by hand at a moment that was played
STOPS = (*MORNING[1:], *DAY[:3], "alarm", *DAY[3:], "keyed", *NIGHT)
EACH = ("/step/", "/note/", "/tape/")  # here each address is a page of its own; elsewhere one of a route stands for all
WAYS = ("tab", "link", "Back", "reload", "closed", "killed")
ENOUGH = 4_000  # ms in which a page that is opened again fills itself in

TYPE = """form => {  // marks one empty control of each sort, with every fold open: what a hand types on next
    form.querySelectorAll('details').forEach(fold => (fold.open = true));
    const of = one => one.type === 'radio' || one.type === 'checkbox' ? one.type : one.tagName === 'SELECT' ? 'select' : one.tagName === 'TEXTAREA' ? 'words' : 'text';
    const found = {};
    for (const one of form.elements) {
        const sort = of(one), last = (one.name || '').split('/').pop();
        if (!one.name || ['hidden', 'password', 'submit', 'button', 'file'].includes(one.type) || ['BUTTON', 'FIELDSET'].includes(one.tagName)) continue;
        if (['signer', 'pin', 'words_copied'].includes(last) || one.disabled || one.readOnly || found[sort] || one.checked || !one.checkVisibility()) continue;
        if (sort === 'radio' && form.querySelector(`[name="${CSS.escape(one.name)}"]:checked`)) continue;
        one.dataset.hand = sort;
        found[sort] = {name: one.name, value: one.value, mode: one.inputMode};
    }
    return found;
}"""
STANDS = """([action, typed]) => [...document.querySelectorAll(`form[action="${CSS.escape(action)}"]`)].some(form => Object.entries(typed).every(([sort, one]) => {
    const all = [...form.querySelectorAll(`[name="${CSS.escape(one.name)}"]`)];
    return sort === 'radio' || sort === 'checkbox' ? all.some(box => box.value === one.value && box.checked) : all.some(box => box.value === one.value);
}))"""


@dataclass
class FormPage:
    """A page with one of its forms. `why`: nothing of it is put aside, and for what reason; `blind`: its figures are stored nowhere."""

    path: str
    action: str
    blind: bool
    why: str
    said: dict[str, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        return self.path if self.path == self.action else f"{self.path} ({self.action})"


def pages_with_forms(here: Scene, moment: str, done: set[str]) -> list[FormPage]:
    """Those of this moment that no moment before had; of a route whose pages are alike the first that has a form."""
    found, routes = [], here.app.url_map.bind("localhost")

    def alike(path: str, method: str) -> str:
        """What stands for all pages of this address."""
        if path.startswith("/step/hourly"):
            return "/step/hourly"
        return path if path.startswith(EACH) else routes.match(path.partition("?")[0], method, return_rule=True)[0].rule

    if moment in WALKED:
        every = [*paths(here), *(f"/note/{step.id}" for step in here.room.notes.tiles())]
    else:
        every = []
    for path in dict.fromkeys([*every, f"/step/{here.crew.next_key()}"]):
        if path.rpartition(".")[2] in ("pdf", "cose", "png"):
            continue
        page = here.window.get(path)
        for action, attrs, _ in filled_in(page.text) if page.status == 200 and page.path == path else ():
            own = (
                alike(path, "GET")
                if path.startswith("/shell")
                else ("" if path.startswith(EACH) else alike(path, "GET")) + alike(action, "POST")
            )
            if own not in done:
                done.add(own)
                why = next((why for start, why in NEVER_PUT_ASIDE.items() if action.startswith(start)), "")
                blind = "data-blind" in attrs
                found.append(FormPage(path, action, blind, "" if blind or "data-draft" in attrs else why or "SILENT"))
    return found


class Leaver:
    """One tablet of this scene: types on a page and leaves it, looks whether it is there again."""

    def __init__(self, browser, here: Scene):
        width, height = SIZES["tablet upright"]
        self.context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce")
        self.here, self.asked = here, []
        self.hand = Hand(self.opened(), here)

    def opened(self):
        page = self.context.new_page()
        page.set_default_timeout(10_000)
        page.on("dialog", self.answer)
        return page

    def answer(self, dialog) -> None:
        self.asked.append(dialog.type)
        with suppress(Error):
            dialog.accept()

    def type(self, one: FormPage) -> dict:
        """What was typed, by the sort of its control; {} where the form has nothing to fill in now."""
        page = self.hand.page
        self.hand.go("/now")
        self.hand.go(one.path)
        form = page.locator(f'form[action="{one.action}"]').first
        typed = form.evaluate(TYPE)
        for sort, control in typed.items():
            box = form.locator(f'[data-hand="{sort}"]')
            if sort in ("radio", "checkbox"):
                box.check(force=True)
            elif sort == "select":
                control["value"] = box.locator("option").last.get_attribute("value")
                box.select_option(control["value"])
            else:
                given = "The lamp went out." if sort == "words" else "3"
                box.press_sequentially(given)
                control["value"] = box.input_value()
        return typed

    def leave(self, way: str) -> None:
        """At once, by this way. A blind page has one way out: its bar."""
        page = self.hand.page
        if way == "tab":
            page.locator("nav.places a").first.click()
            page.wait_for_url("**/now")
        elif way == "link" and page.locator("details.menu > summary").count():
            page.locator("details.menu > summary").click()
            page.locator('details.menu a[href="/held"]').click()
            page.wait_for_url("**/held")
        elif way == "link":
            self.leave("tab")
        elif way == "Back":
            page.go_back()
        elif way == "reload":
            page.reload()
        elif way == "closed":
            self.hand.page = self.opened()
            page.close()

    def stands(self, one: FormPage, typed: dict) -> bool:
        """Whether it is filled in again, within some seconds."""
        self.hand.go(one.path)
        with suppress(Error):
            self.hand.page.wait_for_function(STANDS, arg=[one.action, typed], timeout=ENOUGH)
            return True
        return False

    def forget(self) -> None:
        """The next way begins on empty pages."""
        self.hand.go("/now")
        self.hand.page.evaluate("sessionStorage.clear(); indexedDB.deleteDatabase('tapeseal')")
        self.here.room.gate.drafts.clear()


@contextmanager
def out_of_reach(context) -> Iterator[None]:
    """The laptop does not answer the question whether it is there: else a page of the shell gives way to the page itself."""
    context.route("**/contact", lambda asked: asked.abort())
    yield
    context.unroute("**/contact")


def leave_by(leaver: Leaver, way: str, pages: list[FormPage]) -> None:
    """Each page typed on and left this way, then each opened again; what became of it goes into `said`."""
    typed, asked = {}, {}
    for one in pages:
        leaver.asked.clear()
        try:
            filled = leaver.type(one)
            leaver.leave(way)
        except Error as why:
            one.said[way] = "FAILED"
            print(one.path, way, str(why)[:300], flush=True)
            continue
        if filled:
            typed[one.path, one.action] = filled
            leaver.hand.page.wait_for_timeout(100)
            asked[one.path, one.action] = "beforeunload" in leaver.asked
    stored = {draft.path for draft in leaver.here.room.gate.drafts.all()}
    for one in pages:
        key = one.path, one.action
        if way in one.said:
            continue
        if key not in typed:
            one.said[way] = "nothing to fill in"
        elif one.blind:
            gone = not leaver.stands(one, typed[key]) if way == "closed" else True
            one.said[way] = (
                "STORED"
                if one.path in stored or not gone
                else "asked"
                if asked[key]
                else "says so"
                if way == "closed"
                else "LOST"
            )
        else:
            one.said[way] = "kept" if leaver.stands(one, typed[key]) else "LOST"
    leaver.forget()


def killed(playing, here: Scene, pages: list[FormPage]) -> None:
    """Every page open in a tab of its own with something typed on it; the browser is killed; another one finds each page put aside."""
    typed = {}
    with ExitStack() as stack:
        browser = stack.enter_context(launched(playing))
        leaver = Leaver(browser, here)
        leaver.hand.hold()
        for one in pages:
            if not one.blind and not one.path.startswith("/shell") and (filled := leaver.type(one)):
                typed[one.path, one.action] = filled
                leaver.hand.page = leaver.opened()
        leaver.hand.page.wait_for_timeout(1_000)
        with suppress(Exception):  # it dies before it can answer
            browser.new_browser_cdp_session().send("Browser.crash")
        with suppress(Exception):
            stack.close()
    with launched(playing) as browser:
        leaver = Leaver(browser, here)
        leaver.hand.hold()
        for one in pages:
            if one.blind or one.path.startswith("/shell"):
                one.said["killed"] = "says so" if one.blind else "its store"  # of the browser that comes back
                continue
            if (one.path, one.action) not in typed:
                one.said["killed"] = "nothing to fill in"
                continue
            leaver.hand.go(one.path)
            offered = leaver.hand.page.get_by_role("link", name="Go on with it here")
            if offered.count():
                offered.first.click()
                leaver.hand.page.get_by_role("button", name="Go on with it on this tablet").click()
                leaver.hand.page.wait_for_url(f"**{one.path}?draft=*")
            one.said["killed"] = "kept" if leaver.stands(one, typed[one.path, one.action]) else "LOST"
        here.room.gate.drafts.clear()


def look_alarm(here: Scene) -> None:
    """The next reading is signed with more ballots than check-ins, so that its own page asks for a look."""
    page = here.reading(more=9)
    assert page.path.startswith("/look/"), (page.path, page.said())


def keyed_twice(here: Scene) -> None:
    """The tape of the first tabulator is keyed by two, so that its signed page opens."""
    at = here.place.tabulators[0].id
    for _ in range(2):
        form = here.form(f"/tape/{at}", f"/tape/{at}/key")
        values = {k: v for k, v in here.crew.values(form, "tape-typed", at).items() if k not in ("signer", "pin")}
        page = here.window.send(form, here.signed(values, form.controls["signer"].options[0]))
    assert any(form.action == f"/tape/{at}" for form in page.forms), page.said()


def short_of_one(here: Scene) -> None:
    """Another pair counts one unused ballot fewer, so that a remark is asked for."""
    kept, style = newest(here, "unused"), here.place.stock[0].style
    counted_again(here, f"{kept.number}/unused/{style}", kept.body["unused"][style] - 1)


@contextmanager
def scene(playbook: Playbook, moment: str) -> Iterator[Scene]:
    """A server on a copy of the day as it lay at this moment."""
    kept, answers, now = playbook.at(STAGED.get(moment, moment), PLAYED)
    with tempfile.TemporaryDirectory(prefix="tapeseal-left-") as folder:
        home, own = Path(folder) / "place", copy.deepcopy(answers)
        shutil.copytree(kept, home)
        here = Scene(home, playbook.place, playbook.codes, own.truth, own, now, playbook.folder / "office").start()
        here.hold()
        try:
            if moment in STAGED:
                {"alarm": look_alarm, "keyed": keyed_twice, "remark": short_of_one}[moment](here)
            yield here
        finally:
            here.stop()


def table(moment: str, pages: list[FormPage]) -> None:
    """One row a form."""
    if not pages:
        return
    print(f"\n{moment}".ljust(58), *(way.ljust(8) for way in WAYS))
    for one in pages:
        print(
            one.title[:56].ljust(57),
            *([one.why] if one.why else (one.said.get(way, "").ljust(8) for way in WAYS)),
            flush=True,
        )


def main() -> int:
    said = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    said.add_argument("--at", nargs="*", default=list(STOPS), choices=STOPS, help="only these moments of the day")
    said.add_argument("--by", nargs="*", default=list(WAYS), choices=WAYS, help="only these ways")
    said.add_argument("--pages", action="store_true", help="only list the pages that are found, and open no browser")
    options = said.parse_args()
    done: set[str] = set()
    every, began = [], monotonic()
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="tapeseal-left-"))
        playing = stack.enter_context(sync_playwright())
        playbook = Playbook(Path(folder))
        browser = stack.enter_context(launched(playing))
        for moment in STOPS[: max(STOPS.index(one) for one in options.at) + 1]:
            with scene(playbook, moment) as here:
                pages = pages_with_forms(here, moment, done)
                if moment not in options.at:
                    continue
                every += pages
                open_ = [one for one in pages if not one.why]
                if open_ and not options.pages:
                    leaver = Leaver(browser, here)
                    leaver.hand.hold()
                    for way in (way for way in WAYS[:-1] if way in options.by):
                        leave_by(leaver, way, [one for one in open_ if not one.path.startswith("/shell")])
                        with out_of_reach(leaver.context):
                            leave_by(leaver, way, [one for one in open_ if one.path.startswith("/shell")])
                    leaver.context.close()
                    if "killed" in options.by:
                        killed(playing, here, open_)
            table(moment, pages)
        playbook.close()
    wrong = [one for one in every if one.why == "SILENT" or {"LOST", "STORED", "FAILED"} & set(one.said.values())]
    print(
        f"{len(every)} forms, {sum(len(one.said) for one in every)} leavings, {len(wrong)} wrong, {monotonic() - began:.0f} s"
    )
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
