"""A tablet's own store as version 0.1.0 of 26 November 2026 wrote it (commit 4972a79, a real browser): what it held is listed here, and kept once.

stored/tablet-2026-11-26.json has every store of IndexedDB "tapeseal" after an incident and a voter who left were signed with the laptop away.
Only the name of the record that the tablet saw is put in anew: it is that of the scene.
"""

import json
from pathlib import Path

from tests.browser.test_memory import at, stored, until  # noqa: F401 - a fixture
from tests.browser.trusted import tablet, tablets_door, trusting  # noqa: F401 - fixtures

THEN = json.loads((Path(__file__).parent / "stored" / "tablet-2026-11-26.json").read_text(encoding="utf-8"))["stores"]
FILL = """([name, rows]) => new Promise((done) => {
  indexedDB.open("tapeseal", 1).onsuccess = ({ target }) => {
    const deed = target.result.transaction(name, "readwrite");
    rows.forEach((row) => deed.objectStore(name).put(row));
    deed.oncomplete = () => done(null);
  };
})"""


def test_what_a_tablet_of_before_held_is_listed_and_kept_once(at, tablets_door):  # noqa: F811
    here, one = at()
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
    one.door = tablets_door(here, port=port)
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
