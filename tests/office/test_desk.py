"""The desk's steps from the carriers to the opened boxes; and no seal number of the packet before the desk has read its own."""

import pytest

from demo_precinct.http_window import Stuck
from demo_precinct.office_night import Brought, DeskAnswers
from tests.office.conftest import tiny
from webapp.office.totals import totals
from webapp.precinct.checklist import checklist

NUMBERS = {
    c: f"77{i:03d}00"
    for i, c in enumerate(("C1", "C2", "C3", "C4", "E1", "E2", "M1", "T1-bag", "T1-case", "T2-bag", "T2-case", "case"))
}


def with_seals(night) -> dict:
    """The packet's containers under numbers that stand nowhere else on a page."""
    containers = [{"id": c, "seal": n, "ballots": 250 if c == "C1" else None} for c, n in NUMBERS.items()]
    return {"containers": containers}


def keys(night, place="W3") -> list[str]:
    return [t.key for t in night.room.desk_tasks(place, night.now)]


def do(night, key, place="W3", **own):
    """One desk step, signed by as many as it needs."""
    night.crew.answer = DeskAnswers(Brought(place, [], NUMBERS, {"T1": 265, "T2": 252}), night.desk.wall())
    page = night.window.get(f"/place/{place}/{key}")
    form = page.form(f"/place/{place}/{key}")
    step, _, at = key.partition(":")
    return night.crew.signed(page, form, night.crew.values(form, step, at) | own)


def answer_all(night, place="W3"):
    """One answer to every open question, signed by two parties."""
    page = night.window.get(f"/questions/{place}")
    form, pins = page.form(f"/questions/{place}"), night.crew.pins
    said = {"answer": "Looked at together with the carriers.", "outcome": "explained", "signer": "calloway"}
    page = night.window.send(form, {**said, "ask": form.controls["ask"].options, "pin": pins["calloway"]})
    assert page.path.startswith("/sign/"), page.said()
    return night.window.send(page.form(page.path), {"signer": "durand", "pin": pins["durand"]})


def test_no_page_or_answer_holds_a_seal_number_of_the_packet_before_the_seals_on_the_table_were_read(night):
    night.hold()
    bodies = []
    once = night.window._once

    def seen(*words):
        page = once(*words)
        bodies.append((page.path, page.body))
        return page

    night.window._once = seen
    night.take_in("W3", **with_seals(night))
    other = night.another()
    night.upload(("packet.cose", b"".join(night.seal["W3"](**with_seals(night)))))
    for key in keys(night):
        if key == "seals-read":
            break
        do(night, key)
    for path in (
        "/intake",
        "/places",
        "/place/W3",
        "/totals",
        "/compare",
        "/record",
        "/people",
        "/place/W3/seals-read",
        *(f"/record/{n}" for n in range(1, night.room.ledger.length + 1)),
    ):
        night.window.get(path)
        bodies.append((path, other.get(path).body))
    assert len(bodies) > 30
    assert [(path, n) for path, body in bodies for n in NUMBERS.values() if n.encode() in body] == []
    page = do(night, "seals-read")
    assert all(n in page.text for n in NUMBERS.values())


def test_a_seal_that_differs_is_shown_with_both_numbers(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    for key in ("carriers-in", "receivers", "containers-in"):
        do(night, key)
    page = do(night, "seals-read", **{"seals.C1": "1234"})
    row = page.text.partition('class="differs"')[2].partition("</tr>")[0]
    assert NUMBERS["C1"] in row and "1234" in row and page.text.count('class="differs"') == 1
    assert "not read here" in page.text  # bags and cases come under other steps


def test_every_step_to_the_receipt_and_the_opened_boxes_is_kept_once_and_the_place_is_agreed(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    assert night.room.state("W3")[1] == "1 question" or "question" in night.room.state("W3")[1]
    night.goods("W3", NUMBERS)
    wanted = {s.id for s in checklist.defaults() if s.list == "office" and not s.optional}
    assert wanted - set(night.kinds) == set() and "boxes-opened" in night.kinds
    assert night.kinds.count("receipt") == 1
    assert "received" in night.room.state("W3")[1] and "questions open" in night.room.state("W3")[1]
    answer_all(night)
    assert "agreed" in night.room.state("W3")[1]
    assert night.room.desks["W5"].last("receipt") is None  # the other place's desk is its own
    before = {place: night.room.state(place) for place in ("W3", "W5")}
    night.restart()
    assert {place: night.room.state(place) for place in ("W3", "W5")} == before


def test_goods_that_come_before_the_figures_wait_for_them(night):
    night.hold()
    for key in ("carriers-in", "receivers", "containers-in"):
        do(night, key)
    assert night.room.state("W3") == ("half", "goods in, figures awaited")
    night.take_in("W3")
    assert night.room.state("W3")[0] == "look"


def test_receivers_are_of_two_parties(night):
    night.hold()
    do(night, "carriers-in")
    page = night.window.get("/place/W3/receivers")
    form = page.form("/place/W3/receivers")
    pins = night.crew.pins
    page = night.window.send(
        form, night.crew.values(form, "receivers", "") | {"signer": "durand", "pin": pins["durand"]}
    )
    second = page.form(page.path)
    assert "ekstrom" not in second.controls["signer"].options  # of the same party
    page = night.window.post(
        second.action, [(k, v) for k, v in second.filled({"signer": "ekstrom", "pin": pins["ekstrom"]})]
    )
    assert page.status == 422 and "receivers" not in night.kinds
    page = night.window.send(page.form(second.action), {"signer": "calloway", "pin": pins["calloway"]})
    assert page.path == "/place/W3" and night.kinds[-1] == "receivers"


def test_a_step_that_opens_later_is_not_kept_and_says_when(night):
    night.hold()
    with pytest.raises(Stuck, match="opens"):
        do(night, "receipt")
    assert "receipt" not in night.kinds


def test_votes_of_a_small_place_and_of_its_neighbour_are_on_no_page_by_themselves(night):
    night.hold()
    w5 = night.room.roster.places["W5"]
    night.take_in("W3")
    assert "Contest figures of the packet" in night.window.get("/place/W3").text
    night.take_in("W5", **tiny(w5))
    for place in ("W3", "W5"):
        page = night.window.get(f"/place/{place}")
        assert "Contest figures of the packet" not in page.text and "together with a neighbor" in page.text
    page = night.window.get("/totals?contest=GOV")
    body = page.text.partition("<tbody>")[2].partition("</tbody>")[0]
    assert body.count("<tr>") == 1 and "Lantern Street School with Heathfield Chapel" in body
    assert "<td>271</td>" in body  # 267 + 4


def test_few_ballots_alone_are_not_shown_as_totals_either(night):
    night.hold()
    night.take_in("W5", **tiny(night.room.roster.places["W5"]))
    assert "Fewer than 10 ballots are in" in night.window.get("/totals").text
    assert "<tbody>" not in night.window.get("/totals?contest=GOV").text
    night.take_in("W3")
    assert "<td>271</td>" in night.window.get("/totals").text


def test_totals_have_turnout_shares_and_a_search(night):
    night.hold()
    night.take_in("W3")
    page = night.window.get("/totals").text
    assert "517 ballots of 1,960 registered" in page and "26.4 %" in page
    total = next(t for t in night_totals(night) if t.contest.id == "GOV")
    cast_here = sum(total.figures[line] or 0 for line in ("A", "B", "C", "write_in"))
    assert f"<td>{100 * total.figures['A'] / cast_here:.1f} %</td>" in page
    assert 'href="/totals?find="' in page and "refresh.js" in page
    found = night.window.get("/totals?find=agnes+BELLW").text
    assert "1 of 11 contests holds" in found and "Agnes Bellweather" in found and "refresh.js" not in found
    assert found.count('id="contest-') == 1
    none = night.window.get("/totals?find=%3Cb%3Enobody").text
    assert "No contest and no choice holds these words" in none and "<b>nobody" not in none


def night_totals(night):
    room = night.room
    places = {c: len(leaning.sizes) for c, leaning in room.tray.over_all.small_groups.items()}
    return totals.from_sums(room.tray.over_all.contests.values(), room.tables.sums(), places)


def test_the_record_of_the_desk_names_the_place_of_a_packet_and_every_page_counts_the_same_places(night):
    night.hold()
    night.take_in("W3")
    name, awaited = night.room.roster.places["W3"].name, night.room.roster.awaited
    assert f"Packet taken in: {name}, number 1" in night.window.get("/record").text
    assert (
        f"1 of {awaited} places are in" in night.window.get("/places").text
        and f"1 of {awaited} places are in." in night.window.get("/canvass").text
    )
    assert f"Totals of 1 of {awaited} places" in night.window.get("/totals").text
