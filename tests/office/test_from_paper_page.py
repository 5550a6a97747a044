"""A place keyed from its paper, through the pages: blind, side by side, what is missing, what is signed, a packet that comes later."""

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from tests.office.test_counts_page import minute, send
from webapp.office.keying import paper_leaf, paper_values
from webapp.precinct.day.hours import wall

PATH = "/place/W3/paper"
TAPES = [f"state.{kind}/{at}" for kind in ("tape", "zero") for at in ("T1", "T2")]
PAPERS = dict.fromkeys([*TAPES, "state.statement", "state.log", "state.slip", "state.certificate"], "whole")
INK = {f"ink.tape/{at}": ["chair/M", "witness/P"] for at in ("T1", "T2")}


@pytest.fixture
def leaf(night, desk):
    """A function: the demo's night as it stands on paper, as people type it, with changes; None leaves a line empty."""
    place = night.room.roster.places["W3"]
    stated = paper_values.values_of(desk.opened.core, place)

    def typed(**changes):
        values = {k.replace("__", "."): v for k, v in changes.items()}
        found = {}
        for one in paper_leaf.controls(place):
            n = stated.get(one.name)
            if n is not None:
                found[one.name] = wall(place, n) if one.kind == "time" else str(n)
        return {k: v for k, v in (found | values).items() if v is not None}

    return typed


def key(night, who, figures, as_paper=False):
    page = send(night, f"{PATH}?again=yes", f"{PATH}/key", who, **figures)
    if not as_paper:
        return page
    assert page.status == 422 and "tick that it does" in page.text, page.said()
    return night.window.send(page.form(f"{PATH}/key"), {"as_paper": "yes", "signer": who, "pin": night.crew.pins[who]})


def notes(night) -> dict[str, list[str] | str]:
    form = night.window.get(f"{PATH}?again=yes").form(PATH)
    return {name: "One voter left with the ballot." for name in form.controls if name.startswith("note.")}


def sign(night, second="durand", **values):
    return send(
        night, f"{PATH}?again=yes", PATH, second=second, **(PAPERS | INK | {"why": "no-packet"} | notes(night) | values)
    )


def test_a_place_whose_packet_never_came_is_keyed_twice_and_counts_from_paper(night, leaf, desk):
    night.hold()
    assert "Key this place from its paper" in night.window.get("/place/W3").text
    assert key(night, "calloway", leaf()).status == 200
    assert "Keyed once from its paper, by Ines Calloway" in night.window.get("/place/W3").text
    page = key(night, "durand", leaf())
    assert "Both keyings agree" in page.text and "1 more ballot drawn" in page.text, page.said()
    page = sign(night)
    assert page.path == PATH and night.kinds[-1] == "place-keyed", page.said()
    assert night.room.tray.in_totals("W3") and night.room.tray.over_all.ballots == 517
    assert "figures in, from paper" in night.room.state("W3")[1]
    for path in ("/totals", "/places", "/canvass"):
        assert "Includes 1 place keyed from paper" in night.window.get(path).text, path
    assert "Agnes Bellweather" in night.window.get("/totals").text
    assert "One voter left with the ballot." in night.window.get("/canvass").text
    night.restart()
    assert night.room.tray.over_all.ballots == 517 and night.room.tray.outcome("W3").paper


@pytest.mark.parametrize(
    "path", (PATH, f"{PATH}?again=yes", "/place/W3", "/record", "/totals", "/packets/W3", "/places")
)
def test_no_page_holds_a_figure_of_the_first_keying_of_a_place(night, leaf, path):
    night.hold()
    key(night, "calloway", leaf(votes__T1__GOV__A="7314", drop_off="8316"), as_paper=True)
    assert night.room.day.keyings.by("place-keyed:W3") == ("calloway",)
    text = night.window.get(path).text
    figures = r"(?<![\w-])(?:7,?314|8,?316)(?![\w-])"  # a form's token may hold the same digits among its letters
    assert not re.search(figures, text)


def test_the_same_person_and_another_of_the_same_party_key_no_second_set(night, leaf):
    night.hold()
    key(night, "calloway", leaf())
    for who in ("calloway", "fontaine"):
        assert key(night, who, leaf()).status == 422
    assert len(night.room.day.keyings.by("place-keyed:W3")) == 1


def test_what_differs_is_read_off_the_paper_and_a_third_look_decides(night, leaf):
    night.hold()
    key(night, "calloway", leaf())
    page = key(night, "durand", leaf(stock__unused__3A="618", drop_off=None, hours__closed="20:03"))
    assert "3 lines differ" in page.text and "<b>1</b>apart" in page.text and "one is empty" in page.text
    page = sign(night)
    assert page.status == 422 and "enter what the paper says, or tick that it does not say it" in page.text
    page = sign(night, **{"stock.unused.3A": "617", "none.drop_off": "yes", "hours.closed": "20:02"})
    assert page.status == 422 and "Remark on the paper" in page.text and 'value="617"' in page.text
    values = {"stock.unused.3A": "617", "none.drop_off": "yes", "hours.closed": "20:02"}
    names = [name for name in page.form(PATH).controls if name.startswith("silent.")]
    minute(night)
    signer = {"signer": "calloway", "pin": night.crew.pins["calloway"]}
    page = night.window.send(page.form(PATH), values | dict.fromkeys(names, "yes") | signer)
    page = night.window.send(page.form(page.path), {"signer": "durand", "pin": night.crew.pins["durand"]})
    assert page.path == PATH, page.said()
    body = list(night.room.ledger.entries())[-1].body
    assert "drop_off" in body["empty"] and "drop_off" not in body["core"]
    assert {one.name for one in night.room.questions("W3") if one.open} >= {
        "gap/stock",
        "gap/poll-book",
        "lacks/drop_off",
    }


def test_a_paper_that_lacks_figures_says_which_and_is_not_agreed(night, leaf):
    night.hold()
    lacking = dict.fromkeys(["book__n__W3", "book__n__W4", "aside__provisional"]) | {
        f"votes__{at}__GOV__{line}": None
        for at in ("T1", "T2")
        for line in ("A", "B", "C", "write_in", "under", "over", "ballots")
    }
    for who in ("calloway", "durand"):
        key(night, who, leaf(**lacking))
    assert sign(night, **{"state.tape/T2": "torn", "ink.tape/T1": []}).path == PATH
    said = night.window.get("/questions/W3").text
    for words in (
        "Not on the paper: check-ins.",
        "Not on the paper: Governor.",
        "Results tape of T2 is torn.",
        "nobody signed it in ink",
    ):
        assert words in said, words
    # the fourth is the protective counter of T2, which was exchanged during the day
    assert "4 figures missing" in night.room.state("W3")[1] and "questions open" in night.room.state("W3")[1]
    assert "From paper" in night.window.get("/place/W3").text


@pytest.mark.parametrize(
    ("changes", "says"),
    (
        ({"votes__T1__GOV__A": "9999"}, "hold 265 at most"),
        ({"counter__T1__public_close": "12", "counter__T1__public_open": "40"}, "went from 40 to 12"),
        ({"stock__unused__3A": "2617"}, "2,617 unused, and 900 came"),
        ({"votes__T1__GOV__B": None}, "no votes for Tobias Quill"),
        ({"votes__T1__GOV__ballots": "266"}, "266 ballots, and the tape of T1 has 265"),
        ({"book__cancelled__W3": "900"}, "900 cancelled of 279 check-ins"),
    ),
)
def test_a_figure_that_no_tape_can_have_is_asked_about_once(night, leaf, changes, says):
    night.hold()
    page = key(night, "calloway", leaf(**changes))
    assert page.status == 422 and says in page.text and "keying" not in night.kinds
    assert key(night, "calloway", leaf(**changes), as_paper=True).status == 200


def test_a_tired_leaf_of_a_place_is_met_field_by_field_and_loses_nothing(night, leaf):
    night.hold()
    page = key(night, "calloway", leaf(stock__unused__3A="6l7", hours__closed="late", hours__opened="03:00"))
    assert page.status == 422 and 'value="6l7"' in page.text and 'value="late"' in page.text
    assert "Unused ballots: enter this figure in digits." in page.text
    assert "Hours, Polls closed: enter the time as hours and minutes, such as 20:05." in page.text
    page = send(night, f"{PATH}?again=yes", f"{PATH}/key", "calloway", **{"stock.unused.3A": "617"})
    assert "No results tape has a figure" in page.text
    key(night, "calloway", leaf())
    key(night, "durand", leaf())
    page = send(night, f"{PATH}?again=yes", PATH, "calloway")
    assert page.status == 422
    for words in (
        "Choose why this place is keyed",
        "Results tape of T1: choose whether it is here",
        "word for word, or tick",
    ):
        assert words in page.text, words
    assert "place-keyed" not in night.kinds


def test_a_packet_that_says_the_same_counts_and_one_that_does_not_waits_for_two_parties(night, leaf, desk):
    night.hold()
    for who in ("calloway", "durand"):
        key(night, who, leaf())
    sign(night)
    night.take_in("W3")
    assert not night.room.tray.outcome("W3").paper and "agrees with the paper" in night.window.get("/place/W3").text
    rows = {c: list(row) for c, row in desk.opened.core["contests"].items()}
    tapes = [dict(one) for one in desk.opened.core["tabulators"]]
    tapes[0] = tapes[0] | {"contests": tapes[0]["contests"] | {"GOV": [133, 54, *tapes[0]["contests"]["GOV"][2:]]}}
    rows["GOV"][:2] = [266, 95]
    amends = night.room.tray.outcome("W3").digest
    night.take_in("W3", number=2, amends=amends, contests=rows, tabulators=tapes)
    outcome = night.room.tray.outcome("W3")
    assert (
        outcome.paper
        and outcome.contradicted
        and night.room.state("W3")[1].startswith("a packet and the paper disagree")
    )
    page = night.window.get("/packets/W3")
    assert "paper and packet disagree" in page.text and "The paper, counts" in page.text and "2 of " in page.text
    assert "disagree at 1 place" in night.window.get("/totals").text
    digest = next(digest for digest in outcome.against).hex()[:16]
    page = send(night, "/packets/W3", "/packets/W3/counts", second="durand", which=digest, why="The tape says 133.")
    assert page.path == "/packets/W3" and night.room.tray.outcome("W3").digest.hex().startswith(digest), page.said()
    assert not night.room.tray.outcome("W3").contradicted


def test_two_keyings_of_one_place_that_differ_replace_each_other_in_order(night, leaf):
    night.hold()
    for unused in ("617", "616"):
        for who in ("calloway", "durand"):
            key(night, who, leaf(stock__unused__3A=unused))
        assert sign(night).path == PATH
    assert night.room.tray.sent("W3").core["stock"]["unused"][0]["n"] == 616
    assert "Keyed from paper, 2 times" in night.window.get(PATH).text and not night.room.tray.outcome("W3").contradicted


def test_who_carried_the_goods_neither_keys_nor_signs(night, leaf, monkeypatch):
    """A receiver who stands as a carrier on the roll of the place, by the same name."""
    night.hold()
    body = {"first_carrier": "lindqvist", "second_carrier": "okafor"}
    brought = SimpleNamespace(body=body, word=body.get)
    monkeypatch.setattr(night.room.desks["W3"], "last", lambda key: brought if key == "carriers-in" else None)
    chair = replace(night.room.roster.places["W3"].official("lindqvist"), name="Ines Calloway")
    monkeypatch.setattr(type(night.room.roster.places["W3"]), "official", lambda self, person: chair)
    page = night.window.get(f"{PATH}?again=yes")
    assert "calloway" not in page.form(f"{PATH}/key").controls["signer"].options
    page = key(night, "calloway", leaf())
    assert page.status == 422 and "The person who carried the goods does not key them" in page.text
