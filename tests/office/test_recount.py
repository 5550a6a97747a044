"""A recount through the pages: the order, the container, two blind keyings, before and after, and the rows that then count."""

from tests.office.conftest import tiny
from tests.office.test_counts_page import minute, send
from tests.office.test_posting import in_now, post, votes

BASE = "/recount/W3"
KEY = f"{BASE}/election-day/1"


def order(night, **values):
    values = {
        "by": "petition",
        "order": "26-114",
        "contests": ["GOV"],
        "ways": ["election-day"],
        "how": "hand",
    } | values
    return send(night, BASE, f"{BASE}/order", second="durand", **values)


def opened(night, **values):
    values = {
        "container": "C1",
        "seal": "0412",
        "seal_right": "yes",
        "number_in": ["book"],
        "count_first": "517",
        "count_second": "517",
    } | values
    return send(night, BASE, f"{BASE}/opened", second="durand", **values)


def row(night) -> list:
    return list(night.room.tray.sent("W3").core["contests"]["GOV"])


def leaf(night, moved: int = 1, ballots: int = 0) -> dict[str, str]:
    """The return's own row of Governor with votes moved from the second choice to the first."""
    contest = next(c for c in night.room.added.contests("W3") if c.id == "GOV")
    was = row(night)
    names = [f"contests.GOV.votes.{c.id}" for c in contest.choices]
    names += [f"contests.GOV.{line}" for line in ("write_in", "under", "over", "ballots")]
    was[0], was[1], was[-1] = was[0] + moved + ballots, was[1] - moved, (was[-1] or 517) + ballots
    figures = {name: str(n) for name, n in zip(names, was, strict=True) if n is not None}
    return {"ballots": str(517 + ballots)} | figures


def key(night, who: str, figures):
    return send(night, KEY, f"{KEY}/key", who, **figures)


def recount(night, moved: int = 1, ballots: int = 0, **values):
    for who in ("calloway", "durand"):
        page = key(night, who, leaf(night, moved, ballots))
        assert page.status == 200, page.said()
    return send(night, KEY, second="durand", **values)


def test_from_the_order_to_the_totals_and_the_next_edition(night):
    in_now(night)
    post(night)
    was = row(night)
    assert "No recount is ordered" in night.window.get("/recount").text
    page = order(night)
    assert page.path == BASE and night.kinds[-1] == "recount-ordered", page.said()
    assert "The container was not opened for this recount yet" in page.text and "Open the container first" in page.text
    assert night.window.get(KEY).status == 200
    page = key(night, "calloway", leaf(night))
    assert page.status == 422 and "The container was not opened yet" in page.text
    page = opened(night)
    assert page.path == BASE and "Its number is in the poll book." in page.text, page.said()
    assert "agrees with one of them" in page.text
    key(night, "calloway", leaf(night))
    page = night.window.get(KEY)
    assert "without looking at the first" in page.text and str(was[0] + 1) not in page.text
    page = key(night, "durand", leaf(night))
    assert "Both keyings agree" in page.text and f"<td>{was[0]}</td><td>{was[0] + 1}</td><td>+1</td>" in page.text
    page = send(night, KEY, second="durand", duplicated="1")
    assert page.path == BASE and night.kinds[-1] == "recounted", page.said()
    assert f"<td>{was[0]}</td><td>{was[0] + 1}</td><td>+1</td>" in page.text and "Duplicated: 1" in page.text
    body = list(night.room.ledger.entries())[-1].body
    assert bytes(body["was"]) == night.room.tray.counts("W3")[0] and body["set_aside"] == {"duplicated": 1}
    assert night.room.tables.sums()["GOV", "A"] == 2 * was[0] + 1
    assert row(night) == was, "the return stays"
    assert votes(night, 1) == 534
    post(night, because="Governor was recounted at one place.")
    assert votes(night, 2) == 535
    night.restart()
    assert night.room.tray.counts("W3")[1].core["contests"]["GOV"][0] == was[0] + 1
    assert "recounted" in night.window.get("/recount").text
    assert "is.votes/T1/GOV" not in night.window.get("/corrected/W3").text, (
        "a recounted row is recounted, not corrected"
    )


def test_ballots_that_move_ask_for_a_note_and_wait_where_they_are_few(night):
    in_now(night)
    post(night)
    order(night, how="machine")
    opened(night, count_first="518", count_second="518", seal_right="no", number_in=[])
    page = night.window.get(BASE)
    assert "was broken, or bore another number" in page.text and "in no paper that was looked at" in page.text
    page = recount(night, 0, 1)
    assert page.status == 422 and "518 ballots recounted, 517 before: 1 more" in page.text
    page = send(night, KEY, second="durand", note="nothing explains it")
    assert page.path == BASE and "nothing explains it" in page.text, page.said()
    post(night, because="Governor was recounted at one place.")
    assert votes(night, 2) == 534, "one ballot alone is not shown"
    assert "1 ballot" in night.window.get("/posting/ready").text


def test_recounted_again_the_newer_takes_the_place_of_the_first(night):
    in_now(night)
    order(night)
    opened(night)
    assert recount(night, 1).path == BASE and recount(night, 3).path == BASE
    kept = [e for e in night.room.ledger.entries() if e.kind == "recounted"]
    assert len(kept) == 2 and [bytes(one) for one in kept[1].body["amends"]] == [kept[0].id]
    assert night.room.tray.counts("W3")[1].core["contests"]["GOV"][0] == row(night)[0] + 3
    assert "replaced by a later recount" in night.window.get(BASE).text


def test_tired_orders_and_openings_are_met_field_by_field_and_lose_nothing(night):
    in_now(night)
    page = order(night, by="", order="<b>26</b>\u202e", contests=[], ways=[], how="")
    for words in ("Tick the contests", "Tick the ways", "Choose who ordered", "Choose how it is recounted"):
        assert words in page.text
    assert page.status == 422 and "<b>26" not in page.text and "&lt;b&gt;26" in page.text
    assert order(night).path == BASE
    page = opened(night, seal_right="", count_first="five", count_second="", seal="")
    for words in (
        "Choose how the seal",
        "first count of the ballots",
        "second count of the ballots",
        "number on the seal",
    ):
        assert words in page.text
    assert 'value="five"' in page.text and night.kinds.count("recount-opened") == 0
    opened(night)
    page = key(night, "calloway", {"ballots": "517"})
    assert page.status == 422 and "No contest has figures" in page.text
    figures = leaf(night) | {"contests.GOV.votes.A": "9000"}
    assert "tick that it does" in key(night, "calloway", figures).text
    for path in (
        "/recount/W3/absentee/1",
        "/recount/W3/election-day/2",
        "/recount/W9",
        "/recount/county",
    ):
        assert night.window.get(path).status == 404, path


def test_votes_of_a_small_place_stand_on_no_page_before_or_after(night):
    night.hold()
    night.take_in("W3", **tiny(night.room.roster.places["W3"], 6))
    night.take_in("W5")
    order(night)
    opened(night, count_first="6", count_second="6")
    contest = next(c for c in night.room.added.contests("W3") if c.id == "GOV")
    figures = {f"contests.GOV.votes.{c.id}": "0" for c in contest.choices} | {"contests.GOV.votes.A": "5"}
    figures |= {
        "contests.GOV.write_in": "0",
        "contests.GOV.under": "1",
        "contests.GOV.over": "0",
        "contests.GOV.ballots": "6",
    }
    for who in ("calloway", "durand"):
        page = key(night, who, {"ballots": "6"} | figures)
    assert "Votes of this unit are not shown by themselves" in page.text
    page = send(night, KEY, second="durand")
    assert page.path == BASE and "votes of this unit are not shown by themselves" in page.text, page.said()
    minute(night)
    assert night.room.tray.counts("W3")[1].core["contests"]["GOV"][0] == 5
