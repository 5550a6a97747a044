"""A board's days as entries give the figures that were written: the simulated days, told one entry at a time and folded again."""

from datetime import datetime, timedelta

import pytest

from board.days import a_day
from board.judge import total
from webapp.board.answer import answer
from webapp.board.board_day import BoardEntry
from webapp.board.board_entries import board_day
from webapp.board.board_figures import figures
from webapp.board.board_rules import BoardRules

START = datetime(2026, 11, 2, 8)


def entries(written: dict) -> list[BoardEntry]:
    """The entries of a day whose figures are these: one tray for all envelopes of a precinct's batches, each ballot set aside by its own position."""
    board, told = written["board"], []

    def note(kind: str, /, **body: object) -> None:
        told.append(BoardEntry(kind, body, START + timedelta(minutes=len(told))))

    for n in range(board["carriers"]["received"]):
        note("carrier-in", carrier=f"K{n}")
        note(
            "envelopes-counted",
            carrier=f"K{n}",
            envelopes={"P1": [total(board["envelopes"]["received"]) if n == 0 else 0]},
        )
        note("carrier-empty", carrier=f"K{n}")
    note("list-checked", list={"P1": [total(board["list"])]})
    e = {key: total(figure) for key, figure in board["envelopes"].items()}
    note(
        "tray-open",
        tray="1",
        precincts=["P1"],
        envelopes=e["received"],
        rejected={"no-signature": e["rejected"]},
        held={"challenged": e["held"]},
        empty=e["empty"],
        sleeves=0,
    )
    note("unfold", tray="1", ballots=[0], extra=e["extra"])
    day, outcomes = "1", [outcome for outcome, figure in board["problems"].items() for _ in range(total(figure))]
    for batch in board["batches"]:
        if batch["day"] != day:
            night = {what: {"P1": written["days"][0][f"{what}_end"]} for what in ("sleeves", "envelopes")}
            note("night-close", **night)
            note("morning-open", **night)
            day = batch["day"]
        own = {key: batch[key] for key in ("envelopes", "empty", "extra") if key in batch}
        note(
            "batch-made", batch=batch["id"], kind=batch["kind"], precincts={}, ballots=[total(batch["ballots"])], **own
        )
        before, after = batch["counter"]
        note(
            "batch-fed",
            at=batch["tabulator"],
            batch=batch["id"],
            before=before,
            after=after,
            aside={"torn": batch["aside"]},
        )
    first, serial = board["serials"]["first"], board["serials"]["first"]
    for position, outcome in enumerate(outcomes, 1):
        more = {"serial": f"D-{serial:04}"} if outcome == "duplicated" else {}
        if more:
            note("duplicate-made", **more)
            serial += 1
        note("problem", batch="B001", position=position, cause="torn")
        note("settled", batch="B001", position=position, outcome=outcome, **more)
        if outcome == "hand-counted":
            note("hand-count", ballots=1)
    for spoiled in range(serial, board["serials"]["next"]):
        note("void-serial", serial=f"D-{spoiled:04}")
    assert first <= serial <= board["serials"]["next"]
    return told


def sums(figures: dict) -> dict[tuple[str, str], int]:
    """The gap of every line that is not by precinct."""
    found = answer(figures, explain=False).as_json()["lines"]
    return {
        (line["id"], str(line.get("scope", ""))): line["gap"]
        for line in found
        if "precinct" not in line.get("scope", {})
    }


@pytest.mark.parametrize("mistakes", [0, 1, 2])
def test_a_simulated_day_told_by_its_entries_has_every_line_it_was_written_with(mistakes):
    for seed in range(30_000, 30_040):
        written = a_day(seed, mistakes).figures
        if not written["board"]["batches"]:
            continue
        folded = figures(board_day(BoardRules(), entries(written)), written["tabulators"])
        mine, theirs = sums(folded), sums(written)
        mine.pop(("unfolded", ""), None)  # the days are written without it; its gap is that of what the table counted
        assert not mine.pop(("hand-tally", ""), 0), "each ballot counted by hand stands on a sheet"
        if written["board"]["serials"]["next"] == written["board"]["serials"]["first"]:
            theirs.pop(("duplicate-serials", ""), None)  # no serial was given out, and the entries say nothing of any
        if "days" in written and "days" not in folded:
            theirs = {line: gap for line, gap in theirs.items() if not line[0].startswith("carry")}
        assert mine == theirs, seed
