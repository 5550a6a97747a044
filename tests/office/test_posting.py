"""Editions through the pages: made ready, looked at, signed by two, kept as they were; nothing small ever given away; what came meanwhile, lost or changed files."""

import csv
import io
import json
from hashlib import sha256

from tests.canvass.what_can_be_worked_out import given_away, published
from tests.office.conftest import tiny
from tests.office.test_counts_page import decide, key, leaf, minute, send, sign
from webapp.canvass import posting_page
from webapp.office.canvassing import edition_figures

READY = "/posting/ready"
FILES = {"edition.json", "posting.html", "results.csv", "reconciliation.csv", "results-1500-100.json"}
FILES |= {"log-1500-101.json", "log-documentation-1500-101.json"}


def post(night, second: str = "durand", **values):
    values = {"status": "unofficial-partial", "because": "The first places are in."} | values
    return send(night, READY, second=second, **values)


def table(night, number: int) -> list[dict[str, str]]:
    data = (night.folder / "editions" / str(number) / "results.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(data)))


def votes(night, number: int, line: str = "A") -> int:
    contest = next(c for c in night.room.added.contests("W3") if c.id == "GOV")
    label = next(c.label for c in contest.choices if c.id == line)
    return sum(
        int(row["votes"]) for row in table(night, number) if (row["contest"], row["choice"]) == (contest.title, label)
    )


def in_now(night) -> None:
    """Both places are in, and nobody waits."""
    night.hold()
    night.take_in("W3")
    night.take_in("W5")


def test_an_edition_is_looked_at_signed_by_two_and_its_files_are_as_posted(night):
    in_now(night)
    page = night.window.get(READY)
    assert "Nothing of fewer than 10 ballots" in page.text and "Not posted" in page.text
    page = post(night)
    assert page.path == "/posting/1" and "as posted" in page.text, page.said()
    assert votes(night, 1) == 2 * 267
    folder = night.folder / "editions" / "1"
    document = json.loads((folder / "edition.json").read_bytes())
    body = list(night.room.ledger.entries())[-1].body
    assert sha256((folder / "edition.json").read_bytes()).digest() == body["digest"]
    assert {name: sha256((folder / name).read_bytes()).hexdigest() for name in document["files"]} == document["files"]
    assert (document["edition"], document["places"], document["supersedes"]) == (1, [2, 2], None)
    assert body["cut"] < list(night.room.ledger.entries())[-1].number
    night.restart()
    assert "Edition 1 is the newest" in night.window.get("/posting").text
    assert night.window.get("/posting/1/results.csv").status == 200
    assert not list((night.folder / "editions").glob("waiting-*"))


def test_counts_after_the_night_wait_for_the_next_edition_and_are_in_it_by_way(night):
    in_now(night)
    post(night)
    decide(night, note="Two at the curb.")
    for who in ("calloway", "durand"):
        key(night, who, **leaf(night))
    sign(night)
    assert votes(night, 1) == 534, "an edition never changes"
    assert "12 ballots counted after the night" in night.window.get("/totals").text
    page = night.window.get(READY)
    assert "What changes since edition 1" in page.text and "Provisional, accepted: Lantern Street School" in page.text
    post(night, because="Provisional ballots of one place are counted.")
    assert votes(night, 2) == 534 + 7
    row = next(row for row in table(night, 2) if row["cell"] == "W3/election_day W3/provisional")
    assert (row["votes"], row["election_day"], row["provisional"]) == ("274", "267", "7")
    assert "Provisional ballots of one place are counted." in night.window.get("/posting/2/posting.html").text


def test_a_place_of_a_few_ballots_is_never_alone_over_two_editions(night, desk):
    """W5 has 6 ballots and comes after edition 1: it waits, in no figure, until something new stands beside it."""
    night.hold()
    night.take_in("W3")
    page = night.window.get("/posting")
    assert "Waiting for a small place" not in page.text, "W5 was issued many ballots"
    post(night)
    night.take_in("W5", **tiny(night.room.roster.places["W5"], 6))
    page = night.window.get(READY)
    assert "Counted, and not shown before more comes" in page.text and "No figure changes" in page.text
    post(night, because="No place is left out.")
    assert votes(night, 2) == 267
    for who in ("calloway", "durand"):
        key(night, who, **leaf(night))
    sign(night)
    post(night, because="Provisional ballots of one place are counted.")
    assert votes(night, 3) == 267 + 6 + 7
    files = [(night.folder / "editions" / str(n) / "results.csv").read_bytes() for n in (1, 2, 3)]
    sizes = {"W3/election_day": 517, "W5/election_day": 6, "W3/provisional": 12}
    for sums in published(files).values():
        assert given_away(sums, sizes, 10) == []
    text = b"".join(path.read_bytes() for path in sorted((night.folder / "editions").rglob("*.*"))).decode()
    assert "Lantern Street School + Heathfield Chapel" in text


def test_complete_is_refused_while_something_is_out_or_open_and_nothing_typed_is_lost(night):
    night.hold()
    night.take_in("W3")
    page = post(night, status="unofficial-complete", because="All is in.", second="")
    assert page.status == 422 and "1 of 2 places is not in the totals" in page.text and "All is in." in page.text
    page = post(night, status="unofficial-partial", because=" ", second="")
    assert page.status == 422 and "in one sentence for the public" in page.text
    decide(night, accepted="11", open="1", note="curb")
    night.take_in("W5")
    page = post(night, status="unofficial-complete", second="")
    assert "1 envelope is not decided" in page.text and "fewer ballots counted" in page.text
    assert "edition-posted" not in night.kinds


def test_figures_that_moved_since_they_were_looked_at_are_looked_at_again(night):
    night.hold()
    night.take_in("W3")
    minute(night)
    form = night.window.get(READY).form(READY)
    night.take_in("W5")
    values = {"status": "unofficial-partial", "because": "so", "signer": "calloway", "pin": night.crew.pins["calloway"]}
    page = night.window.send(form, values)
    assert page.status == 422 and "the figures moved" in page.text
    assert post(night).path == "/posting/1"


def test_of_two_editions_signed_once_only_one_gets_the_number(night):
    in_now(night)
    first, second = post(night, second=""), post(night, second="", because="Another reason.")
    pins = night.crew.pins
    assert night.window.send(second.form(second.path), {"signer": "durand", "pin": pins["durand"]}).path == "/posting/1"
    page = night.window.send(first.form(first.path), {"signer": "durand", "pin": pins["durand"]})
    assert page.status == 409 and "Edition 1 was posted meanwhile" in page.text
    assert night.kinds.count("edition-posted") == 1
    assert "Another reason." in night.window.get("/posting/1").text


def test_a_file_that_was_changed_is_named_and_no_further_edition_is_made_over_lost_figures(night):
    in_now(night)
    post(night)
    path = night.folder / "editions" / "1" / "results.csv"
    data = path.read_bytes()
    path.write_bytes(data.replace(b"267", b"268"))
    assert "editions/1/results.csv is not what was posted" in night.window.get("/posting/1").text
    assert night.window.get("/posting/1/results.csv").status == 409
    path.write_bytes(data)
    assert night.window.get("/posting/1/results.csv").status == 200
    sealed = night.folder / "editions-sealed" / "1.json"
    sealed.write_bytes(sealed.read_bytes() + b" ")
    page = night.window.get(READY)
    assert "No edition can be made now" in page.text and "editions-sealed/1.json" in page.text
    sealed.unlink()
    assert "cannot be read" in night.window.get(READY).text
    assert night.window.get("/posting").status == 200


def test_what_was_handed_out_holds_no_figures_of_single_atoms(night):
    in_now(night)
    post(night)
    assert {p.name for p in (night.folder / "editions" / "1").iterdir()} == FILES
    assert night.window.get("/posting/1/../../editions-sealed/1.json").status in (404, 400)
    assert night.window.get("/posting/7").status == night.window.get("/posting/1/office.toml").status == 404


def test_the_page_for_the_public_runs_nothing_and_loads_nothing(night):
    in_now(night)
    post(night, because='<script src="//x.example/y.js"></script> & "quotes"')
    page = night.window.get("/posting/1/posting.html")
    assert (
        "<script" not in page.text and "&lt;script" in page.text and "http" not in page.text.replace("http-equiv", "")
    )
    assert "not certified" in page.text and "edition 1" in page.text


def test_a_page_that_was_posted_keeps_the_style_it_was_written_with(night, monkeypatch):
    """A later version with another style lets the browser use the page's own."""
    in_now(night)
    monkeypatch.setattr(posting_page, "STYLE", "h1 { color: maroon }")
    post(night)
    monkeypatch.undo()
    sent = night.window.get("/posting/1/posting.html").headers["content-security-policy"]
    assert posting_page.policy("h1 { color: maroon }") in sent and posting_page.POLICY not in sent


def test_a_small_place_that_is_out_holds_its_neighbor_back_until_two_parties_waive_it(night, monkeypatch):
    monkeypatch.setattr(edition_figures, "issued", lambda roster: {"W5": 150})
    night.hold()
    night.take_in("W3")
    page = night.window.get("/posting")
    assert "waits for Heathfield Chapel" in page.text
    assert "No figure can be shown yet" in night.window.get(READY).text
    page = send(night, "/posting", "/posting/waive", place="W5", why="")
    assert page.status == 422 and "Enter why nobody waits" in page.text
    page = send(night, "/posting", "/posting/waive", second="durand", place="W5", why="Its laptop is under water.")
    assert page.path == "/posting" and "waits for Heathfield" not in page.text
    post(night)
    assert votes(night, 1) == 267


def test_on_the_night_a_further_edition_within_thirty_minutes_is_asked_about(night):
    night.hold()
    night.take_in("W3")
    post(night)
    page = post(night, second="", because="Once more.")
    assert (
        page.status == 422 and "On the night one every 30 minutes is enough" in page.text and "Once more." in page.text
    )
    assert post(night, because="The first one had a wrong reason.", sooner="yes").path == "/posting/2"
    night.now += 31 * 60_000
    assert post(night, because="Half an hour later.").path == "/posting/3"
