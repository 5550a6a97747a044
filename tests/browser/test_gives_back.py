"""A spare laptop under the same name, in a real browser: the tablet gives back, byte for byte, what the stick lacked, and raises no alarm."""

from tests.browser.page_check import checked
from tests.browser.test_memory import Tablet, at, laptop_restarts, stored, until  # noqa: F401 - a fixture among them
from tests.browser.trusted import tablet, tablets_door, trusting  # noqa: F401 - fixtures
from webapp.record import restoration
from webapp.record.backup import stored_after
from webapp.record.entry import Act, Claim, Signer
from webapp.record.ledger import Ledger
from webapp.version import VERSION

FACTS = {"seen": None, "source": "stick", "stick": bytes(16), "torn": 0, "laptop": "dead", "kit": "spare"}


def test_a_tablet_gives_a_spare_laptop_what_the_stick_lacked(at, tablets_door, window):  # noqa: F811
    here, one = at()
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
    laptop_restarts(here, one, tablets_door, spare)
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


def test_a_tablet_gives_back_to_a_new_record_only_once_two_have_signed_for_it(at, tablets_door):  # noqa: F811
    here, one = at()
    one.note("/note/left")
    one.page.wait_for_url("**/note?kept=*")
    mine = {entry.number for entry in here.room.ledger.entries() if entry.tablet == one.letter}
    bytes_of = {k.number: k.data for k in stored_after(here.folder / "record.db", 0, 10_000) if k.number in mine}
    one.go("/now")
    until(lambda: set(stored(one.page, "mine")) >= set(map(str, mine)))
    old, saw = here.room.ledger.record_id, one.remembers(max(mine))["number"]

    new = here.folder.parent / "new.db"
    body = {"place": here.place.id, "place_digest": here.place.digest, "mode": "practice", "version": VERSION}
    body |= {"clock": "scripted", "instead_of": True, "kit": "spare", "seen": None, "laptop": "lost"}
    with Ledger.create(new) as ledger:
        ledger.append(Act(Claim(bytes(16), "record-opened", body, here.now, "L", 0), (), here.now), now=here.now)
    laptop_restarts(here, one, tablets_door, new)
    one.go("/now")
    one.page.wait_for_url("**/alarm")
    one.page.get_by_text("This tablet and the laptop tell different histories").wait_for()
    assert not one.page.locator("[data-give-back]").is_visible() and not here.room.day.returned

    body = {"record": old, "run": 1, "number": saw, "why": "destroyed"}
    two = tuple(Signer(*who, "pin") for who in (("lindqvist", "chair", "M"), ("okafor", "witness", "P")))
    here.room.keep([Claim(bytes(15) + b"1", "new-record", body, here.now, "L1", 0)], two)
    one.go("/alarm")
    assert not here.room.day.returned
    one.page.locator("[data-give-back]").click()

    until(lambda: len(here.room.day.returned) == len(mine))
    assert {k.body["was"]: k.body["entry"] for k in here.room.day.returned.values()} == bytes_of
    one.page.wait_for_url("**/ready")
    until(lambda: stored(one.page, "saw").get("newest", {}).get("record") == here.room.ledger.record_id.hex())
    assert "alarm" not in stored(one.page, "saw")
