"""The desk's receipt: what was read and counted at the table against the packet, the open questions with the short-signed steps first, receivers of two parties."""

import re

import pytest

from tests.office.conftest import demo, desk, night, ready  # noqa: F401 - the rehearsed packet and the office's night
from tests.office.test_desk import NUMBERS, do, with_seals
from tests.paper.printed import Printed
from tests.paper.test_forms import FRAME
from webapp.office.received import receipt as made
from webapp.paper.receipt_page import AskedAtDesk, Goods, HeldAside, Receipt, receipt_pdf

SEALS = {c: n for c, n in NUMBERS.items() if not c.startswith("T")}


def words(page) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page.text).split())


@pytest.fixture
def table(night):  # noqa: F811 - a fixture
    """The packet of W3 taken in, its goods on the table up to the seals."""
    night.hold()
    night.take_in("W3", **with_seals(night))
    for key in ("carriers-in", "receivers", "containers-in"):
        do(night, key)
    return night


def test_the_receipt_opens_when_the_seals_on_the_table_were_read(table):
    early = table.window.get("/receipt/W3")
    assert "not due yet" in early.text and "opens when the seals" in early.text
    assert not any(n in early.text for n in NUMBERS.values())
    assert (
        "not due yet" in table.window.get("/receipt/W3/receipt.pdf").text
        and "Its receipt opens" in table.window.get("/papers").text
    )
    page = do(table, "seals-read")
    assert 'href="/receipt/W3"' in table.window.get("/place/W3/ask-now").text, "where the questions are asked"
    assert 'href="/receipt/W3"' in page.text and 'href="/receipt/W3"' in table.window.get("/papers").text


def test_containers_and_seals_stand_as_read_beside_the_packets_own(table):
    do(table, "seals-read", **{"seals.C1": "1234"})
    text, page = Printed(table.window.get("/receipt/W3/receipt.pdf").body).all, words(table.window.get("/receipt/W3"))
    for container, number in SEALS.items():
        assert number in text and number in page
    assert "C2 voted ballots of T2 yes yes 7700100 7700100 agree" in text
    assert "C1 voted ballots of T1 yes yes 1234 7700000 differ" in text
    assert "C1: seal 1234 read here, 7700000 in the packet." in text and "C1: seal 1234 read here" in page


def test_carriers_and_receivers_of_two_parties_are_named_and_sign_in_ink(table):
    do(table, "seals-read")
    text = Printed(table.window.get("/receipt/W3/receipt.pdf").body).all
    people = {o.id: o for o in table.office.officials}
    signers = table.room.desks["W3"].last("receivers").signers
    assert len({s.party for s in signers}) == 2
    assert all(people[s.person].name in text for s in signers) and "Taken over by" in text
    carriers = table.room.desks["W3"].last("carriers-in").body
    place = table.room.roster.places["W3"]
    assert all(
        place.official(carriers[key]).name in text for key in ("first_carrier", "second_carrier") if carriers.get(key)
    )
    assert all(
        f"{seat}: name, party" in text for seat in ("1st carrier", "2nd carrier", "1st receiver", "2nd receiver")
    )


def test_short_signed_steps_of_the_packet_are_asked_first(table, desk):  # noqa: F811
    """The demo's day has a step that was kept short-signed, gaps with remarks, and exceptions."""
    do(table, "seals-read")
    short = [row for row in desk.opened.remarks["short"]]
    room = table.room
    found = made.receipt(
        room.roster.places["W3"], room.desks["W3"], room.reports.of("W3"), (), (), room.questions("W3")
    )
    sorts = [q.sort for q in found.questions]
    assert short and sorts[: len(short)] == ["Short-signed"] * len(short) and "Short-signed" not in sorts[len(short) :]
    text = Printed(table.window.get("/receipt/W3/receipt.pdf").body).all
    assert f"Open questions: {len(found.questions)}. Ask while the carriers are here" in text
    assert text.index("Short-signed.") < text.index("Not so.")
    assert sum(sort == "Not so" for sort in sorts) == len(desk.opened.remarks["not_so"])


def test_envelopes_memory_and_tapes_that_differ_become_questions(table):
    do(table, "seals-read")
    do(table, "envelopes-in", provisional="3", spoiled="2", drop_off="0")
    do(table, "memory-in", expected="2", received="2", loaded="1")
    do(table, "tape-to-packet:T1", public="264")
    page = words(table.window.get("/receipt/W3"))
    core = table.room.reports.of("W3").opened.core
    envelope = core["aside"]["provisional"]
    there = envelope if isinstance(envelope, int) else envelope["counts"][-1] if isinstance(envelope, dict) else None
    assert "2 expected, 2 received, 1 loaded" in page
    counter = core["tabulators"][0]["runs"][-1]["counter"][1]
    assert (
        f"Public counter on the tape of T1: 264 here, {counter} in the packet: {abs(264 - counter)} {'more' if 264 > counter else 'fewer'} here."
        in page
    )
    if there is not None and there != 3:
        assert f"Provisional envelopes: 3 here, {there} in the packet" in page


def test_a_container_that_is_missing_or_more_than_the_slip_names_is_asked_about(night):  # noqa: F811
    night.hold()
    night.take_in("W3", **with_seals(night))
    for key in ("carriers-in", "receivers"):
        do(night, key)
    do(night, "containers-in", on_slip="9")
    do(night, "seals-read")
    assert "7 containers on the table, 9 on the carry slip: 2 fewer." in words(night.window.get("/receipt/W3"))


def test_goods_whose_packet_never_came_have_a_receipt_too(night):  # noqa: F811
    night.hold()
    for key in ("carriers-in", "receivers", "containers-in", "seals-read"):
        do(night, key, "W5")
    text = Printed(night.window.get("/receipt/W5/receipt.pdf").body).all
    assert (
        "Receipt for Heathfield Chapel" in text
        and "No packet counts here, and nothing was keyed from paper yet." in text
        and SEALS["C1"] in text
    )


def test_the_desks_guide_and_the_forms_of_its_places_are_printed_from_the_menu(night):  # noqa: F811
    assert 'href="/papers"' in night.window.get("/places").text
    page = night.window.get("/papers")
    assert 'href="/papers/guide.pdf"' in page.text and 'href="/papers/W5/forms.pdf"' in page.text
    assert len(Printed(night.window.get("/papers/guide.pdf").body)) == 2
    assert "Paper forms: Heathfield Chapel" in Printed(night.window.get("/papers/W5/forms.pdf").body).texts[0]
    assert night.window.get("/papers/X9/forms.pdf").status == night.window.get("/receipt/X9").status == 404


def test_the_desk_is_told_what_is_ready_before_its_roll_call(ready, tmp_path):  # noqa: F811
    """An office whose people are sworn comes in at Intake; before that at what is ready."""
    import shutil

    from tests.office.conftest import Night

    shutil.copytree(ready[0], tmp_path / "office")
    night = Night(tmp_path / "office").start()  # noqa: F811
    try:
        assert night.another().get("/").path == "/intake"
        page = words(night.window.get("/ready"))
        for said in (
            "2 places awaited, each with its place file.",
            "A key is enrolled for 2 places: each that has a place file.",
            "4 officials, 4 slips from the office, 4 PINs set.",
            "4 receivers sworn, of 2 parties.",
            "GB free",
        ):
            assert said in page, said
    finally:
        night.stop()


def crowded() -> Receipt:
    return Receipt(
        tuple(AskedAtDesk("Figures", f"Question {n}. " + "It goes on for quite a while. " * 20) for n in range(40)),
        "They said so.",
        "Summary packet 1.",
        tuple(
            Goods(f"C{n}", "voted ballots in a blue box with a lid", True, n % 5 > 0, f"{n:05d}", f"{n:05d}", "agree")
            for n in range(40)
        ),
        40,
        tuple(HeldAside(f"Figure {n}", n, n + n % 2) for n in range(30)),
    )


@pytest.mark.parametrize("receipt", [Receipt(), crowded()], ids=["empty", "crowded"])
def test_a_receipt_is_printed_whole_however_much_stands_on_it(places, receipt):
    paper = Printed(receipt_pdf(places["large"], receipt))
    assert (
        paper.outside(*FRAME) == []
        and paper.overlapping() == []
        and paper.smallest() >= 9
        and paper.ink_at_the_edge() == []
    )
    assert all(f"Question {n}." in paper.all for n in range(len(receipt.questions)))


def test_a_figure_held_against_another_says_which_way():
    assert [HeldAside("x", *pair).verdict for pair in ((5, 5), (5, 7), (7, 5), (None, 5), (5, None))] == [
        "agree",
        "2 more here",
        "2 fewer here",
        "",
        "",
    ]
