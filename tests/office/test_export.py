"""`tapeseal export`: the files of an edition in a new folder, as they were posted; and what it refuses."""

import csv
import io
import json

from tests.archive.conftest import alone, told_by_verify  # noqa: F401
from tests.canvass.test_event_log import log_schema  # noqa: F401
from tests.canvass.test_nist_results import from_csv, read_back, schema, well_formed  # noqa: F401
from tests.office.test_counts_page import decide, key, leaf, sign
from tests.office.test_posting import FILES, in_now, post
from webapp.commands import main


def test_nothing_posted_is_said_and_no_folder_is_made(night, tmp_path, capsys):
    assert main(["export", str(night.folder), "--out", str(tmp_path / "out")]) == 1
    assert "Nothing is posted yet" in capsys.readouterr().err and not (tmp_path / "out").exists()
    assert main(["export", str(tmp_path), "--out", str(tmp_path / "out")]) == 2


def test_an_edition_leaves_as_files_while_the_desk_is_open(night, tmp_path, capsys, schema, log_schema, alone):  # noqa: F811
    in_now(night)
    post(night)
    decide(night, note="Two at the curb.", open="1", received="15")
    for who in ("calloway", "durand"):
        key(night, who, **leaf(night))
    sign(night)
    post(night, because="Provisional ballots of one place are counted.")
    out = tmp_path / "out"
    assert main(["export", str(night.folder), "--out", str(out), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["edition"], answer["status"], set(answer["files"])) == (2, "unofficial-partial", FILES)
    assert {p.name for p in out.iterdir()} == FILES
    report = json.loads((out / "results-1500-100.json").read_bytes())
    assert list(schema.iter_errors(report)) == [] and report["IsTest"] is True
    well_formed(report)
    assert read_back(report) == from_csv((out / "results.csv").read_bytes())
    log = json.loads((out / "log-1500-101.json").read_bytes())
    told = json.loads((out / "log-documentation-1500-101.json").read_bytes())
    assert list(log_schema.iter_errors(log)) == [] and list(log_schema.iter_errors(told)) == []
    events = [event for device in log["Device"] for event in device["Event"]]
    assert {e["Id"] for e in events} == {one["Id"] for one in told["EventIdDescription"]}
    assert {e["Type"] for e in events} == {one["Type"] for one in told["EventTypeDescription"]}
    text = json.dumps(log) + json.dumps(told)
    assert [o.name for o in night.office.officials if o.name in text or o.id in text] == [], "no names"
    ballots = {
        "spoiled",
        "provisional",
        "left",
        "taken",
        "found",
        "emergency-plus",
        "absentee-handed-in",
        "wrong-style",
    }
    assert not ballots & {e["Id"] for e in events} and any(e["Id"] == "set-aside-spoiled" for e in events)
    rows = list(csv.DictReader(io.StringIO((out / "reconciliation.csv").read_text(encoding="utf-8"))))
    place = rows[0]
    assert (place["place"], place["state"], place["ballots"], place["election_day"], place["provisional"]) == (
        "W3",
        "in",
        "529",
        "517",
        "12",
    )
    assert (place["provisional_accepted"], place["provisional_rejected"], place["provisional_open"]) == ("12", "2", "1")
    assert rows[-1]["place"] == "county" and rows[-1]["ballots"] == str(529 + 517)
    assert place["packet"] == night.room.tray.counts("W3")[0].hex()[:16]
    archived(night, tmp_path, capsys, alone)


def archived(night, tmp_path, capsys, alone) -> None:  # noqa: F811
    """The same night as archives, while the desk is open: both checkers agree, on entries that came through the pages."""
    for kind in ("sealed", "public"):
        out = tmp_path / kind
        assert main(["export", str(night.folder), "--out", str(out), "--archive", kind]) == 0
        capsys.readouterr()
        assert main(["archive", "verify", str(out)]) == 0
        said = capsys.readouterr().out
        assert ("the figures of every edition follow from packets" in said) == (kind == "sealed")
        code, said = told_by_verify(out, alone, capsys)
        assert code == 0, said
        assert ("from packets, counts and findings up to entry" in said) == (kind == "sealed")


def test_what_is_there_is_never_written_over_and_a_changed_file_never_leaves(night, tmp_path, capsys):
    in_now(night)
    post(night)
    out = tmp_path / "out"
    out.mkdir()
    assert main(["export", str(night.folder), "--out", str(out)]) == 2
    assert "is there already" in capsys.readouterr().err and not list(out.iterdir())
    assert main(["export", str(night.folder), "--out", str(tmp_path / "new"), "--edition", "7"]) == 2
    assert "There is no edition 7" in capsys.readouterr().err
    path = night.folder / "editions" / "1" / "results.csv"
    path.write_bytes(path.read_bytes() + b"\n")
    assert main(["export", str(night.folder), "--out", str(tmp_path / "new")]) == 1
    assert "results.csv is not what was posted" in capsys.readouterr().err and not (tmp_path / "new").exists()
