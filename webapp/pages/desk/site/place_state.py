"""The state of one place in words: what of it is in, what holds it out, how many questions are open; *agreed* only when none is."""

from webapp.office.keying import from_paper
from webapp.office.questions import desk_questions
from webapp.office.received.place_states import NO_FIGURES, State
from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.open_questions import OpenQuestions
from webapp.precinct.numbers import few


def state_of(site: OfficeState, asked: OpenQuestions, place: str) -> State:
    """(mark, words) of a place, worked out from what counts for it, its goods and its open questions."""
    desk, one = site.desks[place], site.board.places.get(place)
    decided, inn = site.tray.outcome(place), site.tray.counts(place)
    goods = bool(desk.last("seals-read") or desk.last("containers-in"))
    if site.tray.lost.get(place):
        return "look", "a stored packet was changed or lost"
    if inn is None and decided.against:
        return "look", "two papers disagree, and neither counts"
    if inn is None and decided.held:
        return "look", "held: not proven"
    if inn is None and decided.states:
        return "look", "every packet is set aside"
    if inn is None:
        return ("half", NO_FIGURES) if goods else ("expected", "expected")
    stage = "received" if desk.last("receipt") else "goods and figures in" if goods else "figures in"
    if decided.paper:
        gone = from_paper.missing(inn[1])
        stage += ", from paper" + (f", {few(gone, 'figure')} missing" if gone else "")
    if summary := desk_questions.summary(asked.of(place)):
        held = "held out of the totals, " if place in site.tray.marks["out"] else ""
        papers = "a packet and the paper disagree, " if site.tray.papers.get(place) else "two packets disagree, "
        disagree = papers if decided.contradicted else ""
        gaps = f", {few(len(one.off), 'gap')}" if one and one.off else ""
        return "look", f"{held}{disagree}{stage}{gaps}, {summary}"
    words = stage.replace("received", "agreed", 1)
    if one and one.off:
        told = ", remark signed" if len(one.off) == 1 else ", remarks signed"
        return "gap", f"{words}, {few(len(one.off), 'gap')}{told}"
    return "done" if goods else "half", words
