"""A page of the desk that was opened before something else was kept: what it would sign over, settle or replace unseen is asked about first."""

from tests.office.test_counts_page import decide, key, leaf, minute, send
from tests.office.test_desk import with_seals
from tests.office.test_findings import find
from tests.office.test_packets_page import digest, moved
from tests.office.test_posting import in_now
from tests.office.test_questions_page import brought
from tests.office.test_recount import key as key_recount
from tests.office.test_recount import leaf as recount_leaf
from tests.office.test_recount import opened, order


def first(night, form, who: str = "calloway", **values):
    """The first signature under a form that was opened before."""
    minute(night)
    return night.window.send(form, {**values, "signer": who, "pin": night.crew.pins[who]})


def second(night, page, who: str = "durand"):
    assert page.path.startswith("/sign/"), page.said()
    return night.window.send(page.form(page.path), {"signer": who, "pin": night.crew.pins[who]})


def test_an_answer_is_about_the_facts_that_the_page_showed(night):
    brought(night, seals_read={"seals.C1": "1234"})
    form = night.window.get("/questions/W3").form("/questions/W3")
    was = next(one for one in night.room.questions("W3") if one.name == "seal/C1")
    containers = with_seals(night)["containers"]
    containers[0] = containers[0] | {"seal": "9999999"}
    night.take_in("W3", number=2, amends=digest(night, **with_seals(night)), containers=containers)
    now = next(one for one in night.room.questions("W3") if one.name == "seal/C1")
    assert was.facts != now.facts
    page = first(night, form, ask=["seal/C1"], outcome="explained", answer="The carriers read it wrong.")
    assert page.status == 422 and "changed since" in page.said(), (page.path, page.said())


def test_a_packet_that_came_after_the_page_was_opened_is_not_settled_by_it(night, desk):
    night.hold()
    night.take_in("W3")
    night.take_in("W3", number=1, **moved(desk.opened.core))
    page = night.window.get("/packets/W3")
    form = page.form("/packets/W3/counts")
    which = form.controls["which"].options[0]
    night.take_in("W3", number=1, **moved(desk.opened.core, 50))
    page = first(night, form, which=which, why="It is the tape.")
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_a_second_finding_of_one_figure_says_what_was_found_before(night):
    night.hold()
    night.take_in("W3")
    form = night.window.get("/finding/W3/aside/spoiled/W3/3A").form("/finding/W3/")
    find(night, "aside/spoiled/W3/3A", 9)
    page = first(night, form, **{"is": "7"}, what="Counted at the desk.")
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_envelopes_decided_meanwhile_are_looked_at_first(night):
    night.hold()
    path = "/counts/W3/provisional/envelopes"
    form = night.window.get(path).form(path)
    decide(night)
    page = first(night, form, issued="14", received="14", accepted="11", **{"rejected.not-registered": "3"})
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_voters_credited_meanwhile_are_looked_at_first(night):
    night.hold()
    path = "/reconciliation/credited"
    form = night.window.get(path).form(path)
    send(night, path, f"{path}?page=0", second="durand", **{"credited.W3": "431"})
    page = first(night, form, **{"credited.W3": "430"})
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_two_pools_of_one_name_are_one(night):
    night.hold()
    pages = [send(night, "/counts/pool", id="abs", places="W3 W5", why="Mixed.") for _ in "ab"]
    second(night, pages[0])
    page = second(night, pages[1])
    assert page.status == 409 and "taken" in page.said(), (page.path, page.said())
    assert night.kinds.count("pool") == 1


def test_an_answer_or_a_call_that_is_sent_again_is_in_the_record_already(night):
    brought(night, seals_read={"seals.C1": "1234"})
    form = night.window.get("/questions/W3").form("/questions/W3")
    values = {"ask": ["seal/C1"], "outcome": "explained", "answer": "The carriers read it wrong."}
    second(night, first(night, form, **values))
    page = first(night, form, **values)
    assert page.status == 200, (page.status, page.path, page.said())
    assert night.kinds.count("answered") == 1


def test_what_waited_while_another_desk_signed_about_the_same_is_looked_at_first(night):
    night.hold()
    night.take_in("W3")
    path = "/counts/W3/provisional/envelopes"
    figures = {"issued": "14", "received": "14", "accepted": "11", "rejected.not-registered": "3", "note": "curb"}
    waits = send(night, path, **figures)
    decide(night, note="curb")
    page = second(night, waits)
    assert page.status == 409 and "since this was signed first" in page.said(), (page.path, page.said())
    assert night.room.added.decided("W3", "provisional").accepted == 12
    path = "/finding/W3/aside/spoiled/W3/3A"
    waits = send(night, path, **{"is": "7"}, what="Counted at the desk.")
    minute(night)
    assert find(night, "aside/spoiled/W3/3A", 9).path == "/place/W3"
    assert second(night, waits).status == 409 and night.kinds.count("desk-finding") == 1
    assert "Found before" in night.window.get(path).text and ">9<" in night.window.get(path).text
    assert send(night, path, second="durand", **{"is": "7"}, what="Counted again.").path == "/place/W3"


def test_of_two_counts_signed_first_side_by_side_the_second_is_looked_at_again(night):
    night.hold()
    decide(night)
    key(night, "calloway", **leaf(night))
    key(night, "durand", **leaf(night))
    path = "/counts/W3/provisional/1"
    paper = {"from": "tape", "papers": "tape of A1, 12:40"}
    one, two = (send(night, f"{path}?again=yes", path, **paper) for _ in "ab")
    minute(night)
    second(night, one)
    assert second(night, two).status == 409 and night.kinds.count("count-in") == 1
    assert night.room.added.against() == []


def test_a_call_that_is_sent_again_is_written_down_once(night):
    night.hold()
    form = night.window.get("/late/W3").form("/late/W3")
    chosen = {name: one.options[0] for name, one in form.controls.items() if one.options and name != "signer"}
    chosen |= {"answer": "On their way.", "signer": "calloway", "pin": night.crew.pins["calloway"]}
    for _ in "ab":
        minute(night)
        page = night.window.send(form, chosen)
        assert (page.status, page.path) == (200, "/late"), page.said()
    assert night.kinds.count("late-call") == 1


def test_a_recount_is_compared_with_the_return_that_the_page_showed(night, desk):
    in_now(night)
    order(night)
    opened(night)
    path = "/recount/W3/election-day/1"
    for who in ("calloway", "durand"):
        key_recount(night, who, recount_leaf(night))
    form = night.window.get(path).form(path)
    night.take_in("W3", number=2, amends=digest(night), **moved(desk.opened.core, 5))
    page = first(night, form, note="Counted twice.")
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())
    page = send(night, path, second="durand", note="Counted twice.")
    assert page.path == "/recount/W3", page.said()


def test_a_choice_between_packets_that_is_sent_again_is_in_the_record(night, desk):
    night.hold()
    night.take_in("W3")
    night.take_in("W3", number=1, **moved(desk.opened.core))
    form = night.window.get("/packets/W3").form("/packets/W3/counts")
    values = {"which": form.controls["which"].options[0], "why": "It is the tape."}
    assert second(night, first(night, form, **values)).path == "/packets/W3"
    page = first(night, form, **values)
    assert (page.status, page.path) == (200, "/packets/W3"), page.said()
    assert night.kinds.count("place-counts") == 1
    form = night.window.get("/packets/W3").form("/packets/W3/aside")
    values = {"packet": form.controls["packet"].options[0], "why": "It is of another night."}
    assert second(night, first(night, form, **values)).path == "/packets/W3"
    page = first(night, form, **values)
    assert (page.status, page.path) == (200, "/packets/W3"), page.said()
    assert night.kinds.count("packet-set-aside") == 1


def test_a_complete_edition_has_everything_that_was_kept_before_its_second_signature_and_a_partial_one_says_its_cut(
    night,
):
    in_now(night)
    waits = send(night, "/posting/ready", second="", status="unofficial-complete", because="All places are in.")
    assert waits.path.startswith("/sign/"), waits.said()
    decide(night, note="curb", open="1", received="15", issued="15")
    page = second(night, waits)
    assert page.status == 409 and "was kept since this edition was made" in page.said() and "Posting" in page.said()
    assert "edition-posted" not in night.kinds
    waits = send(night, "/posting/ready", second="", status="unofficial-partial", because="An envelope is open.")
    cut = night.room.ledger.length
    assert "kept since this edition was made" not in night.window.get(waits.path).text
    decide(night, note="curb", open="2", received="16", issued="16")
    assert f"Entry {cut + 1} was kept since this edition was made" in night.window.get(waits.path).text
    page = second(night, waits)
    assert night.kinds[-1] == "edition-posted", (page.path, page.said())
    assert list(night.room.ledger.entries())[-1].body["cut"] == cut
