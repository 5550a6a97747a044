"""The paper receipt of a bundle: what it says, and that another file than it names is not merged by its words."""

import pytest

from tests.archive.small_office import contests
from tests.merging.desks import DeskApart, bundle, office
from tests.paper.printed import Printed
from webapp.commands import main
from webapp.merging import bundle as bundles
from webapp.merging import desk_apart
from webapp.record.check_words import check_words
from webapp.record.reader import Reader


@pytest.fixture(scope="module")
def carried(tmp_path_factory, cheap_hashes):
    """(home, an older bundle of desk north, the one that the receipt is of, the receipt)."""
    home = tmp_path_factory.mktemp("receipt")
    office(home)
    north = DeskApart.made(home, "north")
    north.packet("W3", contests(20, 12, 4, 40))
    older = bundle(home, "north", 0, "older.bundle")
    north.from_paper("HM4", contests(10, 9, 8, 30))
    north.close()
    out, paper = home / "north.bundle", home / "north-receipt.pdf"
    assert main(["office", "bundle", str(home / "north"), "--out", str(out), "--receipt", str(paper)]) == 0
    return home, older, out, paper


def test_it_names_desk_entries_packets_digest_and_check_words_with_lines_to_sign(carried):
    home, _, out, paper = carried
    data = out.read_bytes()
    found = bundles.opened(data, "x", desk_apart.unproven(bundles.certificate_in(data, "x")))
    printed = Printed(paper.read_bytes())
    words = check_words(found.digest)
    digest = " ".join(found.digest.hex()[at : at + 8] for at in range(0, 64, 8))
    for said in (
        "Desk north: receipt of a bundle",
        "north.bundle",
        "1 to 3",
        "Packets: W3 number 1.",
        f"{len(data):,}",
    ):
        assert said in printed.all, said
    assert printed.all.count(words) == 2 and digest in printed.all and "PRACTICE" in printed.all
    for line in ("1st carrier", "2nd carrier", "1st receiver", "2nd receiver"):
        assert line in printed.all
    assert len(printed) == 1


def test_the_office_says_the_words_and_refuses_another_file_than_the_receipt_names(carried, tmp_path, capsys):
    home, older, out, _ = carried
    words = check_words(bundles.opened(out.read_bytes(), "x", desk_apart.unproven(bundles.certificate_in(out.read_bytes(), "x"))).digest)  # fmt: skip
    target = str(home / "office")
    assert main(["office", "merge", target, str(older), "--words", words]) == 2
    assert "is not the bundle that the receipt names: its check words are" in capsys.readouterr().err
    slip = words[:-1] + ("A" if words[-1] != "A" else "B")
    assert main(["office", "merge", target, str(out), "--words", slip]) == 2
    assert "a slip in reading" in capsys.readouterr().err
    with Reader(home / "office" / "office.db") as record:
        assert "merged" not in [entry.kind for entry in record.entries()]
    assert main(["office", "merge", target, str(older), str(out), "--words", words]) == 2
    assert "those of one bundle" in capsys.readouterr().err
    assert main(["office", "merge", target, str(out), "--words", words.lower().replace("-", " ")]) == 0
    assert f"check words {words}, as on its receipt." in capsys.readouterr().out
    assert main(["office", "merge", target, str(older)]) == 0
    assert "compare them with its receipt" in capsys.readouterr().out
