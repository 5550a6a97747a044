"""What speaks against an entry before it is recorded, each in one sentence with what to do: at the opening tables, and for every entry the hour.

A refused entry cannot be meant and changes nothing. The others are kept, marked as not so; what they are about stops until two parties have looked, and the
board goes on.
"""

from collections.abc import Iterator, Mapping

from webapp.board import objections_by_rule as by_rule
from webapp.board import objections_counting as counting
from webapp.board.batch_ids import ID, LETTERS
from webapp.board.board_day import BoardDay, BoardEntry
from webapp.board.board_rules import ALWAYS, NEVER, Objection, settled
from webapp.board.precinct_votes import tape_precinct
from webapp.precinct.balance.figure_board import FIRST
from webapp.precinct.numbers import few


def against(day: BoardDay, entry: BoardEntry) -> tuple[Objection, ...]:
    """Every objection to this entry on this day, those that refuse it first."""
    barred = day.rules.hours.barred(entry.kind, entry.at)
    found = [Objection(barred)] if barred else []
    for checks in (CHECKS, by_rule.CHECKS):
        found += checks[entry.kind](day, entry) if entry.kind in checks else []
    return tuple(sorted(found, key=lambda one: not one.refused))


def carrier(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A carrier is taken in before its envelopes are counted or it is shown empty."""
    id = entry.body["carrier"]
    if id not in day.carriers:
        yield Objection(
            f"Carrier {id} was not taken in yet: read its seal and its slip first, two of different parties."
        )


def carrier_in(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A carrier is taken in once."""
    id = entry.body["carrier"]
    if id in day.carriers:
        yield Objection(
            f"Carrier {id} was taken in already: read the number on this one again, or correct the entry of {id}."
        )


def envelopes_counted(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """The envelopes counted out of a carrier are those its slip says; where they differ, both figures are given."""
    yield from carrier(day, entry)
    found = day.carriers.get(entry.body["carrier"])
    counted = settled(entry.body["envelopes"])
    slip = found.slip if found else {}
    for precinct in sorted(slip.keys() | counted.keys()):
        said, here = slip.get(precinct, 0), counted.get(precinct, 0)
        if slip and said != here:
            yield Objection(
                f"The slip of carrier {entry.body['carrier']} says {few(said, 'envelope')} of {precinct}, {here:,} were counted: "
                f"{differ(here, said, 'envelope')}. Both figures stay. Call the clerk while the carrier is here.",
                refused=False,
            )


def tray_open(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """No more envelopes of a precinct are opened than were received."""
    body, received = entry.body, day.received()
    others = [tray for tray in day.trays.values() if tray.id != body["tray"]]
    if body["tray"] in day.trays and day.trays[body["tray"]].ballots is not None:
        yield Objection(
            f"Tray {body['tray']} was unfolded already: correct its entry, or give these envelopes a tray of their own."
        )
    groups = {group for precinct in body["precincts"] for group in [day.rules.together(precinct)]}
    mine = {precinct for group in groups for precinct in group} | set(body["precincts"])
    worked = body["envelopes"] + sum(tray.envelopes for tray in others if set(tray.precincts) & mine)
    there = sum(received.get(precinct, 0) for precinct in mine)
    if worked > there:
        yield Objection(
            f"The trays of {' and '.join(sorted(mine))} hold {few(worked, 'envelope')} with this one, and {there:,} were received: "
            f"{differ(worked, there, 'envelope')}. Count this tray again, and look for envelopes of another precinct in it.",
            refused=False,
        )


def unfold(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """Ballots of a tray = its sleeves + the extra ones found in them."""
    tray = day.trays.get(entry.body["tray"])
    if tray is None:
        yield Objection(f"Tray {entry.body['tray']} was not opened yet: count its envelopes first.")
        return
    ballots, extra = settled({"": entry.body["ballots"]}).get("", 0), entry.body.get("extra", 0)
    if ballots != tray.sleeves + extra:
        yield Objection(
            f"Tray {tray.id} had {few(tray.sleeves, 'sleeve')} and {extra:,} extra, {few(ballots, 'ballot')} are here: "
            f"{differ(ballots, tray.sleeves + extra, 'ballot')}. Look into every envelope and sleeve of this tray before a batch is made.",
            refused=False,
        )


def morning(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """In the morning there are as many sleeves and envelopes as in the evening."""
    if not day.evenings:
        return
    evening = day.evenings[-1]
    for what, one, there in (("sleeves", "sleeve", evening.sleeves), ("envelopes", "envelope", evening.envelopes)):
        now = settled(entry.body.get(what, {}))
        for precinct in sorted(there.keys() | now.keys()):
            shut, found = there.get(precinct, 0), now.get(precinct, 0)
            if shut != found:
                yield Objection(
                    f"{few(shut, one)} of {precinct} stayed shut in the evening, {found:,} are here this morning: "
                    f"{differ(found, shut, one)}. Open none of them. Read the seals again, and call the office.",
                    refused=False,
                )


def differ(here: int, there: int, one: str) -> str:
    """How far two figures are apart, and which way."""
    return f"{few(abs(here - there), one)} too {'many' if here > there else 'few'}"


def batch_made(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """A batch is made once before it is fed, of precincts that may be counted together, with its header sheet checked by a second person."""
    body = entry.body
    id, kind, precincts = body["batch"], body.get("kind", FIRST), dict(body.get("precincts", {}))
    old, ballots = day.batches.get(id), settled({"": body["ballots"]}).get("", 0)
    letter = LETTERS.get(kind, "B")
    if not ID.fullmatch(id) or not id.startswith(letter):
        yield Objection(
            f"{id} is not the id of a header sheet for these ballots: theirs begins with {letter}, as {letter}014. Read the header sheet again."
        )
    if old and not old.fed:
        yield Objection(
            f"{id} was made already: a batch id is used once. Take the next header sheet, or correct the entry that made {id}."
        )
    if old and old.fed:
        yield Objection(
            f"{id} was fed at {old.fed.when:%H:%M} on {old.fed.at}: a batch id is used once. Take the next header sheet."
        )
    if precincts and sum(precincts.values()) != ballots:
        total = sum(precincts.values())
        yield Objection(
            f"{id} holds {few(ballots, 'ballot')}, its precincts add up to {total:,}: {differ(total, ballots, 'ballot')}. Count them again by precinct."
        )
    if not (body.get("header_checked") and body.get("way_round")):
        yield Objection(
            f"A second person has not said that the header sheet on top is that of {id}, the right way round. Look, then sign.",
            refused=False,
        )
    if kind == FIRST:
        yield from secrecy(day, id, precincts)


def secrecy(day: BoardDay, id: str, precincts: Mapping[str, int]) -> Iterator[Objection]:
    """A precinct with few ballots is never counted alone; others are counted together only where the place file allows it."""
    rules, received = day.rules, day.received()
    few_here = {
        precinct
        for precinct in precincts
        if 0 < sum(received.get(one, 0) for one in rules.together(precinct)) < rules.small
    }
    if len(precincts) == 1 and few_here:
        (precinct,) = few_here
        yield Objection(
            f"{precinct} has {few(received.get(precinct, 0), 'envelope')}, fewer than {rules.small}: its ballots are not counted alone. "
            f"Put them into one batch with those of a neighboring precinct, as the office says."
        )
    main = max(precincts, key=lambda precinct: precincts[precinct]) if precincts else ""
    strangers = [
        precinct
        for precinct, n in precincts.items()
        if not few_here and rules.together(precinct) != rules.together(main) and n > moved_there(day, main, precinct)
    ]
    if rules.mixed != ALWAYS and strangers and (rules.mixed == NEVER or not few_here):
        yield Objection(
            f"{id} would hold {' and '.join(precincts)}: here a batch holds one precinct. Part them, and give each a header sheet of its own; "
            f"a ballot of another precinct out of its envelopes is noted as moved first."
        )


def moved_there(day: BoardDay, one: str, other: str) -> int:
    """Ballots of another precinct that came out of envelopes of this one, and are in no batch yet."""
    noted = sum(n for start, to, n in day.moved if (start, to) == (one, other))
    made = [batch.precincts for batch in day.batches.values() if other in batch.precincts and len(batch.precincts) > 1]
    return noted - sum(each[other] for each in made if max(each, key=lambda name: each[name]) == one)


CHECKS = {
    "envelopes-counted": envelopes_counted,
    "carrier-in": carrier_in,
    "carrier-empty": carrier,
    "tray-open": tray_open,
    "unfold": unfold,
    "sleeves-opened": morning,
    "morning-open": morning,
    "batch-made": batch_made,
    "tape-precinct": tape_precinct,
    **counting.CHECKS,
}
"""What is asked of each kind of entry."""
