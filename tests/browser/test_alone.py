"""Tablets that lose the laptop, in a real browser: the laptop's program is killed without warning, the browser too, and nothing is lost or kept twice."""

import json
import os
import re
import signal
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from playwright.sync_api import Error

from tests.browser.conftest import FLAGS, installed
from tests.browser.hand import Hand
from tests.browser.laptop import Laptop, ServedLaptop
from tests.browser.test_pairing import admit, paired
from tests.browser.trusted import tablet, tablets_door, trusting  # noqa: F401 - fixtures
from tests.matrix import nightly, some
from tests.pages.test_held import leaves
from webapp.pages.tablets import app_shell
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.ledger import Ledger

CACHED = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const answer = await cache.match(request);
      found[new URL(request.url).pathname] = answer.headers.get("Content-Type").startsWith("text/") ? await answer.text() : "";
    }
  }
  return found;
}"""
CHOOSE = """() => {
  for (const box of document.querySelectorAll("main fieldset:not(#f-signer)")) {
    const all = [...box.querySelectorAll("[type=radio]")];
    if (all.length && !all.some((one) => one.checked)) (all.find((one) => one.value === "yes") ?? all[0]).checked = true;
  }
  for (const key of document.querySelectorAll("[data-key='0']")) if (!key.parentElement.querySelector("input").value) key.click();
}"""
KEPT = "async () => (await Promise.all((await caches.keys()).map(async (name) => (await (await caches.open(name)).keys()).length))).reduce((a, b) => a + b, 0)"
STORED = """async (name) => new Promise((done) => {
  const opening = indexedDB.open("tapeseal", 1);
  opening.onsuccess = () => { opening.result.transaction(name).objectStore(name).getAll().onsuccess = (event) => done(event.target.result); };
})"""


def until(page, expression: str, arg=None) -> None:
    """Wait until this is so on the page; a policy without eval lets no expression wait inside it. A page that is just being left is asked again."""
    for _ in range(900):
        try:
            if page.evaluate(expression, arg):
                return
        except Error as wrong:
            if "navigation" not in str(wrong):
                raise
        time.sleep(0.05)
    raise AssertionError(f"it never came to be that {expression}: {page.inner_text('main')[:600]}")


class Tablet(Hand):
    """A hand at a tablet that has its shell."""

    def __init__(self, page, scene, laptop, person="lindqvist"):
        super().__init__(page, scene)
        self.root, self.person = laptop.root, person
        self.hold(person)
        self.whole()

    def go(self, path: str) -> None:
        """Open a page. One that was out of reach opens itself again once the laptop answers, and cuts this off: then once more."""
        try:
            super().go(path)
        except Error as wrong:
            if "ERR_ABORTED" not in str(wrong):
                raise
            super().go(path)

    def whole(self) -> None:
        """Wait until the worker has its shell whole; the next page is under its hand."""
        self.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        wanted = len(app_shell.FILES) + self.pages()
        for _ in range(450):
            if self.page.evaluate(KEPT) == wanted:
                break
            time.sleep(0.1)
        self.go("/now")
        assert self.page.evaluate("Boolean(navigator.serviceWorker.controller)")

    def pages(self) -> int:
        return self.page.evaluate(
            "fetch('/worker.js').then(a => a.text()).then(t => JSON.parse(/PAGES = (.*);/.exec(t)[1]).length)"
        )

    def held(self) -> list[dict]:
        return self.page.evaluate(STORED, "outbox")

    def note(self, path: str, **values: str) -> None:
        """Fill in a form and press its button, whether the laptop answers or not."""
        self.go(path)
        self.write(values)
        self.choose()
        self.page.locator("button.do").click()

    def choose(self) -> None:
        """Nothing is chosen beforehand: choose yes or the first of each, and write 0 where a key does."""
        self.page.evaluate(CHOOSE)

    def note_alone(self, path: str, **values: str) -> None:
        self.note(path, **values)
        self.page.wait_for_url("**/held")
        until(self.page, "document.querySelectorAll('[data-list] li').length")

    def keep(self, person: str = "") -> None:
        """Open the list within reach and sign it."""
        self.go("/held")
        who = person or self.person
        self.page.locator("[data-keep]").wait_for()
        self.touch({"signer": who, "pin": self.scene.pins[who]}, "[data-keep]")
        self.page.locator("[data-keep] button.do").click()
        until(self.page, "document.querySelector('[data-done] li') || !document.querySelector('[data-told]').hidden")

    def says(self) -> str:
        return self.page.inner_text("main")


@pytest.fixture
def laptop(scene):
    """A function: the moment -> (scene at rest, the laptop's program in a process of its own on its folder)."""
    made = []

    def at(moment: str = "voting"):
        here = scene(moment)
        here.stop()
        made.append((here, Laptop(here.folder, here.now).start()))
        return made[-1]

    yield at
    for here, one in made:
        one.kill()
        here.windows = []
        here.start()


def record(here) -> list:
    with Ledger.read_only(here.folder / "record.db") as looking:
        return list(looking.entries())


# --- the shell


def persistent(playing, profile: Path, whole: bool = False):
    """A browser with a profile of its own that outlives it; whole: one that could install an app."""
    found = installed(whole)
    return playing.chromium.launch_persistent_context(
        str(profile), executable_path=found, headless=True, args=FLAGS, viewport={"width": 820, "height": 1180}
    )


@pytest.fixture(scope="module")
def served(shared_scene):
    """(scene, its laptop that can be put out of reach) of the voting day."""
    return (here := shared_scene("voting")), ServedLaptop(here)


def test_the_browser_finds_nothing_that_keeps_the_app_from_being_installed(served, playing, tmp_path):
    context = persistent(playing, tmp_path, whole=True)
    page = context.pages[0]
    page.goto(f"{served[1].root}/now")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    asked = context.new_cdp_session(page)
    manifest = asked.send("Page.getAppManifest")
    assert manifest["errors"] == [] and json.loads(manifest["data"])["display"] == "standalone"
    assert asked.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    context.close()


def test_a_newer_worker_waits_until_every_page_of_the_older_one_is_closed(scene, window, monkeypatch):
    here = scene("voting")
    page = window(worker=True, fresh=True)
    hand = Hand(page, here)
    hand.go("/now")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    hand.go("/now")
    first = page.evaluate("caches.keys()")
    monkeypatch.setattr(app_shell, "VERSION", "0.2.0-newer")
    page.evaluate("navigator.serviceWorker.ready.then(r => r.update())")
    page.wait_for_selector("[data-notice=version]")
    assert "close this page and open it again" in page.inner_text("[data-notice=version]")
    hand.go("/steps")
    assert page.evaluate("navigator.serviceWorker.ready.then(r => Boolean(r.waiting))") and first[0] in page.evaluate(
        "caches.keys()"
    )
    context = page.context
    page.close()
    page = context.new_page()
    page.wait_for_timeout(1_500)  # the browser changes workers when the last page has gone
    page.goto(hand.root + "/now")
    until(page, "caches.keys().then(names => names.length === 1 && names[0].includes('0.2.0-newer'))")


# --- killed


NOTES = ("/note/left", "/note/observers", "/note/spoiled", "/note/taken")


@pytest.mark.parametrize(("tablets", "notes"), some([(2, 2)], [(2, 2), (3, 4)]))
def test_tablets_go_on_when_the_laptop_is_killed_and_everything_is_kept_once_in_order_signed_by_its_holder(
    laptop, window, tablets, notes
):
    here, one = laptop()
    others = (o.id for o in here.place.officials if o.id not in ("lindqvist", "okafor"))
    people, paths = ("lindqvist", "okafor", *others)[:tablets], NOTES[:notes]
    tablets = [Tablet(window(worker=True), here, one, person) for person in people]
    for one_tablet in tablets:
        one_tablet.note("/note/left")  # within reach
        one_tablet.page.wait_for_url("**/note?kept=*")
    before = len(record(here))
    one.kill()
    for path in paths:  # they work side by side
        for one_tablet in tablets:
            one_tablet.note_alone(path, **({"here": "2"} if path == "/note/observers" else {}))
    assert len(record(here)) == before
    one.start()
    for one_tablet in reversed(tablets):
        one_tablet.keep()
        until(one_tablet.page, "n => document.querySelectorAll('[data-done] li').length === n", arg=notes)
        assert one_tablet.held() == []
    kept = [entry for entry in record(here)[before:] if entry.seq]
    assert len(kept) == len({entry.id for entry in kept}) == len(people) * notes
    for one_tablet, person in zip(tablets, people, strict=True):
        mine = [entry for entry in kept if entry.holder == person]
        assert [entry.kind for entry in mine] == [path.rpartition("/")[2] for path in paths]
        assert [entry.seq for entry in mine] == list(range(mine[0].seq, mine[0].seq + notes))
        assert all([signer.person for signer in entry.signers] == [person] for entry in mine)
        assert all(entry.made % 900_000 == 0 for entry in mine if entry.kind in BALLOT_KINDS)


def processes(profile: Path) -> list[int]:
    """Every process of the browser with this profile."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            if str(profile).encode() in path.read_bytes():
                found.append(int(path.parent.name))
        except OSError:
            continue
    return found


def killed(context, profile: Path) -> None:
    """SIGKILL to every process of this browser; its profile stays as it lies on the disk."""
    for process in processes(profile):
        try:
            os.kill(process, signal.SIGKILL)
        except ProcessLookupError:
            pass
    try:
        context.close()
    except Exception:  # noqa: BLE001 - it is dead already
        pass
    for _ in range(100):
        if not processes(profile):
            break
        time.sleep(0.05)
    for lock in profile.glob("Singleton*"):
        lock.unlink()


@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="processes of the browser are found under /proc")
def test_entries_are_still_there_when_the_browser_itself_was_killed_holding_them(served, playing, tmp_path):
    """As a tablet whose battery died: SIGKILL to every process of the browser, then the same profile is opened again."""
    here, one = served
    context = persistent(playing, tmp_path)
    tablet = Tablet(context.pages[0], here, one)
    one.kill()
    tablet.note_alone("/note/left")
    tablet.note_alone("/note/incident", where="entrance", what="A quarrel about the queue.")
    held = tablet.held()
    killed(context, tmp_path)
    context = persistent(playing, tmp_path)
    page = context.pages[0]
    page.goto(one.root + "/held")  # the laptop is still away: the shell opens
    until(page, "document.querySelectorAll('[data-list] li').length === 2")
    assert "A quarrel about the queue." in page.inner_text("[data-list]")
    before = len(record(here))
    one.start()
    tablet.page = page
    assert tablet.held() == held
    tablet.keep()
    until(page, "document.querySelectorAll('[data-done] li').length === 2")
    kept = [entry for entry in record(here)[before:] if entry.seq]
    assert [entry.id.hex() for entry in kept] == [entry["id"] for entry in held]
    context.close()


# --- over TLS


def taken(here, page, door) -> Tablet:
    """Paired, admitted, held."""
    paired(here, page)
    admit(here)
    page.wait_for_url("**/tablet")
    one = Tablet.__new__(Tablet)
    Hand.__init__(one, page, here)
    one.root, one.person = door.root, "lindqvist"
    one.hold("lindqvist")
    return one


@nightly(
    held_by=[
        "tests/browser/test_memory.py::test_held_entries_are_codes_that_turn_and_can_be_stopped_are_read_by_the_laptop_and_kept_once",
        "tests/browser/test_pairing.py::test_a_prepared_tablet_is_full_and_goes_on_by_itself_once_it_is_admitted",
        "tests/browser/test_alone.py::test_the_browser_finds_nothing_that_keeps_the_app_from_being_installed",
    ]
)
def test_over_tls_with_the_authority_in_its_store_a_tablet_can_install_the_app_and_goes_on_alone(
    scene, tablets_door, tablet
):  # noqa: F811
    here = scene("voting")
    door = tablets_door(here)
    page = tablet(door)
    one = taken(here, page, door)
    one.whole()
    one.go("/note/seal-broken")
    until(page, "document.querySelector('main').innerText.includes('Works only within reach of the laptop.')")
    asked = page.context.new_cdp_session(page)
    assert asked.send("Page.getAppManifest")["errors"] == []
    found = {error["errorId"] for error in asked.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert found <= {"in-incognito"}, found  # test contexts are private windows, where nothing can be installed
    before = here.length
    door.running.stop()
    one.note_alone("/note/left")
    one.note_alone("/note/incident", where="entrance", what="The lamp went out.")
    tablets_door(here, port=door.running.port)
    one.keep()
    until(page, "document.querySelectorAll('[data-done] li').length === 2")
    kept = [entry for entry in here.room.ledger.entries(after=before) if entry.seq]
    assert [(entry.kind, entry.tablet, entry.holder) for entry in kept] == [
        ("left", "A", "lindqvist"),
        ("incident", "A", "lindqvist"),
    ]


# --- requirements by number


def test_r10_after_hand_over_back_reload_and_offline_show_no_keyed_figure(scene, window):
    """The figures of the tapes are keyed, signed and handed over: the tablet was on those pages, and shows and holds none of them any more."""
    here = scene("packet")
    page = window(worker=True)
    tablet = Tablet(page, here, SimpleNamespace(root=f"http://localhost:{here.running.port}"))
    typed = [entry for entry in record(here) if entry.kind in ("tape-typed", "keying")]
    figures = {f"{value:,}" for entry in typed for value in leaves(entry.body) if type(value) is int and value > 99}
    assert len(figures) > 5
    for path in ("/tape/T1", "/tape", "/balance", "/packet"):
        tablet.go(path)
    until(page, f"({STORED})('saw').then((saw) => saw.length > 0)")
    for path, action in (("/packet", "/packet/make"), ("/packet/close", "/packet/close")):
        form = (sheet := here.crew.window.get(path)).form(action)
        here.crew.signed(sheet, form, here.crew.values(form, "packet", "") if path == action else {})
    assert here.room.day.last("packet")
    tablet.go("/now")
    until(page, f"Promise.all(['saw', 'mine', 'outbox'].map({STORED})).then((all) => all.flat().length === 0)")
    assert "contradicted" not in here.kinds()
    here.running.stop()  # the laptop is away
    shown = []
    for step in (page.go_back, page.go_back, page.reload, page.go_back, page.reload):
        step()
        shown.append(page.inner_text("body"))
    for path in ("/tape/T1", "/balance", "/packet", "/record"):
        tablet.go(path)
        shown.append(page.inner_text("body"))
    assert all("does not answer" in text for text in shown)
    assert [figure for figure in figures for text in shown if re.search(rf"(?<![\d,]){figure}(?![\d,])", text)] == []
    stores = json.dumps([page.evaluate(STORED, name) for name in ("outbox", "settle", "shell", "saw", "mine")])
    assert [figure for figure in figures if re.search(rf"\b{figure.replace(',', '')}\b", stores)] == []
