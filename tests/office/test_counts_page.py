"""Ballots added after the night, through the pages: envelopes, two blind keyings, the paper in hand, and what a tired canvasser types wrong."""

import pytest

from demo_precinct.rehearsed_day import MINUTE

PATH = "/counts/W3/provisional"
GOV = {"A": "7", "B": "3", "C": "1"}


def minute(night) -> None:
    night.now += MINUTE
    night.crew.clock(night.now)


def send(night, path: str, action: str = "", first: str = "calloway", second: str = "", **values):
    """A form of a page filled in and signed; with `second` the second signature too."""
    minute(night)
    pins = night.crew.pins
    form = night.window.get(path).form(action or path)
    page = night.window.send(form, {**values, "signer": first, "pin": pins[first]})
    if not second or not page.path.startswith("/sign/"):
        return page
    return night.window.send(page.form(page.path), {"signer": second, "pin": pins[second]})


def leaf(night, ballots: str = "12", **changes: str) -> dict[str, str]:
    """A leaf with figures for Governor only: 11 votes and an undervote."""
    contest = next(c for c in night.room.added.contests("W3") if c.id == "GOV")
    figures = {f"contests.GOV.votes.{c.id}": GOV.get(c.id, "0") for c in contest.choices}
    figures |= {"contests.GOV.write_in": "0", "contests.GOV.under": "1", "contests.GOV.over": "0"}
    return {"ballots": ballots} | figures | {"contests.GOV.ballots": ballots} | changes


def key(night, who: str, path: str = f"{PATH}/1", as_paper: bool = False, **figures):
    """One keying; `as_paper`: sent once more with the tick that the page asks for."""
    page = send(night, f"{path}?again=yes", f"{path}/key", who, **figures)
    if not as_paper:
        return page
    assert page.status == 422 and "tick that it does" in page.text
    return night.window.send(page.form(f"{path}/key"), {"as_paper": "yes", "signer": who, "pin": night.crew.pins[who]})


def sign(night, path: str = f"{PATH}/1", **values):
    values = {"from": "tape", "papers": "tape of A1, 12:40"} | values
    return send(night, f"{path}?again=yes", path, second="durand", **values)


def decide(night, **figures):
    values = {"issued": "14", "received": "14", "accepted": "12", "rejected.not-registered": "2", "open": "0"}
    return send(night, f"{PATH}/envelopes", second="durand", **(values | figures))


def test_envelopes_are_decided_by_two_parties_and_stand_on_the_list(night):
    night.hold()
    page = decide(night)
    assert page.path == "/counts/W3" and night.kinds[-1] == "envelopes-decided", page.said()
    text = night.window.get("/counts").text
    assert "issued 14, decided 14, open 0, not counted yet" in text
    page = decide(night, **{"open": "3", "received": "17", "note": "Three came by mail."})
    assert night.room.added.decided("W3", "provisional").open == 3
    night.restart()
    assert len(night.room.added.history("W3", "provisional")) == 2


def test_envelopes_that_do_not_add_up_say_both_figures_at_the_field_and_lose_nothing(night):
    night.hold()
    page = decide(night, received="15")
    assert page.status == 422 and "15 received, 14 accounted for" in page.text and 'value="15"' in page.text
    page = decide(night, accepted="a dozen", cure_until="next Tuesday")
    assert "Enter this figure in digits." in page.text and "Enter the day as year, month and day" in page.text
    assert 'value="a dozen"' in page.text and 'value="next Tuesday"' in page.text
    assert "envelopes-decided" not in night.kinds


def test_another_number_of_provisional_envelopes_than_the_return_says_asks_for_a_note(night, desk):
    night.hold()
    night.take_in("W3")
    own = desk.opened.core["aside"]["provisional"]
    page = decide(night)
    assert page.status == 422 and "The return of the place says" in page.text, own
    assert decide(night, note="Two were given out at the curb.").path == "/counts/W3"


def test_a_count_is_keyed_blind_by_two_parties_and_kept_with_its_lines(night):
    night.hold()
    decide(night)
    assert key(night, "calloway", **leaf(night)).path.startswith(f"{PATH}/1")
    page = night.window.get(f"{PATH}/1")
    assert "Key it again, without looking at the first" in page.text
    assert key(night, "calloway", **leaf(night)).status == 422, "the same person again"
    assert key(night, "fontaine", **leaf(night)).status == 422, "another of the same party"
    page = key(night, "durand", **leaf(night))
    assert "Both keyings agree" in page.text and "12 ballots counted, 12 envelopes accepted" in page.text
    page = sign(night)
    assert page.path == f"{PATH}/1" and night.kinds[-1] == "count-in", page.said()
    body = list(night.room.ledger.entries())[-1].body
    assert body["ballots"] == 12 and body["contests"]["GOV"][-3:] == [1, 0, 12] and body["amends"] == []
    assert "counted 12" in night.window.get("/counts").text
    night.restart()
    assert night.room.added.counted("W3", "provisional") == 12


@pytest.mark.parametrize(
    "path", ("/counts", "/counts/W3", f"{PATH}/1", f"{PATH}/1?again=yes", "/record", "/sign/none", "/totals")
)
def test_no_page_holds_a_figure_of_the_first_keying(night, path):
    night.hold()
    key(
        night,
        "calloway",
        **leaf(night, **{"contests.GOV.votes.A": "7314", "ballots": "7318", "contests.GOV.ballots": "7318"}),
    )
    assert night.room.day.keyings.by("count-in:W3/provisional/1")
    text = night.window.get(path).text
    assert "7314" not in text and "7,314" not in text and "7,318" not in text


def test_what_differs_is_read_off_the_paper_and_nothing_is_chosen(night):
    night.hold()
    key(night, "calloway", **leaf(night))
    page = key(night, "durand", **leaf(night, **{"contests.GOV.votes.B": "8"}), as_paper=True)
    assert "1 figure differs" in page.text and "<b>5</b>apart" in page.text
    page = sign(night)
    assert page.status == 422 and "enter the votes of" in page.text
    page = sign(night, **{"contests.GOV.votes.B": "3"})
    assert page.path == f"{PATH}/1", page.said()


def test_a_gap_is_kept_with_a_note_and_never_mended(night):
    night.hold()
    decide(night)
    figures = leaf(night, ballots="14", **{"contests.GOV.under": "3"})
    key(night, "calloway", **figures)
    key(night, "durand", **figures)
    page = sign(night)
    assert page.status == 422 and "14 ballots counted, 12 envelopes accepted, 2 more than the second" in page.text
    page = sign(night, note="no remark on the paper")
    assert page.path == f"{PATH}/1" and "2 more" in page.text and "no remark on the paper" in page.text
    assert "1 line does not add up" in night.window.get("/counts/W3").text


def test_votes_that_the_ballots_cannot_hold_are_asked_about_once(night):
    night.hold()
    page = key(night, "calloway", **leaf(night, **{"contests.GOV.votes.A": "40"}))
    assert page.status == 422 and "hold 12 at most" in page.text and "The paper says so" in page.text
    assert key(night, "calloway", as_paper=True, **leaf(night, **{"contests.GOV.votes.A": "40"})).status == 200


def test_a_tired_leaf_is_met_field_by_field(night):
    night.hold()
    page = key(night, "calloway", **leaf(night, ballots=""))
    assert page.status == 422 and "Enter how many ballots were counted" in page.text
    page = key(night, "calloway", ballots="12")
    assert "No contest has figures" in page.text
    page = key(night, "calloway", **leaf(night, **{"contests.GOV.votes.A": "", "contests.GOV.votes.B": "3O"}))
    assert "0 where the paper says 0" in page.text and "in digits, as the paper shows it" in page.text
    assert "keying" not in night.kinds


def test_counted_again_the_newer_count_takes_the_place_of_the_first(night):
    night.hold()
    for turn, votes in enumerate(("7", "6")):
        figures = leaf(night, **{"contests.GOV.votes.A": votes, "contests.GOV.under": str(8 - int(votes))})
        key(night, "calloway", **figures)
        key(night, "durand", **figures)
        assert sign(night).path == f"{PATH}/1", turn
    assert night.kinds.count("count-in") == 2
    (found,) = night.room.added.parts("W3", "provisional")
    assert found.count.contests["GOV"][0] == 6 and len(found.count.amends) == 1


def test_places_counted_together_are_named_once_each_and_have_every_contest(night):
    night.hold()
    page = send(night, "/counts/pool", id="abs north", places="W3 W3 W9", why="")
    assert page.status == 422 and all(
        words in page.text
        for words in ("1 to 16 letters", "No place has the id W9", "Enter why these were counted together")
    )
    page = send(night, "/counts/pool", id="W3", places="W3 W3", why="one stack")
    assert "is taken" in page.text and "W3 is there twice" in page.text
    page = send(night, "/counts/pool", second="durand", id="abs", places="W5, W3", why="Fed as one stack.")
    assert page.path == "/counts/abs" and "Lantern Street School + Heathfield Chapel" in page.text
    assert night.room.added.pools["abs"].places == ("W3", "W5")
    assert "is taken" in send(night, "/counts/pool", id="abs", places="W3 W5", why="again").text


@pytest.mark.parametrize(
    "path",
    (
        "/counts/W9",
        "/counts/W3/curbside/1",
        "/counts/W3/election-day/1",
        "/counts/county/absentee/1",
        f"{PATH}/0",
        f"{PATH}/100",
    ),
)
def test_what_is_not_there_is_not_found(night, path):
    night.hold()
    assert night.window.get(path).status == 404
