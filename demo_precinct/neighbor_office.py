"""A neighbor of the rehearsed office, of an invented name: it counts the first contest too, under an id of its own, and its editions come as files."""

import csv
import io
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from demo_precinct.board_of_canvassers import minute
from demo_precinct.http_window import Stuck
from demo_precinct.office_night import DeskNight
from webapp.merging import office_report
from webapp.office.setup import other_offices
from webapp.precinct.place.place import Contest, Place
from webapp.record.check_words import check_words

ID, NAME, THERE = "marsh", "Marsh County election office", "M-1"
PAGE = "/offices"


@dataclass
class NeighborOffice:
    """`taken`: its editions that were taken in; `wrong`: what the page or the table had otherwise."""

    key: Ed25519PrivateKey = field(default_factory=Ed25519PrivateKey.generate)
    places: Sequence[Place] = ()
    taken: int = 0
    wrong: list[str] = field(default_factory=list)

    @property
    def public(self) -> bytes:
        return self.key.public_key().public_bytes_raw()

    @property
    def contest(self) -> Contest:
        return self.places[0].contests[0]

    def toml(self, places: Sequence[Place]) -> bytes:
        """What the rehearsed office writes into its office.toml."""
        self.places = places
        shared = f'[[shared]]\nhere = "{self.contest.id}"\nthere = {{{ID} = "{THERE}"}}'
        return f"\n\n{other_offices.as_toml(ID, NAME, self.public)}\n\n{shared}\n".encode()

    def votes(self, number: int) -> dict[str, int]:
        """What it reports as its edition `number`, by choice: more each time."""
        return {choice.id: 1000 * number + 7 * rank for rank, choice in enumerate(self.contest.choices)}

    def edition(self, number: int) -> bytes:
        """The file of its edition."""
        one, file, votes = self.contest, self.places[0], self.votes(number)
        choices = tuple((choice.id, choice.label) for choice in one.choices)
        told = office_report.ReportedContest(
            one.title, one.group, one.n, file.rules.overvotes, choices, votes, sum(votes.values()), 0
        )
        made = f"{file.date.isoformat()}T23:1{number}:00-06:00"
        report = office_report.OfficeReport(
            ID, NAME, file.mode, (file.election, file.date.isoformat()), number, "unofficial-partial", made,
            bytes([number]) * 32, (number, 2), {}, {THERE: told},
        )  # fmt: skip
        return office_report.packed(report, self.key)

    def reported(self, desk: DeskNight, exports: Any) -> None:
        """Two editions, the newer first, and the first again; the key compared; then the sums against this office's last edition, as a stranger adds it up."""
        window = desk.crew.window
        for number in (2, 1, random.Random(len(self.places)).choice((1, 2))):
            minute(desk)
            page = window.upload(
                window.get(PAGE).form(PAGE), "file", [(f"{ID}-{number}.edition", self.edition(number))]
            )
            if page.status != 200:
                raise Stuck(f"edition {number} of the neighbor is not taken in: {page.said()}")
            self.taken += "nothing new" not in page.text
        page = window.get(PAGE)
        words = check_words(other_offices.head_of(self.public))
        page = desk.crew.signed(page, page.form(f"{PAGE}/compare"), {"office": ID, "words": words})
        if "2 of 2 offices are in this sum" not in page.text:
            raise Stuck(f"the neighbor is not in the sum: {page.said()}")
        self._compare(window.get(f"{PAGE}/sums.csv").body, (exports / "results.csv").read_bytes())

    def _compare(self, sums: bytes, results: bytes) -> None:
        """Each choice: this office's own rows of its results file, and the neighbor's newest edition."""
        own: dict[str, int] = {}
        for row in _rows(results):
            if (row["contest"], row["ballot_group"], row["kind"]) == (self.contest.title, self.contest.group, "choice"):
                own[row["choice"]] = own.get(row["choice"], 0) + int(row["votes"])
        shown = {
            row["choice"]: int(row["votes"])
            for row in _rows(sums)
            if row["kind"] == "choice" and row["office"].startswith("Together")
        }
        for choice in self.contest.choices:
            wanted = own.get(choice.label, 0) + self.votes(2)[choice.id]
            if shown.get(choice.label) != wanted:
                self.wrong.append(
                    f"{choice.label} over two offices: {shown.get(choice.label)} shown, {wanted} reported"
                )


def _rows(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode())))
