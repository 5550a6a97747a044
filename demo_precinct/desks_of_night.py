"""The night at desks apart: each place is received at one of them, in another building; their bundles are merged at the office in a drawn order.

Half-way through the night a first bundle of each desk comes, at the end one of all that it kept: the second contains the first.
"""

import random
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from demo_precinct.http_window import Stuck
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.rehearsed_county import _codes
from webapp.merging import desk_folder
from webapp.office.setup.office_file import Office
from webapp.serving.server import serve_in_thread
from webapp.settings import Settings


@dataclass
class DesksOfNight:
    """Desks apart of one office, each with a window and its receivers. `merged`: bundles that the office took in, twice the same one too."""

    desks: list[DeskNight]
    servers: list[tuple[Any, Any]]
    draw: random.Random
    taken: int = 0
    merged: int = 0
    names: list[str] = field(default_factory=list)

    @classmethod
    def opened(cls, folder: Path, office: Office, count: int, night: int, zone: Any, seed: int) -> "DesksOfNight":
        """`count` desks of the office in `folder`, their people sworn."""
        import webapp

        made = cls([], [], random.Random(seed))
        for n in range(1, count + 1):
            home = folder / "desks" / f"desk-{n}"
            slips = desk_folder.make(folder / "office", f"desk-{n}", home, night).slips
            app = webapp.create_app(Settings("office", home, clock="scripted", start=night))
            running = serve_in_thread(app)
            made.servers.append((running, app))
            made.desks.append(DeskNight(office, running.port, _codes(slips), night, zone))
            made.desks[-1].open()
            made.names.append(f"desk-{n}")
        return made

    def take_in(self, brought: Brought, at_office: DeskNight) -> None:
        """One place at the next desk; what was read and taken in is told as the office's."""
        desk = self.desks[self.taken % len(self.desks)]
        desk.take_in(brought)
        self.taken += 1
        at_office.read, at_office.accepted = at_office.read + 1, at_office.accepted + 1

    def merge(self, at_office: DeskNight) -> None:
        """A bundle of each desk, merged on the office's page in a drawn order, one of them twice."""
        bundles = [(name, self._bundle(desk)) for name, desk in zip(self.names, self.desks, strict=True)]
        bundles.append(self.draw.choice(bundles))
        self.draw.shuffle(bundles)
        window = at_office.crew.window
        for name, data in bundles:
            page = window.upload(window.get("/merge").form("/merge"), "file", [(f"{name}.bundle", data)])
            if page.status != 200:
                raise Stuck(f"the office does not merge the bundle of {name}: {page.said()}")
            self.merged += 1

    def _bundle(self, desk: DeskNight) -> bytes:
        page = desk.crew.window.get("/bundle")
        saved = desk.crew.window.send(page.form("/bundle"))
        if saved.status != 200 or not saved.body.startswith(b"tapeseal/bundle/"):
            raise Stuck(f"a desk apart gives no bundle: {saved.said()}")
        return saved.body

    def tallies(self) -> list[Any]:
        return [desk.crew.tally for desk in self.desks]

    def close(self) -> None:
        for running, app in self.servers:
            running.stop()
            app.extensions["room"].close()
