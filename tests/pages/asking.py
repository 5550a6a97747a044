"""A tablet that asks the laptop as its script does: the token by GET, then what it saw, what it holds and what its clock shows."""

import json
import shutil
from pathlib import Path

from demo_precinct.http_window import Page, Window


def asked(window: Window, saw=None, held: object = 0, clock: object = None, now: int = 0, **more) -> Page:
    """The page that answers POST /contact."""
    got = json.loads(window.get("/contact").text)
    sent = {"saw": saw, "held": held, "clock": now if clock is None else clock, **more}
    return posted(window, "/contact", sent, got["token"])


def posted(window: Window, path: str, sent: object, token: str | None = None) -> Page:
    token = token or json.loads(window.get("/contact").text)["token"]
    body = sent if isinstance(sent, bytes) else json.dumps(sent).encode()
    return window._follow(
        "POST",
        path,
        body,
        {"Content-Type": "application/json", "X-CSRFToken": token, "Origin": f"http://{window.host}:{window.port}"},
    )


def seen(window: Window) -> list:
    """What a page shows a tablet, as the tablet remembers it."""
    said = json.loads(window.get("/contact").text)
    return [said["record"], said["run"], said["number"], said["head"]]


def put_aside(here, name: str) -> Path:
    """A copy of the record's file as it lies there while nobody has it open."""
    kept = here.folder.parent / name
    shutil.copy(here.folder / "record.db", kept)
    return kept


def restart(here, record: Path | None = None) -> None:
    """The laptop's program is stopped, perhaps another record.db put in place, and started; the tablet keeps its cookies, named anew by the port."""
    old = here.window
    here.stop()
    here.windows = []
    if record:
        for file in here.folder.glob("record.db*"):
            file.unlink()
        shutil.copy(record, here.folder / "record.db")
    here.start()
    here.window.cookies = {
        name.replace(str(old.port), str(here.window.port)): value for name, value in old.cookies.items()
    }
    here.crew.window = here.window


def left(here, times: int = 1) -> None:
    """So many ballots left behind, each a tick of the holder's."""
    for _ in range(times):
        page = here.window.send(here.form("/note/left"), here.filled(here.form("/note/left"), "left"))
        assert page.status == 200, page.said()
