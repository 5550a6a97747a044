"""What a tablet remembers, in a real browser over TLS: its own entries as bytes, the alarm on both sides, the end at hand-over, and codes off its screen.

The laptop's files are changed as a dishonest or careless owner would: an older record.db put back and written on, another folder under the same name.
"""

import base64
import io
import re
import time
from contextlib import suppress

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Error

from tests.browser.hand import Hand
from tests.browser.test_alone import CHOOSE
from tests.browser.test_pairing import admit, paired
from tests.browser.trusted import shared_door, shared_tablet, tablet, tablets_door, trusting  # noqa: F401 - fixtures
from tests.matrix import nightly
from tests.pages.asking import left, put_aside, restart
from webapp.packet import held_frames
from webapp.pages.tablets import app_shell
from webapp.record.entry import Entry

STORED = """(name) => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    const store = target.result.transaction(name).objectStore(name);
    const [keys, values] = [store.getAllKeys(), store.getAll()];
    store.transaction.oncomplete = () => done(Object.fromEntries(keys.result.map((key, i) => [key, values.result[i]])));
  };
})"""
PUT = """([name, key, value]) => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    const deed = target.result.transaction(name, "readwrite");
    deed.objectStore(name).put(value, key);
    deed.oncomplete = () => done(null);
  };
})"""
KEPT = "async () => (await Promise.all((await caches.keys()).map(async (name) => (await (await caches.open(name)).keys()).length))).reduce((a, b) => a + b, 0)"


def until(what, seconds: float = 45):
    """Wait until this gives something, and give it."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := what():
            return found
        time.sleep(0.1)
    raise AssertionError("it never came to be")


def stored(page, name: str) -> dict:
    return page.evaluate(STORED, name)


class Tablet(Hand):
    """A hand at a tablet that was paired, admitted and taken."""

    def __init__(self, scene, door, page, person="lindqvist"):
        super().__init__(page, scene)
        self.root, self.door = door.root, door
        paired(scene, page)
        admit(scene, scene.room.gate.tablets.all()[-1].id)
        page.evaluate("location.reload()")  # it would look by itself within seconds
        page.wait_for_url("**/tablet")
        self.letter = scene.room.gate.tablets.all()[-1].id
        self.hold(person)

    def remembers(self, at_least: int = 0):
        """The newest state in its store, once it is as new as this."""
        return until(
            lambda: (found := stored(self.page, "saw").get("newest")) and found["number"] >= at_least and found
        )

    def note(self, path: str, **values) -> None:
        self.go(path)
        self.write(values)
        self.page.evaluate(CHOOSE)
        self.page.locator("button.do").click()

    def shell_is_whole(self) -> None:
        self.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        wanted = len(app_shell.FILES) + self.page.evaluate(
            "fetch('/worker.js').then((a) => a.text()).then((t) => JSON.parse(/PAGES = (.*);/.exec(t)[1]).length)"
        )
        until(lambda: self.page.evaluate(KEPT) == wanted, 30)
        self.go("/now")


@pytest.fixture
def at(scene, tablets_door, tablet):  # noqa: F811
    """A function: a moment -> a scene with one admitted tablet of level full."""

    def one(moment="voting", **how):
        here = scene(moment)
        door = tablets_door(here)
        return here, Tablet(here, door, tablet(door, **how))

    return one


@pytest.fixture(scope="module")
def met(shared_scene, shared_door, shared_tablet):  # noqa: F811
    """(scene, one admitted tablet) of the voting day, for tests that go on from each other's state."""
    here = shared_scene("voting")
    door = shared_door(here)
    return here, Tablet(here, door, shared_tablet(door))


def laptop_restarts(here, one, tablets_door, record=None, folder=None):  # noqa: F811
    """The laptop is stopped, its files perhaps changed, and started again under the same name and port."""
    one.door.running.stop()
    restart(here, record)
    one.door = tablets_door(here, port=one.door.running.port)


# --- what it keeps


def test_it_keeps_the_newest_state_it_saw_and_the_very_bytes_of_its_own_entries(met):
    here, one = met
    one.note("/note/left")
    number = here.length
    state = one.remembers(number)
    newest = here.room.ledger.newest
    assert (state["run"], state["number"], state["head"], state["record"]) == (
        newest.run,
        newest.number,
        newest.head.hex(),
        here.room.ledger.record_id.hex(),
    )
    mine = until(lambda: (found := stored(one.page, "mine")) and str(number) in found and found)
    assert {int(key): base64.b64decode(value["entry"]) for key, value in mine.items() if key != "upto"} == dict(
        here.room.ledger.lines_of(one.letter, 0, 1000)
    )
    assert Entry.unpack(base64.b64decode(mine[str(number)]["entry"])).kind == "left"
    assert here.room.gate.contacts.of(one.letter).held == 0 and here.room.tablets_owed() == []
    assert "contradicted" not in here.kinds()


# --- its codes


def codes_on(page) -> list[str]:
    """Every code on the tablet's screen, photographed one by one and read by an independent reader."""
    part, found = page.locator("[data-held-codes]"), []
    if part.locator("[data-stop]").inner_text() == "Stop here":
        part.locator("[data-stop]").click()
    for _ in range(int(part.locator("[data-count]").inner_text())):
        picture = part.locator("[data-code]").screenshot()
        read = zxingcpp.read_barcode(Image.open(io.BytesIO(picture)))
        found.append((picture, read.text))
        part.locator("[data-next]").click()
    return found


def held(one, words: str) -> None:
    """One more entry is held, and its codes are drawn."""
    one.note("/note/incident", where="entrance", what=words)
    one.page.wait_for_url("**/held")


def drawn(one) -> None:
    one.page.locator("[data-begin]").click()
    one.page.locator("[data-code] svg").wait_for()


def test_held_entries_are_codes_that_turn_and_can_be_stopped_are_read_by_the_laptop_and_kept_once(met, shared_door):  # noqa: F811
    """None is said so; one entry is one code; four are several, which turn by themselves but where motion is not wanted."""
    here, one = met
    one.shell_is_whole()
    said, number = (
        one.page.locator("[data-held-codes] [data-said]"),
        one.page.locator("[data-held-codes] [data-number]"),
    )
    one.go("/held")
    one.page.locator("[data-begin]").click()
    said.filter(has_text="Nothing is held").wait_for()
    before, port = here.length, one.door.running.port
    one.door.running.stop()

    held(one, "0: the laptop is out of reach and the queue is long. ")
    drawn(one)
    assert len(codes_on(one.page)) == 1 and "reads this code" in said.inner_text()
    for n in range(1, 4):
        held(one, f"{n}: the laptop is out of reach and the queue is long. " * 3)
    drawn(one)
    first = number.inner_text()
    until(lambda: number.inner_text() != first, 5)
    one.page.locator("[data-stop]").click()
    stopped = number.inner_text()
    time.sleep(1.3)
    assert number.inner_text() == stopped and one.page.locator("[data-stop]").inner_text() == "Go on by itself"
    one.page.emulate_media(reduced_motion="reduce")
    one.go("/held")
    drawn(one)
    time.sleep(1.3)
    assert number.inner_text() == "1"
    one.page.emulate_media(reduced_motion="null")

    kept_by_codes(here, one, before, codes_on(one.page))
    one.door = shared_door(here, port=port)
    one.go("/held")
    until(lambda: stored(one.page, "outbox") == {})  # what the record has already leaves the list
    assert here.kinds(before) == ["incident"] * 4 and stored(one.page, "settle") == {}


def kept_by_codes(here, one, before: int, seen: list) -> None:
    """What an independent reader read off the screen is the whole list, and the laptop keeps it from the pictures."""
    texts = [text for _, text in seen]
    assert len(set(texts)) == len(texts) > 1 and all(text.startswith("TH1:") for text in texts)
    collector = held_frames.HeldCollector()
    assert [collector.add(text) for text in texts] == ["new"] * len(texts)
    whole = collector.whole()
    assert whole.tablet == one.letter and [row.kind for row in whole.rows] == ["incident"] * 4
    assert all("pin" not in row.form for row in whole.rows)
    form = here.window.get("/held/codes").form("/held/codes/file")
    page = here.window.upload(form, "files", [(f"{n}.png", picture) for n, (picture, _) in enumerate(seen)])
    assert "keeps 4 entries" in page.text, page.said()
    page = here.window.send(page.form("/held/codes/keep"), {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
    assert page.status == 200 and here.kinds(before) == ["incident"] * 4, page.said()


# --- what it asks


def test_while_somebody_looks_it_asks_every_minute_and_when_they_come_back_to_it(met):
    here, one = met
    page = one.page.context.new_page()  # its clock is held, the tablet's own page goes on
    posts = []
    page.on(
        "requestfinished",
        lambda request: (
            posts.append(request.url) if request.method == "POST" and request.url.endswith("/contact") else None
        ),
    )
    page.clock.install()
    page.goto(one.root + "/now")
    until(lambda: page.evaluate("1") and posts)  # on load; the page before may have ended one of its own meanwhile
    page.wait_for_timeout(500)
    loaded = len(posts)
    page.clock.run_for(45_000)
    page.wait_for_timeout(300)
    assert len(posts) == loaded
    page.clock.run_for(16_000)
    until(lambda: page.evaluate("1") and len(posts) == loaded + 1)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    until(lambda: page.evaluate("1") and len(posts) == loaded + 2)
    page.close()


# --- the alarm


def lines(page) -> str:
    page.locator("[data-remembers]").wait_for()
    return page.locator("[data-remembers]").inner_text()


def forgets(one) -> None:
    """Its people let the tablet forget."""
    one.go("/alarm")
    one.page.locator("summary").filter(has_text="this tablet may forget").click()
    one.page.locator("[data-forget]").click()
    one.page.wait_for_url("**/now")


def test_r15_a_fork_alarms_the_tablet_and_the_laptop(met, shared_door):  # noqa: F811
    here, one = met
    here.hold()
    laptop_restarts(here, one, shared_door)
    aside = put_aside(here, "aside.db")
    left(here, 2)
    one.go("/now")
    saw = one.remembers(here.length)
    laptop_restarts(here, one, shared_door, aside)
    here.hold("okafor")
    left(here, 5)
    with suppress(Error):  # its page may go to the alarm by itself, and cut this off
        one.go("/steps")
    one.page.wait_for_url("**/alarm")
    said = lines(one.page)
    assert (
        f"another entry {saw['number']}" in said
        and saw["head"][:8].upper() in said
        and f"run 1, entry {saw['number']}" in said
    )
    assert one.page.get_by_role("heading", name="This tablet and the laptop tell different histories").is_visible()
    assert here.kinds().count("contradicted") == 1
    for path in ("/now", "/tablets"):
        assert re.search(
            r'class="notice loud" role="alert" data-alarm.*?remembers entry ' + str(saw["number"]),
            here.window.get(path).text,
            re.DOTALL,
        ), path
    one.go("/note")
    one.page.locator("main > [data-alarm]").wait_for()  # on every page, until people let it forget
    assert one.remembers() == saw
    forgets(one)
    assert one.remembers(here.length)["head"] == here.room.ledger.head.hex() and "alarm" not in stored(one.page, "saw")
    assert not one.page.locator("main > [data-alarm]").count() and here.kinds().count("contradicted") == 1


def test_another_rehearsal_on_the_same_name_raises_no_alarm_and_the_folder_of_another_record_does(
    scene, met, shared_door
):  # noqa: F811
    here, one = met
    one.go("/now")
    saw = one.remembers(here.length)
    port = one.door.running.port
    one.door.running.stop()
    other = scene("sworn")
    other.stop()
    for file in other.folder.glob("record.db*"):
        file.unlink()
    other.start()
    one.door = shared_door(other, port=port)
    one.go("/pair")
    time.sleep(1)
    assert one.path == "/pair" and "alarm" not in stored(one.page, "saw")
    one.page.evaluate(
        PUT, ["saw", "newest", {**saw, "practice": False}]
    )  # as on the day itself: a rehearsal forgets the one before
    one.go("/now")
    one.page.wait_for_url("**/alarm")
    said = lines(one.page)
    assert (
        f"remembers entry {saw['number']} of another record" in said
        and other.room.ledger.record_id.hex()[:8].upper() in said
    )
    text = one.page.locator("body").inner_text()
    assert "Menu" not in text and "entry " + str(other.length) not in text  # not admitted here: its own side only
    one.door.running.stop()
    one.door = shared_door(here, port=port)
    forgets(one)
    one.remembers(here.length)


def test_the_alarm_does_not_take_a_page_away_under_a_hand_that_types(met):
    here, one = met
    one.go("/now")
    saw = one.remembers(here.length)
    one.go("/note/incident")
    one.remembers(here.length)
    one.page.locator('[name="what"]').press_sequentially("A lamp")

    def alarmed() -> int:  # a page that is asking the laptop just now asks nothing more
        one.page.evaluate(PUT, ["saw", "newest", {**saw, "head": "00" * 32, "number": saw["number"]}])
        one.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        return one.page.locator("main > [data-alarm]").count()

    until(alarmed)
    assert one.path == "/note/incident" and one.page.locator('[name="what"]').input_value() == "A lamp"


def test_a_tablet_that_is_struck_off_while_its_list_is_open_is_told_so_there(met):
    """The last test on this tablet."""
    here, one = met
    one.go("/held")
    form = here.window.get("/tablets").form(f"/tablets/{one.letter}/strike")
    page = here.window.send(form, here.signed({"why": "lost"}, "lindqvist"))
    page = here.second(page, "okafor") if page.path.startswith("/sign/") else page
    assert here.kinds()[-1] == "revoked", page.said()
    answer = one.page.evaluate(
        "import('/static/list_rows.js').then(({ send }) => send('/held/look', { entries: [], ask: [] }))"
    )
    assert not answer["ok"] and "This tablet is not admitted" in " ".join(answer["mistakes"].values())


# --- the end


@nightly(held_by="tests/browser/test_alone.py::test_r10_after_hand_over_back_reload_and_offline_show_no_keyed_figure")
def test_r10_after_hand_over_nothing_is_left_in_the_stores(at):
    here, one = at("packet")
    one.go("/now")
    one.remembers(here.length)
    until(lambda: here.room.tablets_owed() == [])
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    page = here.window.get("/packet/close")
    form = page.form("/packet/close")
    here.crew.signed(page, form, here.crew.values(form, "packet", ""))
    assert here.room.day.last("packet")
    one.go("/now")
    until(lambda: stored(one.page, "saw") == {} and stored(one.page, "mine") == {})
    assert stored(one.page, "outbox") == {} and "contradicted" not in here.kinds()
