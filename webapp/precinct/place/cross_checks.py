"""What must hold between the tables of a place file. Each check is a pure function: a place in, findings out, nothing raised.

A finding is `(path, sentence)`; the path leads to the line (`toml_line_numbers.py`), its numbers count the rows of a table from 0.
A list that could not be read is empty; what refers to it is then left alone, so that one slip is said once.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from webapp.precinct.place.place import Place
from webapp.precinct.place.seal_points import seal_points, twins

Finding = tuple[tuple[str | int, ...], str]


def twin_doors(place: Place) -> Iterator[Finding]:
    """A door that is listed under a second name: seals on it would be asked for twice. A place file that was signed so is read as one door."""
    for point, second in twins(place).items():
        row = next(i for i, seal in enumerate(place.applied) if seal.at == second)
        words = dict(seal_points(replace(place, applied=())))[point]
        yield (
            ("applied", row, "at"),
            f'[[applied]] {second} is the {words}, which has a name of its own: write at = "{point}".',
        )


def findings(place: Place) -> Iterator[Finding]:
    """Everything that does not fit together in this place."""
    for check in (
        ids_are_unique,
        things_have_their_own_id,
        names_differ,
        references_lead_somewhere,
        everything_is_used,
        two_parties_can_sign,
        one_person_is_chair,
        hours_run_forward,
        rules_agree,
        votes_by_precinct,
        seals_are_in_one_place,
    ):
        yield from check(place)


def ids_are_unique(place: Place) -> Iterator[Finding]:
    """No two rows of one table share an id; capitals do not tell ids apart, as people read them aloud."""
    for table in (
        "parties",
        "officials",
        "precincts",
        "styles",
        "contests",
        "boxes",
        "tabulators",
        "containers",
        "kinds",
    ):
        yield from twice(table, "id", [row.id for row in getattr(place, table)])
    yield from twice("applied", "at", [row.at for row in place.applied])
    yield from twice("stock", "style", [row.style for row in place.stock], "write one row and the sum of both")
    for i, contest in enumerate(place.contests):
        for path, sentence in twice("choices", "id", [choice.id for choice in contest.choices]):
            yield ("contests", i, *path), sentence.replace("[[choices]]", f"choices of {contest.id}")


def things_have_their_own_id(place: Place) -> Iterator[Finding]:
    """A tabulator, a box and a container never share an id: steps are kept for each of them by id alone."""
    taken: dict[str, str] = {}
    for table, one in (("tabulators", "tabulator"), ("boxes", "box"), ("containers", "container")):
        for i, row in enumerate(getattr(place, table)):
            other = taken.setdefault(row.id.lower(), one)
            if row.id and other != one:
                yield (table, i, "id"), f"{row.id} names a {other} already: give this {one} another id."


def names_differ(place: Place) -> Iterator[Finding]:
    """People, party words, serial numbers and copies of a choice can be told apart on a screen."""
    yield from twice(
        "officials", "name", [o.name for o in place.officials], "add a second name, so that nobody signs for the other"
    )
    yield from twice(
        "parties", "word", [p.word for p in place.parties], "choose another, as it alone stands under the initials"
    )
    yield from twice("tabulators", "serial", [t.serial for t in place.tabulators], "read it again from the label")
    for i, contest in enumerate(place.contests):
        for path, sentence in twice(
            "choices", "label", [choice.label for choice in contest.choices], "write each as it stands on the ballot"
        ):
            yield ("contests", i, *path), sentence.replace("[[choices]]", f"choices of {contest.id}")


def references_lead_somewhere(place: Place) -> Iterator[Finding]:
    """Each row that one table names is in the other."""
    for i, official in enumerate(place.officials):
        yield from known("party", official.party, place.parties, "parties", ("officials", i, "party"))
    for i, style in enumerate(place.styles):
        for j, precinct in enumerate(style.precincts):
            yield from known("precinct", precinct, place.precincts, "precincts", ("styles", i, "precincts", j))
        for j, contest in enumerate(style.contests):
            yield from known("contest", contest, place.contests, "contests", ("styles", i, "contests", j))
    for i, tabulator in enumerate(place.tabulators):
        yield from known("box", tabulator.box, place.boxes, "boxes", ("tabulators", i, "box"))
    for i, stock in enumerate(place.stock):
        yield from known("style", stock.style, place.styles, "styles", ("stock", i, "style"))
    for i, pair in enumerate(() if isinstance(place.rules.different, str) else place.rules.different):
        for j, party in enumerate(pair):
            yield from known("party", party, place.parties, "parties", ("rules", "different", i, j))
    for i, contest in enumerate(() if isinstance(place.rules.typed, str) else place.rules.typed):
        yield from known("contest", contest, place.contests, "contests", ("rules", "typed", i))


def everything_is_used(place: Place) -> Iterator[Finding]:
    """A precinct has a style, a contest is on a style, a style has stock: anything left over was forgotten somewhere."""
    if place.styles:
        covered = {p for style in place.styles for p in style.precincts}
        voted = {c for style in place.styles for c in style.contests}
        for i, precinct in enumerate(place.precincts):
            if precinct.id and precinct.id not in covered:
                yield (
                    ("precincts", i),
                    f"No style is voted in precinct {precinct.id}: name it in precincts of a [[styles]], or take it out.",
                )
        for i, contest in enumerate(place.contests):
            if contest.id and contest.id not in voted:
                yield (
                    ("contests", i),
                    f"Contest {contest.id} is on no ballot: name it in contests of a [[styles]], or take it out.",
                )
    stocked = {stock.style for stock in place.stock}
    for i, style in enumerate(place.styles):
        if style.id and style.id not in stocked and place.kind == "place":
            yield (
                ("styles", i),
                (
                    f'Style {style.id} has no stock: write [[stock]] with style = "{style.id}" and received, '
                    "0 where its ballots are printed on the spot."
                ),
            )


def two_parties_can_sign(place: Place) -> Iterator[Finding]:
    """At least two officials count as of different parties; else no pair could ever sign."""
    staff, pairs = Counter(o.party for o in place.officials), place.rules.different
    if not staff:
        return
    if pairs == "party":
        if len(staff) < 2:
            party = place.party(next(iter(staff)))
            yield (
                ("officials",),
                (
                    f"All {len(place.officials)} officials are of one party, {party.name if party else next(iter(staff))}: name one of another "
                    "party, or write in [rules] different which pairs of parties count as different."
                ),
            )
    elif pairs and not any(_can_pair(staff, *pair) for pair in pairs):
        yield (
            ("rules", "different"),
            (
                "No two officials are of parties that count as different here: name officials of both parties of a pair, "
                "or change the pairs."
            ),
        )


def one_person_is_chair(place: Place) -> Iterator[Finding]:
    """Exactly one official has the role `chair`, whatever the law of the place calls it."""
    chairs = [i for i, o in enumerate(place.officials) if o.role == "chair"]
    if place.officials and not chairs:
        yield (
            ("officials",),
            'Nobody here is the chair: write role = "chair" for the one who is in charge, whatever the title.',
        )
    for i in chairs[1:]:
        first = place.officials[chairs[0]].name
        yield (
            ("officials", i, "role"),
            f'{first} is the chair already: write role = "deputy" or what {place.officials[i].name} does.',
        )


def hours_run_forward(place: Place) -> Iterator[Finding]:
    """The polls close after they open, on one day."""
    if place.closes <= place.opens:
        yield (
            ("place", "closes"),
            (
                f"The polls would close at {place.closes:%H:%M}, not after they open at {place.opens:%H:%M}: "
                'write both on the 24-hour clock, such as opens = "07:00" and closes = "20:00".'
            ),
        )


def rules_agree(place: Place) -> Iterator[Finding]:
    """A kind does not say otherwise than the rules."""
    for i, kind in enumerate(place.kinds):
        if kind.id == "provisional" and kind.in_poll_book != place.rules.provisional_in_poll_book:
            yield (
                ("kinds", i, "in_poll_book"),
                (
                    f"in_poll_book of the kind provisional is {str(kind.in_poll_book).lower()}, and [rules] says "
                    f"provisional_in_poll_book = {str(place.rules.provisional_in_poll_book).lower()}: write the same in both."
                ),
            )


def votes_by_precinct(place: Place) -> Iterator[Finding]:
    """Tapes that print votes by precinct are those of a place of several precincts, whose contests are typed there."""
    said, path = place.rules.votes, ("rules", "votes")
    if said == "sum":
        return
    if place.kind == "board":
        yield path, f'votes of [rules] is "{said}", and this is a count board: write votes in [board].'
    elif len(place.precincts) < 2:
        yield path, f'votes of [rules] is "{said}", and the place has one precinct: leave it out.'
    elif place.kind == "place" and not place.typed_contests():
        yield (
            path,
            f'votes of [rules] is "{said}", and no contest is typed at this place: write typed = "all" or a list of contests.',
        )


def seals_are_in_one_place(place: Place) -> Iterator[Finding]:
    """A seal is on the equipment or in the packet of issued seals, never both, and never on two doors."""
    issued = set(place.seals)
    on: dict[str, str] = {}
    for i, seal in enumerate(place.applied):
        if seal.number and seal.number in issued:
            yield (
                ("applied", i, "number"),
                f"Seal {seal.number} is on {seal.at} and among the issued [[seals]] too: read both lists again and correct one.",
            )
        if seal.number and on.setdefault(seal.number, seal.at) != seal.at:
            yield (
                ("applied", i, "number"),
                f"Seal {seal.number} is on {on[seal.number]} and on {seal.at}: read the numbers again and correct one.",
            )


def _can_pair(staff: Counter[str], a: str, b: str) -> bool:
    return staff[a] >= 2 if a == b else bool(staff[a] and staff[b])


def known(what: str, wanted: str, rows: Sequence[Any], table: str, path: tuple[str | int, ...]) -> Iterator[Finding]:
    """Each named row is in the other table; no mistake is noted where either table could not be read."""
    ids = [row.id for row in rows if row.id]
    if wanted and ids and wanted not in ids:
        listed = ", ".join(ids[:8]) + (" ..." if len(ids) > 8 else "")
        yield path, f"There is no {what} {wanted}: write one of {listed}, or add it as [[{table}]]."


def twice(
    table: str, key: str, values: Iterable[str], instead: str = "give one of the two another"
) -> Iterator[Finding]:
    """No value of a column is in two rows of a table."""
    seen: set[str] = set()
    for i, value in enumerate(values):
        if value and value.lower() in seen:
            yield (table, i, key), f'{key} "{value}" is in two [[{table}]]: {instead}.'
        seen.add(value.lower())
