"""Count sheet and recount sheet on paper: every field of the screens, nothing filled in beforehand, hostile names as they are."""

from tests.canvass.county import GOV, PROP
from tests.paper.printed import Printed
from webapp.paper.count_forms import count_sheet_pdf, recount_sheet_pdf

OFFICE = "Sable County election office"


def test_the_count_sheet_asks_for_envelopes_and_every_contest():
    reasons = ("Not registered here", "Received too late")
    printed = Printed(
        count_sheet_pdf(OFFICE, "Lantern Street School", "Provisional, accepted", (GOV, PROP), reasons, True)
    )
    text = printed.all
    for words in (
        "Accepted for some contests only",
        "Rejected: Received too late",
        "Open, not decided",
        "Ballots counted",
    ):
        assert words in text, words
    for words in (
        "Governor",
        "Ada Marsh",
        "Write-ins",
        "Bridge",
        "Ballots with this contest",
        "second counter, other party",
        "PRACTICE",
    ):
        assert words in text, words
    assert text.count("Write-ins") == 1, "Bridge has none"
    assert printed.outside(12, 203, 10, 276) == [] and printed.smallest() >= 9 and printed.ink_at_the_edge() == []


def test_the_recount_sheet_begins_with_the_container_and_has_no_figure_of_before():
    printed = Printed(recount_sheet_pdf(OFFICE, "<b>W3</b> =1+1", "Election day", (GOV,), "Order 26-114", False))
    text = printed.all
    assert "Container: read the seal before you look" in text and "number is in book, certificate, statement" in text
    assert (
        "Ballots recounted" in text and "Order 26-114" in text and "<b>W3</b> =1+1" in text and "PRACTICE" not in text
    )
    assert printed.outside(12, 203, 10, 276) == []
