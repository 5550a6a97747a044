"""Tablets in a real browser, over TLS, with the office's authority in the browser's own store: the level that a prepared tablet has.

A browser on Linux keeps what its person trusts in an NSS database in the home folder, so each test browser gets a home of its own, and
`certutil` (Debian: package libnss3-tools) writes the authority into it. Names are found by a rule of the browser, not by a network. A browser
that was only told to go on past the warning is another thing: see `clicked_through`.
"""

import os
import shutil
import subprocess
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.browser.conftest import NoBrowser, launched
from tests.browser.window_pool import SIZES, WindowPool
from webapp.gate import certificates, tls
from webapp.pages.factory import make
from webapp.serving.server import Listener, RunningServer, opened

INSTALL = "certutil is not here, which puts the office's authority into a browser's store: install the package libnss3-tools (nss-tools, nss)"


class NoCertutil(Exception):
    """The tool that writes into a browser's store is missing; the sentence says what to install."""


def home_that_trusts(home: Path, *authorities: Path) -> dict[str, str]:
    """The environment of a browser whose person trusts these certificates (files, DER or PEM). Raises NoCertutil."""
    tool = shutil.which("certutil")
    if tool is None:
        raise NoCertutil(INSTALL)
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    for words in (
        ["-N", "--empty-password"],
        *(["-A", "-t", "C,,", "-n", file.stem, "-i", str(file)] for file in authorities),
    ):
        subprocess.run([tool, "-d", f"sql:{store}", *words], check=True, capture_output=True, timeout=60)
    return {**{name: value for name, value in os.environ.items() if not name.startswith("XDG_")}, "HOME": str(home)}


def resolving(*hosts: str) -> str:
    """The browser's flag that leads these names to this computer."""
    return "--host-resolver-rules=" + ",".join(f"MAP {host} 127.0.0.1" for host in hosts)


def authority_of(office: Path) -> Path:
    """The certificate that the office's `enrol` wrote for whoever prepares tablets."""
    return next(office.glob("authority-*.crt"))


@contextmanager
def prepared_browser(playing, home: Path, authority: Path, host: str):
    """A browser as on a tablet that the office prepared: a process of its own, which trusts the authority and finds the laptop by its name."""
    with launched(playing, resolving(host), env=home_that_trusts(home, authority)) as one:
        yield one


@dataclass
class TabletsDoor:
    """The second door of a scene's server: same room, TLS, the place's own name."""

    scene: object
    app: object
    host: str
    running: RunningServer
    watched: tls.ReloadingCertificate

    @property
    def root(self) -> str:
        return f"https://{self.host}:{self.running.port}"


@contextmanager
def doors():
    """A function: a scene -> its tablets' door, open until the end."""
    made = []

    def beside(scene, port: int = 0) -> TabletsDoor:
        host = scene.place.host
        app = make(scene.room.settings, room=scene.room, door="tablets")
        app.config.update(HOSTS=(host,), LOOPBACK=False)
        watched = tls.ReloadingCertificate(
            certificates.enrolled(scene.folder), lambda: certificates.enrolled(scene.folder), ()
        )
        made.append(
            TabletsDoor(
                scene, app, host, opened([Listener(app, port=port, tls=watched, option="--tablet-port")]), watched
            )
        )
        return made[-1]

    yield beside
    for door in made:
        door.running.stop()


@pytest.fixture
def tablets_door():
    """Doors for one test: see `doors`."""
    with doors() as beside:
        yield beside


@pytest.fixture(scope="module")
def shared_door():
    """Doors for all tests of a file: see `doors`."""
    with doors() as beside:
        yield beside


@pytest.fixture(scope="session")
def trusting(playing, playbook, tmp_path_factory):
    """One browser for the whole run that trusts the authority of the played day's office; make a context in it for each tablet."""
    try:
        with prepared_browser(
            playing, tmp_path_factory.mktemp("home"), authority_of(playbook.folder / "office"), playbook.place.host
        ) as one:
            yield one
    except (NoBrowser, NoCertutil) as why:
        pytest.skip(str(why))


@pytest.fixture(scope="session")
def clicked_through(playing, playbook):
    """A browser that knows no authority, told to go on past its own warning: make contexts with `ignore_https_errors=True`."""
    try:
        with launched(playing, resolving(playbook.place.host)) as one:
            yield one
    except NoBrowser as why:
        pytest.skip(str(why))


@contextmanager
def tablets(trusting, pools):
    """A function: a tablets' door -> a page at its address, whose cookies, storage and worker are nobody else's; its requests are in `page.asked`.

    `fresh`: for what cannot be taken back afterwards, as in `window` of conftest.
    """
    taken = []

    def opened(door: TabletsDoor, path: str = "/", browser=None, fresh: bool = False, **more):
        pool = pools.setdefault(id(browser or trusting), WindowPool(browser or trusting))
        taken.append((pool, pool.take(SIZES["tablet upright"], more, fresh), fresh))
        page = taken[-1][1].page
        page.goto(door.root + path)
        return page

    yield opened
    for pool, one, fresh in taken:
        pool.give_back(one, fresh)


@pytest.fixture
def tablet(trusting, pools):
    """Tablets for one test: see `tablets`."""
    with tablets(trusting, pools) as opened:
        yield opened


@pytest.fixture(scope="module")
def shared_tablet(trusting, pools):
    """Tablets for all tests of a file: see `tablets`."""
    with tablets(trusting, pools) as opened:
        yield opened
