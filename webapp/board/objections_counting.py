"""What speaks against an entry at the tabulators and at the problem table: feeding, positions, outcomes, serials, splits."""

from collections.abc import Iterator

from webapp.board.batch_ids import A_RUN, ID, next_serial, serial_number
from webapp.board.board_day import BoardBatch, BoardDay, BoardEntry, Feeding
from webapp.board.board_rules import Objection
from webapp.board.stops import batch_stops, tabulator_stops
from webapp.precinct.numbers import few


def batch_fed(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A batch that was made is fed once, on an open tabulator, from its last counter reading, and agrees with it."""
    body = entry.body
    batch, at = day.batches.get(body["batch"]), body["at"]
    if batch is None:
        yield Objection(
            f"{body['batch']} was not made yet: no table has counted it. Read its header sheet again, or have it counted and made first."
        )
        return
    if day.rules.tabulators and at not in day.rules.tabulators:
        yield Objection(f"{at} is not a tabulator of this board. Its tabulators are {', '.join(day.rules.tabulators)}.")
    if at in day.out:
        yield Objection(
            f"{at} is shut since {day.out[at]:%H:%M}: feed {batch.id} on another tabulator, or bring {at} back first."
        )
    if body["after"] < body["before"]:
        yield Objection(
            f"The counter after {batch.id}, {body['after']:,}, is lower than before it, {body['before']:,}: a counter never runs backwards. Read both again."
        )
        return
    if batch.fed:
        yield fed_before(batch.id, batch.fed)
        return
    yield from (Objection(says) for says in (batch_stops(day, batch), tabulator_stops(day, at)) if says)
    yield from counter_stood(day, entry, batch)
    yield from agrees(batch, entry)


def fed_before(id: str, fed: Feeding) -> Objection:
    """The sentence for a batch that has gone through already."""
    n = fed.after - fed.before
    return Objection(
        f"{id} was fed at {fed.when:%H:%M} on {fed.at}, counter {fed.before:,} to {fed.after:,}. If these ballots went through again, the tape has "
        f"{n:,} too many: stop this tabulator and call the office.",
        refused=False,
    )


def counter_stood(day: BoardDay, entry: BoardEntry, batch: BoardBatch) -> Iterator[Objection]:
    """The counter before a batch is the one after whatever went through that tabulator last today."""
    before, at = entry.body["before"], entry.body["at"]
    last = day.counter_at(at, day.day)
    if last and last[1] != before:
        more, what = before > last[1], few(abs(before - last[1]), "ballot")
        why = f"{what} ran in between" if more else f"it is lower by {what}"
        yield Objection(
            f"{at} stood at {last[1]:,} after {last[0]}, and {before:,} is written before {batch.id}: {why}. Read the counter again; "
            f"if it says so, look for a batch that was fed without an entry or out of order.",
            refused=False,
        )


def agrees(batch: BoardBatch, entry: BoardEntry) -> Iterator[Objection]:
    """Ballots = fed + set aside."""
    body = entry.body
    fed, aside = body["after"] - body["before"], sum(dict(body.get("aside", {})).values())
    gap = batch.ballots - fed - aside
    if gap:
        yield Objection(
            f"{batch.id} on {body['at']}: {few(batch.ballots, 'ballot')} in the batch, {fed:,} fed and {aside:,} set aside: {few(abs(gap), 'ballot')} "
            f"too {'few' if gap > 0 else 'many'}. Read the counter again, and look for ballots set aside. {body['at']} stops until another pair has counted, or two of different parties have signed a remark.",
            refused=False,
        )


def problem(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A problem ballot has a position in a batch that exists."""
    body = entry.body
    batch = day.batches.get(body["batch"])
    if batch is None:
        yield Objection(
            f"{body['batch']} is not a batch of this board: read the header sheet that the ballot lay under."
        )
    elif not 1 <= body["position"] <= batch.ballots:
        yield Objection(
            f"{batch.id} holds {few(batch.ballots, 'ballot')}: there is no number {body['position']:,}. Count again, 1 is the first under the header sheet."
        )


def settled(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """The outcome of a problem ballot: the ballot was noted, and a serial is on one original only."""
    yield from problem(day, entry)
    body = entry.body
    where = body["batch"], body["position"]
    if body["outcome"] != "duplicated":
        return
    serial = body.get("serial")
    if not serial:
        yield Objection(
            f"{where[0]}, number {where[1]}: write the serial that is on the original and on its duplicate."
        )
        return
    if serial not in day.duplicates:
        yield Objection(
            f"No duplicate with the serial {serial} was made yet: make it first, or read the serial again.",
            refused=False,
        )
    other = next((one for key, one in day.problems.items() if one.serial == serial and key != where), None)
    if other:
        yield Objection(
            f"{serial} is on the original of {other.batch}, number {other.position}: a serial is used once. Read the serial again, or take the next one."
        )
    if serial in day.duplicates and day.duplicates[serial].void:
        yield Objection(
            f"{serial} was voided: its duplicate was spoiled in the making. Write the serial of the one made in its place."
        )


def duplicate_made(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A serial is given out once."""
    serial = entry.body["serial"]
    if (due := next_in_run(day, serial)) and serial not in day.duplicates:
        yield Objection(
            f"{serial} is not the next serial: that is {due}. Read the duplication log again.", refused=False
        )
    if serial in day.duplicates:
        void = " and voided" if day.duplicates[serial].void else ""
        yield Objection(f"{serial} was given out{void} already: a serial is used once. Take the next one.")
    if not all(entry.body.get(key) for key in ("both_numbered", "void_stamped", "duplicate_stamped")):
        yield Objection(
            f"{serial}: the number on both, VOID on the original, DUPLICATE on the copy: do what is missing, then sign.",
            refused=False,
        )


def next_in_run(day: BoardDay, serial: str) -> str:
    """The serial that is due where this one is another; "" where it is due. Each run of a record begins at its own ten thousand."""
    number = serial_number(serial)
    run = 1 if number is None else (number - 1) // A_RUN + 1
    due = next_serial(day.duplicates, day.rules.serial_prefix, run)
    return "" if serial == due else next_serial(day.duplicates, day.rules.serial_prefix)


def duplicate_checked(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """Duplicates that were made are compared, from the first serial to the last."""
    first, last = entry.body["from"], entry.body["to"]
    there = [serial for serial, one in day.duplicates.items() if first <= serial <= last and not one.void]
    if first > last:
        yield Objection(f"{first} comes after {last}: write the first serial first.")
    elif not there:
        yield Objection(f"No duplicate from {first} to {last} was made yet: read the serials of those compared again.")


def hand_count(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """No more ballots are counted by hand than were settled so."""
    settled_so = sum(one.outcome == "hand-counted" for one in day.problems.values())
    tallied = sum(day.hand_counted.values()) + entry.body["ballots"]
    if tallied > settled_so:
        yield Objection(
            f"{few(settled_so, 'ballot')} so far {'is' if settled_so == 1 else 'are'} settled as counted by hand, and {tallied:,} would stand on the sheets. "
            f"Settle each of them first, or count again.",
            refused=False,
        )


def void_serial(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A serial that was given out is voided once."""
    one = day.duplicates.get(entry.body["serial"])
    if one is None or one.void:
        why = "was voided already" if one else "was not given out yet"
        yield Objection(f"{entry.body['serial']} {why}. Read the duplication log again.")


def moved(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A ballot goes to another precinct of this board."""
    one, other = entry.body["from"], entry.body["to"]
    unknown = [precinct for precinct in (one, other) if day.rules.precincts and precinct not in day.rules.precincts]
    if unknown:
        yield Objection(
            f"{unknown[0]} is not a precinct of this board. A ballot of another place or election is set aside as wrong-election."
        )
    elif one == other:
        yield Objection(
            f"The ballot came from {one} and goes to {one}: write the precinct that the ballot itself says."
        )


def split(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """What is left of a batch becomes a new one, never more than there is."""
    body = entry.body
    batch = day.batches.get(body["of"])
    if batch is None:
        yield Objection(f"{body['of']} is not a batch of this board: read its header sheet again.")
    elif not 1 <= body["ballots"] < batch.ballots:
        yield Objection(
            f"{batch.id} holds {few(batch.ballots, 'ballot')}: {body['ballots']:,} cannot be what is left of it. Count the ballots that were not fed."
        )
    if not ID.fullmatch(body["new"]) or (batch and body["new"][0] != batch.id[0]):
        yield Objection(f"{body['new']} is not the id of a header sheet of the same kind. Read the header sheet again.")
    if body["new"] in day.batches:
        yield Objection(f"{body['new']} is there already: a batch id is used once. Take the next header sheet.")


CHECKS = {
    "batch-fed": batch_fed,
    "problem": problem,
    "settled": settled,
    "duplicate-made": duplicate_made,
    "duplicate-checked": duplicate_checked,
    "hand-count": hand_count,
    "void-serial": void_serial,
    "moved": moved,
    "split": split,
}
