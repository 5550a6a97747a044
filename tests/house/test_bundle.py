"""The folder for a laptop without internet: every system's libraries are pinned, what was fetched is listed, what is not to be had is named."""

import hashlib
import re
from pathlib import Path

import pytest

from demo_precinct import bootstrap, bundle


def test_the_lock_file_names_every_library_of_every_system_and_python():
    """Tests included: `python3 tests` installs from the same file, and pip takes no library without its hash (PEP 508 markers, pip's hash-checking mode)."""
    lock = bundle.locked()
    for system in bundle.SYSTEMS:
        for python in bundle.PYTHONS:
            needed = bundle.needed(system, python, ("test",))
            assert len(needed) > 45 and needed - set(lock) == set(), (system.name, python)
    windows = bundle.needed(bundle.SYSTEMS[0], "3.12")
    assert "colorama" in windows and "colorama" not in bundle.needed(bundle.SYSTEMS[-1], "3.12")


def fetched(asked, system, python, wheels):
    """A stand-in for the package index: one file for each line asked for; it has nothing for one system."""
    if "Intel" in system.name:
        raise ValueError("No matching distribution found for one==1.")
    for name in re.findall(r"^([\w.-]+)==", asked.read_text(encoding="utf-8"), re.M):
        (wheels / f"{name}-{python}-{system.tags[0]}.whl").write_text(name, encoding="utf-8")


def test_a_bundle_says_what_is_complete_and_what_is_not_and_holds_sums_of_all_its_files(tmp_path):
    folder = tmp_path / "stick"
    said = bundle.collect(folder, fetched)
    page = (folder / "READ-ME-FIRST.txt").read_text(encoding="utf-8")
    assert "Complete: Windows, Python 3.12." in said
    assert any(one.startswith("Not complete: macOS, Intel processor, Python 3.11: No matching") for one in said)
    assert "Not complete, do not use this folder there:\n   macOS, Intel processor, Python 3.11" in page
    sums = dict(reversed(line.split("  ")) for line in (folder / "SHA256SUMS").read_text().splitlines())
    files = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()} - {"SHA256SUMS"}
    assert set(sums) == files and not [name for name in files if "__pycache__" in name or "asked.txt" in name]
    assert all(hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest for name, digest in sums.items())
    assert {"webapp/commands/__init__.py", "static/worker.js", "demo_precinct/__main__.py"} <= files
    wanted = (folder / "wheels" / bundle.NEEDED).read_text(encoding="utf-8")
    assert (
        "--hash=sha256:" in wanted
        and "pytest==" not in wanted
        and 'colorama==0.4.6 ; sys_platform == "win32"' in wanted
    )


def test_a_folder_that_is_not_empty_and_an_index_that_has_nothing_are_refused(tmp_path, capsys):
    (tmp_path / "file").write_text("here")
    assert bundle.main([str(tmp_path)]) == 2 and "is not empty. Give a new folder." in capsys.readouterr().err
    assert bundle.main([]) == 2 and "--bundle DIR" in capsys.readouterr().err

    def nothing(*_):
        raise ValueError("the wheels could not be fetched.")

    with pytest.raises(
        ValueError, match="No system is complete. Windows, Python 3.11: the wheels could not be fetched."
    ):
        bundle.collect(tmp_path / "new", nothing)


class Ended:
    """A child process that ended well, or with this code."""

    def __init__(self, command, code=0):
        self.args, self.code = command, code

    def wait(self):
        return self.code


@pytest.fixture
def ran(tmp_path, monkeypatch):
    """The commands that making the environment would have run, and the words that each file they name would have held."""
    commands, listed = [], []

    def run(command, **_):
        commands.append(command)
        listed.append(Path(command[command.index("-r") + 1]).read_text(encoding="utf-8") if "-r" in command else "")
        return Ended(command)

    monkeypatch.setattr(bootstrap, "HOME", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap.venv, "create", lambda *_, **__: None)
    monkeypatch.setattr(bootstrap.subprocess, "run", run)
    monkeypatch.setattr(bootstrap.subprocess, "Popen", run)
    return commands, listed


def test_in_a_bundle_nothing_is_asked_of_a_network(tmp_path, monkeypatch, ran):
    bundled = tmp_path / "wheels" / "requirements.txt"
    bundled.parent.mkdir()
    bundled.write_text("one==1 --hash=sha256:1\ntwo==2 --hash=sha256:2\n", encoding="utf-8")
    monkeypatch.setattr(bootstrap, "BUNDLED", bundled)
    bootstrap._install()
    commands, listed = ran
    assert listed == ["one==1 --hash=sha256:1\n", "two==2 --hash=sha256:2\n", ""]
    assert all({"--no-index", "--find-links", str(bundled.parent)} <= set(command) for command in commands)
    assert all("--require-hashes" in command for command in commands[:-1]) and str(bootstrap.ROOT) in commands[-1]


def test_every_library_of_the_lock_file_is_installed_once_with_its_hashes_and_pip_before_the_others(ran):
    bootstrap._install()
    commands, listed = ran
    assert sorted("".join(listed).split()) == sorted((bootstrap.ROOT / "requirements.lock").read_text("utf-8").split())
    assert listed[0].startswith("pip==") and listed[0].count("==") == 1
    assert ["--require-hashes" in command for command in commands] == [bool(text) for text in listed]


def test_a_library_that_is_not_to_be_had_is_said_in_one_sentence(ran, monkeypatch):
    monkeypatch.setattr(bootstrap.subprocess, "Popen", lambda command, **_: Ended(command, 1))
    with pytest.raises(SystemExit, match="The environment could not be made .* reaches the Python package index"):
        bootstrap._install()
