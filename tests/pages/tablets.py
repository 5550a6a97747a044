"""Tablets at a scene's second door: paired as people do it, a code typed, admitted at the laptop."""

import re
from contextlib import contextmanager
from dataclasses import replace

from demo_precinct.http_window import Page, Window
from webapp.pages import factory
from webapp.serving.server import serve_in_thread


@contextmanager
def tablets_door(here):
    """The port of the door for tablets. TLS is the door's own matter; here is what stands behind it."""
    app = factory.make(replace(here.app.config["SETTINGS"]), room=here.room, door="tablets")
    running = serve_in_thread(app)
    try:
        yield running.port
    finally:
        for window in here.windows:  # a server waits for the lines that are open
            window.close()
        running.stop()


def code_of(page: Page) -> str:
    return re.search(r'aria-label="Code ([0-9 ]+)"', page.text)[1].replace(" ", "")


def invited(here) -> str:
    return code_of(here.window.send(here.window.get("/tablets").form("/tablets/code")))


def asked(here, port: int, level: str = "full", code: str = "") -> Window:
    """A tablet that has sent the code and waits."""
    tablet = Window(port)
    here.windows.append(tablet)
    tablet.said = tablet.send(tablet.get("/pair").form("/pair"), {"code": code or invited(here), "level": level})
    return tablet


def admitted(here, port: int, level: str = "full", person: str = "lindqvist") -> Window:
    """A tablet that was let in by this person at the laptop."""
    tablet = asked(here, port, level)
    letter = re.search(r"This is tablet (\w+)", tablet.said.text)[1]
    page = here.window.send(
        here.window.get("/tablets").form(f"/tablets/{letter}/admit"), {"signer": person, "pin": here.pins[person]}
    )
    assert page.status == 200, page.said()
    tablet.letter = letter
    return tablet
