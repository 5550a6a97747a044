"""An archive of a certified canvass: the document lies beside the edition it was made of, and few ballots that two parties let be shown are no mistake."""

import shutil

from tests.archive.small_office import SmallOffice, contests
from tests.archive.test_archive import both, changed, signed_again
from webapp.commands import main


def test_a_certified_edition_with_few_ballots_shown_is_archived_with_its_document(kept, tmp_path, alone, capsys):
    shutil.copytree(kept.office, tmp_path / "office")
    made = SmallOffice.again(tmp_path)
    made.count("HM4", contests(2, 1, 0, 5))
    shown = {contest: ["HM4/provisional"] for contest in ("GOV", "COUNCIL")}
    for contest, atoms in shown.items():
        made.keep("small-shown", {"contest": contest, "atoms": atoms, "ballots": 5})
    made.post("Certified.", status="certified", allowed=shown)
    made.close()
    for kind in ("sealed", "public"):
        out = tmp_path / kind
        assert main(["export", str(made.folder), "--out", str(out), "--archive", kind]) == 0, capsys.readouterr()
        assert both(out, alone, capsys) == (set(), set())
        assert (out / "data/editions/3/certificate-3.pdf").read_bytes().startswith(b"%PDF")
        assert not list((out / "data/editions/2").glob("*.pdf")), "it was never certified"
    text = b"".join(path.read_bytes() for path in sorted((tmp_path / "public").rglob("*")) if path.is_file())
    assert b"small-shown" not in text.replace((tmp_path / "public/data/verify.py").read_bytes(), b"")
    path = tmp_path / "sealed/data/office/office.cborseq"
    path.write_bytes(changed(path.read_bytes(), b"small-shown", b"small-shoun"))
    signed_again(tmp_path / "sealed", made.folder)
    for named in both(tmp_path / "sealed", alone, capsys):
        assert "data/office/office.cborseq" in named


def test_a_certificate_with_other_check_words_than_the_record_is_named(kept, tmp_path, alone, capsys):
    shutil.copytree(kept.office, tmp_path / "office")
    made = SmallOffice.again(tmp_path)
    made.post("Certified.", status="certified", words="7QK2-M4TX-9RD0")
    made.close()
    for kind in ("sealed", "public"):
        out = tmp_path / kind
        assert main(["export", str(made.folder), "--out", str(out), "--archive", kind]) == 1
        assert "canvass.json has check words 7QK2-M4TX-9RD0 after entry 10" in capsys.readouterr().out
        assert both(out, alone, capsys) == ({"data/editions/3/canvass.json"}, {"data/editions/3/canvass.json"})
