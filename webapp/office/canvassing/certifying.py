"""The office's way to the certificate as its record has it: excused places, the narrative, meetings, members' signatures, what was signed over."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from webapp.canvass import certifying as rules
from webapp.canvass.certifying import (
    MemberSigned,
    NarrativeLine,
    NarrativeWord,
    OpenQuestion,
    Reopened,
    SignedOver,
    Told,
)
from webapp.canvass.envelopes import COUNTY
from webapp.office.canvassing import added_ballots
from webapp.office.canvassing.added_ballots import AddedBallots
from webapp.office.questions import withdrawn
from webapp.office.questions.canvass_board import PlaceComparison, line_title
from webapp.office.received.received_packets import ReceivedPackets
from webapp.office.setup.roster import Roster
from webapp.precinct.balance import line_sentences
from webapp.precinct.numbers import few

TWO = frozenset({"place-without-return", "narrative", "signed-over", "reopened", "small-shown", "certificate-sealed"})
"""Entries that two parties sign, or that are not kept."""
ALONE = frozenset({"board-met", "certified"})
"""Entries that one member signs: for themselves, or for what the board did in open session."""
KINDS = TWO | ALONE
LOCKED = frozenset(
    {
        "desk-finding",
        "finding-withdrawn",
        "count-in",
        "envelopes-decided",
        "recounted",
        "place-counts",
        "packet-set-aside",
        "place-keyed",
        "wait-waived",
        "voters-credited",
        "pool",
        "narrative",
        "place-without-return",
        "signed-over",
        "small-shown",
    }
)
"""Entries that would change figures or words of a certified canvass."""
BEFORE_CERTIFIED = LOCKED | {
    "packet-received",
    "answered",
    "memory-in",
    "tape-to-packet",
    "correction",
    "taken-back",
    "board-met",
    "reopened",
}
"""Entries that an edition to be certified must have been made after: they change its figures, its words, or who voted for it."""
MOVES_FIGURES = added_ballots.KINDS | {
    "packet-received",
    "desk-finding",
    "finding-withdrawn",
    "place-counts",
    "packet-set-aside",
    "place-keyed",
    "answered",
    "memory-in",
    "tape-to-packet",
}
"""Entries that can move a figure of an edition, or open what a complete one says is closed."""
COMPLETE = "unofficial-complete"
MADE_AFTER = dict.fromkeys(rules.OFFICIAL, BEFORE_CERTIFIED) | {COMPLETE: MOVES_FIGURES | {"correction", "taken-back"}}
"""Status of an edition -> kinds of entry of which none may come between its making and its second signature. A partial one says at which entry it was cut."""
MEMBER = "canvasser"  # the role of a member of the board


class Certifying:
    """Kept up entry by entry."""

    def __init__(self) -> None:
        self.excused: dict[str, tuple[int, str]] = {}  # place -> (entry, why)
        self.words: list[NarrativeWord] = []
        self.over: list[SignedOver] = []
        self.meetings: list[rules.Meeting] = []
        self.signed: dict[int, list[MemberSigned]] = {}  # edition -> its members' own signatures
        self.reopened: list[Reopened] = []
        self.sealed: dict[int, tuple[int, tuple[str, ...]]] = {}  # edition -> (entry, copies)
        self.shown: dict[str, set[str]] = {}  # contest -> cells of few ballots that two parties show

    def add(self, entry: Any, texts: Mapping[str, str]) -> None:
        """One entry of the office's record; of any other kind it moves nothing."""
        body, number = entry.body, entry.number
        if entry.kind == "place-without-return":
            self.excused[body["place"]] = number, texts.get("why", "")
        elif entry.kind == "narrative":
            self.words.append(NarrativeWord(body["about"], texts.get("text", ""), body["out"], number))
        elif entry.kind == "signed-over":
            self.over.append(SignedOver(body["question"], tuple(body["facts"]), texts.get("why", ""), number))
        elif entry.kind == "board-met":
            self.meetings.append(rules.meeting_of(body, texts, number))
        elif entry.kind == "certified":
            self._sign(entry, texts)
        elif entry.kind == "reopened":
            self.reopened.append(Reopened(body["edition"], body["because"], body["order"], number))
        elif entry.kind == "certificate-sealed":
            self.sealed[body["edition"]] = number, tuple(body["copies"])
        elif entry.kind == "small-shown":
            self.shown.setdefault(body["contest"], set()).update(body["atoms"])

    def _sign(self, entry: Any, texts: Mapping[str, str]) -> None:
        """A member signs for themselves: a row about anybody else is left out."""
        mine = self.signed.setdefault(entry.body["edition"], [])
        signers = {signer.person for signer in entry.signers}
        for person, vote in entry.body["members"]:
            if person in signers:
                mine[:] = [one for one in mine if one.person != person]
                mine.append(MemberSigned(person, vote, entry.number, texts.get("dissent", "")))

    @property
    def meeting(self) -> rules.Meeting | None:
        return self.meetings[-1] if self.meetings else None


def members(roster: Roster) -> dict[str, str]:
    """The members of the board: id -> name of each official with that role."""
    return {one.id: one.name for one in roster.office.officials if one.role == MEMBER}


# --- what stands in the way


def questions(
    roster: Roster,
    tray: ReceivedPackets,
    added: AddedBallots,
    board: Mapping[str, PlaceComparison],
    kept: Certifying,
    waiting: Mapping[str, int],
    sworn: Sequence[str],
) -> tuple[OpenQuestion, ...]:
    """Everything that is open before certifying, each with its page. `waiting`: contest title -> ballots that an edition now would not show."""
    found = [
        *_places(roster, tray, kept),
        *_against(roster, tray, added),
        *_envelopes(roster, added),
        *_gaps(roster, board, kept),
        *_waiting(waiting),
        *_members(roster, sworn),
    ]
    return rules.settled(found, kept.over)


def _places(roster: Roster, tray: ReceivedPackets, kept: Certifying) -> Iterator[OpenQuestion]:
    names = {place.id: place.name for place in roster.office.places} | {id: p.name for id, p in roster.places.items()}
    for place, name in names.items():
        if not tray.in_totals(place) and place not in kept.excused:
            page = f"/place/{place}" if place in roster.places else "/places"
            yield OpenQuestion(f"place/{place}", f"{name} is not in, and not excused.", page)


def _against(roster: Roster, tray: ReceivedPackets, added: AddedBallots) -> Iterator[OpenQuestion]:
    for place in roster.places:
        if tray.outcome(place).contradicted:
            name = roster.places[place].name
            yield OpenQuestion(f"against/{place}", f"{name}: two returns disagree.", f"/packets/{place}")
    for atom in added.against():
        says = f"{added.name(atom.unit)}, {atom.way}, part {atom.part}: two counts of the same ballots disagree."
        yield OpenQuestion(f"counts/{atom.cell}", says, f"/counts/{atom.unit}/{atom.way}/{atom.part}")
    for atom, contest in added.recounts.against():
        says = f"{added.name(atom.unit)}, {contest}: two recounts of the same ballots disagree."
        yield OpenQuestion(f"recounts/{atom.cell}/{contest}", says, f"/recount/{atom.unit}")
    for unit in added.recounts.units():
        ways = {way for order in added.recounts.ordered(unit) for way in order.ways}
        if not any(atom.unit == unit and atom.way in ways for atom, _ in added.recounts.standing):
            yield OpenQuestion(
                f"recount/{unit}",
                f"{added.name(unit)}: a recount is ordered and not kept yet.",
                f"/recount/{unit}",
            )


def _envelopes(roster: Roster, added: AddedBallots) -> Iterator[OpenQuestion]:
    for unit in (*roster.places, *added.pools, COUNTY):
        for way in added.ways:
            one = added.decided(unit, way.id)
            if one is None:
                continue
            page = f"/counts/{unit}"
            counted = added.counted_loose(way.id) if unit == COUNTY else added.counted(unit, way.id)
            if one.open:
                yield OpenQuestion(
                    f"envelopes/{unit}/{way.id}",
                    f"{added.name(unit)}, {way.name}: {few(one.open, 'envelope')} not decided.",
                    page,
                    (one.open,),
                )
            if one.to_count != counted:
                yield OpenQuestion(
                    f"counted/{unit}/{way.id}",
                    f"{added.name(unit)}, {way.name}: {few(one.to_count, 'envelope')} accepted, {few(counted, 'ballot')} counted.",
                    page,
                    (one.to_count, counted),
                )


def _gaps(roster: Roster, board: Mapping[str, PlaceComparison], kept: Certifying) -> Iterator[OpenQuestion]:
    told = {word.about for word in kept.words if not word.out}
    for place, one in board.items():
        for gap in one.off:
            about = f"gap/{place}/{gap.line}"
            if not gap.remarked and about not in told:
                way = line_sentences.way(gap.line.partition("@")[0], gap.gap)
                says = f"{one.name}, {line_title(gap.line, roster.places.get(place))}: {way}, without a remark."
                yield OpenQuestion(about, says, f"/place/{place}", (gap.gap,))


def _waiting(waiting: Mapping[str, int]) -> Iterator[OpenQuestion]:
    for title, n in waiting.items():
        says = f"{title}: {few(n, 'ballot')} counted and in no figure, as {'it' if n == 1 else 'they'} would be alone."
        yield OpenQuestion(f"waiting/{title}", says, "/certify/small", (n,))


def _members(roster: Roster, sworn: Sequence[str]) -> Iterator[OpenQuestion]:
    everybody = members(roster)
    if not everybody:
        yield OpenQuestion(
            "members", f'No official in office.toml has role = "{MEMBER}": nobody is a member of the board.', "/people"
        )
    for person, name in everybody.items():
        if person not in sworn:
            yield OpenQuestion(f"member/{person}", f"{name} has not taken the oath here.", "/people")


# --- the narrative by default


def lines_of_changes(
    entries: Sequence[Any], roster: Roster, added: AddedBallots, board: Mapping[str, PlaceComparison]
) -> list[Told]:
    """A line for each corrected return, each recount, each count of found ballots and each excused place, in the order of the record. `entries`: kept
    ones of these kinds with their words."""
    found: list[Told] = []
    acts: set[bytes] = set()
    gone = {
        row["entry"]: one.word("why") for one in entries if one.kind == withdrawn.KIND for row in one.body["findings"]
    }
    for kept in entries:
        body, place = kept.body, kept.body.get("place") or kept.body.get("unit") or ""
        name = added.name(place) if place else ""
        if kept.kind == "desk-finding":
            act = bytes(body.get("act") or kept.number.to_bytes(8, "big"))
            if act not in acts:
                found.append(_corrected(kept, name, gone.get(kept.number)))
            acts.add(act)
        elif kept.kind == "recounted":
            text = (
                kept.word("note")
                or f"{few(len(body['contests']), 'contest')} recounted over {few(body['ballots'], 'ballot')}."
            )
            found.append(Told(f"entry/{kept.number}", f"{name}: recount, {body['way']}", text))
        elif kept.kind == "count-in" and body["way"] == "found":
            text = kept.word("note") or f"{few(body['ballots'], 'ballot')} found and counted."
            found.append(Told(f"entry/{kept.number}", f"{name}: ballots found", text))
        elif kept.kind == "place-without-return" and place not in board:
            found.append(Told(f"entry/{kept.number}", f"{name}: no return", kept.word("why")))
    return found


def _corrected(kept: Any, name: str, withdrawn_because: str | None) -> Told:
    """The line of a corrected return; of one that was withdrawn with the reason. None: it was not."""
    title, what = f"{name}: return corrected", kept.word("what")
    if withdrawn_because is None:
        return Told(f"entry/{kept.number}", title, what)
    return Told(f"entry/{kept.number}", f"{title}, and withdrawn", f"{what} Withdrawn: {withdrawn_because}")


def lines(told_: Sequence[Told], kept: Certifying, board: Mapping[str, PlaceComparison]) -> tuple[NarrativeLine, ...]:
    """The narrative as the document would have it now; a word about a gap is headed by its place and line."""
    titles = {
        f"gap/{place}/{gap.line}": f"{one.name}, {line_title(gap.line)}"
        for place, one in board.items()
        for gap in one.off
    }
    found = rules.narrative(told_, kept.words)
    return tuple(
        NarrativeLine(one.about, one.title or titles.get(one.about, ""), one.text, one.out, one.number) for one in found
    )
