"""What the pages show: a desk apart says that it is one, an office says which desk each entry came from, and what two desks have otherwise stands side by side."""

import json
import shutil
from hashlib import sha256

import jsonschema
import pytest

import webapp
from demo_precinct.http_window import Window
from tests.archive.small_office import contests
from tests.merging.desks import HOSTILE, DeskApart, bundle, late_call, office
from tests.paper.printed import Printed
from webapp.canvass import event_log
from webapp.commands import main
from webapp.merging import bundle as bundles
from webapp.merging import desk_apart
from webapp.merging.brought import by_desk
from webapp.office.canvassing import logged_events
from webapp.packet import bundle_frames, codes
from webapp.pages.desk.intake import merging
from webapp.record.check_words import check_words
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """Two desks that both took W3 over, each with other seals; north also keyed HM4, south called W5 with hostile words."""
    home = tmp_path_factory.mktemp("pages")
    office(home)
    north, south = DeskApart.made(home, "north"), DeskApart.made(home, "south")
    first = north.packet("W3", contests(20, 12, 4, 40))
    goods(north, "0420")
    north.from_paper("HM4", contests(10, 9, 8, 30))
    shutil.copyfile(north.folder / "in" / f"{first.hex()}.cose", south.folder / "in" / f"{first.hex()}.cose")
    told = {"place": "W3", "number": 1, "digest": first, "amends": None, "proven": True, "length": 0}
    south.keep("packet-received", told)
    goods(south, "0999")
    south.count("W5", contests(5, 4, 1, 12))
    late_call(south, "W5", HOSTILE)
    for desk in (north, south):
        desk.close()
        bundle(home, desk.name)
    return home


def goods(desk, seal):
    desk.keep("containers-in", {"place": "W3", "here": {"C1": True}, "unhurt": {"C1": True}, "on_slip": 1})
    desk.keep("seals-read", {"place": "W3", "seals": {"C1": seal}})


@pytest.fixture
def served(home, tmp_path):
    """A function that serves a copy of one of these folders."""
    shutil.copytree(home, tmp_path / "home")
    running = []

    def serve(name):
        app = webapp.create_app(Settings("office", tmp_path / "home" / name, clock="real"))
        one = serve_in_thread(app)
        running.append((one, app))
        return Window(one.port), app.extensions["room"]

    yield serve
    for one, app in running:
        one.stop()
        app.extensions["room"].close()


def merge(window, path, name="north.bundle"):
    page = window.get("/merge")
    return window.upload(page.form("/merge"), "file", [(name, path.read_bytes())])


def test_the_office_merges_on_its_page_and_says_where_each_thing_came_from(home, served):
    window, room = served("office")
    assert "Not merged yet, nothing of it is here:" in window.get("/totals").text
    page = merge(window, home / "north.bundle")
    assert page.status == 200 and "Desk north: 5 entries merged, to its entry 5, 1 packet." in page.text.replace(
        "  ", " "
    ), page.said()
    assert "nothing new" in merge(window, home / "north.bundle").text
    page = merge(window, home / "south.bundle", "south.bundle")
    assert page.status == 200, page.said()
    for path in ("/totals", "/places", "/canvass?show=all"):
        text = window.get(path).text
        assert "Includes what desks apart kept:" in text and "north, 2 places, to its entry 5" in text, path
    assert "from desk north and desk south" in window.get("/places").text
    assert "From desk north." in window.get("/canvass?show=all").text
    place = window.get("/place/W3").text
    assert "Taken in at desk north and desk south." in place and "Goods were taken over at two desks" in place
    assert "Goods, as desk south has them" in place and "0999" in place
    asked = [one for one in room.questions("W3") if one.name == "desks/seals-read/south"]
    assert asked and "Desk north has C1 0420; desk south has C1 0999." in asked[0].says and asked[0].open
    number = next(number for number, came in room.brought.from_desk.items() if (came.desk, came.number) == ("north", 5))
    entry = window.get(f"/record/{number}").text
    assert "keyed from its paper" in entry and "At desk north, its entry 5." in entry


def test_hostile_words_of_a_desk_are_inert(home, served):
    window, room = served("office")
    assert merge(window, home / "south.bundle", "<b>south</b>.bundle").status == 200
    for path in ("/late/W5", "/record", "/merge"):
        page = window.get(path)
        assert page.status == 200 and "<script>alert(1)" not in page.text and "<b>south</b>" not in page.text


def test_a_bundle_that_is_refused_on_the_page_is_named_on_the_list(home, served):
    window, room = served("office")
    data = (home / "north.bundle").read_bytes()
    page = window.upload(window.get("/merge").form("/merge"), "file", [("torn.bundle", data[:-5])])
    assert page.status == 422 and "torn.bundle is cut off" in page.text
    assert "torn.bundle is cut off" in window.get("/refused").text and not room.brought.from_desk
    empty = window.get("/merge").form("/merge")
    assert "Choose the bundle" in window.send(empty).text


def test_a_desk_apart_says_that_it_is_one_and_what_it_has_not_seen(home, served):
    window, room = served("north")
    for path in ("/totals", "/places", "/canvass"):
        text = window.get(path).text
        assert "This is desk north, apart. It shows what was taken in here alone" in text, path
        assert "what came to the office and to other desks it has not seen" in text
    assert "desk north, apart" in window.get("/intake").text
    for path in ("/posting", "/certify", "/recount", "/totals/since", "/merge", "/posting/ready"):
        page = window.get(path)
        assert page.status == 404 and "This is a desk apart" in page.text, path
    links = [link.href for link in room.menu()]
    assert "/bundle" in links and "/posting" not in links and "/merge" not in links
    page = window.get("/bundle")
    assert "No bundle was made yet" in page.text
    saved = window.send(page.form("/bundle"))
    desk = desk_apart.unproven(bundles.certificate_in(saved.body, "x"))
    found = bundles.opened(saved.body, "x", desk)
    assert found.contents.to == room.ledger.length and [e.kind for e in found.segment.entries][-1] == "bundled"
    assert "0 entries since the last bundle" in window.get("/totals").text
    assert "the receipt of the last bundle" in window.get("/bundle").text
    printed = Printed(window.get("/bundle/receipt.pdf").body).all
    assert check_words(found.digest) in printed and f"north-to-{found.contents.to}.bundle" in printed


def test_a_small_bundle_goes_from_the_desks_screen_to_the_office_as_codes(home, served):
    desk, _ = served("north")
    assert desk.get("/bundle/codes").status == 404, "no bundle was made yet"
    saved = desk.send(desk.get("/bundle").form("/bundle"))
    texts = bundle_frames.split(saved.body)
    page = desk.get("/bundle/codes?code=2")
    needed = len(texts) - bundle_frames.spare(len(texts))
    assert f"Any {needed} of the {len(texts)} are enough" in page.text
    assert "<svg" in desk.get(f"/bundle/code/{len(texts)}.svg").text
    printed = desk.get("/bundle/codes.pdf").body
    assert (
        f"Codes 1 to {len(texts)} of {len(texts)}" in Printed(printed).all
        or "of " + str(len(texts)) in Printed(printed).all
    )
    window, room = served("office")
    page = window.send(window.get("/merge").form("/merge/codes/text"), {"codes": "\n".join([texts[0], "TS1:X"])})
    assert page.status == 422 and "This is not a code of a bundle" in page.text and "more wanted" in page.text
    assert not room.brought.chains
    form = window.get("/merge").form("/merge/codes/file")
    form.action, form.controls = "/merge/codes/frame", {"csrf_token": form.controls["csrf_token"]}
    told = json.loads(window.upload(form, "frame", [("frame.png", codes.as_png(texts[-1], 4))]).body)
    assert told["read"] == 2 and not told["complete"] and "more wanted, any of these: 2, 3," in told["says"]
    page = window.send(window.get("/merge").form("/merge/codes/clear"))
    assert "No code of a bundle was read yet." in page.text
    page = window.upload(
        window.get("/merge").form("/merge/codes/file"), "files", [("page.png", codes.as_png("TS1:X", 4))]
    )
    assert page.status == 422 and "shows no code of a bundle" in page.text
    page = window.upload(window.get("/merge").form("/merge/codes/file"), "files", [("codes.pdf", printed)])
    assert "Enough codes are in" in page.text, page.said()
    wrong = window.send(page.form("/merge/codes"), {"receipt_words": check_words(bytes(32))})
    assert wrong.status == 422 and "is not the bundle that the receipt names" in wrong.text
    page = window.send(wrong.form("/merge/codes"), {"receipt_words": check_words(sha256(saved.body).digest())})
    assert "Desk north:" in page.text and "as on its receipt" in page.text and "north" in room.brought.chains
    assert "No code of a bundle was read yet." in page.text
    assert window.get("/bundle/codes").status == 404, "an office makes no bundle of a desk"


def test_a_bundle_that_is_too_large_for_codes_goes_on_a_stick(home, served):
    desk, room = served("north")
    (room.folder / "bundle-newest.bundle").write_bytes(bytes(bundle_frames.LARGEST + 1))
    text = desk.get("/bundle").text
    assert "The last bundle has more bytes than the 39,300 that codes carry: bring it on a stick." in text
    assert desk.get("/bundle/codes").status == 404 and desk.get("/bundle/codes.pdf").status == 404


def test_a_disk_that_takes_nothing_more_gives_the_bundle_all_the_same(home, served, monkeypatch):
    desk, room = served("north")
    desk.send(desk.get("/bundle").form("/bundle"))

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(merging.plain_file, "write", full)
    saved = desk.send(desk.get("/bundle").form("/bundle"))
    assert saved.status == 200 and saved.body.startswith(bundles.MAGIC)
    assert desk.get("/bundle/receipt.pdf").status == 404 and desk.get("/bundle/codes").status == 404


def test_a_bundle_that_is_not_the_one_on_its_receipt_is_not_merged(home, served):
    window, room = served("office")
    data = (home / "north.bundle").read_bytes()
    form = window.get("/merge").form("/merge")
    page = window.upload(form, "file", [("north.bundle", data)], words=check_words(bytes(32)))
    assert page.status == 422 and "is not the bundle that the receipt names" in page.text and not room.brought.chains
    assert check_words(bytes(32)) in page.text, "what was typed stays"
    page = window.upload(
        page.form("/merge"), "file", [("north.bundle", data)], words=check_words(sha256(data).digest())
    )
    assert page.status == 200 and "as on its receipt" in page.text


def test_a_restart_reads_the_same(home, served, tmp_path):
    files = [str(home / f"{name}.bundle") for name in ("south", "north")]
    target = tmp_path / "home" / "office"
    assert main(["office", "merge", str(target), *files]) == 0
    window, room = served("office")
    assert (
        room.buildings.came_from("W3") == "desk north and desk south"
        and room.buildings.came_from("HM4") == "desk north"
    )
    assert room.added.counts and window.get("/counts/W5").status == 200


def test_the_event_log_has_each_desk_as_a_device_of_its_own(home, served, shared):
    """Source: NIST SP 1500-101, its JSON schema (draft 4)."""
    window, room = served("office")
    for name in ("north", "south"):
        merge(window, home / f"{name}.bundle", f"{name}.bundle")
    own, desks = by_desk(room.ledger.entries())
    people = {official.id: official for official in room.people.everybody}
    found = logged_events.devices(room.roster, room.tray, own, people, room.place, desks)
    log = event_log.log(found, "tarn-2026-11-03", "2026-11-12T16:05:00-06:00", "1")
    schema = json.loads(shared("standards/nist/NIST_V1_election_event_logging.json").read_text(encoding="utf-8"))
    assert list(jsonschema.Draft4Validator(schema).iter_errors(log)) == []
    devices = {one["Id"]: one["Event"] for one in log["Device"]}
    for name in ("north", "south"):
        desk = bundles.opened((home / f"{name}.bundle").read_bytes(), name, room.buildings.issued()[name][-1])
        kinds = sorted(one.kind for one in desk.segment.entries)
        assert sorted(event["Id"] for event in devices[f"desk-{name}"]) == kinds and len(kinds) > 4
    assert {event["Id"] for event in devices["office-tarn"]} <= {"record-opened", "started", "merged"}
    assert "receiver/M+receiver/P" in {event["UserId"] for event in devices["desk-north"]}
    numbers = sorted(int(event["Sequence"]) for events in devices.values() for event in events)
    assert numbers == list(range(1, len(numbers) + 1))
