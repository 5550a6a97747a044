"""The days after the night, through the real pages: tapes hold the first way of a results file, the others are counted, keyed twice and published; a
planted mistake is mended by a corrected return and one by a recount, and the board certifies.

An invented file of three precincts, one of them from paper; with `--all` eight places of two published counties, two of them from paper (OpenElections, ../shared/data/open-precinct-results). The
exports are read here by readers that share nothing with the product: sums, the rank of everything published, the published schema.
"""

import contextlib
import io
import json

import pytest

from demo_precinct.canvass_days import CanvassDays
from tests.archive.conftest import alone  # noqa: F401
from tests.canvass.test_nist_results import from_csv, read_back, schema, well_formed  # noqa: F401
from tests.canvass.what_can_be_worked_out import given_away, published
from tests.matrix import ALL, some
from tests.paper.printed import Printed
from webapp.canvass import document
from webapp.commands import main
from webapp.paper.certificate_pages import certificate_pdf
from webapp.record.ledger import Ledger

HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group,election_day,absentee,provisional\n"
FIGURES = {
    "Oak": {"X": (30, 12, 6), "Y": (25, 9, 4), "undervote": (5, 0, 2)},
    "Ash": {"X": (21, 8, 2), "Y": (18, 7, 1), "undervote": (2, 1, 0)},
    "Elm, hall": {"X": (3, 2, 0), "Y": (2, 1, 0), "undervote": (1, 0, 0)},
}
FILES = ("ottawa-mi-2024-general.csv", "pinal-az-2024-primary.csv")


def invented() -> str:
    rows = [HEAD]
    for precinct, lines in FIGURES.items():
        name = f'"{precinct}"' if "," in precinct else precinct
        for line, ways in lines.items():
            kind, choice = ("choice", line) if line in "XY" else (line, "")
            rows.append(f"{name},MAYOR,1,{choice},{kind},{sum(ways)},,{','.join(map(str, ways))}\n")
        rows.append(f"{name},MAYOR,1,,overvote,0,,0,0,0\n")
    return "".join(rows)


def sizes(kept) -> dict[str, dict[str, int]]:
    """Ballots of each atom that was published, by contest id and cell, from the office's own copies."""
    found: dict[str, dict[str, int]] = {}
    for path in sorted((kept / "office" / "editions-sealed").glob("[0-9]*.json")):
        for contest, one in json.loads(path.read_bytes())["contests"].items():
            for unit, way, part, change, carried, _ in (row for block in one["blocks"] for row in block):
                more = (f".{part}" if part > 1 else "") + (f"+{change}" if change else "")
                found.setdefault(contest, {})[f"{unit}/{way.replace('-', '_')}{more}"] = carried
    return found


def held(kept, report, schema) -> None:  # noqa: F811
    """What holds of every rehearsal of the days after."""
    assert report["ok"] is True and report["canvass"]["archives"] == 2, report["findings"]
    homes = [kept / "exports" / str(n) for n in range(1, report["canvass"]["editions"] + 1)]
    for home in homes:
        results = json.loads((home / "results-1500-100.json").read_bytes())
        assert list(schema.iter_errors(results)) == []
        well_formed(results)
        assert read_back(results) == from_csv((home / "results.csv").read_bytes())
    by_title, shown = titles(kept), small_shown(kept)
    for key, sums in published([(home / "results.csv").read_bytes() for home in homes]).items():
        contest = by_title[key]
        given = given_away(sums, sizes(kept)[contest], 10)
        assert [cells for cells in given if not cells <= shown.get(contest, set())] == [], key
    told = json.loads((homes[-1] / "canvass.json").read_bytes())
    assert (told["present"], told["unanimous"], len(told["narrative"])) == (3, False, 2)
    paper = Printed(certificate_pdf(document.read({p.name: p.read_bytes() for p in homes[-1].iterdir()})))
    assert "full, true and correct statement" in paper.all and told["words"] in paper.all


def small_shown(kept) -> dict[str, set[str]]:
    """Cells of few ballots that two parties signed to be shown, as nobody may be left out of the certified figures, by contest."""
    found: dict[str, set[str]] = {}
    with Ledger.read_only(kept / "office" / "office.db") as record:
        for entry in record.entries():
            if entry.kind == "small-shown":
                found.setdefault(entry.body["contest"], set()).update(entry.body["atoms"])
    return found


def titles(kept) -> dict[tuple[str, str], str]:
    """(title, group) -> contest id, in the order in which both list the contests of the last edition."""
    last = max((kept / "exports").iterdir(), key=lambda home: int(home.name))
    blocks = json.loads((last / "edition.json").read_bytes())["blocks"]
    sealed = json.loads((kept / "office" / "editions-sealed" / f"{last.name}.json").read_bytes())["contests"]
    return {(title, group): id for ((title, group), _), id in zip(blocks, sealed, strict=True)}


@pytest.fixture
def archived_here(monkeypatch, alone):  # noqa: F811
    """Archives are made and checked in this process, where check words cost little; in processes of their own with --all, and in tests/archive."""

    def archive(self, kind: str) -> None:
        folder = self.exports.parent.resolve()
        home, more = folder / "archives" / kind, ["--with-sealed", str(folder / "archives" / "sealed")]
        words = ["export", str(folder / "office"), "--out", str(home), "--archive", kind]
        with contextlib.redirect_stdout(io.StringIO()) as said:
            failed = main([*words, *(more if kind == "public" else [])]) or alone.main([str(home)])
        self.wrong += [said.getvalue()] if failed else []
        self.archives += not failed

    if not ALL:
        monkeypatch.setattr(CanvassDays, "archive", archive)


def test_a_county_of_three_from_the_night_to_the_certificate(
    tmp_path,
    capsys,
    schema,
    one_process,
    short_day,
    archived_here,  # noqa: F811
):
    path, kept = tmp_path / "county.csv", tmp_path / "kept"
    path.write_text(invented(), encoding="utf-8")
    words = [
        "rehearse",
        "--results",
        str(path),
        "--canvass",
        "--paper",
        "1",
        "--desks",
        "2",
        "--json",
        "--keep",
        str(kept),
    ]
    assert main(words) == 0
    report = json.loads(capsys.readouterr().out)
    told = report["canvass"]
    assert (told["counts"], told["editions"], told["contests"], told["certified"]) == (5, 3, 1, 3)
    assert (told["from_paper"], told["findings"], told["recounts"]) == (1, 1, 1)
    assert (told["desks"], told["merged"]) == (2, 6), "each bundle at half time and at the end, one twice"
    assert report["packets"] == {"built": 3, "read": 2, "accepted": 2}
    held(kept, report, schema)
    shown = from_csv((kept / "exports" / "3" / "results.csv").read_bytes())
    assert report["canvass"]["waiting"] == 0 and report["canvass"]["equal"] == 1
    for line, name in (("X", "X"), ("Y", "Y"), ("undervote", "Undervotes")):
        assert shown["MAYOR", name] == sum(sum(lines[line]) for lines in FIGURES.values())
    text = (kept / "exports" / "3" / "results.csv").read_text(encoding="utf-8")
    assert '"Elm, hall",MAYOR' not in text, "six ballots are never alone"


@pytest.mark.parametrize("name", some((), FILES))
def test_eight_places_of_a_published_county(name, tmp_path, capsys, shared, schema):  # noqa: F811
    path, kept = shared(f"data/open-precinct-results/{name}"), tmp_path / "kept"
    words = [
        "rehearse",
        "--results",
        str(path),
        "--places",
        "8",
        "--canvass",
        "--paper",
        "2",
        "--desks",
        "3",
        "--json",
        "--keep",
        str(kept),
    ]
    assert main(words) == 0
    report = json.loads(capsys.readouterr().out)
    held(kept, report, schema)
    told = report["canvass"]
    assert (told["from_paper"], told["desks"], told["editions"], told["waiting"]) == (2, 3, 3, 0)
    assert told["equal"] == told["contests"] > 30


@pytest.mark.parametrize(
    ("text", "words", "said"),
    [
        (invented().replace("absentee", "curbside"), [], 'No way "curbside" in office.toml'),
        (
            "".join(",".join(row.split(",")[:7]) + "\n" for row in invented().splitlines() if "Elm" not in row),
            [],
            "no column for a way",
        ),
        (invented(), ["--test"], "--canvass and --test are two rehearsals"),
        (invented(), ["--desks", "21"], "--desks is 21; give a number from 1 to 20"),
        (invented(), ["--paper", "3"], "Give a number from 0 to 2."),
    ],
)
def test_what_cannot_be_rehearsed_is_said_in_one_sentence(tmp_path, capsys, text, words, said):
    path = tmp_path / "county.csv"
    path.write_text(text, encoding="utf-8")
    assert (
        main(["rehearse", "--results", str(path), "--canvass", "--json", "--keep", str(tmp_path / "kept"), *words]) == 2
    )
    assert said in capsys.readouterr().err
    assert main(["rehearse", "--canvass"]) == 2
    assert main(["rehearse", "--results", str(path), "--paper", "1"]) == 2
    assert "--paper goes with --canvass" in capsys.readouterr().err
