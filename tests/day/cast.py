"""Other places for stories: two precincts with a style each and a shared box, a place with an own kind, one whose provisional voters are in the book."""

from dataclasses import replace

from day.story import HARROW
from webapp.precinct.place.place import Box, Kind, Precinct, Rules, Stock, Style, Tabulator

TWO = replace(
    HARROW,
    id="LB",
    precincts=(Precinct("P3", "Precinct 3"), Precinct("P4", "Precinct 4")),
    styles=(Style("3A", ("P3",), ("GOV", "CLERK")), Style("4B", ("P4",), ("GOV",))),
    stock=(Stock("3A", 1000, 100), Stock("4B", 400, 50)),
    boxes=(Box("X1"), Box("X2", ("main",), False)),
    tabulators=(Tabulator("T1", "A-100", "X1", 9000), Tabulator("T2", "A-200", "X2", 4000)),
)

IN_BOOK = replace(HARROW, rules=Rules(typed="all", provisional_in_poll_book=True, found="emergency"))

CHALLENGED = replace(HARROW, kinds=(Kind("challenged", True, True, True, True),))
