"""What is not done yet at the close of a board, one sentence each: carriers, envelopes, trays, batches, problem ballots, duplicates.

An empty answer is what the board's last steps wait for; what waits on purpose (held envelopes, a ballot that nobody could decide) is named and needs a remark.
"""

from collections import Counter
from collections.abc import Iterator

from webapp.board.board_day import WAITING, BoardDay
from webapp.precinct.balance.figure_board import FIRST
from webapp.precinct.numbers import few


def left_open(day: BoardDay) -> tuple[str, ...]:
    """Everything that is still to be worked, in the order of the work."""
    return tuple(each_left_open(day))


def each_left_open(day: BoardDay) -> Iterator[str]:
    """What is not done yet, yielded one by one, for a caller that wants only the first ones."""
    for part in (carriers, envelopes, trays, in_no_batch, batches, problems, duplicates):
        yield from part(day)


def carriers(day: BoardDay) -> Iterator[str]:
    for carrier in day.carriers.values():
        if not carrier.empty:
            yield f"Carrier {carrier.id} was not shown empty: open it flat before two of different parties."


def envelopes(day: BoardDay) -> Iterator[str]:
    """Envelopes received that are in no tray, by the precincts that are counted together."""
    received = day.received()
    worked: dict[tuple[str, ...], int] = {}
    for tray in day.trays.values():
        group = group_of(day, tray.precincts)
        worked[group] = worked.get(group, 0) + tray.envelopes
    groups = dict.fromkeys((*worked, *(day.rules.together(precinct) for precinct in received)))
    covered = {precinct for group in worked if len(group) > 1 for precinct in group}
    for group in groups:
        if group not in worked and set(group) <= covered:
            continue
        there = sum(received.get(precinct, 0) for precinct in group)
        left = there - worked.get(group, 0)
        if left > 0:
            yield f"{' and '.join(group)}: {few(there, 'envelope')} received, {worked.get(group, 0):,} worked: {few(left, 'envelope')} unopened. Find and open them, two of different parties."


def group_of(day: BoardDay, precincts: tuple[str, ...]) -> tuple[str, ...]:
    """The precincts a tray belongs to: its own, or all that are counted together with them."""
    found = dict.fromkeys(one for precinct in precincts for one in day.rules.together(precinct))
    return tuple(sorted(found))


def trays(day: BoardDay) -> Iterator[str]:
    for tray in day.trays.values():
        if tray.ballots is None and tray.sleeves:
            yield f"Tray {tray.id}: {few(tray.sleeves, 'sleeve')} not opened yet."
        held = sum(tray.held.values())
        if held:
            yield f"Tray {tray.id}: {few(held, 'envelope')} held ({', '.join(tray.held)}): back to the clerk under seal, with a remark."


def in_no_batch(day: BoardDay) -> Iterator[str]:
    """Ballots unfolded against those in the batches of the same precincts; nothing where a batch names none, nor of more in batches while a tray is shut."""
    made: dict[str, int] = {}
    for batch in day.batches.values():
        if batch.kind == FIRST and not batch.precincts:
            return
        for precinct, n in batch.precincts.items() if batch.kind == FIRST else ():
            made[precinct] = made.get(precinct, 0) + n
    for group, there, shut in unfolded(day):
        gap = there - sum(made.get(precinct, 0) for precinct in group)
        if gap > 0 or (gap and not shut):
            yield f"{' and '.join(group)}: {few(there, 'ballot')} unfolded, {there - gap:,} in batches. {LEFT_OVER if gap > 0 else TOO_MANY}"


def unfolded(day: BoardDay) -> Iterator[tuple[tuple[str, ...], int, bool]]:
    """(precincts that share trays, ballots unfolded and moved to them, whether a sleeve of theirs is shut), by precinct."""
    trays: dict[tuple[str, ...], tuple[int, bool]] = {}
    for tray in day.trays.values():
        n, shut = trays.get(tray.precincts, (0, False))
        trays[tray.precincts] = n + (tray.ballots or 0), shut or bool(tray.sleeves and tray.ballots is None)
    several = {group for precincts in trays if len(group := group_of(day, precincts)) > 1}
    found: dict[tuple[str, ...], tuple[int, bool]] = {}
    for precincts, (ballots, closed) in trays.items():
        group = max((one for one in several if set(precincts) <= set(one)), key=len, default=precincts)
        n, shut = found.get(group, (0, False))
        found[group] = n + ballots, shut or closed
    for group, (n, shut) in sorted(found.items()):
        yield group, n + sum(k * ((other in group) - (one in group)) for one, other, k in day.moved), shut


LEFT_OVER = "Put the others into batches; look in sleeves, envelopes and on the floor."
TOO_MANY = "Another pair counts the tray or the batches again."


def batches(day: BoardDay) -> Iterator[str]:
    for batch in day.batches.values():
        if batch.fed is None:
            yield f"{batch.id} was made and not fed: {few(batch.ballots, 'ballot')}."


def problems(day: BoardDay) -> Iterator[str]:
    """Ballots set aside that nobody noted, and those that wait."""
    counted = Counter(one.batch for one in day.problems.values())
    for batch in day.batches.values():
        aside = sum(batch.fed.aside.values()) if batch.fed else 0
        noted = counted[batch.id]
        if aside > noted:
            yield f"{batch.id}: {few(aside, 'ballot')} set aside, {noted:,} noted by position. Note each at the problem table."
    for one in day.problems.values():
        if one.outcome == WAITING:
            yield f"{one.batch}, number {one.position}: not settled. Settle it, or sign a remark."


def duplicates(day: BoardDay) -> Iterator[str]:
    for one in day.duplicates.values() if day.rules.duplicates_checked else ():
        if not one.void and not one.checked:
            yield f"{one.serial}: no other pair has compared it with its original yet."
