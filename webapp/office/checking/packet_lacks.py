"""What a packet lacks of what its place file promises: steps, times, check words, readings, figures, contests, seals, containers.

A figure that is not there is no 0, and a line that cannot be drawn does not agree: each thing that is missing is named, so that a person of the
desk asks for it. Names (`lacks/contest/GOV`) are kept for good: answers are signed about them.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.checking import split_returns
from webapp.packet.contents import NOT_SO, ROW
from webapp.precinct.checklist import checklist
from webapp.precinct.day.hours import HOUR, MINUTE, clock, wall
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step_places import ats

DAY = 24 * HOUR
MOST_PACKETS = 1000  # of one place in one night; a larger number was not counted by hand
NOTED_STOCK = (
    ("pack-opened", "packs", "packs that were counted"),
    ("resupply", "resupply", "ballots delivered later"),
    ("sent", "sent", "ballots sent elsewhere"),
)
ASIDE = (
    ("spoiled", "spoiled ballots"),
    ("spoiled-not-reissued", "spoiled ballots that were not replaced"),
    ("provisional", "provisional envelopes"),
    ("left", "voters who left without a ballot"),
    ("taken", "ballots taken from the room"),
)
NOT_LISTED = frozenset({"hourly", "remark", "oath"})  # looked at by their own readings, gaps and people


@dataclass(frozen=True, slots=True)
class Lack:
    """One thing that is not in the packet, or that cannot be so. `kind` groups them: step | time | words | reading | figure | contest | seal | container | odd."""

    name: str
    kind: str
    words: str


def lacks(core: Mapping[str, Any], place: Place) -> tuple[Lack, ...]:
    """Everything that this core lacks against its place file, in the order of the day."""
    shut = _stay_shut(core, place)
    return (
        *_odd(core, place),
        *_times(core, place),
        *_steps(core, place, shut),
        *_check_words(core, place),
        *(_board(core) if place.kind == "board" else (*_readings(core, place), *_figures(core, place))),
        *_contests(core, place),
        *(Lack(*row) for row in split_returns.odd(core, place)),
        *_tapes(core, place),
        *_seals(core, place),
        *_containers(core, place),
    )


def as_sentence(found: Sequence[Lack], place: Place, most: int = 6) -> str:
    """The lacks in one sentence: contests as a number where there are several, the rest by name as far as `most`."""
    contests = [one for one in found if one.kind == "contest"]
    rest = [one.words for one in found if one.kind not in ("contest", "odd")]
    more = [f"{len(contests)} contests" if len(contests) > 1 else contests[0].words] if contests else []
    named = (more + rest)[:most]
    left = len(more) + len(rest) - len(named)
    listed = ", ".join(named) + (f" and {left} more" if left else "")
    odd = "; ".join(one.words for one in found if one.kind == "odd")
    return "; ".join(part for part in (f"not in this packet: {listed}" if named else "", odd) if part)


def _odd(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Numbers and times that no night of this place can have."""
    opens, closes = place.at(place.opens), place.at(place.closes)
    if not opens <= core["made"] <= closes + 2 * DAY:
        yield Lack("odd/made", "odd", f"made at {wall(place, core['made'])} of another day than election day")
    if not 1 <= core["number"] <= MOST_PACKETS:
        yield Lack("odd/number", "odd", f"its number is {core['number']:,}: packets are numbered from 1")
    if core["number"] > 1 and core["amends"] is None:
        yield Lack("odd/amends", "odd", f"number {core['number']:,} says of no earlier packet that it replaces it")
    if not core["length"]:
        yield Lack("odd/length", "odd", "the record behind it holds no entry")


def _times(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """When it opened and closed; a count board knows no last voter."""
    for name, words, at in zip(
        ("opened", "closed", "last-ballot"),
        ("the time the polls opened", "the time the polls closed", "the time of the last ballot"),
        core["hours"],
        strict=True,
    ):
        if at is None and not (place.kind == "board" and name == "last-ballot"):
            yield Lack(f"lacks/time/{name}", "time", words)


def _stay_shut(core: Mapping[str, Any], place: Place) -> frozenset[str]:
    """Tabulators that stayed shut: a step that shuts one was kept as not so, and no spare took its place."""
    shutting = {step.id for step in checklist.steps(place) if step.shuts}
    spared = {step[1] for step in core["steps"] if step[0] == "tabulator-in" and not step[4] & NOT_SO}
    last = {(step[0], step[1]): step[4] for step in core["steps"] if step[0] in shutting}
    return frozenset(at for (_, at), flags in last.items() if flags & NOT_SO and at not in spared)


def _steps(core: Mapping[str, Any], place: Place, shut: Collection[str]) -> Iterator[Lack]:
    """Each step that comes before the packet, once or at each tabulator and box; two oaths at least."""
    kept = {(step[0], step[1] or "") for step in core["steps"]}
    for step in checklist.steps(place):
        if step.id == "packet":
            break
        if step.note or step.optional or step.list not in KINDS[place.kind].lists or step.id in NOT_LISTED:
            continue
        for at in ats(step, place):
            if (step.id, at) not in kept and not (step.if_open and at in shut):
                yield Lack(
                    f"lacks/step/{step.id}" + (f"/{at}" if at else ""),
                    "step",
                    f"the step “{checklist.title(step.id, at, place)}”",
                )
    oaths = sum(step[0] == "oath" for step in core["steps"])
    if oaths < 2:
        yield Lack("lacks/step/oath", "step", f"oaths of two people ({oaths} here)")


def _check_words(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """As many check words as steps that were kept with words copied."""
    copying = {step.id for step in checklist.steps(place) if step.field("words_copied") and step.id != "packet"}
    copied = {(step[0], step[1]) for step in core["steps"] if step[0] in copying and not step[4] & NOT_SO}
    if len({mark[0] for mark in core["marks"]}) < len(copied):
        yield Lack("lacks/check-words", "words", f"check words ({len(core['marks'])} of {len(copied)})")


def _board(core: Mapping[str, Any]) -> Iterator[Lack]:
    """Of a count board: envelopes and batches, the file of its batches, and the account of its seals."""
    board = core.get("board")
    if board is None:
        yield Lack("lacks/board", "figure", "the board's envelopes and batches")
    elif "table" not in board:
        yield Lack("lacks/batches", "figure", "the digest of the list of batches")
    if core.get("seal_stock") is None:
        yield Lack("lacks/seal_stock", "figure", "seals issued, applied and returned")


def _readings(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    begin, end = place.at(place.opens), place.at(place.closes)
    due = [clock(place, at) for at in range(begin + HOUR - place.opens.minute * MINUTE, end, HOUR)]
    here = {row.get("at") for row in core["readings"]}
    lacking = [at for at in due if at not in here]
    if lacking:
        yield Lack(
            "lacks/readings",
            "reading",
            "every hourly reading" if len(lacking) == len(due) else f"the reading of {', '.join(lacking)}",
        )


def _figures(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Check-ins, stock, what was set aside, bins: what the counts of the closing give."""
    book = next((one for one in core["people"] if one["id"] == "poll_book"), None)
    if book is None or book.get("n") in (None, []):
        yield Lack("lacks/check-ins", "figure", "check-ins")
    for name, words in (("received", "ballots received"), ("unused", "unused ballots")):
        yield from _stock(core["stock"].get(name), name, words, place)
    kept = {step[0] for step in core["steps"] if not step[4] & NOT_SO}
    yield from (
        Lack(f"lacks/stock/{key}", "figure", words)
        for step, key, words in NOTED_STOCK
        if step in kept and not core["stock"].get(key)
    )
    yield from (
        Lack(f"lacks/aside/{kind}", "figure", words) for kind, words in _aside(place) if core["aside"].get(kind) is None
    )
    for key, words in (
        ("drop_off", "absentee envelopes dropped off"),
        ("seal_stock", "seals issued, applied and returned"),
    ):
        if core.get(key) is None:
            yield Lack(f"lacks/{key}", "figure", words)
    if "write-in-tally" in kept and any(c.write_in for c in place.typed_contests()) and core.get("write_ins") is None:
        yield Lack("lacks/write_ins", "figure", "write-ins tallied by hand")
    yield from _bins(core, place)


def _aside(place: Place) -> tuple[tuple[str, str], ...]:
    """Kinds of ballots set aside that every packet of this place counts, 0 among them."""
    return ASIDE + (
        (("emergency", "ballots waiting in emergency bins"), ("hand-counted", "ballots counted by hand"))
        if any(b.emergency for b in place.boxes)
        else ()
    )


def _bins(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Emergency bins opened, bins emptied during the day, and bins counted where the place file always asks for it."""
    opened, boxes = {row["id"] for row in core["emergency"]}, {row["id"]: row for row in core.get("boxes", ())}
    emptied = {step[1] for step in core["steps"] if step[0] == "bin-emptied"}
    for box in place.boxes:
        if box.emergency and box.id not in opened:
            yield Lack(f"lacks/emergency/{box.id}", "figure", f"the emergency bin of {box.id}")
        if box.id in emptied and not boxes.get(box.id, {}).get("emptied"):
            yield Lack(f"lacks/emptied/{box.id}", "figure", f"the bin of {box.id} that was emptied")
        if place.rules.bins_counted == "always" and not boxes.get(box.id, {}).get("bins"):
            yield Lack(f"lacks/bins/{box.id}", "figure", f"the ballots out of the bins of {box.id}")


def _stock(rows: Any, name: str, words: str, place: Place) -> Iterator[Lack]:
    """Ballots received or unused, of each style where the place has several."""
    if rows in (None, []):
        yield Lack(f"lacks/{name}", "figure", words)
    elif isinstance(rows, list) and len(place.stock) > 1:
        here = {row.get("style") for row in rows}
        for one in place.stock:
            if one.style not in here:
                yield Lack(f"lacks/{name}/{one.style}", "figure", f"{words} of style {one.style}")


def _tapes(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Tape, public and protective counter of each tabulator that was not kept shut; its own contests where another tape has some."""
    rows, shut = {one["id"]: one for one in core["tabulators"]}, _stay_shut(core, place)
    several = any("contests" in one for one in core["tabulators"])
    for tabulator in place.tabulators:
        if tabulator.id in shut:
            continue
        row = rows.get(tabulator.id, {})
        if row.get("tape") in (None, []):
            yield Lack(f"lacks/tape/{tabulator.id}", "figure", f"the tape of {tabulator.id}")
        end = (row.get("runs") or [{}])[-1]
        for name, words in (("counter", "public counter"), ("lifetime", "protective counter")):
            if not end.get(name) or end[name][-1] is None:
                yield Lack(f"lacks/{name}/{tabulator.id}", "figure", f"the {words} of {tabulator.id}")
        if several:
            yield from (
                Lack(f"lacks/contest/{c.id}/{tabulator.id}", "figure", f"{c.title} on the tape of {tabulator.id}")
                for c in place.typed_contests()
                if c.id in core["contests"] and c.id not in row.get("contests", {})
            )


def _contests(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Each contest that is keyed at this place, every choice of it, and the tapes' own figures added up."""
    own = [one["contests"] for one in core["tabulators"] if "contests" in one]
    for contest in place.typed_contests():
        row = core["contests"].get(contest.id)
        if row is None:
            yield Lack(f"lacks/contest/{contest.id}", "contest", contest.title)
            continue
        for choice, votes in zip(contest.choices, row, strict=False):
            if votes is None:
                yield Lack(
                    f"lacks/votes/{contest.id}/{choice.id}", "figure", f"the votes of {choice.label}, {contest.title}"
                )
        mine = [rows[contest.id] for rows in own if contest.id in rows]
        lines = [choice.label for choice in contest.choices] + [name.replace("_", "-") for name in ROW]
        for i, line in enumerate(lines):
            column = [one[i] for one in mine]
            if mine and row[i] is not None and None not in column and sum(column) != row[i]:
                yield Lack(
                    f"odd/sum/{contest.id}/{i}",
                    "odd",
                    f"{contest.title}, {line}: the tapes together have {sum(column):,}, the packet {row[i]:,}",
                )


def _seals(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """A reading of each seal that was on the equipment when it left the office."""
    read = {row["at"] for row in core["seals"]}
    for seal in place.applied:
        if seal.at not in read:
            yield Lack(f"lacks/seal/{seal.at}", "seal", f"the reading of the seal at {seal.door or seal.at}")


def _containers(core: Mapping[str, Any], place: Place) -> Iterator[Lack]:
    """Every container of the place, and whatever the steps of the closing say was sealed to travel."""
    here = {row["id"]: row for row in core["containers"]}
    wanted = {c.id: f"container {c.id} ({c.holds})" for c in place.containers}
    for step, part, words in (("memory", "bag", "the memory bag"), ("tabulator-away", "case", "the carrying case")):
        wanted |= {f"{at}-{part}": f"{words} of {at}" for name, at, *_ in core["steps"] if name == step}
    wanted |= {"case": "the transfer case"} if any(seal.at == "case" for seal in place.applied) else {}
    yield from (Lack(f"lacks/container/{id}", "container", words) for id, words in wanted.items() if id not in here)
    for container in place.containers:
        if container.ballots and container.id in here and here[container.id].get("ballots") is None:
            yield Lack(
                f"lacks/container-ballots/{container.id}", "container", f"the ballots in container {container.id}"
            )
