"""A corrected return through the pages: figures side by side, what they change, two parties, and what then stands in totals and in the next edition."""

from tests.office.conftest import tiny
from tests.office.test_counts_page import minute
from tests.office.test_posting import in_now, post, votes
from tests.paper.printed import Printed

PATH = "/corrected/W3"
WHAT = "The tape of T1 says it the other way round. Seen by both parties."


def figure(night, line: str):
    """(name, value now) of a line of Governor on the tape of T1, or of the place where it has one tape."""
    from webapp.pages.desk.canvass.corrected import Return

    with night.app.test_request_context():
        return next((s.id, s.value) for s in Return("W3").spots if s.id.endswith(f"GOV/{line}"))


def look(night, **values):
    minute(night)
    values = {"opened": "desk", "ballots_added": "0", "what": WHAT} | values
    return night.window.send(night.window.get(PATH).form(PATH), values | {"do": "look"})


def sign(night, page, first: str = "calloway", second: str = "durand", **values):
    pins = night.crew.pins
    page = night.window.send(page.form(PATH), values | {"do": "sign", "signer": first, "pin": pins[first]})
    if not second or not page.path.startswith("/sign/"):
        return page
    return night.window.send(page.form(page.path), {"signer": second, "pin": pins[second]})


def two_votes(night) -> dict[str, str]:
    (a, n), (b, m) = figure(night, "A"), figure(night, "B")
    return {f"is.{a}": str(n - 2), f"is.{b}": str(m + 2)}


def test_two_votes_move_from_the_form_to_totals_and_the_next_edition(night):
    in_now(night)
    post(night)
    (a, was) = figure(night, "A")
    page = look(night, **two_votes(night))
    text = page.text
    assert page.status == 200 and "Not signed" in text and "desk-finding" not in night.kinds
    assert f"<td>{was}</td><td><b>{was - 2}</b></td>" in text
    assert "<td>534</td><td>532</td>" in text, "the county's total, before and after"
    assert "Edition 1 stays as it is" in text and "<td>-2</td>" in text and "<td>+2</td>" in text
    page = sign(night, page)
    assert page.path.startswith("/place/W3") and night.kinds[-2:] == ["desk-finding"] * 2, page.said()
    body = list(night.room.ledger.entries())[-1].body
    assert (body["ballots_added"], body["board"], body["opened"]) == (0, False, "desk")
    assert len({bytes(e.body["act"]) for e in night.room.ledger.entries() if e.kind == "desk-finding"}) == 1
    assert votes(night, 1) == 534
    assert f"the packet says {was}, found {was - 2}" in page.text and WHAT in page.text
    post(night, because="The return of one place is corrected.")
    assert votes(night, 2) == 532
    night.restart()
    assert night.room.tray.counts("W3")[1].core["contests"]["GOV"][0] == 265


def test_a_figure_corrected_again_says_what_is_in_force_and_the_packet_keeps_its_own(night):
    in_now(night)
    (a, was) = figure(night, "A")
    sign(night, look(night, **two_votes(night)))
    assert f"In force now: {was - 2}" in night.window.get(PATH).text
    sign(night, look(night, **{f"is.{a}": str(was - 1), "opened": "board"}), as_paper="yes")
    assert figure(night, "A") == (a, was - 1)
    assert night.room.tray.sent("W3").core["contests"]["GOV"][0] == 267


def test_lines_that_do_not_move_with_the_ballots_are_asked_about_once(night):
    in_now(night)
    (a, was) = figure(night, "A")
    page = look(night, **{f"is.{a}": str(was + 3)})
    assert "together move by +3; its ballots move by +0" in page.text
    page = sign(night, page, second="")
    assert page.status == 422 and "tick that it does" in page.text and f'value="{was + 3}"' in page.text
    assert sign(night, page, as_paper="yes").path.startswith("/place/W3")


def test_a_tired_form_is_met_field_by_field_and_keeps_what_was_typed(night):
    in_now(night)
    (a, was) = figure(night, "A")
    page = look(night, **{f"is.{a}": "2O", "opened": "", "ballots_added": "two", "what": ""})
    for words in (
        "enter the figure in digits",
        "Choose who opens",
        "Enter how many ballots were added",
        "Enter what was wrong",
    ):
        assert words in page.text
    assert page.status == 422 and 'value="2O"' in page.text and 'value="two"' in page.text
    assert "No figure is written differently" in look(night).text
    assert "No figure is written differently" in look(night, **{f"is.{a}": str(was)}).text
    page = look(night, **two_votes(night))
    again = night.window.send(page.form(PATH), {"do": "again"})
    assert f'value="{was - 2}"' in again.text and WHAT in again.text
    assert night.window.get("/corrected/W9").status == 404


def test_another_packet_meanwhile_is_told_and_nothing_is_kept(night):
    in_now(night)
    page = look(night, **two_votes(night))
    sign(night, look(night, **two_votes(night)))
    page = sign(night, page, second="")
    assert page.status == 422 and "What counts for this place changed" in page.text
    assert night.kinds.count("desk-finding") == 2


def test_hostile_words_are_inert_and_votes_of_a_small_place_are_not_offered(night):
    in_now(night)
    page = look(night, **two_votes(night), what='<img src=x onerror="alert(1)"> =1+1')
    assert "<img" not in page.text and "&lt;img" in page.text
    night.take_in("W3", **tiny(night.room.roster.places["W3"], 4), number=2, amends=night.room.tray.counts("W3")[0])
    assert "is.votes/" not in night.window.get(PATH).text


def test_what_changed_since_an_edition_is_told_in_whole_blocks_with_its_entries(night):
    night.hold()
    assert "Nothing is posted yet" in night.window.get("/totals/since").text
    in_now(night)
    post(night)
    assert "Nothing changed since edition 1" in night.window.get("/totals/since").text
    sign(night, look(night, **two_votes(night)))
    page = night.window.get("/totals/since")
    assert "1 contest changed since edition 1" in page.text and "<td>534</td><td>532</td><td>-2</td>" in page.text
    assert "Corrected, over the same ballots: Lantern Street School" in page.text
    assert "The desk found a different figure" in page.text and "Because of what" in page.text
    post(night, because="The return of one place is corrected.")
    assert "Nothing changed since edition 2" in night.window.get("/totals/since").text
    assert "<td>534</td><td>532</td><td>-2</td>" in night.window.get("/totals/since?edition=1").text
    assert night.window.get("/totals/since?edition=9").status == 404
    assert 'href="/totals/since.pdf?edition=2"' in night.window.get("/totals/since").text
    for query, head in (
        ("", "since edition 2"),
        ("?edition=1", "since edition 1"),
        ("?edition=1&to=2", "from edition 1 to 2"),
    ):
        printed = Printed(night.window.get(f"/totals/since.pdf{query}").body)
        assert f"What changed {head}" in printed.all and printed.outside(12, 203, 10, 276) == []
        assert ("534 532 -2" in printed.all) == bool(query), query
        assert ("The desk found a different figure, Lantern Street School" in printed.all) == bool(query), query
    for query in ("?edition=9", "?edition=2&to=1", "?edition=1&to=9"):
        assert night.window.get(f"/totals/since.pdf{query}").status == 404, query


def test_a_correction_is_withdrawn_as_it_was_signed_as_one_and_the_next_edition_follows(night):
    in_now(night)
    post(night)
    sign(night, look(night, **two_votes(night)))
    post(night, because="The return of one place is corrected.")
    assert votes(night, 2) == 532
    number = list(night.room.tray.findings["W3"])[0].number
    page = night.window.get(f"/withdraw/W3/{number}")
    assert "withdrawn as one" in page.text and page.text.count("Governor") >= 2
    form, pins = page.form("/withdraw/W3/"), night.crew.pins
    minute(night)
    page = night.window.send(form, {"why": "The tape was right.", "signer": "calloway", "pin": pins["calloway"]})
    page = night.window.send(page.form(page.path), {"signer": "durand", "pin": pins["durand"]})
    assert page.path == "/place/W3" and page.text.count("Counts no longer") == 2, page.said()
    assert not night.room.tray.findings and len(list(night.room.ledger.entries())[-1].body["findings"]) == 2
    page = night.window.get("/totals/since")
    assert "<td>532</td><td>534</td><td>+2</td>" in page.text and "A finding of the desk was withdrawn" in page.text
    narrative = night.window.get("/certify/narrative").text
    assert "return corrected, and withdrawn" in narrative and "Withdrawn: The tape was right." in narrative
    post(night, because="A correction is withdrawn.")
    assert votes(night, 3) == 534
    reconciled = (night.folder / "editions" / "3" / "reconciliation.csv").read_text(encoding="utf-8")
    assert (
        ",withdrawn\n" in reconciled
        and "was withdrawn, and is not counted" in night.window.get("/reconciliation?edition=3").text
    )
    log = (night.folder / "editions" / "3" / "log-1500-101.json").read_text(encoding="utf-8")
    assert "finding-withdrawn" in log
