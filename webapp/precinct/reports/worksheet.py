"""The balance worked by hand: the figures that are added up on each side of a line, and the name of a difference.

It uses the same table as the balance (`ballot_table`, with the place's own flags), so that paper and program never differ. A figure that
counts 0 on a line is not asked there.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from webapp.precinct.balance.ballot_table import CAST, BallotTable
from webapp.precinct.balance.line_words import LINES
from webapp.precinct.balance.night_figures import read_dispositions
from webapp.precinct.day.notes import dispositions
from webapp.precinct.place.place import Box, Place
from webapp.precinct.place.seal_points import BIN_WORDS

KINDS: Mapping[str, str] = {
    "spoiled": "Spoiled, another given",
    "spoiled-not-reissued": "Spoiled, no other given",
    "provisional": "Provisional",
    "emergency": "Left in emergency bins",
    "hand-counted": "Counted by hand, without copies made here",
    "taken": "Carried off by a voter",
    "left": "Left without casting (checked in, no ballot drawn)",
    "set-apart": "Set apart",
}
CARDS = (("card", "Cards from the accessible device that were fed"), ("absentee", "Absentee ballots fed here"))
Weight = Callable[[str], int]
LOGGED = ("spoiled", "provisional")


@dataclass(frozen=True, slots=True)
class Term:
    """One figure of a side: `sign` is +1 or -1, `key` names the figure wherever it is asked again."""

    sign: int
    key: str
    label: str


@dataclass(frozen=True, slots=True)
class Worksheet:
    """One line of the balance: gap = left less right. `more_left` and `more_right` finish the sentence "3 more ..."."""

    id: str
    title: str
    left: tuple[Term, ...]
    right: tuple[Term, ...]
    more_left: str
    more_right: str
    note: str = ""

    def gap(self, figures: Mapping[str, int]) -> int:
        """Left less right of these figures; one that is not there counts 0."""
        return sum(t.sign * figures.get(t.key, 0) for t in self.left) - sum(
            t.sign * figures.get(t.key, 0) for t in self.right
        )


def worksheets(place: Place) -> tuple[Worksheet, ...]:
    """Every line that can be worked out by hand at this place, in the order of the balance."""
    table = read_dispositions(dispositions(place))
    found = [
        _stock(place, table),
        _poll_book(place, table),
        _paper_to_book(place, table),
        *_tabulators(place),
        *_boxes(place),
        *_stubs(place),
        *_aside(place),
        *_containers(place),
    ]
    found.append(
        _line(
            "seal-stock",
            "Seals",
            _terms("issued", "Issued by the office"),
            _terms("applied", "Applied today", "returned", "Going back unused", "damaged", "Damaged"),
        )
    )
    return tuple(found)


def tally_kinds(place: Place) -> tuple[tuple[str, str], ...]:
    """(id, words) of every kind of ballot that this place sets aside, its own kinds last."""
    own = tuple(
        (kind.id, kind.id.replace("-", " ").capitalize())
        for kind in place.kinds
        if kind.id not in KINDS and kind.id not in dict(CARDS) and kind.id != "copy"
    )
    return (
        *((kind, words) for kind, words in KINDS.items() if kind != "set-apart" or place.rules.found == "set-apart"),
        *own,
    )


def _line(
    id: str, title: str, left: tuple[Term, ...], right: tuple[Term, ...], note: str = "", phrases: str = ""
) -> Worksheet:
    words = LINES[phrases or id.partition(":")[0]]
    return Worksheet(id, title, left, right, words.more_left[1], words.more_right[1], note)


def _terms(*pairs: str) -> tuple[Term, ...]:
    """Terms from keys and labels in turn; a label that begins with "less " has sign -1."""
    return tuple(
        Term(-1 if label.startswith("less ") else 1, key, label)
        for key, label in zip(pairs[::2], pairs[1::2], strict=True)
    )


def _drawn(place: Place) -> tuple[Term, ...]:
    return _terms(
        "received",
        "Ballots received",
        "resupply",
        "Resupply from the office",
        "sent",
        "less sent to other places",
        "short",
        "less what opened packs held fewer than their covers say",
        "over",
        "What opened packs held more than their covers say",
        "unused",
        "less unused, every style",
    )


def _tapes(place: Place) -> tuple[Term, ...]:
    rows = [term for t in place.tabulators for term in _terms(f"tape:{t.id}", f"Ballots on the tape of {t.id}")]
    return (
        *rows,
        *_terms(
            "again",
            "less ballots that were fed again on another tabulator",
            "off",
            "less taken off for a failed machine, where local law allows it",
        ),
    )


def _weighed(place: Place, weight: Weight) -> Iterator[Term]:
    """The set-aside kinds that count on a line, with their weight, which is +1 or -1."""
    return (_signed(n, kind, words) for kind, words in tally_kinds(place) if (n := weight(kind)))


def _cards(weight: Weight) -> Iterator[Term]:
    return (_signed(n, f"cast:{card}", words) for card, words in CARDS if (n := weight(card)))


def _signed(n: int, key: str, words: str) -> Term:
    return Term(n, key, words if n > 0 else f"less {words[:1].lower()}{words[1:]}")


def _stock(place: Place, table: BallotTable) -> Worksheet:
    right = (*_tapes(place), *_weighed(place, table.stock_weight), *_cards(lambda card: table.stock_weight(CAST, card)))
    note = (
        "Only ballots out of packs: leave out spoiled or set-aside cards of the accessible device, absentee ballots and copies made here."
        if place.tabulators
        else ""
    )
    return _line("stock", "Stock: ballots drawn, ballots accounted for", _drawn(place), right, note)


def _poll_book(place: Place, table: BallotTable) -> Worksheet:
    left = (
        *(term for p in place.precincts for term in _terms(f"book:{p.id}", f"Check-ins of {p.name}")),
        *_terms("cancelled", "less check-ins that were cancelled"),
    )
    right = (*_tapes(place), *_weighed(place, table.book_weight), *_cards(lambda card: table.book_weight(CAST, card)))
    return _line("poll-book", "Poll book: check-ins, ballots with a voter in the book", left, right)


def _paper_to_book(place: Place, table: BallotTable) -> Worksheet:
    less = tuple(
        Term(
            -t.sign,
            t.key,
            f"less {t.label[:1].lower()}{t.label[1:]}" if t.sign > 0 else t.label.removeprefix("less ").capitalize(),
        )
        for t in _poll_book(place, table).left
    )
    right = (
        *_weighed(place, lambda kind: table.stock_weight(kind) - table.book_weight(kind)),
        *_cards(lambda card: table.stock_weight(CAST, card) - table.book_weight(CAST, card)),
    )
    return _line(
        "paper-to-book",
        "Paper against book, while no tape is in",
        (*_drawn(place), *less),
        right,
        "Leave it out once a tape is in: the two lines above say it all.",
    )


def _tabulators(place: Place) -> Iterator[Worksheet]:
    for t in place.tabulators:
        public = _terms(
            f"public-close:{t.id}",
            "Public counter at the close",
            f"public-zero:{t.id}",
            "less public counter at the zero tape",
        )
        yield _line(
            f"counter:{t.id}",
            f"Public counter of {t.id} against its tape",
            public,
            _terms(f"tape:{t.id}", f"Ballots on the tape of {t.id}"),
        )
        protective = _terms(
            f"lifetime-close:{t.id}",
            "Protective counter at the close",
            f"lifetime-zero:{t.id}",
            "less protective counter at the zero tape",
        )
        yield _line(f"lifetime:{t.id}", f"Protective counter of {t.id} against its public counter", protective, public)


def _boxes(place: Place) -> Iterator[Worksheet]:
    for box in place.boxes:
        inside = [t for t in place.tabulators if t.box == box.id]
        if place.rules.bins_counted != "never" and inside:
            name = inside[0].id if len(inside) == 1 else box.id
            tapes = tuple(term for t in inside for term in _terms(f"tape:{t.id}", f"Ballots on the tape of {t.id}"))
            off = _terms(f"again:{box.id}", "less fed again or taken off, of these tabulators")
            yield _line(
                f"bins:{name}", f"Bins of box {box.id}, where they were counted by hand", _bins(box), (*tapes, *off)
            )
        if box.emergency:
            yield _line(
                f"emergency:{box.id}",
                f"Emergency bin of box {box.id}",
                _terms(f"found:{box.id}", "Found in it"),
                _terms(
                    f"fed:{box.id}",
                    "Fed into the tabulator",
                    f"by-hand:{box.id}",
                    "Counted by hand",
                    f"left:{box.id}",
                    "Left in it",
                ),
            )


def _bins(box: Box) -> tuple[Term, ...]:
    rows = tuple(
        term for name in box.bins for term in _terms(f"bin:{box.id}:{name}", BIN_WORDS.get(name, f"Bin {name}"))
    )
    return (*rows, *_terms(f"emptied:{box.id}", "Taken out during the day, counted or by the counter"))


def _stubs(place: Place) -> Iterator[Worksheet]:
    for stock in place.stock:
        yield _line(
            f"stubs:{stock.style}",
            f"Stubs of style {stock.style}, where ballots have them",
            _terms(
                f"next:{stock.style}",
                "Next stub",
                f"first:{stock.style}",
                "less first stub",
                f"missing:{stock.style}",
                "less numbers that were missing",
            ),
            _terms(f"drawn:{stock.style}", f"Ballots of style {stock.style} drawn: received less unused"),
        )


def _aside(place: Place) -> Iterator[Worksheet]:
    for kind in LOGGED:
        yield _line(
            f"aside:{kind}",
            f"{kind.capitalize()}: envelope against log",
            _terms(f"envelope:{kind}", "Counted from the envelope"),
            _terms(f"log:{kind}", "On the log, the tally sheet"),
        )


def _containers(place: Place) -> Iterator[Worksheet]:
    filled = [c for c in place.containers if c.ballots]
    if filled:
        right = (*_tapes(place), *_terms("all-by-hand", "Counted by hand, copies too"))
        yield _line(
            "containers",
            "Containers: ballots in them, ballots counted",
            tuple(term for c in filled for term in _terms(f"in:{c.id}", f"In container {c.id}")),
            right,
        )
