"""The packets of one place: which one counts, which are held, what differs; two parties let one count, set one aside, bring one back."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, abort, current_app, g, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from webapp.office.checking import packet_differences, what_counts
from webapp.office.checking.packet_checks import Report
from webapp.office.checking.what_counts import PacketsInForce
from webapp.office.keying import from_paper
from webapp.office.questions.canvass_board import line_title
from webapp.pages.desk.shared import votes_held
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import claim_form, signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, claim_id, fresh
from webapp.precinct.balance.line_sentences import way

page = Blueprint("packets", __name__)
STATES = {
    what_counts.COUNTS: ("done", "counts"),
    what_counts.REPLACED: ("half", "does not count"),
    what_counts.HELD: ("held", "held"),
    what_counts.AGAINST: ("look", "disagrees"),
    what_counts.ASIDE: ("refused", "set aside"),
}


def room() -> OfficeSite:
    return current_app.extensions["room"]


@dataclass(frozen=True, slots=True)
class Shown:
    """One packet as the page lists it; `number` and `made` as it says itself; `entry` by which it was accepted."""

    digest: bytes
    number: int
    made: int
    proven: bool
    state: str
    entry: int
    report: Report | None
    paper: bool = False

    @property
    def name(self) -> str:
        """How a form names it: the first 16 digits of its digest."""
        return self.digest.hex()[:16]


@page.get("/packets/<place>")
def packets(place: str) -> ResponseReturnValue:
    return show(place)


def listed(place: str) -> list[Shown]:
    """What was keyed from the paper of the place, then every packet, by its number."""
    here = room()
    outcome, entries = here.tray.outcome(place), here.desks[place].of("packet-received")
    number_of = {bytes(kept.body["digest"]): kept.number for kept in entries}
    proven = {one.digest: one.proven for one in here.tray.known().get(place, ())}
    found = [
        Shown(
            digest,
            opened.core["number"],
            opened.core["made"],
            proven[digest],
            outcome.states[digest],
            number_of.get(digest, 0),
            here.reports.of_packet(place, digest),
        )
        for digest, opened in here.tray.packets.get(place, ())
    ]
    keyed = {one.digest: one for one in here.tray.papers.get(place, ())}
    found += [
        Shown(
            digest, 0, one.kept, True, outcome.states[digest], one.number, here.reports.of_packet(place, digest), True
        )
        for digest, one in keyed.items()
    ]
    return sorted(found, key=lambda one: (one.number, one.made, one.digest)) or abort(404)


def beside(rows: list[Shown], outcome: PacketsInForce) -> Shown | None:
    """The packet to hold against the one that counts: the one asked for, else one that disagrees, one that is held, the newest that was replaced."""
    others = [one for one in rows if one.digest != outcome.digest and one.report]
    asked = next((one for one in others if one.name == request.args.get("with")), None)
    rank = [what_counts.AGAINST, what_counts.HELD, what_counts.REPLACED, what_counts.ASIDE]
    return asked or min(others, key=lambda one: (rank.index(one.state), -one.number), default=None)


def comparison(place: str, one: Report, other: Report) -> dict[str, Any]:
    """What differs between two packets, the lines that follow from each and who signed each at the close."""
    here = room()
    left, right = one.opened.core, other.opened.core
    goods = here.desks[place].last("seals-read") is not None
    hidden = votes_held.until(here, g.now) or not here.tray.counts(place)
    alone = frozenset() if hidden else here.tray.over_all.alone(place)
    found = (
        from_paper.compared(left, right, one.place, alone)
        if one.from_paper or other.from_paper
        else packet_differences.compared(left, right, one.place, other.place, alone)
    )
    shown = [row for row in found.differences if goods or row.id.split("/")[0] not in ("aside", "containers")]
    parties = [signers(place, report) for report in (one, other)]
    names = [(party.name, [", ".join(side.get(party.id, ())) for side in parties]) for party in one.place.parties]
    return {
        "found": found,
        "shown": shown,
        "later": len(found.differences) - len(shown),
        "lines": [
            (line_title(name, one.place), *[_side(name, gap) for gap in gaps])
            for name, *gaps in packet_differences.lines(one.balance, other.balance)
        ],
        "signed": [row for row in names if any(row[1])],
    }


def _side(name: str, gap: int | None) -> str:
    """One packet's gap on a line in words; a line that its figures cannot draw is no level one."""
    return "not drawn" if gap is None else way(name.partition("@")[0], gap) if gap else "level"


def signers(place: str, report: Report) -> dict[str, list[str]]:
    """Party -> roles of those who signed a packet at the close; of a paper, who signed its results tapes and other papers in ink."""
    keyed = room().tray.paper(place, report.opened.digest) if report.from_paper else None
    if keyed is None:
        return packet_differences.signers(report.opened.core)
    found: dict[str, list[str]] = {}
    for role, party in dict.fromkeys(pair for paper in keyed.papers for pair in paper.ink):
        found.setdefault(party, []).append(role)
    return found


def show(
    place: str, values: Mapping[str, Any] | None = None, mistakes: Mapping[str, str] | None = None, code: int = 200
) -> ResponseReturnValue:
    found, rows = known(place), listed(place)
    outcome = room().tray.outcome(place)
    counting = next((one for one in rows if one.digest == outcome.digest), None)
    if counting is None and len(outcome.against) > 1:  # two keyings of the paper: neither counts
        counting = next(one for one in rows if one.digest in outcome.against)
    other = beside(rows, outcome)
    may = [one for one in rows if one.state in (what_counts.COUNTS, what_counts.AGAINST, what_counts.HELD)]
    return render_template(
        "desk/packets.html",
        place=found,
        rows=rows,
        looked=claim_form.marks((one.name,) for one in rows),
        states=STATES,
        outcome=outcome,
        papers=any(one.paper for one in rows),
        packets=any(not one.paper for one in rows),
        counting=counting,
        other=other,
        differ=comparison(place, counting.report, other.report)
        if counting and other and counting.report and other.report
        else None,
        may=may if outcome.against or outcome.held else [],
        mistakes=mistakes or {},
        people=signing.candidates("P"),
        values=values or fresh(),
    ), code


@page.post("/packets/<place>/counts")
def counts(place: str) -> ResponseReturnValue:
    """Two parties sign which packet counts; one that is not proven only with its tape compared in full."""
    known(place)
    rows, form, mistakes = listed(place), request.form, {}
    if kept_before(form, form.get("which", "")):
        return redirect(f"/packets/{place}", 303)
    chosen = next((one for one in rows if one.name == form.get("which")), None)
    if chosen is None or chosen.state not in (what_counts.COUNTS, what_counts.AGAINST, what_counts.HELD):
        mistakes["which"] = "Choose the packet that counts."
    elif not chosen.proven and form.get("tape") != "yes":
        mistakes["tape"] = "This packet is not proven. Compare its tape in full, line by line, then tick this."
    if not form.get("why", "").strip():
        mistakes["why"] = "Enter why this packet counts, in one sentence for the board."
    if mistakes or chosen is None:
        return show(place, form, mistakes, 422)
    others = [
        one for one in rows if one.digest != chosen.digest and one.state in (what_counts.COUNTS, what_counts.AGAINST)
    ]
    if not all(claim_form.showed(form, one.name) for one in others):
        return show(place, form, {"which": claim_form.SINCE}, 422)
    body = {
        "place": place,
        "digest": chosen.digest,
        "number": chosen.number,
        "against": [one.digest for one in others],
        "tape": not chosen.proven,
        **({"paper": True} if chosen.paper else {}),
    }
    return signed(place, "place-counts", body, form)


@page.post("/packets/<place>/aside")
def aside(place: str) -> ResponseReturnValue:
    """Two parties take one packet out of everything, or bring it back."""
    known(place)
    rows, form, mistakes = listed(place), request.form, {}
    if kept_before(form, form.get("packet", "")):
        return redirect(f"/packets/{place}", 303)
    chosen = next((one for one in rows if one.name == form.get("packet")), None)
    if chosen is None:
        mistakes["packet"] = "Choose the packet."
    elif (chosen.state == what_counts.ASIDE) != (chosen.name in form.get("were_aside", "").split()):
        mistakes["packet"] = (
            "This packet was set aside or brought back since this page was opened. Read the list again, then choose."
        )
    if not form.get("why", "").strip():
        mistakes["why"] = "Enter why, in one sentence for the board."
    if mistakes or chosen is None:
        return show(place, form, {f"aside-{name}": sentence for name, sentence in mistakes.items()}, 422)
    body = {
        "place": place,
        "digest": chosen.digest,
        "number": chosen.number,
        "aside": chosen.state != what_counts.ASIDE,
        **({"paper": True} if chosen.paper else {}),
    }
    return signed(place, "packet-set-aside", body, form, "aside-")


def kept_before(form: MultiDict[str, str], name: str) -> bool:
    """Whether this very form has made its entry about the packet of this name already, and is sent again."""
    known = room().ledger.find(claim_id(form))
    return known is not None and bytes(known.body.get("digest", b"")).hex()[:16] == name


def signed(
    place: str, kind: str, body: dict[str, Any], form: MultiDict[str, str], before: str = ""
) -> ResponseReturnValue:
    """The first of two signatures, then on to the second."""
    made = claim(kind, body, None, form, {"why": form["why"].strip()})
    outcome = signing.sign(Draft((made,), "P", f"/packets/{place}"), form)
    if on := signing.where_next(outcome, f"/packets/{place}"):
        return on
    return show(place, form, {f"{before}{name}" if name else "": said for name, said in outcome.mistakes.items()}, 422)
