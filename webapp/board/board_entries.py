"""How each kind of entry changes a board's day; bodies as the record keeps them.

The entries are those that count now, in the order in which they happened: what was corrected has been replaced before. Kinds that say nothing of envelopes and
ballots change nothing.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from webapp.board.board_day import (
    BoardBatch,
    BoardDay,
    BoardEntry,
    Carrier,
    Duplicate,
    Feeding,
    Overnight,
    ProblemBallot,
    Tray,
)
from webapp.board.board_rules import BoardRules, settled
from webapp.precinct.balance.figure_board import FIRST

PILES = ("empty", "held", "not_counted", "hand_counted", "originals")


def board_day(rules: BoardRules, entries: Iterable[BoardEntry]) -> BoardDay:
    """The day that these entries tell."""
    day = BoardDay(rules)
    for entry in entries:
        add(day, entry)
    return day


def add(day: BoardDay, entry: BoardEntry) -> None:
    """Fold one more entry in."""
    fold = FOLDS.get(entry.kind)
    if fold:
        fold(day, entry)


def carrier_in(day: BoardDay, entry: BoardEntry) -> None:
    id = entry.body["carrier"]
    old = day.carriers.get(id, Carrier(id))
    day.carriers[id] = replace(old, slip=dict(entry.body.get("slip_envelopes", {})))


def envelopes_counted(day: BoardDay, entry: BoardEntry) -> None:
    id = entry.body["carrier"]
    day.carriers[id] = replace(day.carriers.get(id, Carrier(id)), counted=settled(entry.body["envelopes"]))


def carrier_empty(day: BoardDay, entry: BoardEntry) -> None:
    id = entry.body["carrier"]
    day.carriers[id] = replace(day.carriers.get(id, Carrier(id)), empty=True)


def list_checked(day: BoardDay, entry: BoardEntry) -> None:
    day.listed = settled(entry.body["list"])


def tray_open(day: BoardDay, entry: BoardEntry) -> None:
    body = entry.body
    new = Tray(
        body["tray"],
        tuple(body["precincts"]),
        body["envelopes"],
        dict(body.get("rejected", {})),
        dict(body.get("held", {})),
        body.get("empty", 0),
        body.get("sleeves", 0),
    )
    old = day.trays.get(new.id)
    day.trays[new.id] = replace(new, ballots=old.ballots, extra=old.extra) if old else new


def unfold(day: BoardDay, entry: BoardEntry) -> None:
    tray = day.trays.get(entry.body["tray"])
    if tray:
        counts = settled({"": entry.body["ballots"]})
        day.trays[tray.id] = replace(tray, ballots=counts.get(""), extra=entry.body.get("extra", 0))


def batch_made(day: BoardDay, entry: BoardEntry) -> None:
    body = entry.body
    ballots = settled({"": body["ballots"]}).get("", 0)
    precincts = dict(body.get("precincts", {}))
    envelopes = body.get("envelopes") if body.get("kind", FIRST) == FIRST else None
    new = BoardBatch(
        body["batch"],
        body.get("kind", FIRST),
        precincts,
        ballots,
        envelopes,
        body.get("empty", 0),
        body.get("extra", 0),
    )
    old = day.batches.get(new.id)
    day.batches[new.id] = replace(new, fed=old.fed, again=old.again) if old else new


def batch_fed(day: BoardDay, entry: BoardEntry) -> None:
    body, batch = entry.body, day.batches.get(entry.body["batch"])
    if batch:
        day.turns += 1
        feeding = Feeding(
            body["at"], body["before"], body["after"], dict(body.get("aside", {})), entry.at, day.day, day.turns
        )
        once = batch.fed is None
        if not once and batch.id not in day.twice:
            day.twice.append(batch.id)
        if once:
            day.fed_on.setdefault(feeding.at, []).append(batch.id)
        day.batches[batch.id] = replace(batch, fed=feeding) if once else replace(batch, again=(*batch.again, feeding))


def problem(day: BoardDay, entry: BoardEntry) -> None:
    where = entry.body["batch"], entry.body["position"]
    day.problems[where] = replace(day.problems.get(where, ProblemBallot(*where)), cause=entry.body["cause"])


def outcome(day: BoardDay, entry: BoardEntry) -> None:
    where = entry.body["batch"], entry.body["position"]
    old = day.problems.get(where, ProblemBallot(*where))
    day.problems[where] = replace(old, outcome=entry.body["outcome"], serial=entry.body.get("serial"))


def duplicate_made(day: BoardDay, entry: BoardEntry) -> None:
    serial = entry.body["serial"]
    day.duplicates[serial] = Duplicate(serial, entry.body.get("style", ""))


def duplicate_checked(day: BoardDay, entry: BoardEntry) -> None:
    first, last = entry.body["from"], entry.body["to"]
    for serial, one in day.duplicates.items():
        if first <= serial <= last:
            day.duplicates[serial] = replace(one, checked=bool(entry.body.get("agree")))


def void_serial(day: BoardDay, entry: BoardEntry) -> None:
    serial = entry.body["serial"]
    day.duplicates[serial] = replace(day.duplicates.get(serial, Duplicate(serial)), void=True)


def hand_count(day: BoardDay, entry: BoardEntry) -> None:
    precinct = entry.body.get("precinct", "")
    day.hand_counted[precinct] = day.hand_counted.get(precinct, 0) + entry.body["ballots"]


def board_counts(day: BoardDay, entry: BoardEntry) -> None:
    for name in PILES:
        if (counts := entry.body.get(name)) is not None:
            day.piles[name.replace("_", "-")] = list(counts) if isinstance(counts, list | tuple) else [counts]


def moved(day: BoardDay, entry: BoardEntry) -> None:
    day.moved.append((entry.body["from"], entry.body["to"], entry.body["ballots"]))


def split(day: BoardDay, entry: BoardEntry) -> None:
    """What is left of a batch becomes a new one, and takes as many envelopes with it as ballots."""
    batch, n = day.batches.get(entry.body["of"]), entry.body["ballots"]
    if batch:
        one = next(iter(batch.precincts)) if len(batch.precincts) == 1 else None
        rest, new = ({one: batch.ballots - n}, {one: n}) if one is not None else ({}, {})
        envelopes = None if batch.envelopes is None else batch.envelopes - n
        day.batches[batch.id] = replace(batch, ballots=batch.ballots - n, precincts=rest, envelopes=envelopes)
        new_id = entry.body["new"]
        day.batches[new_id] = BoardBatch(new_id, batch.kind, new, n, None if envelopes is None else n)


def night_close(day: BoardDay, entry: BoardEntry) -> None:
    day.evenings.append(overnight(day.day, entry))


def morning_open(day: BoardDay, entry: BoardEntry) -> None:
    day.mornings.append(overnight(str(len(day.mornings) + 2), entry))


def overnight(day: str, entry: BoardEntry) -> Overnight:
    body = entry.body
    return Overnight(
        day, settled(body.get("sleeves", {})), settled(body.get("envelopes", {})), dict(body.get("counters", {}))
    )


def closed(day: BoardDay, entry: BoardEntry) -> None:
    day.out[entry.body["at"]] = entry.at


def open_again(day: BoardDay, entry: BoardEntry) -> None:
    day.out.pop(entry.body["at"], None)


def tape_typed(day: BoardDay, entry: BoardEntry) -> None:
    if at := entry.body.get("at"):
        day.tapes[at] = entry.body


def tape_precinct(day: BoardDay, entry: BoardEntry) -> None:
    day.by_precinct.setdefault(entry.body["at"], {})[tuple(entry.body["precincts"])] = entry.body


def remark(day: BoardDay, entry: BoardEntry) -> None:
    """The lines that a remark is about, without their scopes."""
    day.remarked.update(line.partition("@")[0] for line in entry.body["lines"])


FOLDS: Mapping[str, Callable[[BoardDay, BoardEntry], None]] = {
    "carrier-in": carrier_in,
    "envelopes-counted": envelopes_counted,
    "carrier-empty": carrier_empty,
    "list-checked": list_checked,
    "tray-open": tray_open,
    "unfold": unfold,
    "batch-made": batch_made,
    "batch-fed": batch_fed,
    "problem": problem,
    "settled": outcome,
    "duplicate-made": duplicate_made,
    "duplicate-checked": duplicate_checked,
    "void-serial": void_serial,
    "hand-count": hand_count,
    "board-counts": board_counts,
    "moved": moved,
    "split": split,
    "night-close": night_close,
    "morning-open": morning_open,
    "tabulator-closed": closed,
    "tabulator-out": closed,
    "tabulator-in": open_again,
    "tape-typed": tape_typed,
    "tape-precinct": tape_precinct,
    "remark": remark,
}
"""How each kind of entry changes the day."""
