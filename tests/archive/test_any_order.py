"""What is kept gives the same results.csv in whatever order it is read: random orders (100 with --all), each entry twice, half of it first.

Rulings, packets set aside, papers, findings of one figure, counts that amend, pools of one name: all of them functions of the set of entries.
"""

import random
import shutil

import pytest

from tests.archive.small_office import SmallOffice, contests, row
from tests.archive.test_archive import both
from tests.matrix import ALL
from webapp.archive import replay
from webapp.canvass import results_csv
from webapp.commands import main
from webapp.office.canvassing import edition_figures
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.record.backup import record_id_of, stored_after
from webapp.record.restoration import lay_down, settle


@pytest.fixture(scope="module")
def mixed(tmp_path_factory) -> SmallOffice:
    """Three places over which much was decided, some of it twice and some taken back."""
    made = SmallOffice.new(tmp_path_factory.mktemp("orders"))
    first = made.packet("W3", contests(20, 12, 4, 40))
    second = made.packet("W3", contests(19, 13, 4, 40), 2, first)
    made.packet("W3", contests(18, 14, 4, 40), 2, first)
    made.keep("place-counts", {"place": "W3", "digest": second, "number": 2, "against": [], "tape": False})
    made.find("W3", "votes/GOV/A", 19, 21)
    made.find("W3", "votes/GOV/A", 19, 17)
    made.find("W3", "votes/GOV/B", 13, 15)
    made.withdraw("W3", made.find("W3", "votes/GOV/C", 4, 6))
    apart = made.packet("W5", contests(3, 1, 1, 7))
    made.packet("W5", contests(2, 1, 1, 6))
    for aside in (True, False, True):
        made.keep("packet-set-aside", {"place": "W5", "digest": apart, "number": 1, "aside": aside})
    made.from_paper("HM4", contests(10, 9, 8, 30))
    made.packet("HM4", contests(11, 9, 8, 30))
    for pool in (["W3", "HM4"], ["W3", "W5"]):
        made.keep("pool", {"id": "later", "places": pool})
    counted = made.count("later", contests(5, 4, 1, 12))
    made.count("later", contests(6, 3, 1, 12), amends=[counted.id])
    for votes in (4, 5):
        made.count("W3", {"GOV": row(votes, 3, 2, ballots=11)}, part=2)
    wrong = made.recount("W3", {"GOV": row(30, 3, 4, ballots=40)})
    made.recount("W3", {"GOV": row(17, 14, 5, ballots=40)}, amends=[wrong.id])
    made.recount("later", {"GOV": row(6, 2, 2, ballots=12)}, "provisional")
    for votes in (11, 12):
        made.recount("HM4", {"GOV": row(votes, 8, 8, ballots=30)})
    made.close()
    return made


def results(made: SmallOffice, entries) -> bytes:
    tray, added = replay.replayed(made.folder, made.roster, entries, made.opened)
    kept = edition_figures.figures_now(made.roster, tray, added)
    return results_csv.written(
        edition_figures.drawn_up(made.roster, added, kept, {}, 1, 0, 0, "unofficial-partial", "")
    )


def test_results_are_the_same_in_any_order_twice_and_half(mixed):
    entries = list(mixed.ledger_entries)
    wanted, dice = results(mixed, entries), random.Random(15)
    text = wanted.decode()
    together = "Lantern Street School + Heathfield Chapel,Governor,1,"
    assert f"{together}Agnes Bellweather,choice,19," in text, (
        "17 as recounted, and 2 of the packet that is not set aside"
    )
    assert f"{together}Tobias Quill,choice,15," in text, "14 as recounted: no finding lies over it"
    assert "Harrow Mill hall,Governor,1,Agnes Bellweather,choice,10," in text, (
        "the paper: two recounts of it are against each other"
    )
    assert "Lantern Street School + Harrow Mill hall,Governor,1,Agnes Bellweather,choice,6," in text, (
        "the count that amends"
    )
    assert "provisional.2" not in text, "two counts against each other are none"
    for turn in range(100 if ALL else 12):
        some = dice.sample(entries, len(entries))
        if turn % 3 == 1:
            some = dice.sample([*some, *some], 2 * len(some))
        elif turn % 3 == 2:
            half = some[: len(some) // 2]
            results(mixed, half)
            some = [*half, *some]
        assert results(mixed, some) == wanted, turn


def test_both_checkers_of_an_archive_count_the_same(mixed, tmp_path, alone, capsys):
    """Rulings, papers, pools and recounts in an archive: what counts is worked out by the product and by verify.py alike."""
    shutil.copytree(mixed.home, tmp_path / "home")
    made = SmallOffice.again(tmp_path / "home")
    made.post("All of it.")
    made.recount("W5", {"GOV": row(1, 2, 1, ballots=6)})
    made.post("A recount of few ballots.")
    made.close()
    assert main(["export", str(made.folder), "--out", str(tmp_path / "sealed"), "--archive", "sealed"]) == 0, (
        capsys.readouterr()
    )
    assert both(tmp_path / "sealed", alone, capsys) == (set(), set())


def test_of_two_pools_of_one_name_the_first_stands(mixed):
    pools = [entry for entry in mixed.ledger_entries if entry.kind == "pool"]
    for order in (pools, pools[::-1]):
        added = AddedBallots(mixed.roster)
        for entry in order:
            added.add(entry)
        assert added.pools["later"].places == ("W3", "HM4")


def test_an_office_that_was_restored_is_archived_with_both_of_its_runs(mixed, tmp_path, alone, capsys):
    """The laptop of the office died; its record goes on in run 2, with numbers that nobody used before. Both checkers follow the chain across."""
    shutil.copytree(mixed.home, tmp_path / "home")
    record = tmp_path / "home" / "office" / "office.db"
    saved, made_at = stored_after(record, 0), mixed.ledger_entries[-1].kept
    facts = {
        "stick": bytes(16),
        "seen": saved[-1].number + 3,
        "kit": "none",
        "laptop": "dead",
        "source": "stick",
        "torn": 0,
    }
    found = lay_down(tmp_path / "again.db", record_id_of(record), saved, facts, made_at)
    for path in record.parent.glob("office.db*"):
        path.unlink()
    settle(found, record)
    made = SmallOffice.again(tmp_path / "home")
    assert made.ledger.newest.run == 2
    made.packet("W5", contests(2, 1, 1, 6), 3)
    made.post("After the laptop died.")
    made.close()
    assert main(["export", str(made.folder), "--out", str(tmp_path / "sealed"), "--archive", "sealed"]) == 0, (
        capsys.readouterr()
    )
    assert both(tmp_path / "sealed", alone, capsys) == (set(), set())
