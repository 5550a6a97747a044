"""What a tablet alone still has, in a real browser: what one of before held is kept once; a spare laptop under the same name is given back, byte for byte,
what the stick lacked, without an alarm; a new record is given back all. One tablet of the voting day, each test goes on from the one before.

stored/tablet-2026-11-26.json has every store of IndexedDB "tapeseal" as version 0.1.0 of 26 November 2026 wrote it (commit 4972a79, a real browser), after
an incident and a voter who left were signed with the laptop away. Only the name of the record that the tablet saw is put in anew: it is that of the scene.
"""

import json
from pathlib import Path

from tests.browser.page_check import checked
from tests.browser.test_memory import laptop_restarts, met, stored, until  # noqa: F401 - a fixture among them
from tests.browser.trusted import shared_door, shared_tablet, trusting  # noqa: F401 - fixtures
from webapp.record import restoration
from webapp.record.backup import stored_after
from webapp.record.entry import Act, Claim, Signer
from webapp.record.ledger import Ledger
from webapp.version import VERSION

THEN = json.loads((Path(__file__).parent / "stored" / "tablet-2026-11-26.json").read_text(encoding="utf-8"))["stores"]
FILL = """([name, rows]) => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    const deed = target.result.transaction(name, "readwrite");
    rows.forEach((row) => deed.objectStore(name).put(row));
    deed.oncomplete = () => done(null);
  };
})"""
FACTS = {"seen": None, "source": "stick", "stick": bytes(16), "torn": 0, "laptop": "dead", "kit": "spare"}


def test_what_a_tablet_of_before_held_is_listed_and_kept_once(met, shared_door):  # noqa: F811
    here, one = met
    one.shell_is_whole()
    now, before, port = one.remembers(here.length), here.length, one.door.running.port
    one.door.running.stop()
    rows = [row | {"saw": [now["record"], now["run"], now["number"], now["head"]]} for row in THEN["outbox"].values()]
    one.page.evaluate(FILL, ["outbox", rows])
    shell = stored(one.page, "shell")["tablet"]
    assert set(THEN["shell"]["tablet"]) <= set(shell), "what it knew of itself is known still"
    one.go("/held")
    listed = until(lambda: (text := one.page.inner_text("main")) and "held, 2nd" in text and text)
    assert all(row["title"] in listed for row in rows) and "A pane is broken; nobody is hurt." in listed, listed
    assert here.length == before
    one.door = shared_door(here, port=port)
    one.go("/held")
    part = one.page.locator("[data-keep]")
    part.locator('[name="signer"][value="lindqvist"]').check()
    part.locator('[name="pin"]').fill(here.pins["lindqvist"])
    part.locator("button.do").click()
    until(lambda: stored(one.page, "outbox") == {}, 45)
    assert here.kinds(before) == ["incident", "left"] and stored(one.page, "settle") == {}
    kept = list(here.room.ledger.entries())[before:]
    assert [entry.id.hex() for entry in kept] == [row["id"] for row in rows]
    assert here.room.ledger.texts(kept[0].number)["what"] == rows[0]["form"]["what"]


def test_a_tablet_gives_a_spare_laptop_what_the_stick_lacked(met, shared_door, window):  # noqa: F811
    here, one = met
    record = here.folder / "record.db"
    on_the_stick = stored_after(record, 0)
    for _ in range(2):
        one.note("/note/left")
        one.page.wait_for_url("**/note?kept=*")
    lacking = [entry for entry in stored_after(record, on_the_stick[-1].number)]
    mine = [entry for entry in here.room.ledger.entries(on_the_stick[-1].number) if entry.tablet == one.letter]
    assert len(mine) == 2
    one.go("/now")
    until(lambda: set(stored(one.page, "mine")) >= {str(entry.number) for entry in mine})
    one.remembers(lacking[-1].number)

    spare = here.folder.parent / "spare.db"
    restoration.settle(restoration.lay_down(spare, here.room.ledger.record_id, on_the_stick, FACTS, here.now), spare)
    laptop_restarts(here, one, shared_door, spare)
    assert here.room.ledger.run == 2 and not here.room.day.returned
    one.go("/now")

    until(lambda: len(here.room.day.returned) == 2)
    bytes_of = {entry.number: entry.data for entry in lacking}
    back = {kept.body["was"]: kept.body for kept in here.room.day.returned.values()}
    assert {was: body["entry"] for was, body in back.items()} == {
        entry.number: bytes_of[entry.number] for entry in mine
    }
    assert {body["from"] for body in back.values()} == {one.letter}
    until(lambda: stored(one.page, "saw")["newest"]["run"] == 2)
    assert "alarm" not in stored(one.page, "saw")
    told = here.room.day.of("tablet-returned")[-1].body
    assert (told["seen"], told["given"]) == (lacking[-1].number, 2)

    one.go("/now")
    one.remembers(here.room.ledger.length)
    assert len(here.room.day.returned) == 2
    page = window()
    for path in ("/restored", "/stick"):  # on the laptop's own screen
        page.goto(f"http://localhost:{here.running.port}{path}")
        checked(page, path)


def test_a_tablet_gives_back_to_a_new_record_only_once_two_have_signed_for_it(met, shared_door):  # noqa: F811
    here, one = met
    one.note("/note/left")
    one.page.wait_for_url("**/note?kept=*")
    own = {entry.number for entry in here.room.ledger.entries() if entry.tablet == one.letter}
    mine = {k.number: k.data for k in stored_after(here.folder / "record.db", 0, 10_000) if k.number in own}
    mine |= {k.body["was"]: k.body["entry"] for k in here.room.day.returned.values()}  # of the run before, too
    one.go("/now")
    until(lambda: set(stored(one.page, "mine")) >= set(map(str, mine)))
    old, saw = here.room.ledger.record_id, one.remembers(max(mine))

    new = here.folder.parent / "new.db"
    body = {"place": here.place.id, "place_digest": here.place.digest, "mode": "practice", "version": VERSION}
    body |= {"clock": "scripted", "instead_of": True, "kit": "spare", "seen": None, "laptop": "lost"}
    with Ledger.create(new) as ledger:
        ledger.append(Act(Claim(bytes(16), "record-opened", body, here.now, "L", 0), (), here.now), now=here.now)
    laptop_restarts(here, one, shared_door, new)
    one.go("/now")
    one.page.wait_for_url("**/alarm")
    one.page.get_by_text("This tablet and the laptop tell different histories").wait_for()
    assert not one.page.locator("[data-give-back]").is_visible() and not here.room.day.returned

    body = {"record": old, "run": saw["run"], "number": saw["number"], "why": "destroyed"}
    two = tuple(Signer(*who, "pin") for who in (("lindqvist", "chair", "M"), ("okafor", "witness", "P")))
    here.room.keep([Claim(bytes(15) + b"1", "new-record", body, here.now, "L1", 0)], two)
    one.go("/alarm")
    assert not here.room.day.returned
    one.page.locator("[data-give-back]").click()

    until(lambda: len(here.room.day.returned) == len(mine))
    assert {k.body["was"]: k.body["entry"] for k in here.room.day.returned.values()} == mine
    one.page.wait_for_url("**/ready")
    until(lambda: stored(one.page, "saw").get("newest", {}).get("record") == here.room.ledger.record_id.hex())
    assert "alarm" not in stored(one.page, "saw")
