"""A bundle that is not what it should be: one clear sentence, exit 2, the record and the figures as they were, the bytes kept aside."""

import shutil
import time

import pytest

from tests.archive.small_office import SmallOffice, contests
from tests.merging.desks import HOSTILE, DeskApart, bundle, late_call, office, results
from webapp.commands import main
from webapp.gate import keys
from webapp.merging import bundle as bundles
from webapp.merging import desk_apart, desk_folder
from webapp.merging.desk_apart import DeskApart as Certificate
from webapp.record.reader import Reader


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """(home, desk north's bundle): one packet, one count."""
    home = tmp_path_factory.mktemp("refused")
    office(home)
    north = DeskApart.made(home, "north")
    north.packet("W3", contests(20, 12, 4, 40))
    north.count("W3", contests(5, 4, 1, 12))
    north.close()
    return home, bundle(home, "north")


@pytest.fixture
def here(made, tmp_path):
    shutil.copytree(made[0] / "office", tmp_path / "office")
    return tmp_path / "office"


def kinds(folder):
    with Reader(folder / "office.db") as record:
        return [entry.kind for entry in record.entries()]


def refused(capsys, here, data, tmp_path, name="north.bundle"):
    """The sentence; and nothing else came of it."""
    file = tmp_path / name
    file.write_bytes(data)
    before, figures = kinds(here), results(here)
    capsys.readouterr()
    assert main(["office", "merge", str(here), str(file)]) == 2
    told = capsys.readouterr().err.strip()
    assert told.count("\n") == 0 and told.startswith("tapeseal office: "), told
    assert kinds(here) == [*before, "packet-refused"] and results(here) == figures
    assert not list((here / "in").glob("*")) and not list((here / "desks" / "north").glob("*.bundle"))
    assert [path.read_bytes() for path in (here / "refused").iterdir()] == [data]
    return told


def test_one_byte_changed_anywhere_is_named(made, here, tmp_path, capsys):
    data = made[1].read_bytes()
    places = sorted({0, 5, 17, 18, 21, 30, 200, 400, *range(600, len(data), 97), len(data) - 1})
    desk = next(iter(desk_apart.issued(here, desk_folder.office_publics(here)).values()))[-1]
    for at in places:
        changed = bytearray(data)
        changed[at] ^= 1
        with pytest.raises(bundles.BundleRefused):
            bundles.certificate_in(bytes(changed), "north.bundle")
            bundles.opened(bytes(changed), "north.bundle", desk)
    changed = bytearray(data)
    changed[-40] ^= 1
    told = refused(capsys, here, bytes(changed), tmp_path)
    assert "is not what desk north signed (its part in/" in told


def test_a_torn_bundle(made, here, tmp_path, capsys):
    data = made[1].read_bytes()
    told = refused(capsys, here, data[: len(data) // 2], tmp_path)
    assert "is cut off" in told and "Copy it again" in told
    for at in (0, 3, 18, 20, 22, 100, len(data) - 1):
        with pytest.raises(bundles.BundleRefused):
            found = bundles.certificate_in(data[:at], "north.bundle")
            bundles.opened(data[:at], "north.bundle", desk_apart.unproven(found))


def test_something_behind_its_end_and_something_else(made, here, tmp_path, capsys):
    assert "follow its end" in refused(capsys, here, made[1].read_bytes() + b"x", tmp_path)
    shutil.rmtree(here / "refused")
    assert "is no bundle of a desk" in refused(capsys, here, b"PK\3\4 a zip", tmp_path, "zip.bundle")
    shutil.rmtree(here / "refused")
    told = refused(capsys, here, b"tapeseal/bundle/2\n" + made[1].read_bytes()[18:], tmp_path)
    assert "use the newer program" in told


def test_r31_too_large_is_not_even_read(here, tmp_path, capsys):
    file = tmp_path / "large.bundle"
    with open(file, "wb") as hole:
        hole.truncate(bundles.LARGEST + 1)
    before = kinds(here)
    assert main(["office", "merge", str(here), str(file)]) == 2
    assert "A bundle has at most 256 MB" in capsys.readouterr().err and kinds(here) == before


def test_a_file_that_is_not_there_or_no_file(here, tmp_path, capsys):
    assert main(["office", "merge", str(here), str(tmp_path / "none"), str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("is not read") == 2


def test_a_desk_that_another_office_made(here, tmp_path, capsys):
    other = tmp_path / "other"
    office(other)
    stranger = DeskApart.made(other, "north")
    stranger.packet("W3", contests(1, 2, 3, 40))
    stranger.close()
    told = refused(capsys, here, bundle(other, "north").read_bytes(), tmp_path)
    assert "comes from no desk of this office (this office did not certify its desk north)" in told


def test_a_key_that_was_replaced(made, here, tmp_path, capsys):
    desk_folder.make(here, "north", tmp_path / "again", time.time_ns() // 1_000_000, replace=True)
    assert "with a key of desk north that was replaced" in refused(capsys, here, made[1].read_bytes(), tmp_path)


def test_another_mode_another_election_another_edition(made, here, tmp_path, capsys):
    data, key = made[1].read_bytes(), keys.office_key(made[0] / "north")
    mine = desk_apart.unproven(bundles.certificate_in(data, "x"))
    found = bundles.opened(data, "x", mine)
    parts = {"record": _record(data), **found.beside}

    def told(mode="practice", certificate=None, **changes):
        shutil.rmtree(here / "refused", ignore_errors=True)
        from dataclasses import replace

        one = replace(found.contents, **({"desk": certificate} if certificate else {}), **changes)
        return refused(capsys, here, bundles.packed(one, parts, key, mode), tmp_path)

    assert "of another election (Other election, 2026-11-03" in told(election=("Other election", "2026-11-03"))
    strange = {**found.contents.places, "W3": [bytes(32)]}
    assert "with a place file of W3 that this office never issued, of another edition" in told(places=strange)
    assert "is for the office sable" in told(office="sable")
    live = Certificate("north", "tarn", "live", mine.key, mine.since + 1)
    sealed = desk_apart.sealed(live, keys.office_key(here))
    (here / "desks" / "north" / "0000000000000000.cose").write_bytes(sealed)
    assert "is for live, and this office is for practice" in told("live", sealed)


def _record(data):
    envelope, contents, at = bundles._taken_apart(data, "x")
    return data[at : at + contents["parts"][0][1]]


def test_a_record_that_begins_anew_or_goes_another_way_does_not_continue(made, here, tmp_path, capsys):
    home = tmp_path / "home"
    shutil.copytree(made[0], home)
    here = home / "office"
    fork = tmp_path / "fork"
    shutil.copytree(home, fork)
    for at, choice in ((home, 5), (fork, 6)):
        desk = _again(at)
        desk.count("W5", contests(choice, 4, 1, 12))
        desk.close()
    assert main(["office", "merge", str(here), str(bundle(home, "north", 0, "mine.bundle"))]) == 0
    length, figures = len(kinds(here)), results(here)
    other = bundle(fork, "north", 0, "other.bundle")
    assert main(["office", "merge", str(here), str(other)]) == 2
    assert "does not continue what was merged from desk north: entry 4 there is another one" in capsys.readouterr().err
    (fork / "north" / "office.db").unlink()
    anew = DeskApart(fork, DeskApart.empty_record(fork / "north"), "north")
    anew.count("W5", contests(1, 1, 1, 12))
    anew.close()
    assert main(["office", "merge", str(here), str(bundle(fork, "north", 0, "anew.bundle"))]) == 2
    assert "is of another record of desk north" in capsys.readouterr().err
    assert len(kinds(here)) == length + 2 and results(here) == figures


def _again(home):
    from webapp.record.ledger import Ledger

    return DeskApart(home, Ledger.open(home / "north" / "office.db"), "north")


def test_a_packet_that_is_not_there_or_that_intake_would_refuse(made, tmp_path, capsys):
    home = tmp_path / "home"
    shutil.copytree(made[0], home)
    packet = next((home / "north" / "in").glob("*.cose"))
    kept = packet.read_bytes()
    packet.unlink()
    assert main(["office", "merge", str(home / "office"), str(bundle(home, "north", 0, "a.bundle"))]) == 2
    assert "the packet of W3 in entry 2 of desk north is not in the bundle" in capsys.readouterr().err
    packet.write_bytes(kept[:-9] + bytes(9))
    assert main(["office", "merge", str(home / "office"), str(bundle(home, "north", 0, "b.bundle"))]) == 2
    assert "the packet of W3 in entry 2 of desk north is refused" in capsys.readouterr().err
    assert kinds(home / "office")[1:] == ["packet-refused"] * 2


def test_hostile_words_and_names_come_back_as_typed(made, tmp_path):
    from webapp.merging.brought import unwrapped

    home = tmp_path / "home"
    shutil.copytree(made[0], home)
    north = _again(home)
    late_call(north, "W5", HOSTILE)
    north.close()
    assert main(["office", "merge", str(home / "office"), str(bundle(home, "north", 0, "h.bundle"))]) == 0
    with Reader(home / "office" / "office.db") as record:
        last = list(unwrapped(record.entries()))[-1]
        assert last.kind == "late-call" and record.texts(last.number) == {"answer": HOSTILE}


def test_nothing_is_merged_into_a_desk_or_made_of_one(made, tmp_path, capsys):
    home = made[0]
    assert main(["office", "merge", str(home / "north"), str(made[1])]) == 2
    assert "bundles are merged at the office" in capsys.readouterr().err
    assert main(["office", "desk", str(home / "north"), "--name", "south", "--out", str(tmp_path / "s")]) == 2
    assert "desks are made at the office" in capsys.readouterr().err
    assert main(["office", "bundle", str(home / "office"), "--out", str(tmp_path / "o")]) == 2
    assert "Nothing is posted yet: post an edition first" in capsys.readouterr().err


def test_a_certified_canvass_is_not_changed_by_a_bundle(made, here, tmp_path, capsys):
    office_ = SmallOffice.again(here.parent)
    office_.from_paper("HM4", contests(10, 9, 8, 30))
    office_.post("All.", status="certified")
    office_.close()
    figures = results(here)
    assert main(["office", "merge", str(here), str(made[1])]) == 2
    assert "would change figures, and edition 1 is certified" in capsys.readouterr().err
    assert results(here) == figures


@pytest.mark.parametrize("name", ("", "north/..", "n" * 17, "näh", "NORTH", "north"))
def test_a_desks_name(made, tmp_path, capsys, name):
    assert main(["office", "desk", str(made[0] / "office"), "--name", name, "--out", str(tmp_path / "d")]) == 2
    assert capsys.readouterr().err and not (tmp_path / "d").exists()


def test_a_desks_folder_has_no_key_of_the_office(made):
    home = made[0]
    secret = keys.office_key(home / "office").private_bytes_raw()
    assert secret not in b"".join(path.read_bytes() for path in (home / "north").rglob("*") if path.is_file())
    rows = keys.rows(home / "north", "SELECT * FROM sqlite_schema WHERE name = 'authorities'")
    assert not rows or not keys.rows(home / "north", "SELECT * FROM authorities")
