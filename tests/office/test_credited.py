"""Voters credited, typed place by place and signed by two parties: in the report, its CSV and the next edition, held against the ballots counted."""

import csv
import io

from demo_precinct.rehearsed_day import MINUTE
from tests.office.test_counts_page import send
from tests.office.test_posting import in_now, post
from tests.paper.printed import Printed
from webapp.canvass import reconciled
from webapp.office.canvassing import reconciliation

PAGE = "/reconciliation/credited"


def test_a_column_of_the_file_has_a_heading_or_holds_words():
    """Any other column is read as a way of voting, on the page and on paper."""
    assert {*reconciliation.COLUMNS, *reconciliation.BEHIND} <= set(reconciled.HEADS) | reconciled.WORDS


def credit(night, second: str = "durand", **figures: str):
    values = {f"credited.{place}": n for place, n in figures.items() if place != "note"}
    return send(night, PAGE, second=second, note=figures.get("note", ""), **values)


def table(night, number: int) -> list[dict[str, str]]:
    data = (night.folder / "editions" / str(number) / "reconciliation.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(data)))


def test_from_the_form_to_the_report_and_the_edition_that_freezes_it(night):
    in_now(night)
    post(night)
    assert "credited" not in table(night, 1)[0], "an office that types none has no column of them"
    ballots = int(table(night, 1)[0]["ballots"])
    page = credit(night, W3=str(ballots + 3), W5=str(ballots - 1), note="List of 20 November. <b>=1+1</b>")
    assert page.path == "/reconciliation" and night.kinds[-1] == "voters-credited", page.said()
    for words in (
        "Voters credited",
        "3 more voters credited than ballots.",
        "1 more ballot than voters credited.",
        "net 2 under, gross 4",
    ):
        assert words in page.text, words
    assert f"Now {ballots + 3}" in night.window.get(PAGE).text
    assert "<b>=1+1" not in night.window.get("/record").text
    night.restart()
    night.hold()
    post(night, because="Voters credited are typed in.")
    rows = {row["place"]: row for row in table(night, 2)}
    assert (rows["W3"]["credited"], rows["W3"]["gap_credited"]) == (str(ballots + 3), "3")
    assert (rows["county"]["credited"], rows["county"]["gap_credited"]) == (str(2 * ballots + 2), "2")
    printed = Printed(night.window.get("/posting/2/reconciliation.pdf").body)
    assert "Voters credited" in printed.all and "3 more voters credited than ballots" in printed.all
    assert "Voters credited" not in night.window.get("/reconciliation?edition=1").text
    night.now += (
        60 * MINUTE
    )  # started anew, the scripted clock is back at the hour of the first figures: the later kept stands
    credit(night, W3=str(ballots))
    assert night.room.added.credited == {"W3": ballots, "W5": ballots - 1}


def test_a_tired_form_is_met_field_by_field_and_loses_nothing(night):
    in_now(night)
    page = credit(night, W3="5l7", W5="12")
    assert page.status == 422 and "in digits" in page.text and 'value="5l7"' in page.text and 'value="12"' in page.text
    assert "No place has a figure" in credit(night).text
    assert credit(night, W3="517", note="12 \u202e21").status == 422
    assert night.window.get(f"{PAGE}?page=99").status == 200 and "voters-credited" not in night.kinds
