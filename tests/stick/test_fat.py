"""What a FAT or exFAT stick cannot do is not asked of it: names that it refuses, names that differ by their letters' case, times finer than two seconds.

Sources: exFAT file system specification, 7.7.3, table 35 (characters that no name may hold) and 7.6.4 (255 UTF-16 units); the same characters are
refused in FAT's long names. Common practice: names of devices and a dot or a space at the end, which one system refuses on any stick; two seconds is the
step of FAT's time of writing (table of directory entries, "seconds divided by two").
"""

import os
import re

import pytest

from tests.stick import nights
from webapp.stick.copier import FAT_TIME
from webapp.stick.folder import SNAPSHOTS, chosen, read_folder

REFUSED = re.compile(r'[\x00-\x1f"*/:<>?\\|]|[. ]$|^(con|prn|aux|nul|com\d|lpt\d)(\.|$)', re.IGNORECASE)


@pytest.fixture
def office(record):
    """The folder of an office: two place files of one place that were built within one second, packets and an edition."""
    for name in (
        "office.toml",
        "keys.cbor",
        "places/W3-00ff.cose",
        "places/W3-00aa.cose",
        "in/ab12.cose",
        "editions/1/results.csv",
    ):
        path = record.parent / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode())
    for name, ns in (("00ff", 1_700_000_000_400_000_000), ("00aa", 1_700_000_001_100_000_000)):
        os.utime(record.parent / "places" / f"W3-{name}.cose", ns=(ns, ns))
    return record.parent


def everything(ledger, record, stick, office):
    """A stick with all that a place and an office ever put on it; each name, and that under which it was written first."""
    (office / "packet").mkdir()
    (office / "packet" / "1.cose").write_bytes(b"packet")
    (office / "packet" / "1-batches.csv").write_bytes(b"batches")
    nights.keep(ledger, 5)
    nights.keep_words(ledger, 500)
    nights.copied(
        record, stick, packets=str(office / "packet"), place_file=str(office / "office.toml"), read_me="What this is."
    )
    nights.keep(ledger, 5, 600)
    nights.keep_words(ledger, 700)
    nights.copied(record, stick, beside=str(office))
    found = [one.relative_to(stick) for one in stick.rglob("*")]
    parts = [one.with_name(one.name + ".part") for one in found] + [one.with_name(one.stem + ".part") for one in found]
    return found, [one for one in parts if one not in found]


def test_every_name_on_a_stick_is_one_that_fat_and_exfat_take(ledger, record, stick, office):
    found, parts = everything(ledger, record, stick, office)

    assert {"stick-id", "place.cose", "READ-ME.txt", "1-batches.csv", *SNAPSHOTS, "W3-00ff.cose", "results.csv"} <= {
        one.name for one in found
    }
    assert [
        one for one in (*found, *parts) if REFUSED.search(one.name) or len(one.name.encode("utf-16-le")) > 510
    ] == []
    assert len({str(one).lower() for one in found}) == len(found), "two names that are one where case does not count"


def test_the_rule_finds_what_fat_refuses():
    assert all(map(REFUSED.search, ("a:b", "14:05.csv", "why?", 'a"b', "a.", "a ", "NUL", "com1.txt", "a|b", "a\nb")))


def test_what_a_stick_gives_back_hangs_on_no_time(ledger, record, stick, office):
    everything(ledger, record, stick, office)
    for one in stick.rglob("*"):
        os.utime(one, ns=(0, 0))

    assert read_folder(chosen(stick)).history.stored == nights.all_of(record)


@pytest.mark.parametrize("newest", SNAPSHOTS)
def test_the_whole_copy_that_ends_first_is_replaced_whatever_its_time(ledger, record, stick, newest):
    made = nights.copier(record, stick)
    for n in (500, 700):
        nights.keep(ledger, 3, n + 10)
        nights.keep_words(ledger, n)
        while made.copy_new():
            pass
    before = (chosen(stick) / "snapshot-b.db").read_bytes()
    for name in SNAPSHOTS:  # within the two seconds of FAT, or by a clock that was set back
        os.utime(chosen(stick) / name, ns=(FAT_TIME * (name == newest),) * 2)
    nights.keep(ledger, 3, 900)
    nights.keep_words(ledger, 950)
    while made.copy_new():
        pass

    assert (chosen(stick) / "snapshot-b.db").read_bytes() == before
    (chosen(stick) / "snapshot-b.db").write_bytes(b"torn")
    made.snapshot()
    assert (chosen(stick) / "snapshot-b.db").read_bytes() != b"torn", "one that cannot be read goes first"


def test_the_newer_place_file_of_a_place_stays_the_newer_on_fat(ledger, record, stick, office):
    nights.keep(ledger, 1)
    nights.copied(record, stick, beside=str(office))
    third = office / "places" / "W3-0000.cose"
    third.write_bytes(b"third")
    os.utime(third, ns=(1_700_000_001_900_000_000,) * 2)
    nights.keep(ledger, 1, 200)
    nights.copied(record, stick, beside=str(office))

    order = sorted((chosen(stick) / "places").iterdir(), key=lambda one: (one.stat().st_mtime_ns // FAT_TIME, one.name))
    assert [one.name for one in order] == ["W3-00ff.cose", "W3-00aa.cose", "W3-0000.cose"]
