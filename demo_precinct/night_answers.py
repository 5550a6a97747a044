"""What the officials write from the close of the polls on: counts, tapes, bins, containers, seals, carriers."""

from collections.abc import Callable, Mapping
from typing import Any

from demo_precinct.http_window import Control
from demo_precinct.true_figures import Truth
from webapp.precinct.place.place import Place


class NightAnswers:
    """The part of `Answers` for the steps of closing and hand-over."""

    truth: Truth
    place: Place
    wall: Callable[[], int]
    spare: list[str]
    on: dict[str, str]
    applied: int
    emptied: dict[str, int]
    take: Callable[[str], str]
    hhmm: Callable[..., str]
    public: Callable[[str], int]
    protective: Callable[[str, int], int]

    def polls_closed__last_ballot(self, at: str, thing: str, control: Control) -> str | None:
        return self.hhmm(self.wall() - 120_000)

    def unused__unused(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.unused()[thing])

    def aside_counts__spoiled(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.spoiled.get(thing, 0))

    def aside_counts__provisional(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.provisional if thing == "not-in-book" else 0)

    def aside_counts__drop_off(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.drop_off)

    def book_count__check_ins(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.check_ins()[thing])

    def emergency_opened__ballots_found(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.emergency.get(at, 0))

    emergency_opened__fed = emergency_opened__ballots_found

    def counter_read__public(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.on_tape(at))

    def counter_read__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.protective(at, self.truth.on_tape(at)))

    tape_typed__public = counter_read__public
    tape_typed__lifetime = counter_read__lifetime

    def tape_typed__ballots(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.truth.tapes[at].get(thing, 0))

    def tape_typed__contests(self, at: str, thing: str, control: Control) -> str | None:
        """`thing` = "SEN.votes.A" or "SEN.under"; empty where the tape prints no such line."""
        return self.printed(self.truth.contests[at], thing)

    def tape_typed__contests_by_precinct(self, at: str, thing: str, control: Control) -> str | None:
        """The same behind the precinct: "W3.SEN.votes.A"."""
        precinct, _, rest = thing.partition(".")
        return self.printed(self.truth.apart[at][precinct], rest)

    @staticmethod
    def printed(rows: Mapping[str, Any], line: str) -> str | None:
        contest, _, rest = line.partition(".")
        row = rows.get(contest, {})
        figure = row.get("votes", {}).get(rest[6:]) if rest.startswith("votes.") else row.get(rest)
        return "" if figure is None else str(figure)

    def tape_prints__roll_changed(self, at: str, thing: str, control: Control) -> str | None:
        return "no"

    def tape_prints__prints(self, at: str, thing: str, control: Control) -> str | None:
        """One print for each receiver; the lines of further prints stay open."""
        return "whole" if int(thing) <= len(self.place.copies) else ""

    def bins_out__container(self, at: str, thing: str, control: Control) -> str | None:
        """The main bin into the container of its box, the write-in bin into the last that takes ballots."""
        holds = [c.id for c in self.place.containers if c.ballots and c.id in control.options]
        boxes = [b.id for b in self.place.boxes]
        return (
            holds[-1]
            if thing == "write-in" and len(holds) > 1
            else holds[min(boxes.index(at), len(holds) - 1)]
            if holds
            else control.options[0]
        )

    def bins_out__ballots(self, at: str, thing: str, control: Control) -> str | None:
        whole = sum(self.truth.on_tape(t.id) for t in self.place.tabulators if t.box == at)
        written = min(self.truth.write_in_bin.get(at, 0), whole)
        return str(written if thing == "write-in" else whole - written - self.emptied[at])

    def write_in_tally__other(self, at: str, thing: str, control: Control) -> str | None:
        return str(sum(rows.get(thing, {}).get("write_in", 0) or 0 for rows in self.truth.contests.values()))

    # --- hand-over

    def containers_filled__ballots(self, at: str, thing: str, control: Control) -> str | None:
        """As they were taken out: main bins box by box, every write-in bin into the last container."""
        holds = [c.id for c in self.place.containers if c.ballots]
        found = dict.fromkeys(holds, 0)
        for i, box in enumerate(self.place.boxes):
            whole = sum(self.truth.on_tape(t.id) for t in self.place.tabulators if t.box == box.id)
            written = min(self.truth.write_in_bin.get(box.id, 0), whole)
            found[holds[min(i, len(holds) - 1)]] += whole - written
            found[holds[-1]] += written
        return str(found[thing])

    def containers_sealed__seals(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(thing)

    def memory__seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(f"{at}-bag")

    def tabulator_away__seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.on.get(f"{at}-door", "")

    def tabulator_away__case_seal(self, at: str, thing: str, control: Control) -> str | None:
        return self.take(f"{at}-case")

    def first_stub__stubs(self, at: str, thing: str, control: Control) -> str | None:
        return "no"

    def seals_accounted__issued(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.place.seals))

    def seals_accounted__applied(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.applied)

    def seals_accounted__returned(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.spare))

    def tablets_back__tablets(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def depart__first_carrier(self, at: str, thing: str, control: Control) -> str | None:
        return control.options[0]

    def depart__second_carrier(self, at: str, thing: str, control: Control) -> str | None:
        party = {o.id: o.party for o in self.place.officials}
        first = control.options[0]
        return next((o for o in control.options if party.get(o) != party.get(first)), control.options[-1])

    def depart__route(self, at: str, thing: str, control: Control) -> str | None:
        return "By the county road, no stop."
