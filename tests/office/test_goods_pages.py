"""The goods of a place on one page, its tapes on another, the receipt on a third: six PINs, the same entries, nothing given away."""

from demo_precinct.office_night import Brought, DeskAnswers
from tests.office.test_counts_page import minute
from tests.office.test_desk import with_seals

SEALS = {"C1": "7700000"}


def brought(night):
    """What lies on the table, read as the packet says."""
    return DeskAnswers(
        Brought("W3", [], seals_of(night), {"T1": 265, "T2": 252}, 2, 1, 5, containers=7), night.desk.wall()
    )


def seals_of(night) -> dict[str, str]:
    place = night.room.roster.places["W3"]
    core = night.room.tray.sent("W3").core if night.room.tray.counts("W3") else {"containers": []}
    return {row["id"]: row["seal"] or "" for row in core["containers"]} or {c.id: "1" for c in place.containers}


def page_of(night, name: str, **own: str):
    """One page filled in from the table and signed by two; `own` puts other values."""
    minute(night)
    night.crew.answer = brought(night)
    path = f"/place/W3/{name}"
    form = night.window.get(path).form(path)
    values = night.crew.values(form, "", "") | own
    page = night.window.send(form, values | {"signer": "calloway", "pin": night.crew.pins["calloway"]})
    if not page.path.startswith("/sign/"):
        return page
    return night.window.send(page.form(page.path), {"signer": "durand", "pin": night.crew.pins["durand"]})


def test_three_pages_and_six_pins_take_a_place_in(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    shown = night.window.get("/place/W3").text
    assert "Goods on the table, on one page" in shown and "Tapes, on one page" not in shown
    before = len(night.kinds)
    for name in ("goods", "tapes", "handed-over"):
        page = page_of(night, name)
        assert page.path == "/place/W3", (name, page.said())
    kept = [entry for entry in list(night.room.ledger.entries())[before:] if entry.kind != "started"]
    assert [entry.kind for entry in kept] == [
        "carriers-in", "receivers", "containers-in", "seals-read", "memory-in", "envelopes-in",
        "tape-to-packet", "tape-to-packet", "ask-now", "receipt",
    ]  # fmt: skip
    assert all({s.party for s in entry.signers} == {"M", "P"} for entry in kept)
    assert "received" in night.room.state("W3")[1]


def test_no_page_shows_a_seal_or_an_envelope_of_the_packet_before_the_goods_are_signed(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    for path in ("/place/W3", "/place/W3/goods", "/packets/W3", "/questions/W3", "/receipt/W3", "/places", "/late"):
        assert SEALS["C1"] not in night.window.get(path).text, path
    assert "not due yet" in night.window.get("/place/W3/handed-over").text
    assert "not due yet" in night.window.get("/place/W3/tapes").text


def test_a_mistake_in_one_step_keeps_none_and_loses_nothing(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    before = night.kinds
    page = page_of(night, "goods", **{"containers-in/on_slip": "seven", "seals-read/seals.C1": "99-A"})
    assert page.status == 422 and 'value="seven"' in page.text and 'value="99-A"' in page.text
    assert "Enter how many containers the carry slip names" in page.text and night.kinds == before


def test_what_differs_on_one_page_is_the_same_question_as_step_by_step(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    page_of(night, "goods", **{"seals-read/seals.C1": "1234", "memory-in/loaded": "1"})
    asked = {one.name for one in night.room.questions("W3") if one.open}
    assert {"seal/C1", "memory"} <= asked and night.room.state("W3")[1].startswith("held out of the totals")
    page_of(night, "tapes", **{"tape-to-packet:T1/public": "999"})
    assert "tape/T1" in {one.name for one in night.room.questions("W3") if one.open}


def test_a_carrier_who_is_not_on_the_roll_is_named_on_page_and_receipt_and_asked_about(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    deputy = {"carriers-in/second_carrier": "not-on-roll"}
    page = page_of(night, "goods", **deputy)
    assert page.status == 422 and "who sent them" in page.text and "carriers-in" not in night.kinds
    said = "Deputy of the sheriff, no party, sent by the clerk."
    page = page_of(night, "goods", **deputy, **{"carriers-in/not_on_roll": said})
    assert page.path == "/place/W3", page.said()
    receipt = night.window.get("/receipt/W3").text
    assert said in receipt and "not on the roll of the place" in receipt
    asked = next(one for one in night.room.questions("W3") if one.name == "carriers")
    assert asked.open and "One of them is a carrier who is not on the roll" in asked.says


def test_who_carried_the_goods_signs_for_none_of_them_at_the_desk(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    before = night.kinds
    said = {"carriers-in/second_carrier": "not-on-roll", "carriers-in/not_on_roll": "Ines Calloway, sent by us."}
    page = page_of(night, "goods", **said)
    assert page.status == 422 and "Ines Calloway carried these goods" in page.text, page.said()
    said["carriers-in/not_on_roll"] = "Jasper Durand, sent by us."
    page = page_of(night, "goods", **said)
    assert page.status == 422 and "Jasper Durand carried these goods" in page.text
    assert set(night.kinds[len(before) :]) <= {"pin-failed"}


def test_every_time_at_the_office_stands_with_its_day(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    page_of(night, "goods")
    number = night.room.ledger.length
    for path in ("/record", f"/record/{number}", "/place/W3"):
        assert "4 Nov, 0" in night.window.get(path).text or "3 Nov, 2" in night.window.get(path).text, path
    for path in ("/record", "/place/W3", "/canvass", "/totals", "/places", "/receipt/W3", "/late"):
        head = night.window.get(path).text
        assert night.room.place.election in head and "Election day: Tue 3 Nov 2026" in head, path
