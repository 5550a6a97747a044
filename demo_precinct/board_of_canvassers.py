"""What receivers and the canvass board do on the days after, through the desk's pages: a place keyed from its paper, a corrected return, a recount, the
certificate with each member's own signature.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from demo_precinct.http_window import Page, Stuck
from demo_precinct.office_night import Brought, DeskNight
from demo_precinct.printed_text import printed_text
from demo_precinct.rehearsed_day import MINUTE

MEMBERS = (("k1", "Ada Lindqvist", "A"), ("k2", "Bram Teller", "B"), ("k3", "Cleo Marsh", "A"))
"""The canvass board of a rehearsed office: (id, name, party)."""
AGAINST = "k3"
STATEMENT = "I would have waited for the court."
NO_REMARK = "No remark on the paper."


@dataclass(frozen=True)
class Planted:
    """A mistake of the night at one place: `n` votes stand with `b` that are `a`'s. Mended by a corrected return or by a recount."""

    index: int
    contest: str
    a: str
    b: str
    n: int
    by: str  # finding, recount

    def spoil(self, rows: Mapping[str, dict[str, Any]]) -> None:
        votes = rows[self.contest]["votes"]
        votes[self.a] -= self.n
        votes[self.b] += self.n


def minute(desk: DeskNight) -> None:
    """A minute later, with the tablet in the first receiver's hands."""
    desk.now += MINUTE
    desk.crew.clock(desk.now)
    desk.crew.hold(desk.office.officials[0].id)


def signed_by(desk: DeskNight, page: Page, action: str, person: str, **values: Any) -> Page:
    """A form signed by this one person."""
    desk.crew.tally.signatures += 1
    form = page.form(action)
    return desk.crew.sent(form, {**values, "signer": person, "pin": desk.crew.pins[person]})


# --- a place from paper


def keyed_from_paper(desk: DeskNight, place: str, values: Mapping[str, str]) -> None:
    """Two receivers key the paper, each blind; both sign what papers there were, who signed them in ink, and a note for each gap."""
    path, crew = f"/place/{place}/paper", desk.crew
    minute(desk)
    for _ in range(2):
        page = crew.window.get(path)
        form = page.form(f"{path}/key")
        who = crew.signer(form)
        sent = dict(values) | {"signer": who, "pin": crew.pins[who]}
        page = crew.window.send(form, sent)
        if page.status == 422 and "as_paper" in page.form(f"{path}/key").controls:
            page = crew.window.send(page.form(f"{path}/key"), sent | {"as_paper": "yes"})
        if page.status != 200:
            raise Stuck(f"the paper of {place} is not kept: {page.said()}")
        crew.tally.signatures += 1
    page = crew.window.get(path)
    if "Both keyings agree" not in page.text:
        raise Stuck(f"two equal keyings of the paper of {place} do not agree: {page.said()}")
    form = page.form(path)
    told: dict[str, str | list[str]] = {"why": "no-packet"}
    for name, control in form.controls.items():
        kind = name.partition(".")[0]
        if kind == "state":
            told[name] = "whole"
        elif kind == "ink":
            told[name] = control.options
        elif kind == "note":
            told[name] = NO_REMARK
    page = crew.signed(page, form, told)
    if page.path != path or "Keyed from paper" not in page.text:
        raise Stuck(f"the paper of {place} is not signed: {page.said()}")


# --- corrected return, recount


def corrected(desk: DeskNight, place: str, planted: Planted, right: Mapping[str, int]) -> None:
    """The return of a place, corrected by the office: both figures of the two choices, looked at, then signed by two parties. right: votes by choice."""
    path = f"/corrected/{place}"
    minute(desk)
    page = desk.crew.window.get(path)
    form = page.form(path)
    found = {
        name: str(right[choice])
        for choice in (planted.a, planted.b)
        for name in form.controls
        if name.startswith("is.votes/") and name.endswith(f"{planted.contest}/{choice}")
    }
    if len(found) != 2:
        raise Stuck(f"the page of {place} offers no votes of {planted.contest} to correct")
    told = {
        "opened": "desk",
        "ballots_added": "0",
        "what": "The tape was read into the wrong row. Seen by both parties.",
    }
    page = desk.crew.sent(form, found | told | {"do": "look"})
    page = desk.crew.signed(page, page.form(path), {"do": "sign"})
    if not page.path.startswith(f"/place/{place}"):
        raise Stuck(f"the return of {place} is not corrected: {page.said()}")


def recounted(desk: DeskNight, brought: Brought, planted: Planted, row: Mapping[str, Any], ballots: int) -> None:
    """One contest of one place counted again by hand: ordered, the container opened, keyed twice, signed. row: as the ballots say."""
    base, crew = f"/recount/{brought.place}", desk.crew
    minute(desk)
    told: dict[str, str | list[str]] = {
        "by": "law",
        "order": "26-1",
        "contests": [planted.contest],
        "ways": ["election-day"],
        "how": "hand",
    }
    crew.signed(page := crew.window.get(base), page.form(f"{base}/order"), told)
    told = {"container": "C1", "seal": brought.seals["C1"], "seal_right": "yes", "number_in": ["book"]}
    told |= {"count_first": str(ballots), "count_second": str(ballots)}
    crew.signed(page := crew.window.get(base), page.form(f"{base}/opened"), told)
    key = f"{base}/election-day/1"
    figures = {f"contests.{planted.contest}.votes.{choice}": str(n) for choice, n in row["votes"].items()}
    figures |= {
        f"contests.{planted.contest}.{line}": str(row[line])
        for line in ("write_in", "under", "over", "ballots")
        if line in row
    }
    for _ in range(2):
        page = crew.window.get(key)
        crew.signed(page, page.form(f"{key}/key"), {"ballots": str(ballots)} | figures)
    page = crew.window.get(key)
    if "Both keyings agree" not in page.text:
        raise Stuck(f"two equal recounts of {brought.place} do not agree: {page.said()}")
    page = crew.signed(page, page.form(key), {"note": "Counted twice; both counts agree."})
    if page.path != base:
        raise Stuck(f"the recount of {brought.place} is not kept: {page.said()}")


# --- the certificate


def small_shown(desk: DeskNight) -> int:
    """Contests in which ballots of few still wait are shown, as nothing counted may stay out of the canvass; each signed by two parties. How many."""
    path, shown = "/certify/small", 0
    while True:
        page = desk.crew.window.get(path)
        form = next((form for form in page.forms if form.action == path), None)
        if form is None:
            return shown
        minute(desk)
        page = desk.crew.window.get(path)
        form = page.form(path)
        contest = next(one for one in form.controls["contest"].options if one)
        page = desk.crew.signed(page, form, {"contest": contest, "why": "No further count comes."})
        if page.path != path:
            raise Stuck(f"ballots of few in {contest} are not shown: {page.said()}")
        shown += 1


def signed_over(desk: DeskNight) -> int:
    """Every question that is still open, signed over by two parties with words. How many."""
    over = 0
    while True:
        page = desk.crew.window.get("/certify")
        form = next((form for form in page.forms if form.action == "/certify/over"), None)
        if form is None:
            return over
        if over % 40 == 0:
            minute(desk)
            page = desk.crew.window.get("/certify")
            form = page.form("/certify/over")
        question = next(one for one in form.controls["question"].options if one)
        page = desk.crew.signed(page, form, {"question": question, "why": "Looked into; it stays as it is."})
        if page.path != "/certify":
            raise Stuck(f"{question} is not signed over: {page.said()}")
        over += 1


def met(desk: DeskNight) -> None:
    """The board in open session: all are present, one votes against with a statement."""
    minute(desk)
    values: dict[str, Any] = {"present": [id for id, *_ in MEMBERS], "quorum": "2"}
    values |= {f"vote.{id}": "against" if id == AGAINST else "for" for id, *_ in MEMBERS}
    page = desk.crew.window.get("/certify")
    page = signed_by(desk, page, "/certify/met", "k1", **values, **{f"dissent.{AGAINST}": STATEMENT})
    if page.path != "/certify":
        raise Stuck(f"the meeting of the board is not kept: {page.said()}")


def certified(desk: DeskNight, because: str) -> Page:
    """The edition that the board certifies: the page behind it."""
    minute(desk)
    page = desk.crew.window.get("/certify/edition")
    return desk.crew.signed(page, page.form("/certify/edition"), {"because": because})


def signed_and_sealed(desk: DeskNight, number: int) -> None:
    """Each member's own PIN, for or against; the document printed; its digest read off the paper and typed back."""
    for person, *_ in MEMBERS:
        minute(desk)
        values = {"vote": "against", "statement": STATEMENT} if person == AGAINST else {"vote": "for"}
        page = desk.crew.window.get("/certify")
        page = signed_by(desk, page, "/certify/sign", person, **values)
        if page.path != "/certify":
            raise Stuck(f"the signature of {person} is not kept: {page.said()}")
    printed = desk.crew.window.get(f"/posting/{number}/certificate.pdf").body
    digits = re.search(r"digest ([0-9a-f]{16})", printed_text(printed))
    if digits is None:
        raise Stuck("the certificate bears no digest")
    minute(desk)
    page = desk.crew.window.get("/certify")
    page = desk.crew.signed(page, page.form("/certify/sealed"), {"digits": digits[1]})
    if "Signed in ink and sealed" not in page.text:
        raise Stuck(f"the certificate is not sealed: {page.said()}")
