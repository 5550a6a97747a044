"""The small office of `small_office.py` with its two archives, and `verify.py` as a stranger runs it."""

import importlib.util
import shutil
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

import webapp.archive
from tests.archive.small_office import story
from tests.once import once
from webapp.commands import main
from webapp.record import check_words


@contextmanager
def words_as_printed():
    """Check words at their real cost: another process works them out too."""
    before = check_words.MEMORY_KIB, check_words.PASSES
    check_words.MEMORY_KIB, check_words.PASSES = 128 * 1024, 3
    check_words.check_words.cache_clear()
    yield
    check_words.MEMORY_KIB, check_words.PASSES = before
    check_words.check_words.cache_clear()


@pytest.fixture(autouse=True, scope="package")
def real_words(cheap_hashes):
    with words_as_printed():
        yield


VERIFY = Path(webapp.archive.__file__).with_name("verify.py")


@pytest.fixture(scope="package")
def kept(tmp_path_factory, request, real_words):
    """The office and its archives, made once and never changed."""

    def make():
        home = tmp_path_factory.mktemp("archive")
        story(home)
        folder, sealed, public = home / "office", home / "sealed", home / "public"
        assert main(["export", str(folder), "--out", str(sealed), "--archive", "sealed"]) == 0
        more = ["--archive", "public", "--with-sealed", str(sealed)]
        assert main(["export", str(folder), "--out", str(public), *more]) == 0
        return SimpleNamespace(office=folder, sealed=sealed, public=public)

    return once(request.config, "small office", make)


@pytest.fixture
def copies(kept, tmp_path):
    """Both archives, to be changed."""
    for kind in ("sealed", "public"):
        shutil.copytree(getattr(kept, kind), tmp_path / kind)
    return SimpleNamespace(office=kept.office, sealed=tmp_path / "sealed", public=tmp_path / "public")


@pytest.fixture(scope="session")
def alone() -> ModuleType:
    """verify.py loaded by its path."""
    spec = importlib.util.spec_from_file_location("verify_alone", VERIFY)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.check_words = cache(module.check_words)  # each costs half a second
    return module
