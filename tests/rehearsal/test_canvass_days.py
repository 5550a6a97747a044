"""The days after the night, through the real pages: tapes hold the first way of a results file, the others are counted, keyed twice and published.

An invented file of two precincts; with `--all` eight places of two published counties (OpenElections, ../shared/data/open-precinct-results). The
exports are read here by readers that share nothing with the product: sums, the rank of everything published, the published schema.
"""

import json

import pytest

from tests.canvass.test_nist_results import from_csv, read_back, schema, well_formed  # noqa: F401
from tests.canvass.what_can_be_worked_out import given_away, published
from tests.matrix import some
from webapp.commands import main

HEAD = "precinct,contest,vote_for,choice,kind,votes,ballot_group,election_day,absentee,provisional\n"
FIGURES = {
    "Oak": {"X": (30, 12, 6), "Y": (25, 9, 4), "undervote": (5, 0, 2)},
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
    every: dict[str, int] = {}
    for mine in sizes(kept).values():
        for cell, n in mine.items():
            every[cell] = max(every.get(cell, 0), n)
    by_title = titles(kept)
    for key, sums in published([(home / "results.csv").read_bytes() for home in homes]).items():
        assert given_away(sums, sizes(kept)[by_title[key]], 10) == [], key


def titles(kept) -> dict[tuple[str, str], str]:
    """(title, group) -> contest id, in the order in which both list the contests of the last edition."""
    last = max((kept / "exports").iterdir(), key=lambda home: int(home.name))
    blocks = json.loads((last / "edition.json").read_bytes())["blocks"]
    sealed = json.loads((kept / "office" / "editions-sealed" / f"{last.name}.json").read_bytes())["contests"]
    return {(title, group): id for ((title, group), _), id in zip(blocks, sealed, strict=True)}


def test_a_county_of_two_from_the_night_to_the_last_edition(tmp_path, capsys, schema):  # noqa: F811
    path, kept = tmp_path / "county.csv", tmp_path / "kept"
    path.write_text(invented(), encoding="utf-8")
    assert main(["rehearse", "--results", str(path), "--canvass", "--desks", "2", "--json", "--keep", str(kept)]) == 0
    report = json.loads(capsys.readouterr().out)
    assert (report["canvass"]["desks"], report["canvass"]["merged"]) == (2, 6), (
        "each bundle at half time and at the end, one twice"
    )
    assert (report["canvass"]["counts"], report["canvass"]["editions"], report["canvass"]["contests"]) == (3, 4, 1)
    held(kept, report, schema)
    shown = from_csv((kept / "exports" / "4" / "results.csv").read_bytes())
    assert report["canvass"]["waiting"] == 0 and report["canvass"]["equal"] == 1
    for line, name in (("X", "X"), ("Y", "Y"), ("undervote", "Undervotes")):
        assert shown["MAYOR", name] == sum(sum(lines[line]) for lines in FIGURES.values())
    text = (kept / "exports" / "4" / "results.csv").read_text(encoding="utf-8")
    assert '"Elm, hall",MAYOR' not in text, "six ballots are never alone"


@pytest.mark.parametrize("name", some((), FILES))
def test_eight_places_of_a_published_county(name, tmp_path, capsys, shared, schema):  # noqa: F811
    path, kept = shared(f"data/open-precinct-results/{name}"), tmp_path / "kept"
    words = ["rehearse", "--results", str(path), "--places", "8", "--canvass", "--json", "--keep", str(kept)]
    assert main(words) == 0
    held(kept, json.loads(capsys.readouterr().out), schema)


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
