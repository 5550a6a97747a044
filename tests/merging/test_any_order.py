"""Merging is a function of the set of bundles: in random orders (100 with --all), twice, in halves, the same results.csv byte for byte."""

import random
import shutil
from itertools import count

import pytest

from tests.matrix import some
from tests.merging.desks import bundle, figures, night, results, votes
from webapp.commands import main
from webapp.merging.brought import BROUGHT, Brought
from webapp.merging.taking_in import MergingTable
from webapp.office.setup import roster
from webapp.record.audit import verify
from webapp.record.entry import Entry


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    """(home, the whole bundle of each desk, the second part of each desk's night)."""
    home = tmp_path_factory.mktemp("desks")
    whole = night(home)
    return home, whole, [bundle(home, path.stem, 2, f"{path.stem}-late.bundle") for path in whole]


def merged(home, at, *files):
    shutil.copytree(home / "office", at)
    assert main(["office", "merge", str(at), *map(str, files)]) in (0, 1)
    return at


def test_the_command_gives_the_same_bytes_in_any_order_twice_and_in_halves(three, tmp_path, capsys):
    home, whole, halves = three
    draw, seen = random.Random(7), set()
    for n in some(range(3), range(100)):
        files = [*whole, *draw.sample([*whole, *halves], draw.randint(0, 4))]
        draw.shuffle(files)
        at = merged(home, tmp_path / str(n), *files)
        seen.add(results(at))
        assert verify(at / "office.db").ok
        shutil.rmtree(at)
    assert len(seen) == 1, capsys.readouterr().out
    told = seen.pop()
    assert votes(told, "Governor", "Ada Marsh") or len(told.splitlines()) > 20


def test_any_order_of_the_bundles_entries_gives_the_same_bytes(three):
    """The same without the disk: each order reads the bundles' entries as the office's record would have them."""
    home, whole, halves = three
    found, draw, seen = roster.load(home / "office"), random.Random(11), set()
    for _ in some(range(12), range(100)):
        files = [*whole, *draw.sample([*whole, *halves], draw.randint(0, 4))]
        draw.shuffle(files)
        brought, entries, numbers = Brought(), [], count(1)
        table = MergingTable(home / "office", found, brought, lambda id: None)
        waiting = []
        for file in files:
            waiting.append(file.read_bytes())
            for data in list(waiting):
                one = table.prepared(data, file.name)
                if not one.hole:
                    waiting.remove(data)
                for claim in one.claims:
                    raw = Entry(
                        bytes(16), 1, next(numbers), claim.id, claim.kind, claim.full_body, 1, claim.happened, 1, 0, "L", 0, None, ()
                    )  # fmt: skip
                    entries.append(brought.read(raw))
        seen.add(figures(found, home / "office", entries, [path for path in (home).glob("*/in/*.cose")]))
    assert len(seen) == 1 and all(entry.kind != BROUGHT or entry.body for entry in entries)


def test_half_of_a_night_counts_for_itself_and_the_rest_waits_for_what_lacks(three, tmp_path, capsys):
    home, whole, halves = three
    at = tmp_path / "office"
    shutil.copytree(home / "office", at)
    assert main(["office", "merge", str(at), str(halves[1])]) == 1
    assert "waits, as entries 1 to 2 are not here yet" in capsys.readouterr().out
    empty = results(at)
    assert len(empty.splitlines()) < 10 and list((at / "desks" / "south").glob("waiting-*.bundle"))
    first = bundle(home, "south", 0, "south-first.bundle")
    assert main(["office", "merge", str(at), str(first)]) == 0
    assert not list((at / "desks" / "south").glob("waiting-*.bundle")), "what waited is merged or known now"
    assert results(at) != empty


def test_the_same_bundle_twice_changes_nothing(three, tmp_path, capsys):
    home, whole, _ = three
    at = merged(home, tmp_path / "office", *whole)
    before, length = results(at), verify(at / "office.db").entries
    capsys.readouterr()
    assert main(["office", "merge", str(at), *map(str, whole)]) == 0
    assert capsys.readouterr().out.count("nothing new") == 3
    assert (results(at), verify(at / "office.db").entries) == (before, length)
