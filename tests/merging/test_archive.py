"""An office into which desks were merged, archived: its editions follow from what the desks kept, by both checkers; a desk's entry that was changed is named."""

from tests.archive.conftest import alone, told_by_verify  # noqa: F401
from tests.archive.small_office import SmallOffice
from tests.merging.desks import night
from webapp.archive import check
from webapp.commands import main
from webapp.merging.brought import BROUGHT, unwrapped
from webapp.record.reader import Reader


class Merged(SmallOffice):
    """An office that reads what desks brought."""

    def entries(self):
        return list(unwrapped(self.ledger.entries()))


def test_an_archive_of_merged_desks_is_verified_by_both_checkers(tmp_path, capsys, alone):  # noqa: F811
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
    code, said = told_by_verify(sealed, alone, capsys)
    assert code == 0, said
    assert "3 desks in other buildings, the entries of each continue the one before" in said
    assert "the figures of every place and count, from packets, counts and findings" in said
    with Reader(tmp_path / "office" / "office.db") as record:
        assert sum(entry.kind == BROUGHT for entry in record.entries()) == 15
