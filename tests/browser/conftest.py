"""A real browser on the real server: Debian's chromium or another installed one, else Playwright's own; skipped with a reason where there is none."""

import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.browser.window_pool import SIZES, WindowPool
from tests.pages.conftest import playbook, scene, shared_scene  # noqa: F401 - the played day is the same

INSTALLED = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
WINDOWLESS = "chromium-headless-shell"  # Debian's package: the same engine without the browser around it, at 0.6 of the cost a page
OFF = (  # features; a browser heeds the last such list alone, so those that Playwright turns off are here, too
    "RenderDocument",  # a new frame for each page of one site: a fifth of what a page costs
    "HttpsUpgrades",
    "HttpsFirstBalancedModeAutoEnable",
    "PaintHolding",
    "ThirdPartyStoragePartitioning",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "DestroyProfileOnBrowserClose",
    "MediaRouter",
    "OptimizationHints",
    "NetworkTimeServiceQuerying",
)
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--renderer-process-limit=1",  # one process for all pages of a browser
    "--disable-features=" + ",".join(OFF),
]


class NoBrowser(Exception):
    """Neither an installed browser nor Playwright's own is here; the sentence says what to install."""


def installed(whole: bool = False) -> str | None:
    """The browser on this computer that tests use; whole: one that could install an app, too. None where there is none."""
    return next(filter(None, map(shutil.which, INSTALLED if whole else (WINDOWLESS, *INSTALLED))), None)


@contextmanager
def launched(started, *more: str, **how):
    """A headless browser with these further flags; `how` goes to Playwright (env). Raises NoBrowser."""
    found = installed()
    if found is None and not Path(started.chromium.executable_path).exists():
        raise NoBrowser("no browser here: install the package chromium, or run `playwright install chromium`")
    one = started.chromium.launch(executable_path=found, headless=True, args=[*FLAGS, *more], **how)
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


@pytest.fixture(scope="session")
def windows(browser):
    """The pool that `window` takes its pages from."""
    return WindowPool(browser)


@pytest.fixture(scope="session")
def pools():
    """Of each further browser its own pool, by the browser's id: see `tablet` in `trusted.py`."""
    return {}


@contextmanager
def lent(windows: WindowPool):
    """A function: size, whether script is on, whether the page may have a worker -> a page whose every request is written down in `page.asked`.

    `fresh`: for what cannot be taken back afterwards (an init script, a listener for dialogs, a clock): a context that nobody uses again.
    """
    taken = []

    def opened(size: str = "tablet upright", script: bool = True, worker: bool = False, fresh: bool = False, **more):
        how = {"java_script_enabled": script, "service_workers": "allow" if worker else "block", **more}
        taken.append((windows.take(SIZES[size], how, fresh), fresh))
        return taken[-1][0].page

    yield opened
    for one, fresh in taken:
        windows.give_back(one, fresh)


@pytest.fixture
def window(windows):
    """Windows for one test: see `lent`."""
    with lent(windows) as opened:
        yield opened


@pytest.fixture(scope="module")
def shared_window(windows):
    """Windows for all tests of a file: see `lent`."""
    with lent(windows) as opened:
        yield opened
