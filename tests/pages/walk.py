"""Every page that a browser can get, by the routes the app itself names and the things of this day."""

import re

from tests.matrix import ALL
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.offline_rules import needs_laptop

NEWEST = 10


def numbers(here, kinds: bool) -> list[str]:
    """Entries whose pages are visited: the newest, and with `kinds` the newest of each kind; with --all every one."""
    length = here.room.ledger.length
    if ALL:
        return [str(n) for n in range(1, length + 1)]
    of_kind = {entry.kind: entry.number for entry in here.room.ledger.entries()} if kinds else {}
    return [str(n) for n in sorted({*of_kind.values(), *range(max(length - NEWEST, 0) + 1, length + 1)})]


def paths(here, kinds: bool = True) -> list[str]:
    """All GET routes filled with what there is: tabulators, boxes, step keys, note kinds, people, entries (`numbers`), packets that wait. Of those that are
    refused alike one is asked daily."""
    room = here.room
    now = room.now()
    at = [t.id for t in here.place.tabulators] + [b.id for b in here.place.boxes]
    given = {
        "key": [t.key for t in room.tasks(now)],
        "at": at,
        "kind": [s.id for s in room.notes.tiles()],
        "person": [o.id for o in here.place.officials],
        "number": numbers(here, kinds),
        "name": ["opening", "voting", "closing", "hand-over", *(p.id for p in room.gate.pending.waiting(now))],
        "of": [str(k.number) for kind in ("unused", "aside-counts", "book-count") for k in room.day.of(kind)] or ["1"],
        "field": ["unused", "spoiled", "used"],
        "thing": [s.id for s in here.place.styles],
    }
    found = []
    for rule in here.app.url_map.iter_rules():
        if "GET" not in rule.methods or rule.endpoint == "static":
            continue
        todo = [re.sub(r"<(?:int:)?(\w+)>", r"<\1>", rule.rule)]
        while any("<" in path for path in todo):
            todo = [
                re.sub(r"<\w+>", value, path, count=1)
                for path in todo
                for value in given[re.search(r"<(\w+)>", path)[1]]
            ]
        found += todo if ALL else [path for path in todo if not refused_like_another(here, path)]
    return sorted(set(found)) + [f"/record?page={n}" for n in range(3)]


def refused_like_another(here, path: str) -> bool:
    """Whether this address is refused for what it asks of, as many are, and is not the one of them that is asked daily: a note of a tabulator or
    box that it is not about, a look at an entry that is no reading, a shell of a step that needs the laptop."""
    notes, day = here.room.notes, here.room.day
    if found := re.fullmatch(r"(?:/shell)?/note/([\w-]+)/(\w+)", path):
        return found[2] not in (here.place.boxes[-1].id, *notes.ats(notes.step(found[1])))
    if found := re.fullmatch(r"/look/(\d+)(?:/found)?", path):
        return int(found[1]) < here.room.ledger.length and day.entry(int(found[1])).kind != "hourly"
    if found := re.fullmatch(r"/shell/step/(.+)", path):
        step = next(step for step in checklist.steps(here.place) if step.id == found[1].partition(":")[0])
        return bool(needs_laptop(step)) and step.id != "polls-open"
    return False


def one_of_each_route(here, found: list[str]) -> list[str]:
    """The first path of each route: what a method does that no page has needs no more; with --all every path."""
    if ALL:
        return found
    first: dict[str, str] = {}
    routes = here.app.url_map.bind("localhost")
    for path in found:
        first.setdefault(routes.match(path.partition("?")[0], return_rule=True)[0].rule, path)
    return list(first.values())


def pages_of(here, window, kinds: bool = True, routes: bool = False):
    """(path, answer) of every GET, with `routes` of one of each route. A page that is not there says so; none fails."""
    found = paths(here, kinds)
    for path in one_of_each_route(here, found) if routes else found:
        page = window.get(path)
        assert page.status in (200, 404, 409, 410), f"{path} answers {page.status}: {page.said()}"
        yield path, page
