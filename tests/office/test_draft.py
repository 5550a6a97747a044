"""`export --draft`: the figures of now as files, the same that an edition of this minute shows, without the places that the desk holds out; nothing is posted."""

import json

from tests.canvass.test_nist_results import from_csv, read_back, schema, well_formed  # noqa: F401
from tests.office.test_counts_page import decide, key, leaf, sign
from tests.office.test_posting import in_now, post, votes
from tests.office.test_questions_page import brought
from webapp.commands import main


def draft(night, out, *words: str) -> int:
    return main(["export", str(night.folder), "--out", str(out), "--draft", "--json", *words])


def test_a_draft_has_the_figures_that_are_then_posted_and_says_everywhere_that_it_is_one(
    night, tmp_path, capsys, schema
):  # noqa: F811
    in_now(night)
    before = {path: path.read_bytes() for path in night.folder.rglob("*.cose")}
    length = night.room.ledger.length
    assert draft(night, tmp_path / "one") == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["status"], told["edition"], told["held"], told["waiting"]) == ("draft", None, [], 0)
    assert night.room.ledger.length == length and not (night.folder / "editions").exists()
    assert {path: path.read_bytes() for path in night.folder.rglob("*.cose")} == before
    post(night)
    for out, number in ((tmp_path / "one", 1), (tmp_path / "two", 2)):
        if number == 2:
            decide(night, note="Two at the curb.")
            for who in ("calloway", "durand"):
                key(night, who, **leaf(night))
            sign(night)
            assert draft(night, out) == 0
            post(night, because="Provisional ballots of one place are counted.")
        home = night.folder / "editions" / str(number)
        assert {p.name for p in out.iterdir()} == {
            f"draft-{name}"
            for name in ("edition.json", "posting.html", "results.csv", "reconciliation.csv", "results-1500-100.json")
        }
        assert (out / "draft-results.csv").read_bytes() == (home / "results.csv").read_bytes()
        assert (out / "draft-reconciliation.csv").read_bytes() == (home / "reconciliation.csv").read_bytes()
        report = json.loads((out / "draft-results-1500-100.json").read_bytes())
        assert list(schema.iter_errors(report)) == [] and report["Notes"].startswith("Draft, not posted.")
        well_formed(report)
        assert read_back(report) == from_csv((out / "draft-results.csv").read_bytes())
        page = (out / "draft-posting.html").read_text(encoding="utf-8")
        assert "Draft, not posted" in page and "edition 0" not in page.lower() and "nobody signed these figures" in page
        head = json.loads((out / "draft-edition.json").read_bytes())
        assert (head["status"], head["edition"]) == ("draft", 0) and all(n.startswith("draft-") for n in head["files"])
        assert head["blocks"] == json.loads((home / "edition.json").read_bytes())["blocks"]
    assert votes(night, 2) == 534 + 7


def test_a_place_that_the_desk_holds_out_is_in_no_draft_either(night, tmp_path, capsys):
    brought(night, memory_in={"expected": "2", "received": "1", "loaded": "0"})
    night.take_in("W5")
    assert night.room.state("W3")[1].startswith("held out of the totals")
    assert draft(night, tmp_path / "out") == 0
    assert json.loads(capsys.readouterr().out)["held"] == ["W3"]
    post(night)
    home = night.folder / "editions" / "1"
    assert (tmp_path / "out" / "draft-results.csv").read_bytes() == (home / "results.csv").read_bytes()
    assert votes(night, 1) == 267


def test_what_a_draft_refuses(night, tmp_path, capsys):
    in_now(night)
    (tmp_path / "there").mkdir()
    for words, said in (
        (["--edition", "1"], "say --draft or --edition, not both"),
        (["--archive", "public"], "A draft goes into no archive"),
    ):
        assert draft(night, tmp_path / "out", *words) == 2 and said in capsys.readouterr().err
    assert draft(night, tmp_path / "there") == 2 and "nothing is written over" in capsys.readouterr().err
    assert main(["export", str(tmp_path), "--draft", "--out", str(tmp_path / "out")]) == 2
