"""What the test deck asks of a place file beyond the rest: sheet breaks, printed order, parties of choices, the straight-party contest.

Each check is pure: a place in, findings `(path, sentence)` out, as in `cross_checks.py`.
"""

from collections.abc import Iterator

from webapp.precinct.place.cross_checks import Finding, known
from webapp.precinct.place.place import Contest, Place, Style


def findings(place: Place) -> Iterator[Finding]:
    """Everything that does not fit together for the test deck."""
    for check in (sheets_break_where_contests_begin, printed_orders_fit, parties_of_choices_are_known, straight_fits):
        yield from check(place)


def sheets_break_where_contests_begin(place: Place) -> Iterator[Finding]:
    """Breaks are contests of the style in ballot order, never its first, and there is one sheet more than breaks."""
    for i, style in enumerate(place.styles):
        at = -1
        for j, contest in enumerate(style.breaks):
            if contest not in style.contests:
                yield (
                    ("styles", i, "breaks", j),
                    f"Contest {contest} begins a sheet of style {style.id} and is not on it: name a contest of this style.",
                )
                continue
            if style.contests.index(contest) <= max(at, 0):
                why = (
                    "the first contest begins the first sheet"
                    if not style.contests.index(contest)
                    else "breaks follow the order of contests"
                )
                yield ("styles", i, "breaks", j), f"{contest} in breaks of style {style.id} cannot be there: {why}."
            at = style.contests.index(contest)
        if style.breaks and style.sheets != len(style.breaks) + 1:
            yield (
                ("styles", i, "breaks"),
                f"Style {style.id} has {len(style.breaks)} in breaks and sheets = {style.sheets}: write sheets = {len(style.breaks) + 1}, or correct breaks.",
            )


def printed_orders_fit(place: Place) -> Iterator[Finding]:
    """A printed order is of a contest of the style and holds each of its choices once."""
    for i, style in enumerate(place.styles):
        for contest, choices in style.order.items():
            found = place.contest(contest)
            if contest not in style.contests or not found:
                yield (
                    ("styles", i, "order", contest),
                    f"order of style {style.id} names contest {contest}, which is not on it: name a contest of this style.",
                )
            elif sorted(choices) != sorted(choice.id for choice in found.choices):
                wanted = ", ".join(f'"{choice.id}"' for choice in found.choices)
                yield (
                    ("styles", i, "order", contest),
                    f"order of {contest} on style {style.id} does not hold each choice once: write {wanted} in the order of the paper.",
                )


def parties_of_choices_are_known(place: Place) -> Iterator[Finding]:
    """The party of a choice is a party of the place file."""
    for i, contest in enumerate(place.contests):
        for j, choice in enumerate(contest.choices):
            yield from known("party", choice.party, place.parties, "parties", ("contests", i, "choices", j, "party"))


def straight_fits(place: Place) -> Iterator[Finding]:
    """The straight-party contest is vote for one, its choices are parties, and no style breaks the rule."""
    if not place.test.straight:
        return
    contest = place.contest(place.test.straight)
    if not contest:
        yield from known("contest", place.test.straight, place.contests, "contests", ("test", "straight"))
        return
    if contest.n != 1 or contest.write_in:
        yield (
            ("test", "straight"),
            f"{contest.id} takes straight-party votes, so it is vote for 1 without write-in: correct it, or take straight out.",
        )
    parties = [straight_party(contest, k) for k in range(len(contest.choices))]
    if len(set(parties)) < len(parties) or not all(place.party(party) for party in parties):
        yield (
            ("test", "straight"),
            f"Each choice of {contest.id} is one party: write party in each, by its id in [[parties]], or give the choice that id.",
        )


def straight_party(contest: Contest, choice: int) -> str:
    """The party that a choice of the straight-party contest votes for: its `party`, else its id."""
    return contest.choices[choice].party or contest.choices[choice].id


def sheet_of(style: Style) -> tuple[int, ...]:
    """The sheet of each contest of a style, from 0."""
    sheet, found = 0, []
    for contest in style.contests:
        sheet += contest in style.breaks
        found.append(sheet)
    return tuple(found)
