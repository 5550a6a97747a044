"""A polling place's folder as version 0.1.0 of 26 November 2026 left it at noon (commit 4972a79): record, gate and place file open here and go on.

Practice data of the demo's day, kept in stored/place-2026-11-26.tar.gz. An entry waits for its second signature, tablet A is admitted, eight
officials have their PINs.
"""

from pathlib import Path

import pytest

from demo_precinct.answers import Answers
from demo_precinct.rehearsed_day import MINUTE
from demo_precinct.true_figures import invented
from tests.pages.scene import Scene
from tests.pages.tablets import asked, tablets_door
from tests.stored_folder import unpacked
from webapp.gate.signed_place_file import load_place
from webapp.record import audit
from webapp.record.ledger import Ledger

STORED = Path(__file__).parent / "stored" / "place-2026-11-26.tar.gz"
WAITS = "ac1e94f1be8dee6e3d9e96c98afcf29b"  # the entry that was signed once
TABLET = "BQFr4Ca0YSxdGEilhlFLAQ"  # what tablet A's browser was given when it was paired
OKAFOR = "730526"  # his PIN of then
OPEN = ("/now", "/steps", "/count", "/balance", "/where", "/seals", "/note", "/people", "/tablets", "/record", "/ready", "/papers", "/held", "/packet")  # fmt: skip


@pytest.fixture
def here(tmp_path):
    """A server on a copy."""
    unpacked(STORED, tmp_path)
    folder = tmp_path / "W3"
    place = load_place(folder)
    with Ledger.read_only(folder / "record.db") as record:
        last = max(entry.kept for entry in record.entries())
    truth = invented(place, 1)
    made = Scene(folder, place, {}, truth, Answers(truth, lambda: last), last + MINUTE).start()
    yield made
    made.stop()


def test_a_place_of_before_opens_with_every_page_and_every_entry(here):
    assert audit.verify(here.folder / "record.db").ok
    assert here.kinds()[:2] == ["record-opened", "started"] and here.kinds(74) == ["started"], "74 of then, one of now"
    for path in (*OPEN, *(f"/record/{number}" for number in range(1, here.length + 1))):
        page = here.window.get(path)
        assert page.status == 200, (path, page.said())


def test_what_waited_for_its_second_signature_is_signed_and_the_day_goes_on(here):
    before = list(here.room.ledger.entries())
    assert f"/sign/{WAITS}" in here.window.get("/now").text
    waiting = here.window.get(f"/sign/{WAITS}")
    assert here.second(waiting, "lindqvist").status == 422, "the same person does not sign twice"
    assert here.second(here.window.get(f"/sign/{WAITS}")).status == 422, "a PIN that was never his"
    signed = here.second(here.window.get(f"/sign/{WAITS}"), pin=OKAFOR)
    assert signed.status == 200, signed.said()
    assert here.kinds(len(before))[-1] == "emergency-on"
    kept = list(here.room.ledger.entries())
    assert [one.person for one in kept[-1].signers] == ["lindqvist", "okafor"]
    note = here.window.get("/note/incident").form("/note/incident")
    said = {"what": "A pane is broken.", "where": note.controls["where"].options[0]}
    answer = here.window.send(note, here.signed(said, "lindqvist"))
    assert answer.status == 200, answer.said()
    here.restart()
    assert list(here.room.ledger.entries())[: len(kept)] == kept and kept[: len(before)] == before
    here.stop()
    assert audit.verify(here.folder / "record.db").ok
    here.start()


def test_a_tablet_that_was_admitted_then_is_known_by_what_its_browser_kept(here):
    with tablets_door(here) as port:
        stranger = asked(here, port)
        handle = next(name for name, value in stranger.cookies.items() if not name.endswith("-form"))
        assert stranger.get("/now").path != "/now"
        stranger.cookies = {handle: TABLET}
        page = stranger.get("/tablet")
        assert page.status == 200 and "Nobody holds this tablet" in page.text or "Sign in on this tablet" in page.text
        assert stranger.get("/now").status == 200
