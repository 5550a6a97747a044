"""The form of a place that is keyed from its paper: its controls in the order of the forms, what was typed into them, two keyings side by side.

A line that the paper does not show is left empty: nothing is never 0.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from webapp.packet.contents import ROW
from webapp.precinct.checklist.field_parsers import InvalidInput, moment, number
from webapp.precinct.place.place import Contest, Place

HOURS = (("opened", "Polls opened"), ("closed", "Polls closed"), ("last_ballot", "Last ballot cast"))
STOCK = (
    ("received", "Ballots received"),
    ("resupply", "Ballots delivered later"),
    ("sent", "Ballots sent elsewhere"),
    ("packs", "Ballots that opened packs lacked"),
    ("unused", "Unused ballots"),
)
ASIDE = (
    ("spoiled", "Spoiled ballots that were replaced"),
    ("spoiled-not-reissued", "Spoiled ballots that were not replaced"),
    ("provisional", "Provisional envelopes"),
    ("left", "Voters who left without a ballot"),
    ("taken", "Ballots taken from the room"),
)
EMERGENCY = (
    ("found", "Ballots found in the emergency bin"),
    ("fed", "Of these fed to the tabulator"),
    ("hand_counted", "Of these counted by hand"),
    ("left", "Of these left in it"),
)
ENDS = (
    ("public_open", "Public counter at opening"),
    ("lifetime_open", "Protective counter at opening"),
    ("public_close", "Public counter at closing"),
    ("lifetime_close", "Protective counter at closing"),
)
VOTES = ("votes.", "apart.")  # lines of a tape, and of one precinct on it
LINES = {"write_in": "Write-ins", "under": "Undervotes", "over": "Overvotes", "ballots": "Ballots with this contest"}
SEALS = (("issued", "issued"), ("applied", "applied"), ("returned", "returned"), ("damaged", "damaged"))


@dataclass(frozen=True, slots=True)
class PaperControl:
    """One line of the paper: its input's name, kept for good; its section; a number, or a time of the day."""

    name: str
    section: str
    label: str
    kind: str = "number"
    hint: str = ""

    @property
    def votes(self) -> bool:
        """Whether it tells of votes: such figures are shown only as far as those of a small place may be."""
        return self.name.startswith(VOTES)


def controls(place: Place) -> tuple[PaperControl, ...]:
    """Every line, in the order of the forms: hours, stock, poll book, set aside, boxes, counters, tapes, containers, seals."""
    return tuple(_controls(place))


def _controls(place: Place) -> Iterator[PaperControl]:
    for key, label in HOURS:
        yield PaperControl(f"hours.{key}", "Hours", label, "time", "As 20:05")
    for style in place.stock:
        section = "Ballot stock" + (f", style {style.style}" if len(place.stock) > 1 else "")
        yield from (PaperControl(f"stock.{key}.{style.style}", section, label) for key, label in STOCK)
    for precinct in place.precincts:
        section = "Poll book" + (f", {precinct.name}" if len(place.precincts) > 1 else "")
        yield PaperControl(f"book.n.{precinct.id}", section, "Check-ins")
        yield PaperControl(f"book.cancelled.{precinct.id}", section, "Of these cancelled")
    yield from (PaperControl(f"aside.{kind}", "Set aside", label) for kind, label in _aside(place))
    yield PaperControl("drop_off", "Set aside", "Absentee envelopes dropped off")
    for box in place.boxes:
        if box.emergency:
            yield from (PaperControl(f"box.{box.id}.{key}", f"Box {box.id}", label) for key, label in EMERGENCY)
        for bin_ in box.bins:
            yield PaperControl(f"bins.{box.id}.{bin_}", f"Box {box.id}", f"Ballots out of the {bin_} bin")
        yield PaperControl(f"emptied.{box.id}", f"Box {box.id}", "Ballots taken out of it during the day")
    for tabulator in place.tabulators:
        yield from _tape(place, tabulator.id)
    for container in place.containers:
        if container.ballots:
            yield PaperControl(f"container.{container.id}", "Containers", f"Ballots in container {container.id}")
    yield from (PaperControl(f"seals.{key}", "Seals", f"Seals {label}") for key, label in SEALS)


def _aside(place: Place) -> Iterator[tuple[str, str]]:
    yield from ASIDE
    if place.rules.found == "set-apart":
        yield "set-apart", "Ballots set apart"
    known = {*dict(ASIDE), "set-apart", "emergency", "hand-counted"}
    yield from ((kind.id, kind.id.replace("-", " ").capitalize()) for kind in place.kinds if kind.id not in known)


def _tape(place: Place, at: str) -> Iterator[PaperControl]:
    """Counters and results tape of one tabulator, then its contests in ballot order."""
    hint = {"lifetime": "Leave it empty where the tabulator was exchanged during the day"}
    for key, label in ENDS:
        yield PaperControl(f"counter.{at}.{key}", f"Tabulator {at}", label, hint=hint.get(key.split("_")[0], ""))
    for precinct in place.precincts:
        own = f", {precinct.name}" if len(place.precincts) > 1 else ""
        yield PaperControl(f"tape.{at}.{precinct.id}", f"Results tape of {at}", f"Ballots on the tape{own}")
    yield PaperControl(f"earlier.{at}", f"Results tape of {at}", "Ballots on an earlier tape of this tabulator")
    yield PaperControl(f"fed_again.{at}", f"Results tape of {at}", "Of the earlier tape, fed again")
    for precinct in place.split():
        for contest in place.contests_of(precinct.id):
            yield from _contest(
                contest, f"apart.{at}.{precinct.id}.{contest.id}", f"Results tape of {at}, {precinct.name}"
            )
    for contest in place.typed_contests() if not place.split() or place.rules.votes == "both" else ():
        of = ", all precincts" if place.split() else ""
        yield from _contest(contest, f"votes.{at}.{contest.id}", f"Results tape of {at}{of}")


def _contest(contest: Contest, name: str, tape: str) -> Iterator[PaperControl]:
    """Every line of a contest, as the tape prints it."""
    section = f"{tape}: {contest.title}" + (f", vote for {contest.n}" if contest.n > 1 else "")
    for choice in contest.choices:
        yield PaperControl(f"{name}.{choice.id}", section, choice.label)
    for line in ROW:
        if line != "write_in" or contest.write_in:
            yield PaperControl(f"{name}.{line}", section, LINES[line])


@dataclass(frozen=True, slots=True)
class KeyedLeaf:
    """What one form says: whole numbers by control, times in ms UTC; mistakes by input. What was left empty is not there."""

    values: Mapping[str, int]
    mistakes: Mapping[str, str]


def read(form: Mapping[str, str], place: Place) -> KeyedLeaf:
    """The figures of one form. Something of a tape must be there: a place is not keyed from nothing."""
    values: dict[str, int] = {}
    mistakes: dict[str, str] = {}
    for one in controls(place):
        text = form.get(one.name, "").strip()
        if not text:
            continue
        try:
            values[one.name] = _time(place, text) if one.kind == "time" else number(text)
        except InvalidInput as wrong:
            said = str(wrong) or "Enter this figure in digits."
            mistakes[one.name] = f"{one.section}, {one.label}: {said[:1].lower()}{said[1:]}"
    if not mistakes and not any(name.startswith(("tape.", *VOTES)) for name in values):
        first = next((one.name for one in controls(place) if one.name.startswith("tape.")), "")
        mistakes[first] = (
            "No results tape has a figure. Enter what at least one tape shows; without a tape there is nothing to count."
        )
    return KeyedLeaf(values, mistakes)


def _time(place: Place, text: str) -> int:
    """A time of election day, from an hour before dawn to the night after. Raises InvalidInput."""
    at = moment(place, text)
    if at is None:
        raise InvalidInput("Enter the time as hours and minutes, such as 20:05.")
    if not place.at(place.opens) - 4 * 3_600_000 <= at <= place.at(place.closes) + 12 * 3_600_000:
        raise InvalidInput(
            "This is not a time of election day at this place. Enter it as the paper says, such as 20:05."
        )
    return at


@dataclass(frozen=True, slots=True)
class PaperPair:
    """One line as both keyed it; None: left empty."""

    control: PaperControl
    first: int | None
    second: int | None

    @property
    def differs(self) -> bool:
        return self.first != self.second


def compared(first: Mapping[str, int], second: Mapping[str, int], place: Place) -> list[PaperPair]:
    """Two keyings side by side: every line that one of them has."""
    return [
        PaperPair(one, first.get(one.name), second.get(one.name))
        for one in controls(place)
        if one.name in first or one.name in second
    ]


def sections(place: Place) -> list[tuple[str, list[PaperControl]]]:
    """The controls, section by section."""
    found: dict[str, list[PaperControl]] = {}
    for one in controls(place):
        found.setdefault(one.section, []).append(one)
    return list(found.items())


def rows(values: Mapping[str, int], place: Place) -> list[tuple[str, list[tuple[str, int | None]]]]:
    """The numbers of a keyed place, section by section, as they are signed: (section, [(line, figure)]). Times are left out."""
    found = []
    for section, mine in sections(place):
        told: list[tuple[str, int | None]] = [
            (one.label, values[one.name]) for one in mine if one.name in values and one.kind == "number"
        ]
        if told:
            found.append((section, told))
    return found


def empty(values: Mapping[str, int], place: Place) -> list[str]:
    """Names of the lines that the paper does not show."""
    return [one.name for one in controls(place) if one.name not in values]


def ballots(values: Mapping[str, int], place: Place, at: str | None = None) -> int | None:
    """Ballots on the tape of one tabulator, of all with `at` None; None where a precinct of it is missing."""
    machines: Sequence[str] = [t.id for t in place.tabulators] if at is None else [at]
    names = [f"tape.{machine}.{precinct.id}" for machine in machines for precinct in place.precincts]
    return sum(values[name] for name in names) if all(name in values for name in names) else None
