"""The tables of a rehearsed count board: batches made and fed, and what goes wrong on the way."""

import re
from dataclasses import dataclass, field
from typing import Any

from demo_precinct.board_answers import BoardAnswers
from demo_precinct.count_board import BoardTruth, TrueBatch
from demo_precinct.crew import Crew
from demo_precinct.http_window import Page, Stuck, Window
from demo_precinct.rehearsed_day import HOUR, PINS, Story
from demo_precinct.rehearsed_day import Day as PollingDay

FED_TWICE = "Fed twice: it lay on the wrong pile. The office was called and says what is taken off the tape."


@dataclass
class Seen:
    """What the rehearsal reports of the board besides the rest."""

    batches: int = 0
    stopped: int = 0
    duplicates: int = 0
    refused: list[str] = field(default_factory=list)  # what pages said of mistakes made on purpose


class BoardTables(PollingDay):
    """A board's people at their tables; what the pages must refuse is tried and noted in `seen`."""

    def __init__(self, truth: BoardTruth, port: int, codes: dict[str, str], seed: int = 1):
        self.place, self.board, self.codes, self.seed = truth.place, truth, codes, seed
        self.story, self.stop_before = Story({}, {}, {}, remark=FED_TWICE), ""
        self.now = self.place.at(self.place.opens) - 23 * HOUR  # eight in the morning of the day before
        self.answers = BoardAnswers(truth, lambda: self.now)
        pins = {o.id: PINS[i % len(PINS)] for i, o in enumerate(self.place.officials)}
        self.truth = self.answers.truth
        self.crew = Crew(self.place, Window(port), self.answers, pins)  # type: ignore[arg-type]
        self.seen = Seen()

    def note(self, kind: str, at: str = "", /, **own: Any) -> Page:
        self.pass_time(0.5)
        return self.crew.note(kind, at, **own)

    def hold(self) -> None:
        self.crew.hold(self.place.officials[0].id)

    def strayed(self, batch: TrueBatch) -> None:
        """A ballot of another precinct: noted, and its batch told by precinct."""
        self.note("moved", **{"from": batch.precinct, "to": batch.stray, "ballots": "1"})
        own = {f"precincts.{batch.precinct}": str(batch.ballots - 1), f"precincts.{batch.stray}": "1"}
        figures = {name: str(getattr(batch, name)) for name in ("envelopes", "empty", "extra", "ballots")}
        self.note("batch-made", batch=batch.id, kind="first", **own, **figures)
        self.seen.batches += 1

    def goes_down(self, batch: TrueBatch, at: str, other: str) -> None:
        """The tabulator stops after ten ballots: its batch ends there, the rest is another batch, fed elsewhere; then it comes back."""
        before, through = self.answers.public(at), 10
        self.board.fed[at][batch.precinct] += through
        told = {
            "not_so": "yes",
            "found": "It stopped after ten ballots.",
            "done": "The rest becomes a batch of its own.",
        }
        self.sent(at, {"batch": batch.id, "before": str(before), "after": str(before + through), **told})
        rest = batch.ballots - through
        self.note("split", of=batch.id, new=batch.parted, ballots=str(rest))
        self.note("tabulator-out", at)
        self.feed(TrueBatch(batch.parted, batch.precinct, rest, 0, 0, rest), other)
        self.note("tabulator-in", at)
        self.seen.batches += 1

    def make(
        self,
        tray: str,
        precinct: str,
        batches: list[TrueBatch],
        kind: str = "first",
        unfold: dict[str, str] | None = None,
    ) -> Page:
        """Batches of one tray on one page, signed once by two. One figure is miscounted on the way."""
        self.pass_time(1)
        path = f"/batches/make?tray={tray}&precinct={precinct}&kind={kind}"
        form = self.crew.window.get(path).form("/batches/make")
        values = {f"unfold/{name}": value for name, value in (unfold or {}).items()}
        for n, batch in enumerate(batches, 1):
            row = f"row{n}/"
            own = {"batch": batch.id, "ballots": batch.ballots, "header_checked": "yes", "way_round": "yes"}
            if kind == "first":
                own |= {"envelopes": batch.envelopes, "empty": batch.empty, "extra": batch.extra}
            values |= {row + name: str(value) for name, value in own.items()}
        self.crew.tally.kept += len(batches) + bool(unfold)
        self.crew.tally.steps |= {"batch-made", *(["unfold"] if unfold else [])}
        self.seen.batches += len(batches)
        return self.crew.signed(Page(200, path, b"", {}), form, values)

    def feed(self, batch: TrueBatch, at: str, miscounted: bool = False) -> None:
        """Counter before, ballots through, counter after. `miscounted`: one ballot more went through than the batch card says, until another pair counts it."""
        before = self.answers.public(at)
        through = batch.ballots - len(batch.aside)
        for precinct, n in batch.through().items():
            self.board.fed[at][precinct] += n
        values = {"batch": batch.id, "before": str(before), "after": str(before + through)}
        for _, cause, _ in batch.aside:
            values[f"aside.{cause}"] = str(int(values.get(f"aside.{cause}", "0")) + 1)
        if miscounted:  # the pair reads a 1 for a 0: the page says so before anybody signs
            self.refused(at, values | {"after": str(before + through + 1)})
        self.sent(at, values)
        for position, cause, _ in batch.aside:
            self.note("problem", batch=batch.id, position=str(position), cause=cause)

    def sent(self, at: str, values: dict[str, str]) -> Page:
        self.pass_time(1.5)
        form = self.crew.window.get(f"/feed/{at}").form(f"/feed/{at}")
        self.crew.tally.kept += 1
        self.crew.tally.steps.add("batch-fed")
        self.crew.tally.exceptions += "not_so" in values
        return self.crew.signed(Page(200, "", b"", {}), form, {**values, "header_back": "yes", "end_reached": "yes"})

    def refused(self, at: str, values: dict[str, str]) -> None:
        """A form that the page must not take: what it says is kept for the report, and nothing is in the record."""
        form = self.crew.window.get(f"/feed/{at}").form(f"/feed/{at}")
        who = form.controls["signer"].options[0]
        given = {**values, "header_back": "yes", "end_reached": "yes", "signer": who, "pin": self.crew.pins[who]}
        page = self.crew.window.send(form, given)
        if page.status != 422:
            raise Stuck(f"a batch that does not agree was taken: {page.status}")
        self.seen.stopped += 1
        self.seen.refused.append(page.said())

    def fed_again(self, batch: TrueBatch, at: str) -> None:
        """A batch that went through already goes through another tabulator: said at once, kept as it happened, remarked before that one goes on. Its ballots stay on the tape."""
        before = self.answers.public(at)
        values = {"batch": batch.id, "before": str(before), "after": str(before + batch.ballots - len(batch.aside))}
        self.refused(at, values)
        if f"{batch.id} was fed at" not in self.seen.refused[-1]:
            raise Stuck(f"nobody is told that {batch.id} was fed before: {self.seen.refused[-1]}")
        for precinct, n in batch.through().items():
            self.board.fed[at][precinct] += n
        self.sent(
            at,
            values | {"not_so": "yes", "found": "It lay on the wrong pile.", "done": "Stopped; the office was called."},
        )
        if at not in stops_on(self.crew.window.get("/now").text):
            raise Stuck(f"{at} does not stop although {batch.id} went through it a second time")
        self.pass_time(2)
        path = f"/batches/{batch.id}"
        page = self.crew.window.get(path)
        self.crew.signed(page, page.form(f"{path}/remark"), {"remark": FED_TWICE})
        self.crew.tally.remarks += 1
        self.crew.tally.kept += 1


def stops_on(text: str) -> list[str]:
    """What Now says stops."""
    return re.findall(r'data-alert="stop:([^"]+)"', text)
