"""A place that two receivers of two parties keyed from its paper: the entry as what it says, and its figures as the desk reads a packet's.

Nothing signs a paper but ink, so nothing of it is proven: the entry names which papers there were, in what state, and who signed them in ink.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.checking import packet_lacks
from webapp.office.checking.packet_checks import Report
from webapp.office.checking.packet_differences import Compared, Difference
from webapp.office.checking.packet_lacks import Lack
from webapp.office.checking.single_checks import Check
from webapp.office.checking.what_counts import KeyedFromPaper
from webapp.office.keying import paper_core, paper_leaf, paper_values
from webapp.office.questions.canvass_board import line_title
from webapp.office.totals.totals import PacketFigures
from webapp.packet import contents
from webapp.packet.envelope import Opened, core_digest
from webapp.packet.print_content import total
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

WHYS = (
    ("no-packet", "No packet came: the laptop died, or it is lost"),
    ("refused", "The packet that came was refused"),
    ("doubted", "A packet is in, and its figures are doubted"),
)
WHOLE, TORN, UNREADABLE, MISSING = "whole", "torn", "unreadable", "missing"
STATES = (
    (WHOLE, "Whole"),
    (TORN, "Torn, part of it is here"),
    (UNREADABLE, "Here, cannot be read"),
    (MISSING, "Not here"),
)
STATE_WORDS = {TORN: "torn", UNREADABLE: "here and cannot be read", MISSING: "not here"}
OF_PLACE = (
    ("statement", "Statement, or first page of the printed packet"),
    ("log", "Paper log and forms of the day"),
    ("slip", "Carry slip"),
    ("certificate", "Certificates"),
)
NOTE = "note."


@dataclass(frozen=True, slots=True)
class Paper:
    """One paper on the table. `ink`: (role, party) of those who signed it in ink; `prints`: how many of a tape, None where nobody counted."""

    id: str
    state: str
    prints: int | None
    ink: tuple[tuple[str, str], ...]

    @property
    def tape(self) -> bool:
        return self.id.startswith("tape/")


@dataclass(frozen=True, slots=True)
class KeyedPlace:
    """One `place-keyed`. `opened`: its figures as a packet that was read; `amends`: ids of the entries it replaces."""

    id: bytes
    number: int
    kept: int
    amends: tuple[bytes, ...]
    why: str
    papers: tuple[Paper, ...]
    opened: Opened

    @property
    def digest(self) -> bytes:
        return self.opened.digest

    def as_paper(self, place: Place, packets: Iterable[tuple[bytes, Opened]]) -> KeyedFromPaper:
        """The keyed place as `what_counts` takes it, compared with these packets of the place."""
        same = frozenset(digest for digest, opened in packets if not differences(self.opened.core, opened.core, place))
        return KeyedFromPaper(self.kept, self.id, self.digest, self.amends, same)


def papers(place: Place) -> list[tuple[str, str]]:
    """(id, words) of every paper that is asked for: results tapes first, then zero tapes, then the rest."""
    return [
        *((f"tape/{t.id}", f"Results tape of {t.id}") for t in place.tabulators),
        *((f"zero/{t.id}", f"Zero tape of {t.id}") for t in place.tabulators),
        *OF_PLACE,
    ]


def of_entry(entry: Any, texts: Mapping[str, str], place: Place) -> KeyedPlace:
    """An entry of the office's record, with its notes as the remarks of the place. `place`: the place file it names."""
    body = entry.body
    core = paper_core.whole(body["core"], place, entry.kept)
    signers = [[signer.role, signer.party, "ink"] for signer in entry.signers]
    gaps = {line.name: line.gap for line in balance(contents.figures(core, place)).gaps}
    remarks = [
        [entry.number, [line], [gaps[line]], text, entry.kept, signers]
        for name, text in texts.items()
        if name.startswith(NOTE) and (line := name[len(NOTE) :]) in gaps
    ]
    told = {"v": contents.VERSION, "remarks": remarks, "statements": [], "short": [], "not_so": []}
    rows = tuple(
        Paper(row["paper"], row["state"], row.get("prints"), tuple((r, p) for r, p in row.get("ink", ())))
        for row in body["papers"]
    )
    return KeyedPlace(
        entry.id,
        entry.number,
        entry.kept,
        tuple(bytes(one) for one in body.get("amends") or ()),
        body["why"],
        rows,
        Opened(core, told, None, b"", core_digest(body["core"]), place.mode),
    )


def differences(paper: Mapping[str, Any], packet: Mapping[str, Any], place: Place) -> list[Difference]:
    """Every number on the paper that the packet has otherwise, or has not; times are no figures."""
    mine, theirs = paper_values.values_of(paper, place), paper_values.values_of(packet, place)
    return [
        Difference(_id(one.name), f"{one.section}, {one.label}", mine[one.name], theirs.get(one.name))
        for one in paper_leaf.controls(place)
        if one.kind == "number" and one.name in mine and mine[one.name] != theirs.get(one.name)
    ]


def compared(one: Mapping[str, Any], other: Mapping[str, Any], place: Place, alone: Iterable[str] | None) -> Compared:
    """A paper against a packet, or against another paper, in either order. `alone`: contests whose votes may be shown for this place by itself."""
    left, right = paper_values.values_of(one, place), paper_values.values_of(other, place)
    lines = [c for c in paper_leaf.controls(place) if c.kind == "number" and (c.name in left or c.name in right)]
    sides = (
        (left, right) if one["number"] == 0 and other["number"] == 0 else (left,) if one["number"] == 0 else (right,)
    )
    lines = [c for c in lines if any(c.name in side for side in sides)]
    differ = [
        Difference(_id(c.name), f"{c.section}, {c.label}", left.get(c.name), right.get(c.name))
        for c in lines
        if left.get(c.name) != right.get(c.name)
    ]
    may = None if alone is None else set(alone)
    shown = [d for d in differ if may is None or not d.id.startswith(VOTES) or may.intersection(d.id.split("/"))]
    shown = [d for d in shown if may is None or not d.id.startswith("apart/")]  # a precinct may be of few ballots
    return Compared(len(lines), tuple(shown), len(differ) - len(shown))


VOTES = ("votes/", "apart/")


def _id(name: str) -> str:
    """A line as the page of two packets names it: "containers" and "aside" wait there until the goods were read."""
    kind, _, rest = name.partition(".")
    kind = {"container": "containers", "drop_off": "aside", "box": "emergency"}.get(kind, kind)
    return "/".join([kind, *rest.split(".")]) if rest else kind


def report(keyed: KeyedPlace, place: Place) -> Report:
    """Every check of a place from paper: the papers, what they do not show, each line that can be drawn, the stock that was issued."""
    core = keyed.opened.core
    drawn = balance(contents.figures(core, place))
    lacking = (*of_papers(keyed, place), *lacks(core, place))
    return Report(
        keyed.opened,
        place,
        (_papers(keyed, place), _shown(lacking), _lines(keyed, drawn), _stock(core, place)),
        drawn,
        True,
        lacking,
    )


def of_papers(keyed: KeyedPlace, place: Place) -> tuple[Lack, ...]:
    """What is to be asked about the papers: a results tape that is not whole, or that nobody signed in ink."""
    words, found = dict(papers(place)), []
    for paper in keyed.papers:
        said = words.get(paper.id, paper.id)
        if paper.tape and paper.state != WHOLE:
            found.append(Lack(f"paper/{paper.id}", "odd", f"{said} is {STATE_WORDS[paper.state]}"))
        elif paper.tape and len({party for _, party in paper.ink}) < 2:
            ink = "nobody signed it in ink" if not paper.ink else "one party alone signed it in ink"
            found.append(Lack(f"paper/{paper.id}", "odd", f"{said}: {ink}"))
    return tuple(found)


def lacks(core: Mapping[str, Any], place: Place) -> tuple[Lack, ...]:
    """Figures and contests that the paper does not show. Steps, readings, seals and check words are not keyed from paper."""
    return tuple(
        one
        for one in packet_lacks.lacks(core, place)
        if one.kind in ("figure", "contest") and not one.name.startswith("lacks/write_ins")
    )


def _papers(keyed: KeyedPlace, place: Place) -> Check:
    words = dict(papers(place))
    odd = [f"{words.get(p.id, p.id)} {STATE_WORDS[p.state]}" for p in keyed.papers if p.state != WHOLE]
    odd += [f"{one.words}" for one in of_papers(keyed, place) if "ink" in one.words]
    said = f"keyed twice, blind, by receivers of two parties, entry {keyed.number}; no packet proves it"
    return Check("From paper", "look" if odd else "agrees", "; ".join([said, *odd]))


def _shown(lacking: Sequence[Lack]) -> Check:
    gone = [one.words for one in lacking if one.kind != "odd"]
    if not gone:
        return Check("What the paper shows", "agrees", "every figure that a packet of this place would have")
    more = f" and {len(gone) - 6} more" if len(gone) > 6 else ""
    return Check("What the paper shows", "look", f"not on the paper: {', '.join(gone[:6])}{more}")


def _lines(keyed: KeyedPlace, drawn: Balance) -> Check:
    name = "Balances, drawn here"
    if not drawn.gaps:
        return Check(name, "agrees", f"{few(len(drawn.lines), 'line')}, each agrees")
    said = {line for row in keyed.opened.remarks["remarks"] for line in row[1]}
    silent = [line_title(line.name) for line in drawn.gaps if line.name not in said]
    told = f"without a remark on the paper: {'; '.join(silent)}" if silent else "each with the remark of the paper"
    return Check(
        name, "look" if silent else "agrees", f"{few(len(drawn.gaps), 'gap')} in {len(drawn.lines)} lines, {told}"
    )


def _stock(core: Mapping[str, Any], place: Place) -> Check:
    came, issued = total(core["stock"].get("received")), sum(one.received for one in place.stock)
    if came is None:
        return Check("Stock", "look", f"{issued:,} ballots were issued; the paper does not say how many came")
    if came == issued:
        return Check("Stock", "agrees", f"{issued:,} ballots issued and received")
    more = f"{few(abs(came - issued), 'ballot')} {'more' if came > issued else 'fewer'}"
    return Check("Stock", "look", f"{issued:,} ballots were issued, the paper says {came:,} came: {more}")


def missing(counts: PacketFigures) -> int:
    """How many figures that a packet of the place would have are not on the paper that counts for it."""
    return len(lacks(counts.core, counts.place))


def to_note(drawn: Balance) -> Iterator[tuple[str, str]]:
    """(line, its gap in words) of each line that is off: a remark of the paper is asked for each, or that it has none."""
    for line in drawn.gaps:
        yield line.name, line.says
