"""The office file, `office.toml`: the central office, who signs at its desk, and the places whose packets it awaits.

Read whole or refused with every mistake at once, like a place file. Each place names the neighbor whose votes it is
shown `with` when it is small, so that no figure of a few voters is shown alone (design: totals).
"""

from dataclasses import dataclass
from datetime import time
from functools import cached_property

from webapp.canvass.edition import WAYS, Way
from webapp.canvass.envelopes import REASONS, Reason
from webapp.office.setup import after_the_night, other_offices
from webapp.office.setup.other_offices import OtherOffice, SharedContest
from webapp.precinct.place import tables
from webapp.precinct.place.cross_checks import Finding, known, twice
from webapp.precinct.place.place import Official, Party
from webapp.precinct.place.toml_document import Mistakes, TomlForm
from webapp.precinct.place.toml_table import TomlTable, top

__all__ = ["Awaited", "Mistakes", "Office", "read"]


@dataclass(frozen=True, slots=True)
class Awaited:
    """A place from which the office awaits a packet. beside: id of the neighbor it is shown with while it is small.

    room: where it votes ("": alone). Places of one room or one address share tabulators' tables, and a ballot of one
    may be with the other.
    """

    id: str
    name: str
    beside: str
    room: str = ""
    registered: int | None = None
    due: time | None = None  # when its goods are due, where the office says; else 90 minutes after it closes
    phones: tuple[str, ...] = ()  # whom to call, and the number


@dataclass(frozen=True)
class Office:
    """`on_difference`: a place whose memory or tape does not agree is held out of the totals, or stamped there.

    `small`: places or ballot groups with 1 to small - 1 ballots are shown only together with a neighbor."""

    id: str
    name: str
    parties: tuple[Party, ...]
    officials: tuple[Official, ...]
    places: tuple[Awaited, ...]
    small: int = 10
    on_difference: str = "hold"
    ways: tuple[Way, ...] = WAYS
    reasons: tuple[Reason, ...] = REASONS
    election_type: str = "general"
    totals: str = "always"  # or "after-close": no page shows a vote before the polls have closed at every place
    host: str = ""  # the name under which further desks find the office; "" where it has one desk
    certificate_text: str = after_the_night.TEXT  # with {places}, {registered} and {ballots}
    copies: tuple[str, ...] = ()  # for whom copies of the certificate are printed
    measures: frozenset[str] = frozenset()  # ids of contests that are questions, not offices
    others: tuple[OtherOffice, ...] = ()  # offices whose editions are taken in here
    shared: tuple[SharedContest, ...] = ()  # contests that several offices count

    def place(self, place: str) -> Awaited | None:
        """Returns the awaited place with this id; None if the office file names none."""
        return self._by_id.get(place)

    @cached_property
    def _by_id(self) -> dict[str, Awaited]:
        return {p.id: p for p in reversed(self.places)}

    def official(self, person: str) -> Official | None:
        """Returns the official with this id; None if the office file names none."""
        return next((o for o in self.officials if o.id == person), None)


def read(data: bytes) -> Office:
    """The office of these bytes. Raises `Mistakes`."""
    form = TomlForm(data)
    office = _office(top(form))
    for path, sentence in (
        *_people(office),
        *_neighbours(office),
        *after_the_night.findings(office),
        *other_offices.findings(office),
    ):
        form.wrong(path, sentence)
    form.finish()
    return office


def _office(file: TomlTable) -> Office:
    file.one_of("format", (1,), 1)
    rows = {
        "parties": file.tables("parties", 'id = "M", name = "Maple Party", word = "Maple"', least=1),
        "officials": file.tables(
            "officials", 'id = "d1", name = "Ines Calloway", party = "M", role = "receiver"', least=2
        ),
    }
    office = Office(
        file.code("id", "tarn"),
        file.text("name", "Tarn County election office"),
        tables.parties(rows["parties"]),
        tables.officials(rows["officials"]),
        _places(file.tables("places", 'id = "W3", name = "Lantern Street School", with = "W5"')),
        file.whole("small", 10, 10, least=1, most=1000),
        file.one_of("on_difference", ("hold", "stamp"), "hold"),
        totals=file.one_of("totals", ("always", "after-close"), "always"),
        host=tables.host(file, False),
        **after_the_night.read(file),
        **other_offices.read(file),
    )
    file.done()
    return office


def _places(rows: tuple[TomlTable, ...]) -> tuple[Awaited, ...]:
    read_rows = []
    for row in rows:
        read_rows.append(
            Awaited(
                row.code("id", "W3"),
                row.text("name", "Lantern Street School"),
                row.code("with", "W5", ""),
                row.text("room", "Lantern Street 12", ""),
                row.whole("registered", 812) if row.has("registered") else None,
                row.clock("due", "22:30") if row.has("due") else None,
                _phones(row),
            )
        )
        row.done()
    return tuple(read_rows)


def _phones(row: TomlTable) -> tuple[str, ...]:
    """Who and number, a line each, as the desk calls them."""
    value = row.raw("phones")
    if value is None:
        return ()
    if not (
        isinstance(value, list)
        and all(isinstance(one, str) and 0 < len(one) <= 60 for one in value)
        and len(value) <= 6
    ):
        row.wrong(
            'phones of this place are up to six texts of up to 60 letters: phones = ["chair 555-0101", "second 555-0102"].',
            "phones",
        )
        return ()
    return tuple(value)


def _people(office: Office) -> tuple[Finding, ...]:
    """Ids, names and words can be told apart, parties are known, and two parties can receive together."""
    found = [
        *twice("parties", "id", [p.id for p in office.parties]),
        *twice("parties", "word", [p.word for p in office.parties]),
        *twice("officials", "id", [o.id for o in office.officials]),
        *twice("officials", "name", [o.name for o in office.officials]),
    ]
    for i, official in enumerate(office.officials):
        found += known("party", official.party, office.parties, "parties", ("officials", i, "party"))
    if office.officials and len({o.party for o in office.officials}) < 2:
        found.append(
            (
                ("officials",),
                f"All {len(office.officials)} who sign at the desk are of one party: name one of another, as two receive each packet.",
            )
        )
    return tuple(found)


def _neighbours(office: Office) -> tuple[Finding, ...]:
    """Each place is listed once and, where there are two or more, has a neighbor other than itself."""
    found = list(twice("places", "id", [p.id for p in office.places]))
    for i, place in enumerate(office.places):
        if not place.beside and len(office.places) > 1:
            found.append(
                (
                    ("places", i),
                    f'[[places]] {place.id} has no with: write the id of the neighbor it is shown with while it is small, such as with = "'
                    f'{next(p.id for p in office.places if p is not place)}".',
                )
            )
        if place.beside and place.beside == place.id:
            found.append(
                (("places", i, "with"), f"{place.id} cannot be shown with itself: write the id of a neighbor.")
            )
        found += known("place", place.beside, office.places, "places", ("places", i, "with"))
    return tuple(found)
