"""`canvass.json` of an edition that the board certifies: wording with its figures, members and their vote, narrative, editions before, check words."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from webapp.canvass import changes, document
from webapp.canvass.certifying import BECAUSE, OFFICIAL, Meeting, NarrativeLine, OpenQuestion, Reopened
from webapp.canvass.edition import STATUSES, Edition
from webapp.canvass.published import OneContest
from webapp.office.canvassing.certifying import members
from webapp.office.setup.roster import Roster

HIDDEN = "waiting/"  # few ballots that are shown: the document does not point at them


def written(
    edition: Edition,
    before: Mapping[str, OneContest],
    roster: Roster,
    meeting: Meeting,
    met: str,
    narrative: Sequence[NarrativeLine],
    questions: Sequence[OpenQuestion],
    posted: Sequence[tuple[int, str, str, str]],
    reopened: Reopened | None,
    words: str,
) -> bytes:
    """The file. `met`: when the board met, as people read it; `posted`: (number, status, made, digest) of each edition before; `words` at the cut."""
    known = [unit.registered for unit in edition.units if not unit.of]
    registered = sum(n or 0 for n in known) if known and None not in known else None
    ballots = sum(sum(unit.ballots.values()) for unit in edition.units)
    official = [number for number, status, *_ in posted if status in OFFICIAL]
    changed = changes.between(before, edition) if official else []
    found: dict[str, Any] = {
        "format": 1,
        "text": document.wording(roster.office.certificate_text, edition.inn, registered, ballots),
        "places": edition.inn,
        "registered": registered,
        "ballots": ballots,
        "met": met,
        "present": len(meeting.present),
        "quorum": meeting.quorum,
        "unanimous": meeting.unanimous,
        "members": _members(roster, meeting),
        "narrative": [{"about": one.about, "title": one.title, "text": one.text} for one in narrative if not one.out],
        "over": [[one.says, one.over.why] for one in questions if one.over and not one.name.startswith(HIDDEN)],
        "editions": [[number, STATUSES.get(status, status), made, digest] for number, status, made, digest in posted],
        "supersedes": official[-1] if official else None,
        "changed": [[one.contest.title, one.contest.group] for one in changed],
        "opened_again": f"{BECAUSE[reopened.because]}, order {reopened.order}" if reopened else "",
        "cut": edition.cut,
        "words": words,
    }
    rows = [f"{json.dumps(name)}: {json.dumps(value, ensure_ascii=False)}" for name, value in found.items()]
    return ("{" + ",\n".join(rows) + "}\n").encode()


def _members(roster: Roster, meeting: Meeting) -> list[dict[str, str]]:
    parties = {party.id: party.name for party in roster.office.parties}
    party_of = {one.id: parties.get(one.party, one.party) for one in roster.office.officials}
    return [
        {
            "name": name,
            "party": party_of[person],
            "vote": meeting.votes.get(person, "") if person in meeting.present else "",
            "statement": meeting.dissent.get(person, ""),
        }
        for person, name in members(roster).items()
    ]
