"""An office that has enrolled its practice place with a kit, and the place's day begun: what the commands are tried on."""

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

import webapp
from demo_precinct import rehearsed_county
from tests.once import once, once_a_run
from tests.stick import nights
from webapp.commands import main
from webapp.gate import kit, verifier
from webapp.office.setup import enrolment
from webapp.record.ledger import Ledger
from webapp.settings import Settings

NOW = 1_793_000_000_000
REAL = kit.MEMORY_KIB
CHEAP = 64  # KiB; the real cost of a kit: tests/gate/test_kit.py, and `opened_by_another`


@dataclass(frozen=True)
class Enrolled:
    """office and place: their folders. code: of the kit. second, first: each official's codes."""

    office: Path
    place: Path
    kit: Path
    code: str
    first: dict[str, str]
    second: dict[str, str]

    @property
    def record(self) -> Path:
        return self.place / "record.db"

    def keep(self, count: int, first: int = 100) -> None:
        with Ledger.open(self.record, nights.story.COARSE) as ledger:
            nights.keep(ledger, count, first)


@pytest.fixture(scope="session")
def prepared(request, tmp_path_factory):
    """Made once a run: a place that was enrolled with a kit, opened and stopped."""
    return once(request.config, "enrolled", lambda: once_a_run(tmp_path_factory, "enrolled", opened_and_stopped))


def opened_and_stopped(folder: Path) -> tuple[Path, dict, Path]:
    """(folder with `office` and `place`, every code, the kit's file)."""
    with pytest.MonkeyPatch.context() as quick:
        quick.setattr(verifier, "MEMORY_KIB", 64)
        quick.setattr(kit, "MEMORY_KIB", CHEAP)
        office = folder / "office"
        office.mkdir(parents=True)
        (office / "office.toml").write_bytes((rehearsed_county.HERE / "office.toml").read_bytes())
        enrolment.open_office(office)
        enrolment.build((rehearsed_county.HERE / "place.toml").read_bytes(), office, folder / "place.cose")
        made = enrolment.enrol((folder / "place.cose").read_bytes(), office, folder / "place", NOW, spare=True)
        app = webapp.create_app(Settings("place", folder / "place", "practice"))
        app.extensions["room"].close()
        return folder, json.loads(made.codes.read_text()), made.kit


@pytest.fixture
def enrolled(prepared, tmp_path, monkeypatch):
    monkeypatch.setattr(kit, "MEMORY_KIB", CHEAP)
    folder, codes, kit_file = prepared
    shutil.copytree(folder / "office", tmp_path / "office")
    shutil.copytree(folder / "place", tmp_path / "place")
    return Enrolled(
        tmp_path / "office",
        tmp_path / "place",
        tmp_path / "office" / "spares" / kit_file.name,
        codes["kit"],
        codes["codes"],
        codes["second"],
    )


@pytest.fixture
def opened_by_another(enrolled, monkeypatch):
    """The kit, locked again as the product locks it: another process opens it."""
    found = kit.opened(enrolled.kit.read_bytes(), enrolled.code)
    monkeypatch.setattr(kit, "MEMORY_KIB", REAL)
    enrolled.kit.write_bytes(kit.locked(found, enrolled.code))
    return enrolled.kit


@pytest.fixture
def tapeseal(capsys, monkeypatch, enrolled):
    """Runs a command: (exit code, stdout, stderr). The kit's code is in the environment."""
    monkeypatch.setenv("TAPESEAL_KIT_CODE", enrolled.code)

    def run(*words):
        capsys.readouterr()
        code = main([str(word) for word in words])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


__all__ = ["enrolled", "kit", "opened_by_another", "prepared", "tapeseal"]
