"""The small office of `small_office.py` with its two archives, and `verify.py` as a stranger runs it."""

import shutil
from contextlib import contextmanager
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


REAL_COST = "3, 131072,"  # as verify.py writes it
VERIFY = Path(webapp.archive.__file__).with_name("verify.py")


@pytest.fixture(scope="package")
def kept(tmp_path_factory, request, cheap_hashes):
    """The office and its archives, made once and never changed."""
    return once(request.config, "small office", lambda: archived(tmp_path_factory.mktemp("archive")))


@pytest.fixture
def kept_as_printed(tmp_path):
    """The same, with check words at their real cost: another process works them out too."""
    with words_as_printed():
        yield archived(tmp_path / "as-printed")


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
