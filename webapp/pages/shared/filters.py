"""How figures, times and signs are written on every page: filters and functions for the templates."""

import hashlib
import re
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from flask import Flask, request, url_for
from markupsafe import Markup

import static
from webapp import version
from webapp.precinct.balance.summary import lacking
from webapp.precinct.day.short_signed import at_work
from webapp.precinct.numbers import on_clock
from webapp.precinct.place.plain_words import shown

STATIC = Path(static.__file__).parent


def figures(number: int | None) -> str:
    """A count with its thousands marked: 21,014. Nothing typed: an en dash."""
    return "–" if number is None else f"{number:,}"


def signed(gap: int) -> str:
    """A gap with its sign: +1, 0, −1 (a true minus)."""
    return "0" if gap == 0 else f"{gap:+,}".replace("-", "−")


def field_id(name: str) -> str:
    """The id of the control with this name: names carry dots and slashes, ids do not."""
    return "f-" + "".join(c if c.isalnum() or c == "-" else "-" for c in name)


def own_ids(html: Markup, form: str) -> Markup:
    """This part of a page with ids of its own, and what refers to them: two forms of one page may ask for the same names. "" leaves it as it is."""
    if not form:
        return html
    attribute = r'\b(?:id|for|href|aria-describedby|aria-labelledby)="[^"]*"'
    return Markup(re.sub(attribute, lambda found: re.sub(r'(?<=["# ])f-', f"f-{form}-", found[0]), str(html)))  # noqa: S704 - what it was given was safe


def spelled(words: str) -> str:
    """Check words one letter at a time, for a voice: "H 4 M K, 7 R W E, 3 9 T P"."""
    return ", ".join(" ".join(part) for part in words.split("-"))


def clock(ms: int, zone: ZoneInfo, hours: int = 24) -> str:
    """Wall-clock time of a moment, HH:MM or as a 12-hour clock says it: "8:00 pm"."""
    return on_clock(datetime.fromtimestamp(ms / 1000, UTC).astimezone(zone).strftime("%H:%M"), hours)


def quarter(ms: int, zone: ZoneInfo, hours: int = 24) -> str:
    """The quarter hour that begins at this moment: "14:45 to 15:00"."""
    return f"{clock(ms, zone, hours)} to {clock(ms + 15 * 60_000, zone, hours)}"


def minutes(count: int) -> str:
    """A stretch of time in words: "18 minutes", "1 hour 5 minutes"."""
    hours, rest = divmod(count, 60)
    parts = [f"{n} {unit}{'' if n == 1 else 's'}" for n, unit in ((hours, "hour"), (rest, "minute")) if n]
    return " ".join(parts) or "less than a minute"


def _version() -> str:
    """The program's version, and eight digits of what its sheet of style and its scripts hold: two that differ never share a name."""
    files = sorted(path for path in STATIC.iterdir() if path.suffix in (".css", ".js"))
    return f"{version.VERSION}-{hashlib.sha256(b''.join(path.read_bytes() for path in files)).hexdigest()[:8]}"


VERSION = _version()
FOLDER = f"v{VERSION}/"


def static_url(name: str) -> str:
    """Address of a file of static/, in a folder named after the version: scripts that import one another never mix two."""
    return _static_url(name, request.script_root)


@cache
def _static_url(name: str, root: str) -> str:
    """As `static_url`, which a page asks eight times; `root` is what comes before all addresses of the app."""
    return url_for("static", filename=FOLDER + name)


def legible(value: Any) -> Any:
    """Returns what a template puts on the page, with a mark in the place of each letter that would hide or turn others."""
    if not isinstance(value, str) or (text := shown(value)) == value:
        return value
    return type(value)(text)


def install(app: Flask, zone: ZoneInfo, hours: int = 24) -> None:
    """Give the templates of this app the product's way of writing; `hours` is the clock that its people read."""
    app.view_functions["static"] = lambda filename: app.send_static_file(filename.removeprefix(FOLDER))
    app.jinja_env.filters.update(
        figures=figures,
        signed=signed,
        field_id=field_id,
        own_ids=own_ids,
        spelled=spelled,
        minutes=minutes,
        lacking=lacking,
        on_clock=lambda hhmm: on_clock(hhmm, hours),
    )
    app.jinja_env.globals.update(
        clock=lambda ms: clock(ms, zone, hours),
        clock24=lambda ms: clock(ms, zone),
        quarter=lambda ms: quarter(ms, zone, hours),
        static_url=static_url,
        at_work=at_work,
    )
    app.jinja_env.finalize = legible
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
