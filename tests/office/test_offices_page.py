"""Contests of several offices through the pages: an edition of a neighbor taken in, its key compared by two parties, sums as reported, files for the public."""

from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.office.test_counts_page import minute, send
from tests.office.test_posting import in_now, post
from webapp.merging import office_report
from webapp.office.setup import other_offices
from webapp.record import check_words

KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = KEY.public_key().public_bytes_raw()
NAME = "Sable County election office"


def report(**changes) -> bytes:
    """An edition of Sable County, whose Governor has the choices of Tarn's."""
    choices = changes.pop("choices", (("X", "Ada Marsh"),))
    votes = {choices[0][0]: 7_312, "write_in": 16, "under": 36, "over": 3}
    contest = office_report.ReportedContest("Governor", "", 1, "ballots", choices, votes, 7_367, 0)
    told = office_report.OfficeReport(
        "sable", NAME, "practice", ("General election", "2026-11-03"), 3, "unofficial-complete", "2026-11-12T16:05:00-06:00",
        bytes(32), (3, 3), {}, {"GOV-1": contest},
    )  # fmt: skip
    return office_report.packed(replace(told, **changes), KEY)


@pytest.fixture
def shared(night):
    """The office's night, with Sable County in its office.toml."""
    file = night.folder / "office.toml"
    told = other_offices.as_toml("sable", NAME, PUBLIC)
    file.write_text(
        f'{file.read_text("utf-8")}\n{told}\n[[shared]]\nhere = "GOV"\nthere = {{sable = "GOV-1"}}\n', "utf-8"
    )
    night.restart()
    in_now(night)
    return night


def take(night, data: bytes, name: str = "sable-3.edition", path: str = "/offices"):
    minute(night)
    return night.window.upload(night.window.get(path).form(path), "file", [(name, data)])


def words() -> str:
    return check_words.check_words(other_offices.head_of(PUBLIC))


def compare(night, typed: str, second: str = "durand"):
    return send(night, "/offices", "/offices/compare", second=second, office="sable", words=typed)


def test_a_neighbors_edition_is_shown_as_reported_once_two_parties_compared_its_key(shared):
    label = next(c for c in shared.room.added.contests("W3") if c.id == "GOV").choices[0].label
    page = shared.window.get("/offices")
    assert "0 of 2 offices are in this sum" in page.text and "nothing is posted yet" in page.text
    assert words() not in page.text and "7,312" not in page.text
    post(shared)
    own = shared.room.editions.posted[-1]
    page = take(shared, report(choices=(("X", label),)))
    assert page.status == 200 and "Edition 3 of Sable County election office: taken in, 3 of 3 places." in page.text
    assert "7,312" not in page.text and "its key was not compared yet" in page.text and words() not in page.text
    slip = words()[:-1] + ("A" if words()[-1] != "A" else "B")
    assert "a slip in hearing or typing" in compare(shared, slip).text
    assert "Type the twelve symbols" in compare(shared, " ").text
    assert "reads out another key than office.toml has" in compare(shared, check_words.check_words(bytes(32))).text
    assert shared.kinds.count("office-compared") == 0
    part = shared.window.get("/offices").text
    page = compare(shared, words().lower())
    assert page.path == "/offices" and shared.kinds.count("office-compared") == 1, page.said()
    assert "Together, as reported" in page.text and "Together, 1 of 2 offices" in part, "a part is called a part"
    assert "2 of 2 offices are in this sum" in page.text and "7,312" in page.text and "7,846" in page.text
    assert (
        f"edition {own.number}, unofficial, partial" in page.text
        and "unofficial, complete, 12 November 2026, 16:05" in page.text
    )
    table = shared.window.get("/offices/sums.csv").text
    assert f'Governor,1,{label},choice,"Together, as reported",,,,,,7846' in table
    public = shared.window.get("/offices/sums.html")
    assert "7,846" in public.text and "<script" not in public.text and "Practice, no election" in public.text
    for path in ("/totals", "/canvass", "/posting/1/posting.html", "/posting/1/results.csv", "/posting/ready", "/wall"):
        assert "7,312" not in shared.window.get(path).text and "7312" not in shared.window.get(path).text, path
    shared.restart()
    assert "7,846" in shared.window.get("/offices").text
    listed = shared.window.get("/record").text
    assert "An edition of another office was taken in" in listed and "The key of another office was compared" in listed


def test_one_party_alone_compares_nothing(shared):
    take(shared, report())
    page = compare(shared, words(), second="")
    assert page.path.startswith("/sign/")
    assert (
        shared.kinds.count("office-compared") == 0
        and not shared.room.reported.standing(shared.office.others[0]).compared
    )


def test_two_editions_of_one_number_are_named_on_totals_too(shared):
    take(shared, report())
    page = take(shared, report(places=(2, 3)), path="/merge")
    assert "they say different things" in page.text, page.said()
    compare(shared, words())
    text = shared.window.get("/offices").text
    assert "Two files call themselves edition 3" in text and "7,312" not in text
    for path in ("/totals", "/places", "/posting"):
        assert "Two files of another office say different things under one number:" in shared.window.get(path).text


def test_what_is_refused_is_named_on_its_list_and_hostile_words_are_inert(shared):
    page = take(shared, report()[:-3], "<b>x</b>.edition")
    assert page.status == 422 and "is no edition of an office" in page.text and "<b>x</b>" not in page.text
    assert "is no edition of an office" in shared.window.get("/refused").text
    assert "Choose the file" in shared.window.send(shared.window.get("/offices").form("/offices")).text
    compare(shared, words())
    take(shared, report(choices=(("X", "<script>alert(1)</script>=SUM(A1)"),)))
    for path in ("/offices", "/offices/sums.html"):
        assert "<script>alert(1)" not in shared.window.get(path).text
    assert "<script>alert(1)</script>=SUM(A1)" in shared.window.get("/offices/sums.csv").text


def test_this_offices_own_edition_is_saved_for_others(shared):
    assert shared.window.get("/offices/ours/1").status == 404
    post(shared)
    saved = shared.window.get("/offices/ours/1")
    told = office_report.unproven(saved.body, "x")
    assert (told.office, told.number, told.contests["GOV"].ballots) == ("tarn", 1, 1034)
    results = shared.folder / "editions" / "1" / "results.csv"
    results.write_bytes(results.read_bytes() + b"x")
    page = shared.window.get("/offices")
    assert "is not what was posted" in page.text and shared.window.get("/offices/sums.csv").status == 409
