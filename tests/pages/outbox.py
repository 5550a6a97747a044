"""The outbox of a tablet as its script keeps it, in Python: forms of the shell held in a file, in order, looked at and kept on return.

A faithful model of `static/outbox.js` and `static/held_entries.js`, for tests and drills that need many tablets and no browser. Each deed is on the
disk before it returns, so a tablet may be dropped at any moment and taken up again from its file.
"""

import html
import json
import os
import re
import uuid
from collections.abc import Mapping
from pathlib import Path

from demo_precinct.http_window import Window
from tests.pages.asking import posted

NOUGHT = {"/note/observers": {"came": "0", "left": "0"}}  # counts that these tests do not speak of
SECRET = ("csrf_token", "signer", "pin", "entry_id", "salt")


class Outbox:
    """One tablet. `clock` gives its own time in ms; `holder` is who took it."""

    def __init__(self, file: Path, window: Window, clock, holder: str | None = None, offset: int = 0):
        self.file, self.window, self.clock, self.offset = file, window, clock, offset
        self.holder = holder
        self.state = (
            json.loads(file.read_text())
            if file.exists()
            else {"outbox": [], "settle": {}, "last_seq": 0, "forms": {}, "saw": None}
        )

    def deed(self) -> None:
        """What the state is now, on the disk."""
        draft = self.file.with_suffix(".new")
        with draft.open("w") as out:
            json.dump(self.state, out)
            out.flush()
            os.fsync(out.fileno())
        os.replace(draft, self.file)

    @property
    def held(self) -> list[dict]:
        return self.state["outbox"]

    @property
    def settle(self) -> dict[str, dict]:
        return self.state["settle"]

    def learn(self) -> dict:
        """A contact: the tablet's last line, and the state of the record that it saw."""
        said = json.loads(self.window.get("/contact").text)
        self.state |= {"last_seq": said["last_seq"], "saw": [said["record"], said["run"], said["number"], said["head"]]}
        self.deed()
        return said

    def store(self, *paths: str) -> None:
        """Put these pages of the shell by, as the worker does."""
        for path in paths:
            page = self.window.get(f"/shell{path}")
            assert page.status == 200, page.said()
            holds = json.loads(html.unescape(re.search(r"data-holds='([^']*)'", page.text)[1]))
            self.state["forms"][path] = (
                holds,
                page.form(path).filled(page.form(path).choices_made() | NOUGHT.get(path, {})),
            )
        self.deed()

    def hold(self, path: str, values: Mapping[str, str] = {}, ids: Mapping[str, str] = {}) -> dict:
        """Fill in a form out of the shell and hold it: what the script does when the laptop does not answer."""
        holds, blank = self.state["forms"][path]
        data = [(name, value) for name, value in blank if name not in values] + list(values.items())
        (one,) = holds
        form = {name: value for name, value in data if name not in SECRET}
        now = self.clock()
        laptop = now - self.offset
        made = laptop - laptop % one["coarse"] if one["coarse"] > 1 else now
        seq = max([self.state["last_seq"], *(entry["seq"] for entry in self.held)]) + 1
        entry = {
            "id": uuid.uuid4().hex,
            "salt": uuid.uuid4().hex,
            "kind": one["kind"],
            "at": one["at"],
            "title": one["title"],
            "path": path,
            "coarse": one["coarse"],
            "form": form,
            "seq": seq,
            "made": made,
            "holder": self.holder,
            "name": None,
            "saw": self.state["saw"],
            **ids,
        }
        self.held.append(entry)
        self.deed()
        return entry

    def say(self, path: str, token: str | None = None, **sent) -> dict:
        """One question to the laptop: its JSON, and the status under "status"."""
        page = posted(self.window, path, {"clock": self.clock(), **sent}, token)
        return {
            "status": page.status,
            **(
                json.loads(page.text)
                if page.headers["content-type"].startswith("application/json")
                else {"page": page.text}
            ),
        }

    def look(self, **more) -> dict:
        """What the laptop says of these entries; what it has already leaves the list."""
        said = self.say("/held/look", entries=self.held, **more)
        if said["status"] == 200:
            self.take(
                {name: one for name, one in said["entries"].items() if one["number"] is not None and not one["says"]},
                said["last_seq"],
            )
        return said

    def keep(self, person: str, pin: str) -> dict:
        """The holder signs what stands first in the list."""
        said = self.say("/held/keep", entries=self.first(), signer=person, pin=pin)
        if said["status"] == 200:
            self.take(said["results"], said["last_seq"])
        return said

    def first(self) -> list[dict]:
        """Those of the first one's holder, as far as they stand together."""
        who = next((one["holder"] for one in self.held if one["holder"]), None)
        end = next((i for i, one in enumerate(self.held) if one["holder"] and one["holder"] != who), len(self.held))
        return self.held[:end]

    def take(self, results: Mapping[str, dict], last_seq: int) -> None:
        for one in self.held:
            if results.get(one["id"], {}).get("says"):
                self.settle[one["id"]] = {
                    **one,
                    **results[one["id"]],
                    "aside_id": uuid.uuid4().hex,
                    "aside_salt": uuid.uuid4().hex,
                }
        stay = [one for one in self.held if one["id"] not in results]
        self.state |= {"outbox": [{**one, "seq": last_seq + 1 + i} for i, one in enumerate(stay)], "last_seq": last_seq}
        self.deed()
