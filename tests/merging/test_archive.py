"""An office into which desks were merged, archived: its editions follow from what the desks kept, by both checkers; a desk's entry that was changed is named."""

import subprocess
import sys

import pytest

from tests.archive.conftest import words_as_printed
from tests.archive.small_office import SmallOffice
from tests.merging.desks import night
from webapp.archive import check
from webapp.commands import main
from webapp.merging.brought import BROUGHT, unwrapped
from webapp.record.reader import Reader


@pytest.fixture(autouse=True, scope="module")
def real_words(cheap_hashes):
    with words_as_printed():
        yield


class Merged(SmallOffice):
    """An office that reads what desks brought."""

    def entries(self):
        return list(unwrapped(self.ledger.entries()))


def test_an_archive_of_merged_desks_is_verified_by_both_checkers(tmp_path, capsys):
    bundles = night(tmp_path)
    assert main(["office", "merge", str(tmp_path / "office"), *map(str, bundles)]) == 0
    made = Merged.again(tmp_path)
    made.post("All desks are merged.")
    made.close()
    sealed = tmp_path / "sealed"
    capsys.readouterr()
    code = main(["export", str(tmp_path / "office"), "--out", str(sealed), "--archive", "sealed"])
    assert code == 0, capsys.readouterr().out
    found = check.checked(sealed)
    assert found.ok and any("follow from packets" in words for words in found.agrees), found
    alone = subprocess.run([sys.executable, "-I", str(sealed / "data" / "verify.py")], capture_output=True, text=True)
    assert alone.returncode == 0, alone.stdout
    assert "3 desks in other buildings, the entries of each continue the one before" in alone.stdout
    assert "the figures of every place and count, from packets, counts and findings" in alone.stdout
    with Reader(tmp_path / "office" / "office.db") as record:
        assert sum(entry.kind == BROUGHT for entry in record.entries()) == 15
