"""What the desk asks once about a paper that was keyed: figures that ballots cannot hold, choices that a tape does not show. The paper may say so."""

from collections.abc import Iterator, Mapping

from webapp.office.keying import paper_leaf
from webapp.packet.contents import ROW
from webapp.precinct.balance.contests import ContestCount
from webapp.precinct.place.place import Contest, Place

AGAIN = "Look again; if the paper says so, tick that it does."


def asks(values: Mapping[str, int], place: Place) -> dict[str, str]:
    """Input -> the sentence that asks; {} where everything can be."""
    found = dict(_stock(values, place))
    for tabulator in place.tabulators:
        found |= dict(_counters(values, tabulator.id))
        tape = f"the tape of {tabulator.id}"
        for contest in place.typed_contests():
            held = paper_leaf.ballots(values, place, tabulator.id)
            found |= dict(_contest(values, place, f"votes.{tabulator.id}", (tape, held), contest, contest.title))
        for precinct in place.split():
            held, name = values.get(f"tape.{tabulator.id}.{precinct.id}"), f"apart.{tabulator.id}.{precinct.id}"
            for contest in place.contests_of(precinct.id):
                title = f"{precinct.name}, {contest.title}"
                found |= dict(_contest(values, place, name, (f"{tape}, {precinct.name},", held), contest, title))
    return found


def _stock(values: Mapping[str, int], place: Place) -> Iterator[tuple[str, str]]:
    opened, closed = values.get("hours.opened"), values.get("hours.closed")
    if opened is not None and closed is not None and closed <= opened:
        yield "hours.closed", f"The polls closed before they opened. {AGAIN}"
    for style in place.stock:
        had = [values.get(f"stock.{key}.{style.style}") for key in ("received", "resupply", "unused")]
        if had[0] is not None and had[2] is not None and had[2] > had[0] + (had[1] or 0):
            came = had[0] + (had[1] or 0)
            yield f"stock.unused.{style.style}", f"{had[2]:,} unused, and {came:,} came. {AGAIN}"
    for precinct in place.precincts:
        book, gone = values.get(f"book.n.{precinct.id}"), values.get(f"book.cancelled.{precinct.id}")
        if gone is not None and gone > (book or 0):
            yield f"book.cancelled.{precinct.id}", f"{gone:,} cancelled of {book or 0:,} check-ins. {AGAIN}"


def _counters(values: Mapping[str, int], at: str) -> Iterator[tuple[str, str]]:
    for what, words in (("public", "public"), ("lifetime", "protective")):
        begin, end = (values.get(f"counter.{at}.{what}_{part}") for part in ("open", "close"))
        if begin is not None and end is not None and end < begin:
            yield f"counter.{at}.{what}_close", f"The {words} counter of {at} went from {begin:,} to {end:,}. {AGAIN}"
    earlier, again = values.get(f"earlier.{at}"), values.get(f"fed_again.{at}")
    if again is not None and again > (earlier or 0):
        yield f"fed_again.{at}", f"{again:,} fed again, and the earlier tape of {at} has {earlier or 0:,}. {AGAIN}"


def _contest(
    values: Mapping[str, int], place: Place, of: str, on: tuple[str, int | None], contest: Contest, title: str
) -> Iterator[tuple[str, str]]:
    """One contest of a tape, or of one precinct on it. `of`: how its lines begin; `on`: the tape in words, and its ballots."""
    name, (words, tape) = f"{of}.{contest.id}", on
    votes = {choice.id: values.get(f"{name}.{choice.id}") for choice in contest.choices}
    line = {key: values.get(f"{name}.{key}") for key in ROW}
    if all(n is None for n in (*votes.values(), *line.values())):
        return
    for choice in contest.choices:
        if votes[choice.id] is None:
            yield (
                f"{name}.{choice.id}",
                f"{title}: no votes for {choice.label}. Enter 0 where the paper says 0; if it does not show them, tick that it does not.",
            )
    own = line["ballots"] if line["ballots"] is not None else tape
    if line["ballots"] is not None and tape is not None and line["ballots"] > tape:
        yield (
            f"{name}.ballots",
            f"{title}: {line['ballots']:,} ballots, and {words} has {tape:,}. {AGAIN}",
        )
    if own is None:
        return
    cast = sum(n or 0 for n in votes.values()) + (line["write_in"] or 0)
    held = ContestCount(contest.n, own, cast, line["under"] or 0, line["over"] or 0)
    if contest.choices and held.gap(place.rules.overvotes) > 0:
        said = f"{held.left(place.rules.overvotes):,} votes, undervotes and overvotes"
        yield (
            f"{name}.{contest.choices[0].id}",
            f"{title}: {said}, and {own:,} ballots hold {own * contest.n:,} at most. {AGAIN}",
        )
