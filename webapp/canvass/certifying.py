"""Certifying: what is still open, the narrative, the board in session with its vote, and what locks a certified edition.

Nothing is a dead end: each open question can be signed over by two parties, with words. A member who refuses is
recorded with a statement; what a refusal means is a matter of the law.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

OFFICIAL = ("certified", "recount", "correction")
"""Statuses of an edition that the board certifies."""
VOTES = {"for": "For", "against": "Against"}
BECAUSE = {"recount": "A recount", "court": "An order of a court", "law": "The law", "tie": "A tie that was broken"}
"""Why a certified canvass is opened again (Wash. Rev. Code 29A.64.061; Colo. Rev. Stat. 1-10.5-107 amend it after a recount)."""

Fact = str | int


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """One thing that keeps the board from certifying. `name` is kept for good; `page` leads to where it is settled; `facts` are what it is about now."""

    name: str
    says: str
    page: str
    facts: tuple[Fact, ...] = ()
    over: "SignedOver | None" = None


@dataclass(frozen=True, slots=True)
class SignedOver:
    """`signed-over`: two parties certify in spite of this question, as it was then."""

    question: str
    facts: tuple[Fact, ...]
    why: str
    number: int = 0


def settled(questions: Iterable[OpenQuestion], over: Iterable[SignedOver]) -> tuple[OpenQuestion, ...]:
    """Each question with the newest signature over these very facts; where the facts have changed since, it is open again."""
    known = {(one.question, one.facts): one for one in sorted(over, key=lambda one: one.number)}
    return tuple(
        OpenQuestion(one.name, one.says, one.page, one.facts, known.get((one.name, one.facts))) for one in questions
    )


# --- the narrative


@dataclass(frozen=True, slots=True)
class Told:
    """One line that the narrative has unless two parties say otherwise: `about` an entry ("entry/214") or a line ("gap/W3/poll-book")."""

    about: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class NarrativeWord:
    """`narrative`: the words for `about`; `out`: it is left out, and `text` says why, for the office alone."""

    about: str
    text: str
    out: bool = False
    number: int = 0


@dataclass(frozen=True, slots=True)
class NarrativeLine:
    """A line as the document has it; `out`: left out of it, with the reason in `text`; `number` of the entry that says so, 0 by default."""

    about: str
    title: str
    text: str
    out: bool = False
    number: int = 0


def narrative(told: Sequence[Told], words: Iterable[NarrativeWord]) -> tuple[NarrativeLine, ...]:
    """Every line, those by default in their order, then what the board added. The newest word about a line is in force."""
    newest = {one.about: one for one in sorted(words, key=lambda one: one.number)}
    found = []
    for one in told:
        word = newest.pop(one.about, None)
        text = word.text if word else one.text
        found.append(NarrativeLine(one.about, one.title, text, bool(word and word.out), word.number if word else 0))
    more = sorted(newest.values(), key=lambda one: one.number)
    return (*found, *(NarrativeLine(one.about, "", one.text, one.out, one.number) for one in more))


# --- the board


@dataclass(frozen=True, slots=True)
class Meeting:
    """`board-met`: when (ms UTC), who was present, how many make a quorum, how each voted in open session, and the statement of who voted against."""

    time: int
    present: tuple[str, ...]
    quorum: int
    votes: Mapping[str, str]
    dissent: Mapping[str, str]
    number: int = 0

    @property
    def has_quorum(self) -> bool:
        return len(self.present) >= self.quorum

    @property
    def unanimous(self) -> bool:
        """Whether everybody present voted for it."""
        return bool(self.present) and all(self.votes.get(one) == "for" for one in self.present)


def meeting_of(body: Mapping[str, Any], texts: Mapping[str, str], number: int = 0) -> Meeting:
    """Returns a meeting of the board as its entry holds it.

    body: the entry's body. texts: the entry's free words by name; those named `dissent.PERSON` are kept by person.
    number: of the
    entry; 0 while it is not recorded.
    """
    return Meeting(
        body["time"],
        tuple(body["present"]),
        body["quorum"],
        {person: vote for person, vote in body["votes"]},
        {name.partition(".")[2]: text for name, text in texts.items() if name.startswith("dissent.")},
        number,
    )


def meeting_mistakes(meeting: Meeting, members: Mapping[str, str]) -> dict[str, str]:
    """What to correct in a meeting as it was typed, by input name. `members`: id -> name."""
    found: dict[str, str] = {}
    if not meeting.present:
        found["present"] = "Tick the members who are present."
    if not 1 <= meeting.quorum <= max(len(members), 1):
        found["quorum"] = f"Enter how many members make a quorum, from 1 to {len(members)}."
    elif meeting.present and not meeting.has_quorum:
        found["quorum"] = (
            f"{len(meeting.present)} of {meeting.quorum} are present: no quorum. The board cannot certify; meet again with more members."
        )
    for person, name in members.items():
        vote, here = meeting.votes.get(person), person in meeting.present
        if here and vote not in VOTES:
            found[f"vote.{person}"] = f"Choose how {name} voted in open session."
        elif not here and vote:
            found[f"vote.{person}"] = f"{name} is not ticked as present: nobody votes for a member who is away."
        elif vote == "against" and not meeting.dissent.get(person):
            found[f"dissent.{person}"] = f"Enter the statement of {name}, word for word, or: no statement."
    return found


@dataclass(frozen=True, slots=True)
class MemberSigned:
    """One member's own signature on an edition, for or against, with a PIN."""

    person: str
    vote: str
    number: int
    statement: str = ""


# --- locked


@dataclass(frozen=True, slots=True)
class Reopened:
    """`reopened`: the certified edition may be amended, because of a recount, a court, the law or a tie, by this order."""

    edition: int
    because: str
    order: str
    number: int = 0


def locked(posted: Sequence[tuple[int, str]], reopened: Iterable[Reopened]) -> int | None:
    """The number of the certified edition that no form changes; None where nothing is certified, or it was opened again. `posted`: (number, status)."""
    if not posted or posted[-1][1] not in OFFICIAL:
        return None
    number = posted[-1][0]
    return None if any(one.edition == number for one in reopened) else number


def amended(posted: Sequence[tuple[int, str]], reopened: Iterable[Reopened]) -> str:
    """The status of the next certified edition: "certified" the first time, then "recount" or "correction" by why it was opened again."""
    before = [number for number, status in posted if status in OFFICIAL]
    if not before:
        return "certified"
    newest = next((one for one in reversed(list(reopened)) if one.edition == before[-1]), None)
    return "recount" if newest and newest.because == "recount" else "correction"
