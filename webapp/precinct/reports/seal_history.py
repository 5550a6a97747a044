"""Custody, thing by thing: each seal from issued to found, each box and its bins, each container and its contents, all seals added up.

Nothing is decided here; `seal_log` says what does not agree. Ballots and counters are left out while they are hidden.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from webapp.precinct.account.ballot_stock import plain
from webapp.precinct.checklist import field_options
from webapp.precinct.day import seal_log
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.seal_log import SealEvent
from webapp.precinct.numbers import few
from webapp.precinct.place import seal_points
from webapp.precinct.place.place import Container, Place

WHY = {
    "bin-emptied": "to empty the bin",
    "seals-cut": "at the opening",
    "seal-broken": "noted as broken",
    "seal-applied": "for a new one",
}
AT_NIGHT = ("bag", "case")  # sealed when all is put away
BOX_KINDS = (
    "bins-empty",
    "bins-locked",
    "bin-emptied",
    "emergency-on",
    "emergency-off",
    "emergency-opened",
    "bins-out",
    "bins-shown-empty",
)


@dataclass(frozen=True, slots=True)
class SealHistory:
    """One seal at one point: how it came there and all that was seen of it. `on`: it is there now. `entry` is the newest that speaks of it, 0
    for the office's list; `differs`: another number was read or cut there."""

    point: str
    where: str
    number: str
    on: bool
    entry: int
    time: int
    says: str
    differs: bool


@dataclass(frozen=True, slots=True)
class Group:
    """What belongs together: a tabulator with its box, the containers, the transfer case. `bare`: points that never had a seal."""

    title: str
    box: str
    lives: tuple[SealHistory, ...]
    bare: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ContainerHistory:
    """A container: what it is for, what went into it (a sentence a time), the seal that is on it now."""

    id: str
    holds: str
    seal: str
    says: tuple[str, ...]
    lives: tuple[SealHistory, ...]


@dataclass(frozen=True, slots=True)
class SealAccount:
    """Seals issued, and where they are. Before the hand-over `returned` and `damaged` are not counted yet (None), and what was not applied is in
    the bag. `noted`: applied by the entries of the day, which the count at the hand-over should meet."""

    issued: int
    applied: int
    returned: int | None
    damaged: int | None
    noted: int

    @property
    def together(self) -> int | None:
        return None if self.returned is None else self.applied + self.returned + (self.damaged or 0)

    @property
    def gap(self) -> int:
        """Issued less accounted for; 0 until they are counted."""
        return 0 if self.together is None else self.issued - self.together


def lives(place: Place, day: Day) -> dict[str, tuple[SealHistory, ...]]:
    """The history of each point: every seal that was on it, in order."""
    on, words = seal_log.still_on(place, day), dict(seal_points.seal_points(place))
    off = seal_log.opened(place, day)
    by_point: dict[str, list[list[SealEvent]]] = {}
    for touch in seal_log.touches(place, day):
        mine = by_point.setdefault(touch.point, [])
        if touch.what == "applied" or not mine or mine[-1][-1].what == "cut":
            mine.append([])
        mine[-1].append(touch)
    return {
        point: tuple(
            _life(words.get(point, point), stay, on.get(point, ""), after, 0 if after else off.get(point, 0))
            for stay, after in zip(stays, [*stays[1:], None])
        )
        for point, stays in by_point.items()
    }


def _life(where: str, stay: list[SealEvent], now: str, after: list[SealEvent] | None, off: int) -> SealHistory:
    """The history of one seal. `after`: the seal that followed at this point, None for the newest. `off`: the entry that opened its door at the
    close, 0 for none."""
    first, told = stay[0], [_touch(touch) for touch in stay]
    if after and stay[-1].what != "cut":
        told.append(f"{after[0].number} applied in its place, entry {after[0].entry}")
    if off:
        told.append(f"off since its door was opened at the close, entry {off}")
    return SealHistory(
        first.point,
        where,
        first.number,
        after is None and now == first.number,
        off or stay[-1].entry,
        first.time,
        "; ".join(told),
        any(t.differs for t in stay),
    )


def _touch(touch: SealEvent) -> str:
    """One event in words: "applied by the office", "read, agrees", "read as 40161, not the 40116 that was applied"."""
    if touch.what == "applied":
        return "applied, entry " + str(touch.entry) if touch.entry else "on it when it came from the office"
    if touch.differs:
        return f"{touch.what} as {touch.number}, not the {touch.expected} that was applied, entry {touch.entry}"
    agrees = "number agreed" if touch.expected else "nothing known to compare it with"
    return (
        f"cut {WHY.get(touch.kind, '')}".rstrip() if touch.what == "cut" else "read"
    ) + f", {agrees}, entry {touch.entry}"


def groups(place: Place, day: Day) -> tuple[Group, ...]:
    """Tabulators with their boxes, then a box that several share, then whatever else has a seal; containers are apart."""
    told, points = lives(place, day), [point for point, _ in seal_points.seal_points(place)]
    points += [point for point in told if point not in points]
    left = [point for point in points if point not in {c.id for c in place.containers}]
    found = []
    for title, box, mine in _sorts(place, left):
        left = [point for point in left if point not in mine]
        found.append(_group(place, title, box, mine, told))
    return tuple(
        group
        for group in [*found, _group(place, "Transfer case and others", "", left, told)]
        if group.lives or group.bare
    )


def _sorts(place: Place, points: Iterable[str]) -> Iterator[tuple[str, str, list[str]]]:
    """(title, box, points) of each tabulator, and of a box that several share."""
    users: dict[str, list[str]] = {}
    for tabulator in place.tabulators:
        users.setdefault(tabulator.box, []).append(tabulator.id)
    points = list(points)
    for tabulator in place.tabulators:
        alone = len(users[tabulator.box]) == 1
        mine = [p for p in points if p.startswith(f"{tabulator.id}-") or (alone and p.startswith(f"{tabulator.box}-"))]
        mine.sort(key=lambda point: point.rpartition("-")[2] in AT_NIGHT)
        yield (
            f"Tabulator {tabulator.id}" + (f", box {tabulator.box}" if alone else ""),
            tabulator.box if alone else "",
            mine,
        )
    for box in place.boxes:
        if len(users.get(box.id, [])) != 1:
            yield f"Box {box.id}", box.id, [p for p in points if p.startswith(f"{box.id}-")]


def _group(
    place: Place, title: str, box: str, points: Iterable[str], told: Mapping[str, tuple[SealHistory, ...]]
) -> Group:
    words = dict(seal_points.seal_points(place))
    return Group(
        title,
        box,
        tuple(life for point in points for life in told.get(point, ())),
        tuple(words.get(p, p) for p in points if p not in told),
    )


def boxes(day: Day, box: str) -> list[CurrentEntry]:
    """Every entry about a box, in order: shown empty, locked, emptied, in use, taken out, shown empty again."""
    return sorted((kept for kind in BOX_KINDS for kept in day.all(f"{kind}:{box}")), key=lambda kept: kept.number)


def containers(place: Place, day: Day) -> tuple[ContainerHistory, ...]:
    """The history of each container."""
    told, on = lives(place, day), seal_log.on_now(place, day)
    return tuple(
        ContainerHistory(c.id, c.holds, on.get(c.id, ""), tuple(_put_in(place, day, c)), told.get(c.id, ()))
        for c in place.containers
    )


def _put_in(place: Place, day: Day, container: Container) -> Iterator[str]:
    """What went into a container: from which bin, how many where counted, and the count before it was sealed."""
    folded, closing = day.folded_away, day.last("containers-filled")
    for box in place.boxes:
        names = dict(field_options.things("box-bin", place, day, box.id))
        for kept in day.all(f"bin-emptied:{box.id}"):
            if kept.body.get("container") == container.id:
                yield f"{_ballots(kept.body.get('ballots'), folded)} out of the {names.get(kept.body.get('bin') or '', 'bin').lower()} of {box.id} during the day, entry {kept.number}"
        out = day.last(f"bins-out:{box.id}")
        for bin, into in out.body.get("container", {}).items() if out else ():
            if out and into == container.id:
                yield f"{_ballots(out.body.get('ballots', {}).get(bin), folded)} out of the {names.get(bin, bin).lower()} of {box.id} at the close, entry {out.number}"
    if closing and container.id in closing.body.get("ballots", {}):
        yield f"{few(plain(closing.body['ballots'][container.id]), 'ballot')} counted in it before it was sealed, entry {closing.number}"
    elif closing and closing.body.get("holds", {}).get(container.id):
        yield f"filled, entry {closing.number}"


def _ballots(count: object, folded: bool) -> str:
    return "ballots" if folded else "ballots, not counted," if count is None else few(plain(count), "ballot")


def security_keys(place: Place, day: Day) -> tuple[tuple[str, str], ...]:
    """(whose, what was said of it): shown in the morning, taken along at night."""
    left = day.last("room-left")
    taken = f"; all keys taken along, entry {left.number}" if left and left.body.get("keys") else ""
    shown = [(t.id, day.last(f"key-code:{t.id}")) for t in place.tabulators]
    return tuple(
        (
            f"Security key of {at}",
            (
                f"shown, entry {kept.number}"
                if kept and kept.body.get("key_here")
                else "not shown" + (f", entry {kept.number}" if kept else " yet")
            )
            + taken,
        )
        for at, kept in shown
    )


def account(place: Place, day: Day) -> SealAccount:
    """The account of all seals: by the day's entries, or as counted at the hand-over once that is signed."""
    kept, seen = day.last("seals-accounted"), seal_log.counts(place, day)
    names = ("issued", "applied", "returned", "damaged")
    if kept is None or any(name not in kept.body for name in names):
        return SealAccount(seen["issued"], seen["applied"], None, None, seen["applied"])
    issued, applied, returned, damaged = (kept.body[name] for name in names)
    return SealAccount(issued, applied, returned, damaged, seen["applied"])
