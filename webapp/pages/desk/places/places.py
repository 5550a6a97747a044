"""The places and their state; one place with every line drawn again, its packet, its desk steps from the carriers to the receipt."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from flask import Blueprint, abort, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.merging.origins import called
from webapp.office.checking.packet_checks import Report
from webapp.office.questions import withdrawn
from webapp.office.questions.canvass_board import LineGap, line_title
from webapp.office.questions.findings import Finding, fits
from webapp.office.received.place_states import SHOWN, shown_words
from webapp.packet import contents
from webapp.packet.print_model import AccountPages
from webapp.pages.desk.places import goods_pages
from webapp.pages.desk.shared import amendment, votes_held
from webapp.pages.desk.shared.named_place import known
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.dated_words import day_time
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import signing
from webapp.pages.shared.awaiting import Draft
from webapp.pages.shared.claim_form import claim, fresh_ids, stated
from webapp.pages.shared.flow_drawing import FlowPicture, picture
from webapp.pages.shared.step_form import show
from webapp.precinct.balance import ballot_flow, summary
from webapp.precinct.balance.balance import Balance
from webapp.precinct.balance.night_figures import read
from webapp.precinct.checklist import checklist
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Official, Place
from webapp.precinct.reports import gap_timing

page = Blueprint("places", __name__)
A_PAGE = 100


def room() -> OfficeSite:
    return current_app.extensions["room"]


page.add_app_template_filter(day_time)


@page.get("/places")
def places() -> str:
    """Every place awaited, with ballots counted and what is open, a hundred a page; with `?show=` only those that are awaited, have a gap, or need attention."""
    here = room()
    states, listed = here.upkeep.all_states(), tuple(here.roster.places)
    awaited = (
        [p for p in here.roster.office.places if p.id not in here.roster.places]
        if len(listed) < len(here.roster.office.places)
        else []
    )
    show = request.args.get("show", "")
    counts = states.counts()
    last = max((counts[show] if show in SHOWN else len(listed)) - 1, 0) // A_PAGE
    number = page_of(last)
    first, behind = number * A_PAGE, (number + 1) * A_PAGE
    names = states.some(show, first, behind) if show in SHOWN else listed[first:behind]
    rows = [
        (
            here.roster.places[place],
            states[place],
            here.board.places[place].ballots if place in here.board.places else None,
        )
        for place in names
    ]
    return render_template(
        "desk/places.html",
        rows=rows,
        awaited=[] if show in SHOWN or number < last else awaited,
        inn=len(here.board.places),
        all=here.roster.awaited,
        show=show,
        number=number,
        last=last,
        filters=[(key, shown_words(key, counts[key]), counts[key]) for key in SHOWN],
    )


@page.get("/place/<place>")
def one(place: str) -> str:
    """The packet that counts, its checks, its lines and what they are consistent with, what the desk found, the packet's seals once they were read here, the steps of the desk."""
    here, found, desk = room(), known(place), room().desks[place]
    report, seals_read, memory = here.reports.of(place), desk.last("seals-read"), desk.last("memory-in")
    sent, now = drawn(place, report)
    last = now or sent
    return render_template(
        "desk/place.html",
        place=found,
        report=report,
        flow=went(report) if report else None,
        tasks=here.desk_tasks(place, g.now),
        seals=seals(report, seals_read, memory) if report and seals_read else [],
        memory_in=memory is not None,
        read=seals_read,
        twice=[(called(origin), day.entries) for origin, day in here.desks.others(place).items()],
        state=here.state(place),
        questions=here.questions(place) if report or desk.entries else (),
        screen=summary,
        off_lines=off_lines,
        changed=amendment.changed(report),
        packets=here.tray.packets.get(place, ()),
        papers=here.tray.papers.get(place, ()),
        agrees=agrees_with_paper(place),
        keyed_once=keyed_once(place),
        together=goods_pages.offered(place),
        elsewhere=here.other_desks.seen_at(place),
        outcome=here.tray.outcome(place),
        lost=here.tray.lost.get(place, ()),
        sent=sent,
        now=now,
        findings=found_here(place, report),
        hour=gap_timing.of_steps(last, report.opened.core["steps"], report.place) if report and last else None,
        said=step_in_words,
        **votes(place, report),
    )


def drawn(place: str, report: Report | None) -> tuple[Balance | None, Balance | None]:
    """(the balance as the place sent it, the balance with what the desk found); explained only where there is something to explain."""
    if report is None:
        return None, None
    if report.balance.gaps or room().tray.found.get(place):
        return room().reports.explained(place)
    return report.balance, None


def votes(place: str, report: Report | None) -> dict[str, object]:
    """The contests whose votes may be shown now, how many are held back, and until when all are."""
    until = votes_held.until(room(), g.now)
    if report is None:
        return {"votes_until": until, "contests": [], "held": 0}
    core, remarks = report.opened.core, report.opened.remarks
    account = contents.account(core, remarks, report.place, report.opened.digest, report.balance)
    alone = frozenset() if until else room().tray.over_all.alone(place)
    return {
        "votes_until": until,
        "contests": figures(report, account, alone),
        "held": len(account.contests) - len(alone),
    }


def found_here(place: str, report: Report | None) -> list[tuple[Any, ...]]:
    """What the desk found: (finding, its figure in words, whether it fits the packet that counts, what withdrew it)."""
    here = room()
    gone = withdrawn.by_finding(here.tray.withdrawals.get(place, ()))
    return [
        (
            one,
            label(here.day, one),
            report is not None and fits(report.opened.core, report.place, one),
            gone.get(one.id),
        )
        for one in here.tray.found.get(place, ())
    ]


def agrees_with_paper(place: str) -> frozenset[bytes]:
    """Digests of the packets that say what the paper says, as it was keyed last."""
    tray = room().tray
    kept, sent = tray.papers.get(place, ()), tray.packets.get(place, ())
    return kept[-1].as_paper(tray.file_of(place, kept[-1].opened), sent).same if kept else frozenset()


def keyed_once(place: str) -> Official | None:
    """Who keyed the paper of this place once, while it waits for the second; None else."""
    turn = len(room().tray.papers.get(place, ()))
    by = room().day.keyings.by(f"place-keyed:{place}" + (f"/{turn}" if turn else ""))
    return room().people.official(by[0]) if len(by) == 1 else None


def label(desk: Day, finding: Finding) -> str:
    """The figure of a finding as it was called when it was signed; its id where that entry is not here."""
    entry = desk.entry(finding.number)
    return entry.body["label"] if entry else finding.figure


def off_lines(drawn: Balance, place: Place) -> list[summary.OpenLine]:
    """The lines that are off as the page tells them, contests by their titles."""
    return [
        replace(one, title=line_title(one.line.name, place)) if LineGap(one.line.name, 1, False).contest else one
        for one in summary.open_lines(drawn)
    ]


def step_in_words(step: Sequence[Any]) -> str:
    """A step of the packet in words: its title, and where it was."""
    return checklist.title(step[0], step[1] or "", room().at_hand()[0])


def went(report: Report) -> FlowPicture | None:
    """Where every ballot of the packet went, by the office's own balance of it; None where the stock was not counted."""
    return picture(ballot_flow.flow(read(contents.figures(report.opened.core, report.place)), report.balance))


def seals(report: Report, read: CurrentEntry, memory: CurrentEntry | None = None) -> list[tuple[str, str, str]]:
    """(container, number in the packet, number read on the table), once both are known; bags are read with the memory devices."""
    said = {c["id"]: c["seal"] for c in report.opened.core["containers"] if "seal" in c}
    bags = memory.body.get("seals", {}) if memory else {}
    found = read.body.get("seals", {}) | {f"{at}-bag": number for at, number in bags.items()}
    return [
        (name, said.get(name) or "", found.get(name, ""))
        for name in sorted({*said, *found})
        if said.get(name) or found.get(name)
    ]


def figures(report: Report, account: AccountPages, alone: Collection[str]) -> list[Any]:
    """The contests of the account whose votes may be shown for this place by itself."""
    here = [c.id for c in report.place.typed_contests() if c.id in report.opened.core["contests"]]
    return [shown for contest, shown in zip(here, account.contests, strict=True) if contest in alone]


@page.get("/place/<place>/<key>")
def step(place: str, key: str) -> ResponseReturnValue:
    known(place)
    task = room().desk_task(place, key, g.now) or abort(404)
    return show((task,), fresh_ids((task,)), action=f"/place/{place}/{key}")


@page.post("/place/<place>/<key>")
def keep(place: str, key: str) -> ResponseReturnValue:
    """One step of the desk, signed by people of the office."""
    known(place)
    task, form = room().desk_task(place, key, g.now) or abort(404), request.form
    said = room().read_form(task, form, "", g.now)
    mistakes = dict(said.mistakes)
    if task.state == "later":
        mistakes[""] = f"This step opens {task.opens}."
    if not mistakes:
        made = claim(task.step.id, {**said.body, "place": place}, stated(said), form, said.words)
        outcome = signing.sign(Draft((made,), task.step.signs, f"/place/{place}"), form)
        mistakes = outcome.mistakes
        if on := signing.where_next(outcome, f"/place/{place}"):
            return on
    return show((task,), form, mistakes, f"/place/{place}/{key}"), 422
