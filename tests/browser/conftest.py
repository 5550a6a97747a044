"""A real browser on the real server: Debian's chromium or another installed one, else Playwright's own; skipped with a reason where there is none."""

import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.pages.conftest import playbook, scene  # noqa: F401 - the played day is the same

INSTALLED = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SIZES = {"tablet upright": (820, 1180), "tablet lying": (1180, 820), "phone": (390, 844)}


class NoBrowser(Exception):
    """Neither an installed browser nor Playwright's own is here; the sentence says what to install."""


@contextmanager
def launched(started, *more: str, **how):
    """A headless browser with these further flags; `how` goes to Playwright (env). Raises NoBrowser."""
    installed = next(filter(None, map(shutil.which, INSTALLED)), None)
    if installed is None and not Path(started.chromium.executable_path).exists():
        raise NoBrowser("no browser here: install the package chromium, or run `playwright install chromium`")
    one = started.chromium.launch(executable_path=installed, headless=True, args=[*FLAGS, *more], **how)
    yield one
    one.close()


@pytest.fixture(scope="session")
def playing():
    """Playwright itself, started once."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with sync_api.sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playing):
    try:
        with launched(playing) as one:
            yield one
    except NoBrowser as why:
        pytest.skip(str(why))


@pytest.fixture
def window(browser):
    """A function: size, and whether script is on -> a page whose every request is written down in `page.asked`."""
    contexts = []

    def opened(size: str = "tablet upright", script: bool = True, **more):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, java_script_enabled=script, **more)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.asked = []
        page.on("request", lambda request: page.asked.append(request.url))
        return page

    yield opened
    for context in contexts:
        context.close()
