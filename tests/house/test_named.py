"""What the product can do and what it writes is named for its users (README.md) and its builders (DEVELOPERS.md and the README of each room), and the examples there are read."""

import importlib
import inspect
import json
import pkgutil
import re
import tomllib
from dataclasses import asdict

import pytest

from demo_precinct.moments import MOMENTS
from tests.house.tree import ROOT, name, texts
from webapp import commands
from webapp.office.setup import office_file
from webapp.precinct.balance.line_words import LINES as SAID
from webapp.precinct.explain.explain import explained
from webapp.precinct.explain.mistakes import CODES
from webapp.precinct.place import place_file
from webapp.precinct.place.default_steps import defaults
from webapp.record import cbor

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = sorted(
    path
    for top in (ROOT, ROOT / "webapp", ROOT / "demo_precinct", ROOT / "tests", ROOT / "static")
    for path in (top.glob("*.md") if top == ROOT else top.rglob("*.md"))
)
"""Every page of documentation in the clone."""

BYTES_OF_DEVELOPERS = 45_000
LINES_OF_A_README = 120
LINES = {key for key in SAID if " " not in key}


def page(path: str) -> str:
    """The text of one page of documentation, by its path under `webapp/`."""
    return (ROOT / "webapp" / path).read_text(encoding="utf-8")


BODIES = page("precinct/steps/BODIES.md")


def blocks(path: str, language: str) -> list[str]:
    """The fenced examples of that page in this language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", page(path), re.DOTALL | re.MULTILINE)


def modules() -> list[object]:
    found = [
        importlib.import_module(f"webapp.commands.{member.name}") for member in pkgutil.iter_modules(commands.__path__)
    ]
    return [module for module in found if hasattr(module, "NAME")]


def test_each_command_is_named_for_users_and_builders():
    assert len(modules()) >= 8
    assert [module.NAME for module in modules() if not re.search(rf"`(tapeseal )?{module.NAME}[ `]", README)] == []
    assert [
        module.NAME for module in modules() if not re.search(rf"^\|.*`{module.NAME}`.*\|", DEVELOPERS, re.MULTILINE)
    ] == []


def test_each_moment_of_the_demo_is_named_for_users():
    assert [moment for moment in MOMENTS if f"`{moment}`" not in README] == []


@pytest.mark.parametrize("kind", sorted(LINES))
def test_each_balance_line_is_named(kind):
    assert re.search(rf"`{kind}[:`]", page("precinct/balance/README.md"))


@pytest.mark.parametrize("code", CODES)
def test_each_explanation_is_named(code):
    assert f"`{code}`" in page("precinct/explain/README.md")


@pytest.mark.parametrize("step", defaults(), ids=lambda step: step.id)
def test_the_body_of_each_step_and_note_is_named_with_every_field(step):
    row = next(
        (
            line
            for line in BODIES.splitlines()
            if re.match(rf"\| (\S+ / )?{step.id}( / \S+)?( \([^|]*\)| at [^|]*)* \|", line)
        ),
        "",
    )
    assert row, f"no row for {step.id} under Bodies"
    words = {field.name for field in step.fields if field.kind == "words"}
    assert [
        field.name for field in step.fields if field.name not in words and not re.search(rf"\b{field.name}\b", row)
    ] == []


def test_the_entry_shown_is_read_back_as_shown():
    """The bytes, and the array above them, are one and the same entry; and these bytes are how the writer packs it."""
    text, packed = re.search(r"^(\[1, h'.*\])\n((?:[0-9a-f]+\n)+)", page("record/README.md"), re.MULTILINE).groups()
    data = bytes.fromhex(packed.replace("\n", ""))
    shown = json.loads(re.sub(r"h'([0-9a-f]*)'", r'"\1"', text))
    read = json.loads(json.dumps(cbor.decode(data), default=bytes.hex))
    assert read == shown
    assert cbor.encode(cbor.decode(data)) == data


def test_the_place_file_shown_is_a_whole_place_file():
    shown = next(text for text in blocks("precinct/place/README.md", "toml") if "[place]" in text)
    place = place_file.read(shown.encode())
    assert place_file.read(place_file.write(place).encode()) == place
    everything = {table for table in tomllib.loads((ROOT / "demo_precinct" / "place.toml").read_text(encoding="utf-8"))}
    assert everything - set(tomllib.loads(shown)) == set()


def test_the_office_file_shown_is_a_whole_office_file():
    shown = next(text for text in blocks("office/README.md", "toml") if "small = 10" in text)
    assert asdict(office_file.read(shown.encode()))["small"] == 10


def test_the_balance_shown_is_the_balance_drawn():
    given, answer = (json.loads(text) for text in blocks("precinct/balance/README.md", "json")[:2])
    drawn = explained(given).as_json()
    assert drawn["balanced"] is answer["balanced"] and drawn["complete"] is answer["complete"]
    assert answer["lines"][0] in drawn["lines"]
    assert answer["explanations"][0] in drawn["explanations"]


def test_every_link_leads_somewhere():
    lost = {}
    for path in PAGES:
        links = re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8"))
        lost[name(path)] = [link for link in links if not link.startswith("http") and not (path.parent / link).exists()]
    assert {path: links for path, links in lost.items() if links} == {}


def test_every_file_that_a_page_names_is_there():
    """A path in backticks is the end of the path of a file of the clone; a bare name counts too."""
    files = {f"/{name(path)}" for path in texts()}
    lost = {}
    for path in PAGES:
        named = re.findall(r"`([\w./-]*\w\.(?:py|js|html|sql|css))(?::[^`]*)?`", path.read_text(encoding="utf-8"))
        lost[name(path)] = [file for file in named if not any(found.endswith(f"/{file}") for found in files)]
    assert {path: files for path, files in lost.items() if files} == {}


def test_a_page_of_documentation_can_be_read_in_one_sitting():
    assert len(DEVELOPERS.encode()) <= BYTES_OF_DEVELOPERS
    lines = {name(path): path.read_text(encoding="utf-8").count("\n") for path in PAGES if path.name == "README.md"}
    assert {path: n for path, n in lines.items() if n > LINES_OF_A_README} == {}, (
        f"at most {LINES_OF_A_README} lines: say something in fewer lines, or give a part a page of its own beside it"
    )


SITES = (
    "place.site.place_site.PlaceSite",
    "board.board_site.BoardSite",
    "deck.deck_site.DeckSite",
    "desk.site.office_site.OfficeSite",
)
MEMBERS = {
    "notes": "board.board_notes.BoardNotes",
    "taps": "place.site.hour_taps.HourTaps",
    "memory": "tablets.tablet_memory.TabletMemory",
    "seal_rows": "place.site.seal_rows.SealRows",
    "asked": "desk.site.open_questions.OpenQuestions",
    "buildings": "desk.site.other_buildings.OtherBuildings",
    "other_desks": "desk.site.several_desks.SeveralDesks",
    "certified": "desk.site.certified_desk.CertifiedDesk",
    "desk_findings": "desk.site.desk_findings.DeskFindings",
    "upkeep": "desk.site.upkeep.Upkeep",
}
"""Parts of a site that templates ask: attribute -> its class."""


def test_what_a_template_asks_of_the_room_is_there():
    """A name that no site and none of its parts has would be empty on the page, or stop it."""
    known = set().union(*(names_of(where) for where in SITES))
    parts = {part: names_of(where) for part, where in MEMBERS.items()}
    wrong = []
    for path in sorted((ROOT / "webapp" / "pages" / "templates").rglob("*.html")):
        for one, _, two in re.findall(r"\broom\.(\w+)(\.(\w+))?", path.read_text(encoding="utf-8")):
            if one not in known or two and one in parts and two not in parts[one]:
                wrong.append(f"{path.name}: room.{one}.{two}")
    assert wrong == []


def names_of(where: str) -> set[str]:
    """Attributes of a class of `pages/`, its bases' and what their methods set on themselves."""
    module, _, name = where.rpartition(".")
    found = getattr(importlib.import_module(f"webapp.pages.{module}"), name)
    own = "\n".join(inspect.getsource(one) for one in found.__mro__ if one.__module__.startswith("webapp."))
    return (
        set(dir(found))
        | set(re.findall(r"^ +self\.(\w+)\b", own, re.MULTILINE))
        | set(re.findall(r"[, ]self\.(\w+)\b(?=[^=\n]*=[^=])", own))
    )
