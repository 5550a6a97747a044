"""The standing cast: Linden Hall, an invented place with two tabulators on two boxes, two precincts, two styles; and a day told by hand."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any

from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.day import seal_log
from webapp.precinct.place import seal_points, step_places
from webapp.precinct.place.place import (
    Applied,
    Box,
    Choice,
    Container,
    Contest,
    Official,
    Party,
    Place,
    Precinct,
    Rules,
    Stock,
    Style,
    Tabulator,
)

MINUTE, HOUR = 60_000, 3_600_000

LINDEN = Place(
    format=1,
    mode="practice",
    edition="1",
    id="L7",
    name="Linden Hall",
    county="Tarn County",
    election="General election",
    date=date(2026, 11, 3),
    zone="America/Chicago",
    opens=time(7),
    closes=time(20),
    host="l7.tarn.example",
    parties=(Party("E", "Elm Party", "Elm"), Party("H", "Heron Party", "Heron")),
    rules=Rules(typed="all", bins_counted="always"),
    officials=(
        Official("calloway", "Ines Calloway", "E", "chair"),
        Official("renn", "Tobias Renn", "H", "witness"),
        Official("vance", "Okoro Vance", "E", "inspector"),
        Official("pellow", "Maud Pellow", "H", "inspector"),
    ),
    precincts=(Precinct("P3", "Precinct 3"), Precinct("P4", "Precinct 4")),
    styles=(Style("3A", ("P3",), ("GOV", "CLERK")), Style("4B", ("P4",), ("GOV",))),
    contests=(
        Contest("GOV", "Governor", 1, (Choice("A", "Ada Lind"), Choice("B", "Bram Oakes")), write_in=True),
        Contest("CLERK", "Clerk", 1, (Choice("A", "Cora Vale"),)),
    ),
    boxes=(Box("X"), Box("Y", ("main",), False)),
    tabulators=(Tabulator("T1", "A-100", "X", 9000), Tabulator("T2", "A-200", "Y", 4000)),
    stock=(Stock("3A", 1000, 100), Stock("4B", 430, 50)),
    seals=tuple(f"0{n}" for n in range(401, 431)),
    applied=(
        Applied("T1-memory", "0301", "memory door of T1"),
        Applied("T1-door", "0302", "ballot door of T1"),
        Applied("T2-memory", "0303", "memory door of T2"),
        Applied("case", "0311", "transfer case"),
    ),
    containers=(
        Container("C1", "voted ballots", True),
        Container("C2", "write-in ballots", True),
        Container("S", "spoiled envelope"),
    ),
)

PRESENT = {"calloway": "05:30", "renn": "05:32", "vance": "05:40", "pellow": "05:41"}


@dataclass(frozen=True)
class Told:
    """One thing that was kept."""

    number: int
    kind: str
    at: str
    body: dict
    time: int
    not_so: bool = False
    short: tuple = ()
    texts: dict = field(default_factory=dict)


class Day:
    """A day told by hand: what is kept by task key, and a clock."""

    def __init__(self, place: Place = LINDEN, clock: str = "05:45"):
        self.place, self.kept, self.number, self.now = place, {}, 0, 0
        self.clock(clock)

    def clock(self, text: str) -> None:
        """Move the clock to HH:MM of election day."""
        self.now = self.place.at(time.fromisoformat(text))

    def keep(self, kind: str, at: str = "", not_so: bool = False, **body: Any) -> Told:
        self.number += 1
        told = Told(self.number, kind, at, body | ({"at": at} if at else {}), self.now, not_so)
        self.kept.setdefault(checklist.task_key(kind, at), []).append(told)
        return told

    def keep_all(self, *kinds: str) -> None:
        """Each of these steps wherever it is done, as it should be."""
        for step in checklist.steps(self.place):
            if step.id in kinds:
                for at in step_places.ats(step, self.place):
                    self.keep(step.id, at)

    def keep_list(self, name: str, *but: str) -> None:
        """Every step of a list, but these."""
        self.keep_all(
            *(
                s.id
                for s in checklist.steps(self.place)
                if s.list == name and not s.note and s.id not in but and s.id != "hourly"
            )
        )

    def tasks(self, *lists: str) -> tuple[checklist.Task, ...]:
        return checklist.tasks(self.place, self, self.now, *((lists,) if lists else ()))

    def task(self, key: str) -> checklist.Task:
        return next(t for t in self.tasks("opening", "voting", "closing", "hand-over", "office") if t.key == key)


def wall(place: Place, ms: int) -> str:
    return datetime.fromtimestamp(ms / 1000, place.tz).strftime("%H:%M")


class Pen:
    """Fills a form as officials would: every control answered, seals from the list, figures told apart by rising numbers."""

    def __init__(self, day: Day):
        self.day, self.place, self.figure = day, day.place, 100
        listed = [s for s in self.place.seals if s not in seal_log.used(self.place, day)]
        self.spare = iter(listed) if self.place.seals else (f"09{n}" for n in range(10, 99))

    def fill(self, step: checklist.Step, at: str, prefix: str = "") -> dict[str, str]:
        form = {}
        for f in step.fields:
            if f.kind == "votes":
                form |= {
                    f"{prefix}{name}": "99999" if name.endswith(".ballots") else self.next()
                    for name in self.lines(f.name)
                }
            elif f.kind != "worked-out":
                asked = field_options.things(f.per, self.place, self.day, at) if f.per else (("", ""),)
                for thing, _ in asked:
                    name = f"{f.name}.{thing}" if thing else f.name
                    form[prefix + name] = self.answer(step, f, at, thing)
        return form

    def lines(self, name: str) -> list[str]:
        found = []
        for c in self.place.typed_contests():
            found += [
                f"{name}.{c.id}.{key}"
                for key in ("ballots", "write_in", "under", "over")
                if key != "write_in" or c.write_in
            ]
            found += [f"{name}.{c.id}.votes.{choice.id}" for choice in c.choices]
        return found

    def next(self) -> str:
        self.figure += 1
        return str(self.figure)

    def answer(self, step: checklist.Step, f: checklist.Field, at: str, thing: str) -> str:
        own = OWN.get((step.id, f.name))
        if own is not None:
            return own(self, at, thing) if callable(own) else own
        if f.kind in ("yes", "tick", "yes-no"):
            return "yes"
        if f.kind == "time":
            return wall(self.place, self.day.now)
        if f.kind in ("number", "counts"):
            return "0" if f.most == 0 else self.next()
        if f.kind == "numbers":
            return f"{self.next()} {self.next()}"
        if f.kind in ("seal", "code"):
            return self.printed(step, f, at, thing)
        if f.kind == "choice":
            found = field_options.choices(f, self.place, self.day, at)
            return found[len(found) - 1 if f.name in ("second_carrier", "in") else 0][0]
        return f"W1 {self.next()}\nW2 {self.next()}" if f.kind == "tally" else f"Words of {f.name}."

    def printed(self, step: checklist.Step, f: checklist.Field, at: str, thing: str) -> str:
        if f.must == "serial":
            return seal_points.tabulator_of(self.place, at).serial
        if f.must == "on-now":
            point = thing or (
                f"{at}-door"
                if step.per == "tabulator"
                else f"{at}-main"
                if step.per == "box"
                else seal_points.seal_points(self.place)[0][0]
            )
            return seal_log.expected(self.place, self.day, point) or ""
        return next(self.spare) if f.must == "spare" else f"N-{self.next()}"


def listed(pen: Pen, at: str) -> str:
    """The protective counter that the office wrote down."""
    return str(seal_points.tabulator_of(pen.place, at).lifetime)


OWN = {
    ("power", "lifetime"): lambda pen, at, thing: listed(pen, at),
    ("zero-tape", "lifetime"): lambda pen, at, thing: listed(pen, at),
    ("counter-read", "lifetime"): lambda pen, at, thing: str(20_000 + int(pen.next())),
    ("tabulator-out", "lifetime"): lambda pen, at, thing: str(20_000 + int(pen.next())),
    ("zero-tape", "prints"): "2",
    ("zero-tape", "torn"): "0",
    ("zero-signed", "prints_signed"): "2",
    ("packs", "sealed_packs"): lambda pen, at, thing: {"3A": "9", "4B": "8"}[thing],
    ("packs", "opened_counted"): lambda pen, at, thing: {"3A": "100", "4B": "30"}[thing],
    ("packs", "received"): lambda pen, at, thing: {"3A": "1000", "4B": "430"}[thing],
    ("bin-emptied", "ballots"): "1",
    ("seals-accounted", "issued"): "30",
    ("seals-accounted", "applied"): "20",
    ("seals-accounted", "returned"): "10",
    ("seals-accounted", "damaged"): "0",
    ("arrivals", "present"): lambda pen, at, thing: PRESENT.get(thing, ""),
    ("goods", "packs"): lambda pen, at, thing: {"3A": "10", "4B": "9"}[thing],
    ("goods", "spare_seals"): lambda pen, at, thing: str(len(pen.place.seals)),
    ("clocks", "minutes_off"): "1",
    ("seals-cut", "old"): lambda pen, at, thing: (
        seal_log.expected(pen.place, pen.day, thing) or "" if thing == "T1-door" else ""
    ),
    ("seals-cut", "new"): lambda pen, at, thing: next(pen.spare) if thing == "T1-door" else "",
    ("emergency-opened", "ballots_found"): "7",
    ("emergency-opened", "fed"): "6",
    ("emergency-opened", "hand_counted"): "1",
    ("emergency-opened", "left"): "0",
    ("emergency-opened", "copies_by_hand"): "1",
    ("line-end", "hour_in_force"): "20:00",
    ("tabulator-in", "how"): "fresh-start",
    ("tabulator-in", "public"): "0",
    ("instruction", "closes"): "21:00",
    ("depart", "second_carrier"): "renn",
    ("carriers-in", "second_carrier"): "pellow",
    ("carriers-in", "not_on_roll"): "",
}
