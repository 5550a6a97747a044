"""What a field is asked for: each style, each bin of a box, each seal point ... as (id, words), in the order of the place file."""

from collections.abc import Callable

from webapp.precinct.checklist import board_options
from webapp.precinct.day import seal_log
from webapp.precinct.day.instructions import found_becomes, provisional_as
from webapp.precinct.day.out_of_use import out_with, shut
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.seal_points import BIN_WORDS, belongs, box_of, seal_points
from webapp.precinct.place.step import LISTS, DayView, Field

Things = tuple[tuple[str, str], ...]
ASIDE = (("spoiled", "Spoiled"), ("provisional", "Provisional"), ("drop-off", "Absentee dropped off"))
ASIDE_KINDS = (
    ("spoiled", "Spoiled"),
    ("provisional", "Provisional"),
    ("emergency", "In the emergency bin"),
    ("left", "Left"),
    ("taken", "Taken"),
    ("set-apart", "Set apart"),
)
RULED = ("becomes", "kind")  # fields that a rule of the place or an instruction speaks of
CARDS = (
    ("other-edition", "Card X-001 (another edition)"),
    ("other-place", "Card X-002 (another place)"),
    ("plain-paper", "Card X-003 (plain paper)"),
)  # what a tabulator must hand back at its test
NOT_ON_ROLL = "not-on-roll"  # the choice of a carrier whom the place file does not name
MORE_PRINTS = 2  # than there are copies: a torn print is kept and another made


def things(per: str, place: Place, day: DayView, at: str = "") -> Things:
    """The things of this kind at this place (and at this tabulator or box). Raises KeyError for a kind that does not exist."""
    return _KINDS[per](place, day, at)


def _officials(place: Place, day: DayView, at: str) -> Things:
    people = getattr(day, "people", None)
    return tuple((o.id, f"{o.name} ({o.role})") for o in (people.everybody if people else place.officials))


def _carriers(place: Place, day: DayView, at: str) -> Things:
    """Everybody of the place's roll; then a deputy, a courier, a substitute: said in words."""
    return (*_officials(place, day, at), (NOT_ON_ROLL, "Somebody who is not on the roll"))


def _working(place: Place, day: DayView, at: str) -> Things:
    people = getattr(day, "people", None)
    return tuple((o.id, f"{o.name} ({o.role})") for o in (people.working() if people else place.officials))


def _bins(place: Place, day: DayView, at: str) -> Things:
    return (*_doors(place, day, at), ("path", BIN_WORDS["path"]))


def _doors(place: Place, day: DayView, at: str) -> Things:
    box = box_of(place, at)
    return _box_bins(place, day, at) + ((("emergency", BIN_WORDS["emergency"]),) if box and box.emergency else ())


def _box_bins(place: Place, day: DayView, at: str) -> Things:
    box = box_of(place, at)
    return tuple((name, BIN_WORDS.get(name, f"Bin {name}")) for name in box.bins) if box else ()


def _sealed_points(place: Place, day: DayView, at: str) -> Things:
    on = seal_log.on_now(place, day)
    return tuple((point, words) for point, words in seal_points(place) if point in on)


def _applied(place: Place, at: str, on_tabulator: bool) -> Things:
    def of_some(point: str) -> bool:
        return any(belongs(point, place, t.id) for t in place.tabulators)

    return tuple(
        (seal.at, seal.door or seal.at)
        for seal in place.applied
        if (belongs(seal.at, place, at) if on_tabulator else not of_some(seal.at))
    )


def _container_seals(place: Place, day: DayView, at: str) -> Things:
    case = tuple((seal.at, seal.door or "transfer case") for seal in place.applied if seal.at == "case")
    return tuple((c.id, f"{c.id} ({c.holds})") for c in place.containers) + case


def _provisional_kinds(place: Place, day: DayView, at: str) -> Things:
    note = next((step for step in steps(place) if step.id == "provisional"), None)
    field = note.field("kind") if note else None
    return field.choices if field else (("other", "Provisional"),)


def _write_ins(place: Place, day: DayView, at: str) -> Things:
    """Contests whose write-ins are keyed here; all others are on the signed tally sheets alone."""
    return tuple((c.id, c.title) for c in place.typed_contests() if c.write_in)


def _running(place: Place, day: DayView, box: str = "") -> Things:
    """Tabulators that count ballots today (of this box): all but those that stay shut; one that is out of use says so."""
    known = steps(place)
    return tuple(
        (t.id, f"{t.id}, out of use" if out_with(day, t.id) else t.id)
        for t in place.tabulators
        if box in ("", t.box) and not shut(place, day, t.id, known)
    )


def _steps_to_come(place: Place, day: DayView, at: str) -> Things:
    """Steps of this place that are not kept yet, each once: an instruction may change them."""
    done = {key.partition(":")[0] for key, kept in day.kept.items() if kept}
    return tuple(
        (s.id, f"{dict(LISTS)[s.list]}: {s.says or s.title}".replace("{at}", f"each {s.per}" if s.per else ""))
        for s in steps(place)
        if s.list in KINDS[place.kind].lists and not s.note and (s.repeats or s.per or s.id not in done)
    )


def _clocks(place: Place, day: DayView, at: str) -> Things:
    return (
        ("laptop", "This laptop"),
        *((t.id, f"Tabulator {t.id}") for t in place.tabulators),
        ("book", "Poll book"),
        ("wall", "Clock on the wall"),
    )


def _filled_containers(place: Place, day: DayView, at: str) -> Things:
    """Into which ballots out of a bin may go: the containers that hold ballots; every container where the place file marks none."""
    return things("ballot-container", place, day) or things("container", place, day)


_KINDS: dict[str, Callable[[Place, DayView, str], Things]] = {
    "official": _officials,
    "carrier": _carriers,
    "working": _working,
    "style": lambda place, day, at: (
        tuple((s.style, f"style {s.style}") for s in place.stock)
        or tuple((s.id, f"style {s.id}") for s in place.styles)
    ),
    "book": lambda place, day, at: tuple((p.id, p.name) for p in place.precincts),
    "tabulator": lambda place, day, at: tuple((t.id, t.id) for t in place.tabulators),
    "running": lambda place, day, at: _running(place, day),
    "box-running": lambda place, day, at: _running(place, day, at),
    "bin": _bins,
    "door": _doors,
    "box-bin": _box_bins,
    "contest": lambda place, day, at: tuple((c.id, c.title) for c in place.typed_contests()),
    "write-in-contest": _write_ins,
    "copy": lambda place, day, at: tuple((copy, copy) for copy in place.copies),
    "print": lambda place, day, at: tuple(
        (str(n), f"print {n}") for n in range(1, len(place.copies) + MORE_PRINTS + 1)
    ),
    "container": lambda place, day, at: tuple((c.id, f"{c.id} ({c.holds})") for c in place.containers),
    "ballot-container": lambda place, day, at: tuple(
        (c.id, f"{c.id} ({c.holds})") for c in place.containers if c.ballots
    ),
    "filled-container": _filled_containers,
    "container-seal": _container_seals,
    "aside": lambda place, day, at: ASIDE,
    "aside-kind": lambda place, day, at: ASIDE_KINDS,
    "provisional-kind": _provisional_kinds,
    "place-kind": lambda place, day, at: tuple((k.id, k.id.replace("-", " ")) for k in place.kinds),
    "clock": _clocks,
    "step": _steps_to_come,
    "seal-point": lambda place, day, at: seal_points(place),
    "sealed-point": _sealed_points,
    "tabulator-point": lambda place, day, at: tuple((p, w) for p, w in seal_points(place) if belongs(p, place, at)),
    "card": lambda place, day, at: CARDS,
    "case-seal": lambda place, day, at: _applied(place, at, False),
    "tabulator-seal": lambda place, day, at: _applied(place, at, True),
    **board_options.KINDS,
}


def choices(field: Field, place: Place, day: DayView, at: str = "") -> Things:
    """What may be chosen in this field."""
    return things(field.of, place, day, at) if field.of else field.choices


def default(field: Field, place: Place, day: DayView, at: str = "") -> str:
    """What a field holds before anybody typed: nothing that vouches, no signer, no figure. A choice of one thing is no choice."""
    if field.kind == "choice" and field.of in ("style", "book") and not field.optional:
        found = choices(field, place, day, at)
        return found[0][0] if len(found) == 1 else ""
    if field.default == "first":
        found = choices(field, place, day, at)
        return found[0][0] if found else ""
    return field.default


def by_rule(field: Field, place: Place, day: DayView) -> str:
    """The choice that the place file or the last instruction asks for. It is shown at the field, and never filled in."""
    return found_becomes(place, day) if field.name == "becomes" else provisional_as(day) or field.choices[0][0]
