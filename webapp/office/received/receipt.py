"""What the receipt for one place says: the open questions, short-signed steps first; containers and seals as they were read at the desk; who brought, who took over.

The packet's own seal numbers come in only once the seals on the table were read and signed.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from webapp.office.checking.packet_checks import Report
from webapp.office.questions import who_carried
from webapp.office.questions.desk_questions import DeskQuestion
from webapp.packet import contents
from webapp.packet.print_content import total
from webapp.paper.receipt_page import AskedAtDesk, Goods, Hand, HeldAside, Receipt
from webapp.precinct.account.figures_of_day import plain
from webapp.precinct.checklist.field_options import NOT_ON_ROLL
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import wall
from webapp.precinct.place.place import Official, Party, Place

OPENS = (
    "It opens when the seals on the table were read, typed and signed: the packet’s own numbers are shown after that."
)
SEAL_VERDICTS = {
    "agrees": "agree",
    "differs": "differ",
    "only here": "not in the packet",
    "only there": "not read here",
}


def why_not(desk: Day) -> str:
    """The sentence while the seals were not read; ""."""
    return "" if desk.last("seals-read") else OPENS


def receipt(
    place: Place,
    desk: Day,
    report: Report | None,
    officials: Sequence[Official],
    parties: Sequence[Party],
    questions: Sequence[DeskQuestion] = (),
) -> Receipt:
    """The receipt at this minute; `officials` and `parties` are the office's, who took over; `questions` all of the place, open and closed."""
    kept = {name: desk.last(name) for name in ("carriers-in", "receivers", "containers-in", "ask-now", "receipt")}
    body = {name: k.body if k else {} for name, k in kept.items()}
    at = lambda moment: dated(place, moment) if moment else ""  # noqa: E731 - a word for a time, here only
    core = report.opened.core if report else None
    goods, held = goods_of(place, desk, core), held_of(place, desk, core)
    packet = (
        "No packet counts here, and nothing was keyed from paper yet."
        if report is None or core is None
        else f"No packet counts: the figures were keyed from paper, {report.opened.digest.hex()[:16]}."
        if report.from_paper
        else f"Summary packet {core['number']}, {report.opened.digest.hex()[:16]}"
        + ("." if report.proven else ": not proven, counts by two signatures.")
    )
    return Receipt(
        tuple(AskedAtDesk(one.sort, one.says) for one in questions if one.open),
        kept["ask-now"].word("answers") if kept["ask-now"] else "",
        packet,
        goods,
        body["containers-in"].get("on_slip"),
        held,
        at(body["carriers-in"].get("time")),
        _carriers(place, kept["carriers-in"]),
        kept["carriers-in"].word("missing") if kept["carriers-in"] else "",
        tuple(
            _hand(s.person, officials, parties, dated(place, kept["receivers"].time)) for s in kept["receivers"].signers
        )
        if kept["receivers"]
        else (),
        at(body["receipt"].get("time")),
        body["receipt"].get("shelf", ""),
        body["receipt"].get("cage_seal", ""),
        closed=(*(AskedAtDesk(one.sort, answered(one)) for one in questions if one.answer), *_remarked(report)),
    )


def dated(place: Place, ms: int) -> str:
    """A moment with its day, since a receipt is read for months: "3 Nov 2026, 22:31"."""
    day = datetime.fromtimestamp(ms / 1000, place.tz)
    return f"{day.day} {day:%b %Y}, {wall(place, ms)}"


def answered(question: DeskQuestion) -> str:
    """A closed question with its answer, for the paper."""
    return f"{question.says} Answer: {question.answer.words or 'words withheld'}" if question.answer else question.says


def _remarked(report: Report | None) -> Iterator[AskedAtDesk]:
    """Gaps that the place itself explained, each with its remark; one remark is given once."""
    if report is None:
        return
    said: set[str] = set()
    for gap in contents.account(report.opened.core, report.opened.remarks, report.place, report.opened.digest).gaps:
        if gap.remark:
            yield AskedAtDesk(
                "Figures", f"{gap.sentence} " + ("The same remark." if gap.remark in said else f"Remark: {gap.remark}")
            )
            said.add(gap.remark)


def _hand(person: str, officials: Sequence[Official], parties: Sequence[Party], when: str = "") -> Hand:
    found = next((o for o in officials if o.id == person), None)
    party = next((p.name for p in parties if found and p.id == found.party), "no party")
    return Hand(found.name, f"{found.role}, {party}", when) if found else Hand(person, "not on the roll", when)


def _carriers(place: Place, kept: CurrentEntry | None) -> tuple[Hand, ...]:
    """Who brought the goods; of a person who is not on the roll what the desk wrote."""
    other = Hand((kept.word("not_on_roll") if kept else "") or "words withheld", "not on the roll of the place", "")
    found = who_carried.ids(kept.body) if kept else ()
    return tuple(other if one == NOT_ON_ROLL else _hand(one, place.officials, place.parties) for one in found)


def goods_of(place: Place, desk: Day, core: Mapping[str, Any] | None) -> tuple[Goods, ...]:
    """Every container of the place, then whatever else was sealed; both numbers once the desk has read its own. Bags are read with the memory."""
    came, read, memory = (desk.last(name) for name in ("containers-in", "seals-read", "memory-in"))
    here, unhurt = (came.body.get(name, {}) if came else {} for name in ("here", "unhurt"))
    bags = memory.body.get("seals", {}) if memory else {}
    found = (read.body.get("seals", {}) if read else {}) | {f"{at}-bag": number for at, number in bags.items()}
    said = {c["id"]: c["seal"] or "" for c in core["containers"] if "seal" in c} if core and read else {}
    words = (
        {c.id: c.holds for c in place.containers}
        | {"case": "transfer case"}
        | {f"{t.id}-{part}": f"{part} of {t.id}" for t in place.tabulators for part in ("bag", "case")}
    )
    always = {c.id for c in place.containers}
    ids = [
        name
        for name in (*words, *sorted({*found, *said} - set(words)))
        if name in always or found.get(name) or said.get(name)
    ]
    return tuple(
        Goods(
            name,
            words.get(name, ""),
            here.get(name),
            unhurt.get(name),
            found.get(name, ""),
            said.get(name, ""),
            _verdict(found.get(name, ""), said.get(name, ""), bool(said)),
        )
        for name in ids
    )


def _verdict(read: str, said: str, known: bool) -> str:
    if not known or not (read or said):
        return ""
    return SEAL_VERDICTS[
        "only there" if not read else "only here" if not said else "agrees" if read == said else "differs"
    ]


def held_of(place: Place, desk: Day, core: Mapping[str, Any] | None) -> tuple[HeldAside, ...]:
    """Envelopes and counters: the packet's figure, and the desk's own."""
    envelopes = desk.last("envelopes-in")
    said, aside = envelopes.body if envelopes else {}, core["aside"] if core else {}
    spoiled = [n for kind in ("spoiled", "spoiled-not-reissued") if (n := total(aside.get(kind))) is not None]
    rows = [
        ("Provisional envelopes", total(aside.get("provisional")), said.get("provisional"), "envelopes/provisional"),
        (
            "Absentee envelopes dropped off",
            total(core.get("drop_off")) if core else None,
            said.get("drop_off"),
            "envelopes/drop-off",
        ),
        ("Spoiled ballots, by the label", sum(spoiled) if spoiled else None, said.get("spoiled"), "envelopes/spoiled"),
    ]
    for tabulator in place.tabulators:
        kept = desk.last(f"tape-to-packet:{tabulator.id}")
        rows.append(
            (
                f"Public counter on the tape of {tabulator.id}",
                _counter(core, tabulator.id),
                kept.body.get("public") if kept else None,
                f"tape/{tabulator.id}",
            )
        )
    return tuple(
        HeldAside(words, mine, None if found is None else plain(found), name) for words, mine, found, name in rows
    )


def _counter(core: Mapping[str, Any] | None, tabulator: str) -> int | None:
    """The public counter at the close as the packet has it: of the last run of the memory that was in at the end."""
    row = next((t for t in core["tabulators"] if t["id"] == tabulator), None) if core else None
    return row["runs"][-1]["counter"][1] if row and row.get("runs") and row["runs"][-1].get("counter") else None
