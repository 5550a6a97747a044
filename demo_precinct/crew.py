"""The people of one place at their tablets: who signs what, with which PIN, on the pages they are given."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from demo_precinct.http_window import Control, Form, Page, Stuck, Window
from webapp.precinct.place.place import Place

Answer = Callable[[str, str, str, str, Control], str | list[str] | None]


@dataclass
class Tally:
    """What was done, for the report of the rehearsal."""

    signatures: int = 0
    kept: int = 0
    exceptions: int = 0
    short: int = 0
    corrections: int = 0
    remarks: int = 0
    steps: set[str] = field(default_factory=set)


@dataclass
class Crew:
    """Officials with their PINs, one window; `answer(step, at, field, thing, control)` gives what they write (None: as it stands)."""

    place: Place
    window: Window
    answer: Answer
    pins: dict[str, str]
    tally: Tally = field(default_factory=Tally)
    turn: int = 0
    only: frozenset[str] = frozenset()  # while some alone sign; empty: whoever may
    token: str = ""  # of this browser's forms, once one was seen

    def clock(self, ms: int) -> None:
        """Move the practice clock."""
        for known in (self.token, ""):
            self.token = known or self.window.get("/tablet").form("/tablet/light").controls["csrf_token"].value
            page = self.window.post("/practice/clock", [("csrf_token", self.token), ("now", str(ms))])
            if page.status == 204:
                return
        raise Stuck(f"the practice clock did not move: {page.said()}")

    # --- signing

    def signer(self, form: Form, name: str = "signer", but: str = "") -> str:
        """Somebody who may sign here; not always the same person."""
        options = [o for o in form.controls[name].options if o in self.pins and o != but]
        options = [o for o in options if o in self.only] or options
        if not options:
            raise Stuck(f"{form.action}: nobody with a PIN may sign here, only {form.controls[name].options}")
        self.turn += 1
        return options[self.turn % len(options)]

    def signed(self, page: Page, form: Form, values: Mapping[str, str | list[str]], short: bool = False) -> Page:
        """Send a form with one signature, then the others on the pages that follow."""
        values = dict(values)
        if "signer" in form.controls:
            who = self.signer(form)
            values |= {"signer": who, "pin": self.pins[who]}
            self.tally.signatures += 1
        page = self.sent(form, values)
        while page.path.startswith("/sign/"):
            page = self.short(page) if short else self.second(page)
        return page

    def second(self, page: Page) -> Page:
        form = page.form(page.path)
        who = self.signer(form)
        self.tally.signatures += 1
        return self.sent(form, {"signer": who, "pin": self.pins[who]})

    def short(self, page: Page) -> Page:
        """Nobody is there for the other seat: the office is told, the first signer signs the reason."""
        form = page.form(page.path + "/short")
        who = form.controls["signer"].options[0]
        self.tally.signatures += 1
        self.tally.short += 1
        return self.sent(
            form,
            {"why": "absent", "told": "duty clerk", "told_at": self.wall(page), "signer": who, "pin": self.pins[who]},
        )

    @staticmethod
    def wall(page: Page) -> str:
        found = re.search(r'<time data-now datetime="([0-9:]+)"', page.text)
        if found is None:
            raise Stuck(f"{page.path} shows no clock")
        return found[1]

    def sent(self, form: Form, values: Mapping[str, str | list[str]]) -> Page:
        page = self.window.send(form, values)
        if page.status >= 400:
            raise Stuck(
                f"{form.action} answers {page.status}: {page.said()} If a field of it is new, answer it in demo_precinct/answers.py (a method step_id__field)."
            )
        return page

    # --- steps

    def next_key(self) -> str | None:
        """The step that Now offers, also beside something more pressing; or the one whose hour it waits for."""
        found = re.search(r'data-next="([^"]+)"', self.window.opened("/now").text)
        return found[1] if found else None

    def values(self, form: Form, step: str, at: str) -> dict[str, str | list[str]]:
        """What this step's form is filled with: each control asked of `answer`, ticks ticked, else the first choice."""
        filled = {}
        for name, control in form.controls.items():
            if control.kind in ("hidden", "password", "submit") or name in ("signer", "pin"):
                continue
            before, _, own = name.rpartition("/")
            step_, _, at_ = before.partition(":")
            field_, _, thing = own.partition(".")
            said = self.answer(step_ or step, at_ or at, field_, thing, control)
            if said is None and control.kind == "checkbox" and field_ != "not_so":
                said = control.options[0]
            if said is None and control.kind == "radio":
                said = control.value or ("yes" if "yes" in control.options else control.options[0])
            if said is not None:
                filled[name] = said
        return filled

    def do(self, key: str, /, short: bool = False, **own: str) -> Page:
        """One step, or the page of steps it stands on, kept and signed. `own` puts values over the answers."""
        page = self.window.get(f"/step/{key}")
        form = page.form("/step/" if page.path.startswith("/step/") else page.path)
        step, _, at = key.partition(":")
        values = self.values(form, step, at) | {name: value for name, value in own.items() if name in form.controls}
        self.tally.kept += 1
        self.tally.steps.add(step)
        return self.signed(page, form, values, short)

    def note(self, kind: str, at: str = "", /, **own: str) -> Page:
        """One note of the day."""
        path = f"/note/{kind}" + (f"/{at}" if at else "")
        page = self.window.get(path)
        form = page.form(path)
        values = self.values(form, kind, at) | own
        self.tally.kept += 1
        return self.signed(page, form, {k: v for k, v in values.items() if k in form.controls})

    def correct(self, number: int, changes: Mapping[str, str], reason: str) -> Page:
        """Correct an entry by its form, with the reason."""
        path = f"/record/{number}/correct"
        page = self.window.get(path)
        self.tally.corrections += 1
        return self.signed(page, page.form(path), {**changes, "reason": reason})

    def hold(self, person: str) -> None:
        """Take the tablet."""
        form = self.window.get("/tablet").form("/tablet/take")
        self.sent(form, {"signer": person, "pin": self.pins[person]})

    def oath(self, person: str, code: str) -> None:
        page = self.window.get(f"/people/oath/{person}")
        form = page.form(f"/people/oath/{person}")
        values = {"oath": "yes", "pin": self.pins[person], "pin_again": self.pins[person], "code": code}
        self.tally.signatures += 1
        self.sent(form, {k: v for k, v in values.items() if k in form.controls})
