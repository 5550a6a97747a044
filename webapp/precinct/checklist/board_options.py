"""What the fields of a count board are asked for: causes, outcomes, reasons, tables. The ids are stored for good, and printed on the board's papers in these words."""

from webapp.precinct.place.place import Place

CAUSES = (
    ("torn", "Torn"),
    ("wet", "Wet"),
    ("stained", "Stained"),
    ("folded-badly", "Folded badly"),
    ("wrong-paper", "Wrong paper"),
    ("remake", "To be remade: federal only, military, printed at home"),
    ("unreadable", "Unreadable"),
    ("blank-read", "Read as blank"),
    ("overvote", "Overvote"),
    ("identifying", "Identifying mark"),
    ("two-in-one", "Two in one envelope"),
    ("wrong-election", "Another election"),
    ("jam", "Jam"),
    ("other", "Other"),
)
OUTCOMES = (
    ("duplicated", "Duplicated"),
    ("fed-after-all", "Fed after all"),
    ("hand-counted", "Counted by hand"),
    ("not-counted", "Not counted, by law"),
    ("waiting", "Waiting"),
)
REJECTED = (
    ("no-signature", "No signature"),
    ("no-witness", "No witness or date, where the law asks for it"),
    ("wrong-election", "Another election"),
    ("opened-before", "Opened before it came here"),
    ("voted-in-person", "Voted in person as well"),
    ("other", "Other"),
)
HELD = (("challenged", "Challenged"), ("cure-open", "Cure still open"), ("late", "Late"), ("other", "Other"))
LATE = (("held", "Held, to be decided"), ("rejected", "Rejected, by law"), ("later-day", "Worked on a later day"))

HEADER_CARDS = (("1", "The first header card"), ("2", "The second, like the first"))
"""Fed before each batch where the place file says so (Mich. Admin. Code R 168.773(2): two identical ones, or the count must not start)."""

UP = "up"


def tables(place: Place) -> tuple[tuple[str, str], ...]:
    """Tables of the board, then its tabulators."""
    work = {"open": "opening", "batch": "batches", "problem": "problem ballots", "feed": "feeding"}
    return tuple(
        (table.id, f"Table {table.id}, {work[table.work]}{f' on {table.tabulator}' if table.tabulator else ''}")
        for table in (place.board.tables if place.board else ())
    )


KINDS = {
    "aside-cause": lambda place, day, at: CAUSES,
    "outcome": lambda place, day, at: OUTCOMES,
    "reject-reason": lambda place, day, at: REJECTED,
    "hold-reason": lambda place, day, at: HELD,
    "late-reason": lambda place, day, at: LATE,
    "table": lambda place, day, at: tables(place),
    "table-or-up": lambda place, day, at: (*tables(place), (UP, "Gets up, sits nowhere")),
    "header-card": lambda place, day, at: HEADER_CARDS if place.board and place.board.header == "fed-2" else (),
    "ballot-style": lambda place, day, at: tuple((style.id, f"style {style.id}") for style in place.styles),
}
"""By the word after `per` or `of` in the lists of steps."""
