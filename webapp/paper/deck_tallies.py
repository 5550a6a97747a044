"""For those who check the test deck: check sheets (a grid of places, no names), the chart of expected tapes, and the feeding list."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from webapp.deck.comparison import WORDS
from webapp.deck.deck import Deck
from webapp.deck.expected import TOGETHER, Tape
from webapp.deck.positions import DeckStyle
from webapp.deck.rows import Row
from webapp.paper.parts.deck_marking import LAW, REFUSED, places_on_paper, sheet_of_deck
from webapp.paper.parts.sheet import RIGHT, PaperSheet
from webapp.paper.parts.write_in_parts import BOX, Column, caution, signatures, table, title
from webapp.precinct.place.place import Place

NAME = "Check sheets, chart and feeding list"
ACROSS = 10  # ballots side by side on a check sheet
GROUP = 25  # ballots fed before the counter is read


def tallies_pdf(place: Place, deck: Deck) -> bytes:
    """Check sheets of every style, a chart for each tabulator and for all together, a feeding list for each tabulator."""
    sheet = sheet_of_deck(place, deck, NAME)
    for style in deck.plan.styles:
        _check_sheet(sheet, style, deck.rows_of(style.id))
    for tabulator, tape in deck.expected.items():
        if tabulator != TOGETHER or len(deck.plan.tabulators) > 1:
            _chart(sheet, deck, tabulator, tape)
    for tabulator in deck.plan.tabulators:
        _feeding_list(sheet, deck, tabulator)
    return bytes(sheet.output())


def _check_sheet(sheet: PaperSheet, style: DeckStyle, rows: Sequence[Row]) -> None:
    """Ten ballots to a grid; a cell says which ovals of the contest are filled, counted from the first as printed."""
    sheet.again = f"Check sheet, style {style.id}, continued"
    sheet.leaf()
    title(sheet, f"Check sheet, style {style.id}: {len(rows)} ballots", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        "For a second person, who did not mark. Look at each ballot, not at the marking sheet. A number is the place of a filled oval in its contest, counted from the first "
        "as printed, write-in lines counted on; – means that the contest is empty; N, a name is written on the line; F, the ballot was folded. Every other oval is empty, TEST stands "
        "across the ballot. Tick a ballot that is right. A ballot that is wrong is marked again on a new ballot, never corrected.",
        9.5,
        lead=1.2,
    )
    sheet.down(1)
    for unit, of_unit in groupby(rows, key=lambda row: row.id.rpartition("-")[0]):
        here = list(of_unit)
        for first in range(0, len(here), ACROSS):
            part = here[first : first + ACROSS]
            free = ("",) * (ACROSS - len(part))
            columns = (
                Column(f"Ballots {unit}-", 5.6),
                *(Column(row.id.rpartition("-")[2], 1.2, "C", True) for row in part),
                *(Column(" ", 1.2) for _ in free),
            )
            lines = [(*line, *free) for line in (*_grid(style, part), ("right", *(BOX for _ in part)))]
            sheet.room(14 + 7 * min(len(lines), 30))
            table(sheet, columns, lines, size=9)
            sheet.down(1.5)
    signatures(sheet, ("checked every ballot", "of another party"))


def _grid(style: DeckStyle, rows: Sequence[Row]) -> Iterator[tuple[str, ...]]:
    yield ("precinct", *(row.precinct for row in rows))
    if any(row.fold for row in rows):
        yield ("folded", *("F" if row.fold else "" for row in rows))
    if any(row.sheets for row in rows):
        yield ("sheets", *(str(row.sheets or style.sheets) for row in rows))
    for i, contest in enumerate(style.contests):
        places = places_on_paper(style, contest)
        head = (contest.title or contest.id) + (f" (sheet {style.sheet_of[i] + 1})" if style.sheets > 1 else "")
        yield (
            f"{head}, {len(places)} ovals" if len(places) != 1 else f"{head}, 1 oval",
            *(_cell(places, row, contest.id) for row in rows),
        )


def _cell(places: dict[str, int], row: Row, contest: str) -> str:
    marked, named = row.marks.get(contest, ()), row.names.get(contest, ())
    found = [str(places[p]) + ("N" if p in named else "") for p in sorted(marked, key=places.__getitem__)]
    found += [f"–N{places[p]}" for p in named if p not in marked]
    return " ".join(found) or "–"


def _chart(sheet: PaperSheet, deck: Deck, tabulator: str, tape: Tape) -> None:
    """Draws expected figures, with free boxes for the tape's next to them."""
    name = "all tabulators together" if tabulator == TOGETHER else tabulator
    sheet.again = f"Chart of {name}, continued"
    sheet.leaf()
    title(sheet, f"Chart: what the tape of {name} must read", 14, right=RIGHT - sheet.stamped)
    sheet.say(
        "Made before the ballots are marked, and checked by a second person from the marking sheets. Every figure must agree. If one differs: stop, find the cause, correct it, "
        "and begin the whole test of every tabulator again from zero.",
        9.5,
        lead=1.2,
    )
    sheet.down(1)
    columns = (Column("", 7), Column("Expected", 1.6, "R", True), Column("Tape", 2), Column("Agrees", 1.2))
    counts = [("Ballots", str(tape["ballots"]), "", BOX)]
    if "sheets" in tape:
        counts.append(("Sheets", str(tape["sheets"]), "", BOX))
    counts += [(f"Ballots of precinct {precinct}", str(n), "", BOX) for precinct, n in tape["precincts"].items()]
    table(sheet, columns, counts, height=6.6)
    for contest in deck.plan.contests:
        figures = tape["contests"][contest.id]
        lines = [(contest.name_of(choice), str(n), "", BOX) for choice, n in figures["votes"].items()]
        lines += [
            (WORDS[key].capitalize(), str(figures[key]), "", BOX)
            for key in ("write_in", "under", "over", "ballots")
            if key in figures
        ]
        sheet.room(12 + 6.8 * min(len(lines), 12))
        sheet.say(f"{contest.title or contest.id} (vote for {contest.n})", 10.5, True)
        table(sheet, columns, lines, height=6.6, again=f"{contest.title or contest.id}, continued")
    signatures(sheet, ("chart checked", "tape compared", "of another party"))


def _feeding_list(sheet: PaperSheet, deck: Deck, tabulator: str) -> None:
    """What is fed in which order, and the counter after each group."""
    sheet.again = f"Feeding list of {tabulator}, continued"
    sheet.leaf()
    title(sheet, f"Feeding list of {tabulator}", 14, right=RIGHT - sheet.stamped)
    fed = [row.id for row in deck.rows if not row.is_refused for _ in range(row.times(tabulator))]
    sheet.say(
        f"Print the zero tape first. Feed in this order, {GROUP} at a time, and read the public counter after each group. {len(fed)} ballots are counted in all"
        + (
            f", {deck.feeds[tabulator].sheets} sheets; a counter of sheets shows more than is written here."
            if deck.feeds[tabulator].sheets != len(fed)
            else "."
        ),
        10,
    )
    caution(sheet, "A ballot that jams or is fed twice is not put right here: zero the tabulator and begin again.")
    sheet.down(1)
    groups = [fed[i : i + GROUP] for i in range(0, len(fed), GROUP)]
    lines, counter = [], 0
    for number, group in enumerate(groups, 1):
        counter += len(group)
        lines.append((str(number), runs(group), str(len(group)), str(counter), ""))
    columns = (
        Column("Group", 1.2),
        Column("Ballots in order", 9),
        Column("Fed", 1, "R"),
        Column("Counter then", 1.8, "R", True),
        Column("Counter read", 2.4),
    )
    table(sheet, columns, lines, height=8)
    title(sheet, "Then the cards that must be refused")
    refused = [(row.id, REFUSED[row.why], BOX, str(counter), "") for row in deck.rows if row.is_refused]
    table(
        sheet,
        (
            Column("Card", 1.5, bold=True),
            Column("What it is", 6.5),
            Column("Handed back", 1.8),
            Column("Counter still", 1.8, "R", True),
            Column("Counter read", 2.4),
        ),
        refused,
        height=8,
    )
    sheet.say(LAW, 9)
    signatures(sheet, ("fed by", "of another party"))


def runs(ids: Sequence[str]) -> str:
    """Ids in order, those that follow one another as a run: "1-001 to 1-015, 1-T, 1-T"."""
    found: list[list[str]] = []
    for one in ids:
        if found and follows(found[-1][-1], one):
            found[-1].append(one)
        else:
            found.append([one])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in found)


def follows(a: str, b: str) -> bool:
    """Whether id b is the number after id a."""
    (head_a, _, number_a), (head_b, _, number_b) = a.rpartition("-"), b.rpartition("-")
    return head_a == head_b and number_a.isdigit() and number_b.isdigit() and int(number_b) == int(number_a) + 1
