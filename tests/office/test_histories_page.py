"""Two histories of one desk apart: the page says how to find out which is the desk's, two parties sign it, and what still counts by a wrong one is named."""

import shutil

from tests.archive.small_office import contests
from tests.merging.desks import DeskApart, bundle
from tests.office.test_counts_page import minute, send
from webapp.commands import main
from webapp.record.ledger import Ledger


def forks(home):
    """Bundles of desk north: what it kept, another history of it, and a third."""
    DeskApart.made(home, "north").close()
    homes = []
    for n, votes in enumerate((5, 6, 7)):
        at = home / f"history-{n}"
        (at / "office").parent.mkdir()
        shutil.copytree(home / "north", at / "north")
        (at / "office").symlink_to(home / "office")
        desk = DeskApart(at, Ledger.open(at / "north" / "office.db"), "north")
        desk.from_paper("W3", contests(votes, 4, 3, 40))
        desk.close()
        homes.append(at)
    return [(at, bundle(at, "north").read_bytes()) for at in homes]


def merge(night, data: bytes):
    minute(night)
    return night.window.upload(night.window.get("/merge").form("/merge"), "file", [("north.bundle", data)])


def settle(night, **values):
    return send(
        night, "/merge", "/merge/history", second="durand", **({"desk": "north", "why": "We compared."} | values)
    )


def test_two_parties_say_which_history_is_the_desks_and_a_wrong_one_that_counts_is_named(night, tmp_path, capsys):
    night.hold()
    (mine, first), (_, other), (_, third) = forks(tmp_path)
    assert merge(night, first).status == 200
    figures = night.room.tray.counts("W3")[0]
    assert merge(night, other).status == 422
    asks = "Another history was refused, and which of the two is true is not known here:"
    for path in ("/totals", "/places", "/canvass"):
        assert asks in night.window.get(path).text, path
    page = night.window.get("/merge").text
    told = page.partition("--expect ")[2].partition("<")[0]
    assert main(["record", "verify", str(mine / "north" / "office.db"), "--expect", told]) == 0
    assert main(["record", "verify", str(tmp_path / "history-1" / "north" / "office.db"), "--expect", told]) == 1
    opened = night.window.get("/merge").form("/merge/history")
    said = settle(night, why="").text
    assert "Enter how you found out" in said and "Choose which history" in said
    settle(night, stands="merged")
    assert night.kinds.count("history-settled") == 1 and "the desk’s own record" in night.window.get("/merge").text
    assert asks not in night.window.get("/totals").text
    assert merge(night, third).status == 422 and asks in night.window.get("/totals").text, "a further one asks again"
    own = {"desk": "north", "stands": "merged", "why": "We compared.", "signer": "calloway"}
    page = night.window.send(opened, own | {"pin": night.crew.pins["calloway"]})
    assert page.status == 422 and "since this page was opened" in page.said(), "the third was not on that page"
    settle(night, stands="refused", why="The third is what the laptop has.")
    wrong = "Counted from a history that is not the desk’s own, to be set aside:"
    assert wrong in night.window.get("/totals").text and night.room.tray.counts("W3")[0] == figures
    page = night.window.get("/merge").text
    assert "It still counts at" in page and "The third is what the laptop has." in page
    night.restart()
    assert wrong in night.window.get("/totals").text
