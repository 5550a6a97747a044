"""A tablet comes with a code, is admitted at the laptop, is struck off; nothing of the record before."""

import http.client
import json
import re
from urllib.parse import urlencode

import pytest

from demo_precinct.http_window import Window
from tests.pages.asking import asked as contacted
from tests.pages.asking import posted
from tests.pages.tablets import admitted, asked, invited, tablets_door
from tests.pages.walk import pages_of

LAPTOPS = ("/tablets", "/held/codes", "/record/export")  # pages of the laptop's own door


@pytest.fixture
def place(scene):
    here = scene("sworn")
    with tablets_door(here) as port:
        here.port = port
        yield here


def test_a_tablet_is_admitted_by_one_person_at_the_laptop_and_kept(place):
    before = place.length
    tablet = admitted(place, place.port)
    entry = next(e for e in place.room.ledger.entries(after=before) if e.kind == "paired")
    assert entry.body == {"tablet": "A", "level": "full"} and [s.person for s in entry.signers] == ["lindqvist"]
    page = tablet.get("/now")
    assert page.status == 200 and page.path == "/now" and '<p class="gut">A</p>' in tablet.get("/tablet").text
    assert "Tablet admitted" in place.window.get("/record").text


def test_nothing_but_the_pairing_page_before_somebody_admits_it(place):
    tablet = asked(place, place.port)
    stranger = Window(place.port)
    place.windows.append(stranger)
    for window in (tablet, stranger):
        for path in (
            "/now",
            "/steps",
            "/record",
            "/people",
            "/note/spoiled",
            "/tablet",
            "/tablets",
            "/packet/packet.cose",
            "/nothing-here",
        ):
            page = window.get(path)
            assert page.path == "/pair" and "entry" not in page.text.lower().replace("entry_id", ""), path
        assert window.post("/note/spoiled", []).status in (400, 403)
    assert place.kinds()[-1] != "paired" and stranger.cookies.keys() == {next(iter(stranger.cookies))}, (
        "a visit alone makes no tablet"
    )
    assert len(place.room.gate.tablets.all()) == 1


def test_a_script_that_asks_before_admission_is_told_in_one_sentence(place):
    tablet = asked(place, place.port)
    for accept in ("*/*", "application/json"):
        page = tablet._follow("GET", "/contact", None, {"Accept": accept})
        assert (
            page.status == 403
            and list(json.loads(page.body)) == ["says"]
            and json.loads(page.body)["says"].startswith("This tablet is not admitted.")
        )
    token = tablet.get("/pair").text.partition('name="csrf_token"')[2]
    assert not token, "a tablet that waits is given no token for anything"


def test_a_tablet_whose_browser_was_ended_is_still_the_same_tablet(place):
    """A cookie without Max-Age ends with the browser (RFC 6265, 5.3), and with it the way home of what the tablet holds."""
    stranger = Window(place.port)
    place.windows.append(stranger)
    sent = urlencode(stranger.get("/pair").form("/pair").filled({"code": invited(place)})).encode()
    line = http.client.HTTPConnection("127.0.0.1", place.port)
    line.request(
        "POST",
        "/pair",
        sent,
        {
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": "; ".join(f"{k}={v}" for k, v in stranger.cookies.items()),
        },
    )
    answer = line.getresponse()
    given = [value for name, value in answer.getheaders() if name.lower() == "set-cookie" and "-form=" not in value]
    line.close()
    assert answer.status == 303 and len(given) == 1 and "Max-Age=1209600;" in given[0]


def test_a_code_opens_once_for_two_minutes_and_five_tries(place):
    gate = place.room.gate
    code = invited(place)
    asked(place, place.port, code=f"{code[:4]} {code[4:]}")
    late = asked(place, place.port, code=code)
    assert late.said.status == 422 and "is not the code that the laptop shows now" in late.said.text
    code = invited(place)
    wrong = f"{(int(code) + 1) % 10**8:08d}"
    for _ in range(5):
        assert asked(place, place.port, code=wrong).said.status == 422
    assert asked(place, place.port, code=code).said.status == 422, "after five wrong tries the code is gone"
    code = invited(place)
    gate.tablets._monotonic = lambda real=gate.tablets._monotonic: real() + 121
    assert asked(place, place.port, code=code).said.status == 422
    assert len(gate.tablets.all()) == 1


def test_letters_are_never_given_twice_and_never_the_laptops(place):
    tablets = [admitted(place, place.port) for _ in range(3)]
    assert [t.letter for t in tablets] == ["A", "B", "C"]
    strike(place, "B")
    assert admitted(place, place.port).letter == "D"
    letters = {place.room.gate.tablets.ask(place.room.gate.tablets.invite(), "full", place.now)[0] for _ in range(30)}
    assert len(letters) == 30 and not letters & {"L", "I", "O"}


def strike(place, letter: str, why: str = "put-away", person: str = "lindqvist"):
    form = place.window.get("/tablets").form(f"/tablets/{letter}/strike")
    return place.window.send(form, {"why": why, "signer": person, "pin": place.pins[person]})


def test_a_tablet_that_holds_nothing_is_struck_off_by_one_person(place):
    tablet = admitted(place, place.port, level="online")
    strike(place, "A")
    assert place.kinds()[-1] == "revoked"
    assert "removed" in place.window.get("/tablets").text
    page = tablet.get("/now")
    assert page.path == "/pair" and "it was removed at the laptop" in page.text and "/now" not in page.text
    assert tablet.post("/note/spoiled", []).status in (400, 403)


def test_a_tablet_that_may_hold_entries_is_struck_off_by_two_parties(place):
    admitted(place, place.port, level="full")
    page = strike(place, "A", "lost")
    assert page.path.startswith("/sign/"), page.said()
    assert place.kinds()[-1] == "paired"
    assert "lost, or its battery died" in page.text
    page = place.second(page)
    entry = list(place.room.ledger.entries())[-1]
    assert (
        entry.kind == "revoked"
        and entry.body == {"tablet": "A", "why": "lost", "held": None}
        and len({s.party for s in entry.signers}) == 2
    )
    assert place.room.tablets_owed() == []


def test_the_second_party_may_sign_on_a_tablet_and_goes_on_there(place):
    admitted(place, place.port, level="full")
    other = admitted(place, place.port, level="full")
    page = strike(place, "A", "lost")
    answer = place.second(other.get(page.path), "okafor", window=other)
    assert place.kinds()[-1] == "revoked" and answer.status == 200 and answer.path == "/tablet"


def test_a_wrong_pin_admits_nobody(place):
    tablet = asked(place, place.port)
    page = place.window.send(
        place.window.get("/tablets").form("/tablets/A/admit"), {"signer": "lindqvist", "pin": "918273"}
    )
    assert page.status == 422 and place.kinds()[-1] == "pin-failed" and tablet.get("/now").path == "/pair"


def test_another_level_found_later_is_an_entry(place):
    tablet = admitted(place, place.port, level="online")
    token = re.search(r'name="csrf_token" value="([^"]+)"', tablet.get("/tablet").text)[1]
    assert tablet.post("/tablet/level", [("csrf_token", token), ("level", "full")]).status == 200
    assert list(place.room.ledger.entries())[-1].body == {"tablet": "A", "level": "full"}
    before = place.length
    tablet.post("/tablet/level", [("csrf_token", token), ("level", "full")])
    assert place.length == before


def test_a_holder_lapses_on_a_tablet_that_only_asks_by_itself(place):
    """Contact every minute and the list of what is held are the tablet's own asking; a hand that notes something keeps its holder."""
    tablet = admitted(place, place.port)
    take = tablet.get("/tablet").form("/tablet/take")
    tablet.send(take, {"signer": "okafor", "pin": place.pins["okafor"]})
    holder = lambda: place.room.gate.tablets.get("A").holder  # noqa: E731
    place.pass_time(20)
    tablet.send(tablet.get("/tablet").form("/tablet/light"), {})
    place.pass_time(20)
    assert tablet.get("/tablet").status == 200 and holder() == "okafor"
    for _ in range(4):
        place.pass_time(8)
        contacted(tablet, held=0, now=place.now)
        posted(tablet, "/held/look", {"clock": place.now, "entries": []})
    assert "Nobody holds this tablet" in tablet.get("/tablet").text and holder() is None


def test_each_door_answers_its_own_pages_only(place):
    assert place.window.get("/pair").status == 404
    tablet = admitted(place, place.port)
    assert tablet.get("/tablets").path == "/tablet"
    token = tablet.get("/tablet").form("/tablet/light").controls["csrf_token"].value
    for path in ("/tablets/code", "/tablets/A/admit", "/tablets/A/strike"):
        assert tablet.post(path, [("csrf_token", token)]).status == 404, path
    assert place.window.get("/tablets").status == 200


def test_an_admitted_tablet_sees_every_page_the_laptop_does(place):
    tablet = admitted(place, place.port)
    for path, page in pages_of(place, tablet, routes=True):
        if path not in ("/pair", *LAPTOPS):
            assert page.status == place.window.get(path).status, path


@pytest.mark.parametrize("kind", ["paired", "revoked"])
def test_a_power_cut_between_the_record_and_the_gate_leaves_the_record_right(place, kind):
    """The entry is on the disk, the gate was not told: after the start both say the same."""
    asked(place, place.port)
    if kind == "paired":
        place.room.gate.tablets.admit = lambda _: None
    form = place.window.get("/tablets").form("/tablets/A/admit")
    place.window.send(form, {"signer": "lindqvist", "pin": place.pins["lindqvist"]})
    if kind == "revoked":
        place.room.gate.tablets.strike_off = lambda _: None
        place.second(strike(place, "A", "lost"))
    assert place.kinds()[-1] == kind
    place.restart()
    one = place.room.gate.tablets.get("A")
    assert (one.admitted, one.revoked) == (True, kind == "revoked")


def test_a_letter_that_another_laptop_gave_is_not_given_again(place):
    """A spare laptop goes on with the record and a gate of its own, which knows no tablet."""
    admitted(place, place.port)
    with place.room.gate._drawer.change() as db:
        db.execute("DELETE FROM sessions WHERE tablet = 'A'")
        db.execute("DELETE FROM tablets")
    assert admitted(place, place.port).letter == "B"


def test_a_refusal_stands_in_the_form_it_is_about_and_keeps_who_was_chosen(place):
    """Three tablets, each with a form to remove it, and one that waits with one more: ids are unique, and the refusal leads into the form that was sent."""
    admitted(place, place.port, level="online")
    admitted(place, place.port, level="online")
    asked(place, place.port)
    wrong = {"signer": "okafor", "pin": "111222"}
    for address, own in (
        ("/tablets/B/strike", "strike-B"),
        ("/tablets/C/strike", "strike-C"),
        ("/tablets/C/admit", "admit-C"),
    ):
        form = place.window.get("/tablets").form(address)
        page = place.window.send(form, wrong | {name: "broken" for name in ("why",) if name in form.controls})
        assert page.status == 422 and f'href="#f-{own}-pin"' in page.text, page.said()
        assert page.form(address).controls["signer"].value == "okafor"
        others = {"/tablets/A/strike", "/tablets/B/strike", "/tablets/C/strike", "/tablets/C/admit"} - {address}
        assert all(page.form(other).controls["signer"].value == "" for other in others)
        ids = re.findall(r'\sid="([^"]+)"', page.text)
        assert len(ids) == len(set(ids)) and f"f-{own}-pin" in ids
    page = place.window.send(place.window.get("/tablets").form("/tablets/B/strike"), {})
    assert "Select why tablet B is removed." in page.said() and 'href="#f-strike-B-why"' in page.text
