"""An office's folder as version 0.1.0 of 26 November 2026 left it (commit cf93215, before its entries knew `place-counts`, `answered` or `place-keyed`): it opens here and goes on.

Practice data of the demo's night, kept in stored/desk-2026-11-26: office.db, gate.db, office.toml, one place file, one packet.
"""

import shutil
from pathlib import Path

import pytest

from tests.office.conftest import Night
from tests.office.test_desk import answer_all
from tests.office.test_findings import find, withdraw
from webapp.office.questions.findings import spots
from webapp.office.totals import totals
from webapp.record import audit

STORED = Path(__file__).parent / "stored" / "desk-2026-11-26"
PINS = {"calloway": "294817", "durand": "730526", "ekstrom": "481739", "fontaine": "905263"}  # as they were set then


@pytest.fixture
def night(tmp_path):
    shutil.copytree(STORED, tmp_path / "office")
    made = Night(tmp_path / "office").start()
    made.crew.pins = dict(PINS)
    made.hold()
    yield made
    made.stop()


def votes(night) -> dict[str, int | None]:
    found = next(one for one in totals.totals([p for _, p in night.room.tray.current()]) if one.contest.id == "GOV")
    return dict(found.figures)


def test_a_desk_of_before_opens_with_its_totals_and_says_what_it_never_asked(night):
    assert audit.verify(night.folder / "office.db").ok
    assert (
        night.room.ledger.length > 0
        and list(night.room.board.places) == ["W3"]
        and night.room.tray.over_all.ballots == 517
    )
    packet = night.room.tray.sent("W3")
    assert {k: packet.core["contests"]["GOV"][i] for i, k in enumerate("ABC")} == {k: votes(night)[k] for k in "ABC"}
    for path in ("/places", "/totals", "/canvass", "/place/W3", "/packets/W3", "/questions/W3", "/receipt/W3", "/record",
                 "/late", "/wall", "/posting", "/counts", "/refused"):  # fmt: skip
        page = night.window.get(path)
        assert page.status == 200, (path, page.said())
    open_ = [one.name for one in night.room.questions("W3") if one.open]
    assert "short/noon-look" in open_ and "agreed" not in night.room.state("W3")[1]
    for number in range(1, night.room.ledger.length + 1):
        assert night.window.get(f"/record/{number}").status == 200


def test_it_goes_on_and_what_was_kept_before_stays(night):
    before = list(night.room.ledger.entries())
    was = votes(night)
    answer_all(night)
    assert "answered" in night.kinds and not [one for one in night.room.questions("W3") if one.open and not one.settle]
    assert votes(night) == was
    night.stop()
    assert audit.verify(night.folder / "office.db").ok
    night.start()
    night.crew.pins = dict(PINS)
    assert list(night.room.ledger.entries())[: len(before)] == before
    assert votes(night) == was and night.room.state("W3")[1].startswith(("agreed", "figures", "goods"))


def test_a_finding_made_there_now_is_withdrawn_and_the_totals_are_those_of_before(night):
    sent, was = night.room.tray.sent("W3"), votes(night)
    line = next(one for one in spots(sent.core, sent.place) if one.id.endswith("GOV/A"))
    find(night, line.id, line.value + 9)
    assert votes(night)["A"] == was["A"] + 9
    assert withdraw(night, night.room.ledger.length).path == "/place/W3" and votes(night) == was
    night.stop()
    assert audit.verify(night.folder / "office.db").ok
    night.start()
    assert votes(night) == was and [k for k in night.kinds if "finding" in k] == ["desk-finding", "finding-withdrawn"]
