"""The night survives the laptop, from end to end in a real browser: the program is killed and its folder removed while two tablets hold entries; a
spare laptop goes on under the same name from stick and kit; what anybody saw is back or listed; the desk reads what happened in the packet."""

import shutil
import time
from contextlib import closing
from types import SimpleNamespace

import pytest

import webapp
from demo_precinct.crew import Crew
from demo_precinct.http_window import Window
from demo_precinct.rehearsed_day import PINS
from tests.browser.commanded import CommandedLaptop
from tests.browser.page_check import checked
from tests.browser.test_alone import Tablet
from tests.browser.test_memory import stored, until
from tests.browser.test_pairing import admit, paired
from tests.browser.trusted import trusting  # noqa: F401 - a fixture
from tests.matrix import nightly
from webapp.gate import authorities
from webapp.gate.database import GateDatabase
from webapp.office.setup import spare_kit
from webapp.precinct.day.restores import in_words, ranges
from webapp.record.audit import verify
from webapp.record.backup import stored_after
from webapp.record.entry import Entry
from webapp.record.ledger import Ledger
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings
from webapp.stick.folder import chosen, read_folder, segment_files

CREW = ("lindqvist", "okafor")


@pytest.fixture
def laptop(playbook):
    one = CommandedLaptop(playbook.place.host)
    yield one
    one.kill()


@pytest.fixture
def night(playbook, tmp_path):
    """The place just before its packet, its office with a kit, an empty stick."""
    kept, answers, now = playbook.at("packet")
    shutil.copytree(kept, tmp_path / "old")
    shutil.copytree(playbook.folder / "office", tmp_path / "office")
    issuer = authorities.authorities(tmp_path / "office")[0]
    kit = spare_kit.prepare(tmp_path / "office", issuer, playbook.place, time.time_ns() // 1_000_000)
    with closing(GateDatabase(tmp_path / "office" / "gate.db")) as gate, gate.change() as db:
        kit.note(db)
    (tmp_path / "stick").mkdir()
    return SimpleNamespace(
        place=playbook.place, folder=tmp_path, kit=kit, answers=answers, now=now, old=tmp_path / "old",
        spare=tmp_path / "spare", stick=tmp_path / "stick",
        pins={o.id: PINS[i % len(PINS)] for i, o in enumerate(playbook.place.officials)},
    )  # fmt: skip


class Anew(Tablet):
    """A tablet that was paired again: nobody waits until its pages are all there."""

    def whole(self) -> None:
        self.go("/now")


def record(folder) -> list[Entry]:
    with Ledger.read_only(folder / "record.db") as reader:
        return list(reader.entries())


def let_in(page, here, laptop, letter: str, person: str, kind: type[Tablet] = Tablet) -> Tablet:
    """A tablet that comes to the laptop, is admitted and taken, as people do it."""
    page.goto(laptop.root + "/pair")
    paired(here, page)
    assert f"This is tablet {letter}" in page.inner_text("main")
    admit(here, letter)
    page.wait_for_url("**/tablet")
    return kind(page, here, laptop, person)


def incident(tablet: Tablet, what: str) -> None:
    who = {"signer": tablet.person, "pin": tablet.scene.pins[tablet.person]}
    tablet.note("/note/incident", where="entrance", what=what, **who)
    tablet.page.wait_for_url("**/note?kept=*")


def remembers_its_own(tablet: Tablet, folder, letter: str) -> None:
    tablet.go("/now")
    mine = {str(one.number) for one in record(folder) if one.tablet == letter}
    until(lambda: mine <= set(stored(tablet.page, "mine")))


def read_at_the_laptop(browser, laptop) -> None:
    """What was restored and the stick, on the laptop's own screen, are within everybody's reach."""
    page = browser.new_page()
    for path in ("restored", "stick"):
        page.goto(f"http://localhost:{laptop.port}/{path}")
        checked(page, path)
    page.close()


def pulled(stick, away) -> None:
    """The stick as it was in the middle of a write: its newest file lacks its last bytes, no whole copy lies beside."""
    away.rename(stick)
    folder = chosen(stick)
    for copy in folder.glob("snapshot-*"):
        copy.unlink()
    newest = segment_files(folder)[-1]
    newest.write_bytes(newest.read_bytes()[:-40])


@nightly(
    held_by=[
        "tests/browser/test_gives_back.py::test_a_tablet_gives_a_spare_laptop_what_the_stick_lacked",
        "tests/browser/test_alone.py::test_tablets_go_on_when_the_laptop_is_killed_and_everything_is_kept_once_in_order_signed_by_its_holder",
        "tests/stick/test_served.py::test_a_laptop_that_is_killed_and_gone_goes_on_from_the_stick_on_a_spare",
        "tests/stick/test_restored_page.py::test_the_packet_waits_for_the_list_and_then_says_what_happened",
        "tests/office/test_replaced_laptop.py::test_the_desk_says_the_worked_example",
    ]
)
def test_what_anybody_saw_is_back_or_listed_and_the_desk_reads_it(night, laptop, trusting, browser):  # noqa: F811
    stick, away = night.stick, night.folder / "away"
    laptop.start(night.now, night.old, "--stick", stick)
    here = SimpleNamespace(window=Window(laptop.port), pins=night.pins, running=laptop.running)
    pages = [trusting.new_context(viewport={"width": 820, "height": 1180}).new_page() for _ in "AB"]
    tablets = [
        let_in(page, here, laptop, letter, person) for page, letter, person in zip(pages, "AB", CREW, strict=True)
    ]
    incident(tablets[0], "The lamp over the door went out.")
    until(lambda: read_folder(chosen(stick)).history.end.number == record(night.old)[-1].number)
    stick.rename(away)
    for tablet, words in zip(tablets, ("A pane broke.", "An observer asked for the log."), strict=True):
        incident(tablet, words)
    form = here.window.get("/note/incident").form("/note/incident")
    only = {"where": "entrance", "what": "Only the laptop knew.", "signer": CREW[0], "pin": night.pins[CREW[0]]}
    assert here.window.send(form, only).status == 200
    for tablet, letter in zip(tablets, "AB", strict=True):
        remembers_its_own(tablet, night.old, letter)
    saw = max(stored(page, "saw")["newest"]["number"] for page in pages)
    before = stored_after(night.old / "record.db", 0, 100_000)

    laptop.kill()
    shutil.rmtree(night.old)
    for tablet in tablets:
        tablet.note_alone("/note/incident", where="booths", what=f"Seen while no laptop answered: {tablet.person}.")
    pulled(stick, away)

    words = (night.spare, "--restore", stick, "--kit", night.kit.file, "--stick", stick)
    said = laptop.start(night.now + 600_000, *words, TAPESEAL_KIT_CODE=night.kit.code)
    last = next(one.body["last"] for one in record(night.spare) if one.kind == "restored")
    assert f"the last one is entry {last}" in said and 0 < last < saw
    here.window = window = Window(laptop.port)
    for person in CREW:
        form = window.get(f"/people/pin/{person}").form(f"/people/pin/{person}")
        pin = night.pins[person]
        assert window.send(form, {"pin": pin, "pin_again": pin, "code": night.kit.second[person]}).status == 200
    anew = [
        let_in(page, here, laptop, letter, person, Anew) for page, letter, person in zip(pages, "CD", CREW, strict=True)
    ]
    until(lambda: sum(one.kind == "tablet-returned" for one in record(night.spare)) == 2)
    for tablet in anew:
        tablet.keep()
        assert tablet.held() == []
        tablet.go("/now")  # and says that it holds nothing more

    lacking = {one.number: Entry.unpack(one.data) for one in before if one.number > last}
    mine = {number for number, entry in lacking.items() if entry.tablet in ("A", "B")}
    back = {one.body["was"]: one.body["entry"] for one in record(night.spare) if one.kind == "given-back"}
    assert back == {one.number: one.data for one in before if one.number in mine} and len(back) == 2 + (
        last < min(mine)
    )
    lost = in_words(ranges([n for n in range(last + 1, saw + 1) if n not in mine]))
    page = window.get("/restored")
    assert f"<b data-lost>{lost}</b>" in page.text and "A pane broke." in page.text
    assert {one.kind for one in lacking.values() if one.number > saw} <= {"stick", "incident"}

    read_at_the_laptop(browser, laptop)
    night.answers.wall = lambda: night.now + 600_000
    crew = Crew(night.place, window, night.answers, {person: night.pins[person] for person in CREW})
    crew.signed(page, page.form("/restored"), {})
    until(lambda: " holds 1 entry" not in (page := window.get("/packet")).text and page.status == 200)
    page = window.get("/packet")
    crew.signed(page, page.form("/packet/make"), {})
    sealed = window.get("/packet/packet.cose").body
    assert verify(night.spare / "record.db").ok
    kept = [one for one in record(night.spare) if one.kind == "incident" and one.number > 10_000]
    assert len(kept) == 2 and {one.tablet for one in kept} == {"C", "D"}

    app = webapp.create_app(Settings("office", night.folder / "office", clock="scripted", start=night.now + 3_600_000))
    running = serve_in_thread(app)
    try:
        desk = browser.new_page()
        desk.goto(f"http://localhost:{running.port}/intake")
        file = {"name": "packet.cose", "mimeType": "application/octet-stream", "buffer": sealed}
        desk.set_input_files("#f-files", files=[file])
        desk.get_by_role("button", name="Read it").click()
        read = desk.locator(".checks").inner_text()
        assert f"on a spare laptop after entry {last}" in read and f"Lost: {lost}." in read
        assert "signed by the key of the spare laptop's kit" in read
        desk.close()
    finally:
        running.stop()
        app.extensions["room"].close()
