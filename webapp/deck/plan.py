"""The plan of a deck from a place file: contests with their write-in lines and parties, styles with their sheets and printed order."""

from webapp.deck.pattern import NoDeck
from webapp.deck.positions import DeckContest, DeckPlan, DeckStyle, printed_positions
from webapp.precinct.place.deck_checks import sheet_of, straight_party
from webapp.precinct.place.place import Contest, Place, Style

FIGURES = ("under", "over", "ballots")


def plan(place: Place) -> DeckPlan:
    """What a deck needs of this place. Raises NoDeck for what a checked place file may hold and a deck cannot."""
    contests = tuple(_contest(place, contest) for contest in place.contests)
    by_id = {contest.id: contest for contest in contests}
    return DeckPlan(
        place=place.id,
        edition=place.edition,
        digest=place.digest.hex(),
        contests=contests,
        styles=tuple(_style(style, by_id) for style in place.styles),
        precincts=tuple(precinct.id for precinct in place.precincts),
        tabulators=tuple(tabulator.id for tabulator in place.tabulators),
        folded=place.test.folded,
        by_precinct=place.test.every == "precinct",
        straight=place.test.straight,
        retain_days=place.test.retain_days or 0,
    )


def _contest(place: Place, contest: Contest) -> DeckContest:
    for choice in contest.choices:
        if choice.id in FIGURES:
            raise NoDeck(
                f"Contest {contest.id} has a choice with the id {choice.id}, which is the name of another figure on the tape: "
                "give this choice another id."
            )
    if contest.id == place.test.straight:
        parties = tuple(straight_party(contest, k) for k in range(len(contest.choices)))
    else:
        parties = tuple(choice.party for choice in contest.choices)
    return DeckContest(
        id=contest.id,
        n=contest.n,
        choices=tuple(choice.id for choice in contest.choices),
        lines=contest.lines,
        parties=parties if any(parties) else (),
        over_as_votes=place.rules.overvotes == "votes",
        title=contest.title,
        labels=tuple(choice.label for choice in contest.choices),
    )


def _style(style: Style, contests: dict[str, DeckContest]) -> DeckStyle:
    if style.sheets > 1 and not style.breaks:
        raise NoDeck(
            f"Style {style.id} has {style.sheets} sheets, and the place file does not say where they begin: write breaks, "
            "the contests that begin a further sheet."
        )
    found = tuple(contests[contest] for contest in style.contests)
    return DeckStyle(style.id, style.precincts, found, sheet_of(style), printed_positions(found, dict(style.order)))
