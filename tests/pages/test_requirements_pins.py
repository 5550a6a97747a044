"""Requirements about signatures and PINs, held on the pages themselves: R1, R2, R3, R4, R7. Each number is explained in tests/REQUIREMENTS.md."""

import re

import pytest

from tests.pages.asking import posted
from tests.pages.tablets import admitted, asked, tablets_door
from tests.pages.walk import pages_of
from webapp.precinct.checklist import checklist
from webapp.precinct.day import seats
from webapp.record.refusals import RecordRefused

WRONG = "918273"


def vouched(here, first: str, second: str, **what):
    """The page after both tried to vouch."""
    form = here.form("/people/vouch")
    values = {"why": "walk-in", "name": "Ottilie Brandt", "party": "P", "role": "inspector"} | what
    page = here.window.send(form, here.signed({k: v for k, v in values.items() if k in form.controls}, first))
    assert page.path.startswith("/sign/"), page.said()
    return here.second(page, second)


def sworn_in(here, person: str, pin: str):
    form = here.form(f"/people/oath/{person}")
    return here.window.send(
        form,
        {name: value for name, value in {"oath": "yes", "pin": pin, "pin_again": pin}.items() if name in form.controls},
    )


def test_r1_no_step_for_two_parties_is_complete_with_one_person_or_with_one_party(scene):
    """Over every step and note of the place as shipped, with everybody under oath."""
    here = scene("voting")
    people, rules = here.room.people, here.room.rules
    working = people.working()
    pairs = {step.id: step.signs for step in checklist.steps(here.place) if step.signs == "P" or "other" in step.signs}
    assert len(pairs) > 20
    for step, weight in pairs.items():
        for first in working:
            assert not seats.complete(weight, (first,), rules, working), step
            assert not seats.complete(weight, (first, first), rules, working), step
            for second in working:
                if first.party == second.party:
                    assert not seats.complete(weight, (first, second), rules, working), (step, first.id, second.id)


def test_r1_a_second_signer_of_the_same_party_is_not_even_offered_and_refused_when_sent(scene):
    here = scene("line-end")
    here.pass_time(1)
    here.hold()
    here.crew.do("line-end")
    page, before = here.first("polls-closed"), here.length
    parties = {o.id: o.party for o in here.place.officials}
    offered = page.form(page.path).controls["signer"].options
    assert offered and all(parties[person] != parties["lindqvist"] for person in offered)
    mates = [person for person, party in parties.items() if party == parties["lindqvist"]]
    assert len(mates) > 1
    for person in [*mates, "nobody"]:
        answer = here.second(page, person, pin=here.pins.get(person, WRONG))
        assert answer.status == 422 and answer.said(), person
    assert here.length == before


def test_r2_holding_a_tablet_and_having_signed_before_sign_nothing(scene):
    """Neither the PIN with which a tablet was taken nor the one of the page before counts for the next signature."""
    here = scene("line-end")
    here.pass_time(1)
    here.hold("lindqvist")
    here.crew.do("line-end")
    here.await_hour("polls-closed")
    form = here.form("/step/polls-closed", "/step/")
    before = here.length
    page = here.window.send(form, {**here.filled(form, "polls-closed"), "signer": "lindqvist", "pin": ""})
    assert page.status == 422 and "Enter the PIN of Ada Lindqvist" in page.said()
    page = here.window.send(form, here.signed(here.filled(form, "polls-closed"), "lindqvist"))
    answer = here.window.send(page.form(page.path), {"signer": "okafor", "pin": ""})
    assert answer.status == 422 and "Enter the PIN of Benedict Okafor" in answer.said()
    answer = here.second(page, "okafor", pin=here.pins["lindqvist"])
    assert answer.status == 422 and "wrong try 1" in answer.said()
    assert set(here.kinds(before)) == {"pin-failed"}


def test_r2_every_page_with_a_signature_asks_for_its_pin_and_names_nobody_beforehand(scene):
    here = scene("voting")
    here.hold()
    asking = [
        (path, form)
        for path, page in pages_of(here, here.window)
        if "signer" in page.text
        for form in page.forms
        if "signer" in form.controls
    ]
    assert len(asking) > 15
    for path, form in asking:
        assert form.controls["pin"].value == "" and form.controls["signer"].value == "", path


def test_r3_vouchers_of_one_party_open_nothing_and_two_parties_open_one_pin_only(scene):
    here = scene("voting")
    before = here.length
    page = vouched(here, "lindqvist", "tanaka")  # of one party
    assert page.status == 422 and "count as one party" in page.said() and here.length == before
    assert not here.room.people.walk_ins
    assert vouched(here, "lindqvist", "okafor").status == 200
    person = here.room.people.walk_ins[-1].id
    assert sworn_in(here, person, "664291").status == 200
    assert here.window.get(f"/people/oath/{person}").form(f"/people/oath/{person}").controls.get("pin_again") is None, (
        "the PIN there is, and no second one"
    )
    page = sworn_in(here, person, "775302")
    assert (
        page.status == 422
        and not here.room.gate.pins.holds(person, "775302")
        and here.room.gate.pins.holds(person, "664291")
    )


def test_r4_a_pin_is_typed_unseen_posted_and_never_remembered_by_the_browser(scene):
    """`autocomplete=off` and `type=password`: HTML, WHATWG, section 4.10.18.7; `no-store`: RFC 9111, 5.2.2.5."""
    here = scene("line-end")
    here.hold()
    seen = 0
    for path, page in pages_of(here, here.window, kinds=False):
        for form in re.findall(r"<form.*?</form>", page.text, re.S):
            fields = re.findall(r"<input[^>]*\bname=\"[^\"]*pin(?:_again)?\"[^>]*>", form)
            seen += len(fields)
            for field in fields:
                assert 'type="password"' in field and 'autocomplete="off"' in field and "value=" not in field, (
                    path,
                    field,
                )
            if fields:
                assert re.match(r"<form[^>]*\bmethod=\"post\"", form) and page.headers["cache-control"] == "no-store", (
                    path
                )
    assert seen > 20


def test_r4_no_answer_to_a_pin_repeats_it_not_in_its_words_its_headers_or_its_address(scene):
    here = scene("sworn")
    with tablets_door(here) as port:
        asked(here, port)
        for name, send in ways(here, None):
            page = send(WRONG)
            assert WRONG not in page.text and WRONG not in repr(page.headers) and WRONG not in page.path, name


def test_r4_what_nobody_foresaw_writes_no_pin_on_the_laptops_screen(scene, monkeypatch, capfd):
    here = scene("voting")
    form = here.form("/tablet", "/tablet/take")

    def falls(*_):
        raise ZeroDivisionError("the disk has vanished")

    monkeypatch.setattr(type(here.room.gate), "check_pin", falls)
    page = here.window.send(form, here.signed({}, "lindqvist"))
    out, err = capfd.readouterr()
    assert page.status == 500 and "ZeroDivisionError" in err, "the trace is on the laptop's screen"
    assert here.pins["lindqvist"] not in out + err + page.text


def ways(here, tablet):
    """(name, function: PIN -> page) for every way in which a page takes a person's PIN at this moment."""

    def one(path, action, **values):
        def send(pin):
            form = here.form(path, action)
            named = {name: value for name, value in values.items() if name in form.controls}
            return here.window.send(form, {**named, "signer": "okafor", "pin": pin})

        return send

    yield "taking a tablet", one("/tablet", "/tablet/take")
    yield (
        "a note of one signer",
        one(
            "/note/incident",
            "/note/incident",
            where="entrance",
            what="A quarrel about the queue.",
            told="the duty clerk",
        ),
    )
    yield "vouching", one("/people/vouch", "/people/vouch", why="lost-pin", person="tanaka")
    yield "admitting a tablet", one("/tablets", "/tablets/A/admit")
    yield "striking one off", one("/tablets", "/tablets/A/strike", why="lost")

    def second(pin):
        form = here.form("/people/vouch")
        page = here.window.send(
            form, {"why": "lost-pin", "person": "tanaka", "signer": "lindqvist", "pin": here.pins["lindqvist"]}
        )
        return here.second(page, "okafor", pin=pin)

    def held(path, **more):
        def send(pin):
            return posted(here.window, path, {"clock": here.now, "entries": [], "signer": "okafor", "pin": pin, **more})

        return send

    yield "the second signature", second
    yield "keeping what was held", held("/held/keep")
    if tablet is not None:
        yield (
            "a tablet over the network",
            lambda pin: tablet.send(tablet.get("/tablet").form("/tablet/take"), {"signer": "okafor", "pin": pin}),
        )


def test_r7_every_way_of_typing_a_wrong_pin_makes_one_entry_with_person_tablet_and_time(scene):
    here = scene("sworn")
    with tablets_door(here) as port:
        asked(here, port)
        tablet = admitted_as_b(here, port)
        own = here.room.gate.sessions
        window = own.get(
            next(v for k, v in here.window.cookies.items() if not k.endswith(("form", "light"))), here.now
        ).tablet
        for name, send in ways(here, tablet):
            here.pass_time(1)
            over = here.room.gate.throttle._since  # the waits after a wrong try, which no clock ends
            over.update(dict.fromkeys(over, -1e9))
            before = here.length
            page = send(WRONG)
            entries = list(here.room.ledger.entries(after=before))
            assert page.status == 422 and [e.kind for e in entries] == ["pin-failed"], (name, page.said())
            where = "B" if name == "a tablet over the network" else window
            assert (
                entries[0].body == {"person": "okafor", "tablet": where}
                and entries[0].kept == here.now
                and not entries[0].signers
            ), name


def admitted_as_b(here, port):
    tablet = admitted(here, port)
    assert tablet.letter == "B"
    return tablet


def test_r7_a_wrong_slip_code_is_an_entry_too_without_the_code(scene):
    here = scene("dawn")
    form = here.form("/step/arrivals", "/step/arrivals")
    here.window.send(form, here.filled(form, "arrivals"))
    before = here.length
    code = here.codes["okafor"]
    page = here.window.send(
        here.form("/people/oath/lindqvist"),
        {"oath": "yes", "code": code, "pin": here.pins["lindqvist"], "pin_again": here.pins["lindqvist"]},
    )
    entries = list(here.room.ledger.entries(after=before))
    assert page.status == 422 and [(e.kind, e.body["person"]) for e in entries] == [("pin-failed", "lindqvist")]
    assert code not in str(entries[0]) and entries[0].body["tablet"].startswith("L")


def test_r7_a_disk_that_takes_no_entry_lets_no_try_pass_unsaid(scene, monkeypatch):
    """Where the entry cannot be kept, the page says so beside the refusal."""
    here = scene("voting")
    monkeypatch.setattr(
        type(here.room), "laptop_says", lambda *_: (_ for _ in ()).throw(RecordRefused("The disk is full."))
    )
    page = here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "okafor", "pin": WRONG})
    assert page.status == 422 and "wrong try 1" in page.said() and "The disk is full." in page.said()


@pytest.mark.parametrize("tries", [10])
def test_r7_a_try_that_is_not_looked_at_is_no_entry(scene, tries):
    """Else whoever hammers on a tablet fills the record: what was refused unseen proves nothing about the PIN."""
    here = scene("voting")
    before = here.length
    for _ in range(tries):
        here.window.send(here.form("/tablet", "/tablet/take"), {"signer": "okafor", "pin": WRONG})
    assert here.kinds(before) == ["pin-failed"] * 4
