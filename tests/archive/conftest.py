"""The small office of `small_office.py` with its two archives, and `verify.py` as a stranger runs it."""

import shutil
import subprocess
import sys
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest
from argon2 import low_level

import webapp.archive
from tests.archive.small_office import story
from tests.matrix import ALL
from tests.once import once
from webapp.commands import main
from webapp.record import check_words

hashed = lru_cache(maxsize=None)(low_level.hash_secret_raw)


def hashed_once(secret, salt, time_cost, memory_cost, parallelism, hash_len, type, version):
    """What the library gives; the same question is worked out once in this process, whoever asks."""
    return hashed(secret, salt, time_cost, memory_cost, parallelism, hash_len, type, version)


@contextmanager
def words_as_printed():
    """Check words at their real cost: another process works them out too."""
    before = check_words.MEMORY_KIB, check_words.PASSES
    check_words.MEMORY_KIB, check_words.PASSES = 128 * 1024, 3
    check_words.check_words.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        for module in (low_level, check_words):
            patch.setattr(module, "hash_secret_raw", hashed_once)
        yield
    check_words.MEMORY_KIB, check_words.PASSES = before
    check_words.check_words.cache_clear()


REAL_COST = "3, 131072,"  # as verify.py writes it
VERIFY = Path(webapp.archive.__file__).with_name("verify.py")


@pytest.fixture(scope="package")
def kept(tmp_path_factory, request, cheap_hashes):
    """The office and its archives, made once and never changed."""
    return once(request.config, "small office", lambda: archived(tmp_path_factory.mktemp("archive")))


@pytest.fixture(scope="package")
def made_as_printed(tmp_path_factory, cheap_hashes):
    """The same, with check words at their real cost."""
    with words_as_printed():
        return archived(tmp_path_factory.mktemp("as-printed"))


@pytest.fixture
def kept_as_printed(made_as_printed):
    """Archives that another process reads too; made once and never changed."""
    with words_as_printed():
        yield made_as_printed


def archived(home: Path) -> SimpleNamespace:
    """The small office in this folder, and both of its archives."""
    story(home)
    folder, sealed, public = home / "office", home / "sealed", home / "public"
    assert main(["export", str(folder), "--out", str(sealed), "--archive", "sealed"]) == 0
    more = ["--archive", "public", "--with-sealed", str(sealed)]
    assert main(["export", str(folder), "--out", str(public), *more]) == 0
    return SimpleNamespace(office=folder, sealed=sealed, public=public)


@pytest.fixture
def copies(kept, tmp_path):
    """Both archives, to be changed."""
    for kind in ("sealed", "public"):
        shutil.copytree(getattr(kept, kind), tmp_path / kind)
    return SimpleNamespace(office=kept.office, sealed=tmp_path / "sealed", public=tmp_path / "public")


@pytest.fixture
def real_words():
    with words_as_printed():
        yield


@pytest.fixture(scope="session")
def alone() -> ModuleType:
    """verify.py loaded by its path, with check words at the cost that the product's have at the moment."""
    text = VERIFY.read_text(encoding="utf-8")
    assert text.count(REAL_COST) == 1
    module = ModuleType("verify_alone")
    module.__file__ = str(VERIFY)
    module.__dict__["cost"] = check_words
    exec(compile(text.replace(REAL_COST, "cost.PASSES, cost.MEMORY_KIB,"), str(VERIFY), "exec"), module.__dict__)
    return module


def told_by_verify(folder: Path, alone: ModuleType, capsys) -> tuple[int, str]:
    """(exit code, lines) of an archive's own verify.py: in this process, where check words cost little; as a stranger runs it in `test_archive.py`, and with --all."""
    capsys.readouterr()
    if not ALL:
        return alone.main([str(folder)]), capsys.readouterr().out
    words = [sys.executable, "-I", str(folder / "data" / "verify.py")]
    found = subprocess.run(words, capture_output=True, text=True, timeout=120)
    return found.returncode, found.stdout + found.stderr
