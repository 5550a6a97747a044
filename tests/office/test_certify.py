"""From the list of what stands in the way to the certified canvass, its lock and an amended certificate, through the pages."""

import json

from tests.office.test_corrected import look, two_votes
from tests.office.test_corrected import sign as sign_correction
from tests.office.test_counts_page import decide, key, leaf, minute, send
from tests.office.test_counts_page import sign as sign_count
from tests.office.test_posting import in_now, post, votes
from tests.office.test_recount import opened, order, recount
from tests.paper.printed import Printed

PAGE = "/certify"
MEMBERS = ("ekstrom", "fontaine")


def over(night, **values):
    return send(night, PAGE, f"{PAGE}/over", second="durand", **values)


def open_now(night) -> list[str]:
    """Names of the questions that are still open."""
    text = (
        night.window.get(PAGE).form(f"{PAGE}/over").controls["question"].options
        if "Sign over a question" in night.window.get(PAGE).text
        else []
    )
    return list(text)


def sign_over_all(night) -> None:
    for name in open_now(night):
        page = over(night, question=name, why="Looked into; it stays as it is.")
        assert page.path == PAGE, page.said()


def meet(night, first: str = "ekstrom", **values):
    values = {"present": list(MEMBERS), "quorum": "2", "vote.ekstrom": "for", "vote.fontaine": "for"} | values
    return send(night, PAGE, f"{PAGE}/met", first, **values)


def certify(night, because: str = "The canvass is certified.", second: str = "durand"):
    return send(night, f"{PAGE}/edition", second=second, because=because)


def member(night, person: str, vote: str = "for", **values):
    return send(night, PAGE, f"{PAGE}/sign", person, vote=vote, **values)


def ready(night) -> None:
    in_now(night)
    sign_over_all(night)


def board(night, number: int) -> dict:
    return json.loads((night.folder / "editions" / str(number) / "canvass.json").read_bytes())


def test_from_open_questions_to_the_sealed_document(night):
    in_now(night)
    post(night)
    sign_correction(night, look(night, **two_votes(night)))
    decide(night, accepted="11", open="1", note="curb")
    page = night.window.get(PAGE)
    assert "1 envelope not decided" in page.text and 'href="/counts/W3"' in page.text
    assert "cannot be certified yet" in night.window.get(f"{PAGE}/edition").text
    assert over(night, question="", why="").status == 422
    sign_over_all(night)
    assert "Nothing is open" in night.window.get(PAGE).text
    assert "The board has not met" in night.window.get(f"{PAGE}/edition").text
    page = meet(night)
    assert page.path == PAGE and "unanimous" in page.text, page.said()
    page = night.window.get(f"{PAGE}/edition")
    assert "The tape of T1 says it the other way round" in page.text and "Signed over" in page.text
    page = certify(night)
    assert page.path in (PAGE, "/posting/2") and night.kinds[-1] == "edition-posted", page.said()
    assert list(night.room.ledger.entries())[-1].body["status"] == "certified" and votes(night, 2) == 532
    told = board(night, 2)
    assert told["unanimous"] and told["present"] == 2 and told["ballots"] == 1034 and len(told["editions"]) == 1
    assert [one["title"] for one in told["narrative"]] == ["Lantern Street School: return corrected"]
    data = night.window.get("/posting/2/certificate.pdf").body
    text = Printed(data).all
    assert "full, true and correct statement" in text and told["words"] in text and "UNOFFICIAL" not in text
    minute(night)
    assert night.window.get("/posting/2/certificate.pdf").body == data, "the same edition, the same bytes"
    assert member(night, "ekstrom").path == PAGE
    page = member(night, "fontaine", "against")
    assert page.status == 422 and "Enter your statement" in page.text
    page = member(night, "fontaine", "against", statement="The seal of W5 was broken.")
    assert "voted for in session" in page.text and "The seal of W5 was broken." in page.text
    digest = night.room.editions.posted[-1].digest.hex()
    page = send(night, PAGE, f"{PAGE}/sealed", second="durand", digits="0" * 16)
    assert page.status == 422 and "These are not the first 16 digits" in page.text
    page = send(night, PAGE, f"{PAGE}/sealed", second="durand", digits=digest[:8] + " " + digest[8:16].upper())
    assert "Signed in ink and sealed" in page.text, page.said()
    night.restart()
    assert "Edition 2 is certified" in night.window.get(PAGE).text
    assert night.window.get("/posting/1/certificate.pdf").status == 200


def test_no_finding_count_or_edition_changes_what_is_certified_until_it_is_opened_again(night):
    ready(night)
    meet(night)
    certify(night)
    assert votes(night, 1) == 534
    page = sign_correction(night, look(night, **two_votes(night)), second="")
    assert page.status == 422 and "Edition 1 is certified: nothing changes it" in page.text
    page = post(night, second="")
    assert page.status == 422 and "Edition 1 is certified" in page.text
    page = decide(night, note="Two were given out at the curb.")
    assert page.status == 422 and "nothing changes it" in page.text
    order(night)
    opened(night)
    page = send(night, PAGE, f"{PAGE}/reopened", second="durand", because_of="", order="")
    assert page.status == 422 and "Choose why" in page.text and "number or the date" in page.text
    page = send(night, PAGE, f"{PAGE}/reopened", second="durand", because_of="recount", order="26-114")
    assert page.path == PAGE, page.said()
    assert recount(night, 1).path == "/recount/W3"
    sign_over_all(night)
    assert "has not met since it certified last" in night.window.get(f"{PAGE}/edition").text
    meet(night)
    certify(night, "Governor was recounted at one place.")
    assert list(night.room.ledger.entries())[-1].body["status"] == "recount" and votes(night, 2) == 535
    told = board(night, 2)
    title = next(c.title for c in night.room.added.contests("W3") if c.id == "GOV")
    assert told["supersedes"] == 1 and told["changed"] == [[title, ""]]
    text = Printed(night.window.get("/posting/2/certificate.pdf").body).all
    assert "Amended certificate" in text and "supersedes that of edition 1" in text and "order 26-114" in text
    assert "certified these figures" in night.window.get("/posting/2/posting.html").text


def test_a_place_without_a_return_is_excused_and_told_in_the_narrative(night):
    night.hold()
    night.take_in("W3")
    assert "place/W5" in open_now(night)
    page = send(
        night, PAGE, f"{PAGE}/excused", second="durand", place="W5", why_out="Its ballots burned; the court was told."
    )
    assert page.path == PAGE and "place/W5" not in open_now(night), page.said()
    page = night.window.get(f"{PAGE}/narrative")
    assert "Heathfield Chapel: no return" in page.text and "Its ballots burned" in page.text


def test_the_narrative_is_written_and_a_line_left_out_by_two_parties(night):
    in_now(night)
    sign_correction(night, look(night, **two_votes(night)))
    page = send(night, f"{PAGE}/narrative", second="durand", about="", text="")
    assert page.status == 422 and "Choose what these words are about" in page.text and "Enter the words" in page.text
    about = night.window.get(f"{PAGE}/narrative").form().controls["about"].options[0]
    evil = '<img src=x onerror="alert(1)"> =1+1'
    page = send(night, f"{PAGE}/narrative", second="durand", about=about, text=evil)
    assert page.path == f"{PAGE}/narrative" and "<img" not in page.text and "&lt;img" in page.text, page.said()
    send(night, f"{PAGE}/narrative", second="durand", about=about, text="Told elsewhere.", out="yes")
    send(night, f"{PAGE}/narrative", second="durand", about="more", text="The board thanks the inspectors.")
    sign_over_all(night)
    meet(night)
    certify(night)
    assert [one["text"] for one in board(night, 1)["narrative"]] == ["The board thanks the inspectors."]


def test_a_meeting_is_met_field_by_field_and_a_majority_against_certifies_nothing(night):
    ready(night)
    page = meet(night, **{"quorum": "x", "vote.fontaine": "against"})
    assert (
        page.status == 422
        and "how many members make a quorum" in page.text
        and "statement of Louis Fontaine" in page.text
    )
    page = meet(night, present=["ekstrom"], quorum="2", **{"vote.fontaine": ""})
    assert page.status == 422 and "no quorum" in page.text
    meet(night, **{"vote.fontaine": "against", "dissent.fontaine": "Not before the court decides."})
    assert "Not more than half of those present" in night.window.get(f"{PAGE}/edition").text
    assert send(night, PAGE, f"{PAGE}/met", "durand", present=list(MEMBERS)).status == 422
    assert "board-met" in night.kinds and "edition-posted" not in night.kinds


def test_ballots_of_few_are_shown_by_two_parties_and_the_document_does_not_point_at_them(night):
    in_now(night)
    post(night)
    decide(night, accepted="3", received="3", issued="3", **{"rejected.not-registered": "0"}, note="as found")
    figures = leaf(
        night,
        "3",
        **{
            "contests.GOV.votes.A": "2",
            "contests.GOV.votes.B": "1",
            "contests.GOV.votes.C": "0",
            "contests.GOV.under": "0",
        },
    )
    for who in ("calloway", "durand"):
        key(night, who, **figures)
    sign_count(night)
    assert any(name.startswith("waiting/") for name in open_now(night))
    page = send(night, f"{PAGE}/small", contest="", why="")
    assert page.status == 422 and "Choose the contest" in page.text
    page = send(night, f"{PAGE}/small", second="durand", contest="GOV", why="No further count comes.")
    assert page.path == f"{PAGE}/small" and "Nobody waits" in page.text, page.said()
    body = list(night.room.ledger.entries())[-1].body
    assert body["atoms"] == ["W3/provisional"] and body["ballots"] == 3
    sign_over_all(night)
    meet(night)
    assert "but for what two parties signed" in night.window.get(f"{PAGE}/edition").text
    certify(night)
    assert votes(night, 2) == 536
    handed = b"".join(path.read_bytes() for path in sorted((night.folder / "editions" / "2").iterdir()))
    assert b"No further count comes" not in handed
    assert "No further count" not in Printed(night.window.get("/posting/2/certificate.pdf").body).all


def test_the_reconciliation_report_stands_now_and_as_each_edition_froze_it(night):
    in_now(night)
    page = night.window.get("/reconciliation")
    assert "as it stands now" in page.text and "Lantern Street School" in page.text and "gross" in page.text
    assert "Envelopes, by place and way" not in page.text
    decide(night, note="Two were given out at the curb.")
    text = night.window.get("/reconciliation").text
    assert "<td>14</td><td>14</td><td>12</td><td>2</td><td>0</td><td>0</td>" in text
    post(night)
    page = night.window.get("/reconciliation?edition=1")
    assert "As it was frozen with edition 1" in page.text
    text = Printed(night.window.get("/posting/1/reconciliation.pdf").body).all
    assert "Lantern Street School" in text and "Over and under" in text
    assert night.window.get("/posting/9/reconciliation.pdf").status == 404
    assert night.window.get("/reconciliation?edition=99999999").status == 200
    path = night.folder / "editions" / "1" / "reconciliation.csv"
    path.write_bytes(path.read_bytes() + b" ")
    assert night.window.get("/reconciliation?edition=1").status == 409
    assert night.window.get("/posting/1/certificate.pdf").status == 409
