"""One rehearsed demo day for all tests of this folder: its report, and the folders it left behind."""

from dataclasses import asdict
from pathlib import Path

import pytest

from demo_precinct import rehearsal, results_file
from tests import few_hours
from tests.once import once, once_a_run


@pytest.fixture
def one_process(monkeypatch):
    """Places are played here one after the other, where a PIN costs what the tests make it cost, and nothing is imported anew."""
    monkeypatch.setattr(rehearsal, "cores", lambda: 1)


@pytest.fixture
def short_day(monkeypatch):
    """The polls of a place made from a results file are open for four hours."""
    made = results_file.place
    monkeypatch.setattr(results_file, "place", lambda file, index: few_hours.of(made(file, index)))


@pytest.fixture(scope="session")
def demo(request, tmp_path_factory):
    """(report as a dictionary, folder with `places/` and `office/`); the place's stick lies in `stick` beside it."""

    def rehearsed(home: Path) -> tuple[dict, Path]:
        return asdict(rehearsal.rehearse_demo(home / "demo", 1, stick=home / "stick")), home / "demo"

    return once(request.config, "demo", lambda: once_a_run(tmp_path_factory, "demo", rehearsed))
