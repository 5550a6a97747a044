"""The folder for a laptop without internet: every system's libraries are pinned, what was fetched is listed, what is not to be had is named."""

import hashlib
import re

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


def test_in_a_bundle_nothing_is_asked_of_a_network(tmp_path, monkeypatch):
    ran = []
    listed = tmp_path / "wheels" / "requirements.txt"
    listed.parent.mkdir()
    listed.write_text("one==1\n", encoding="utf-8")
    monkeypatch.setattr(bootstrap, "BUNDLED", listed)
    monkeypatch.setattr(bootstrap, "HOME", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap.venv, "create", lambda *_, **__: None)
    monkeypatch.setattr(bootstrap.subprocess, "run", lambda command, **_: ran.append(command))
    bootstrap._install()
    assert len(ran) == 2 and all({"--no-index", "--find-links", str(listed.parent)} <= set(command) for command in ran)
    assert str(listed) in ran[0] and "--require-hashes" in ran[0]
