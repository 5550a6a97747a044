"""What the receipt for one place says: the open questions, short-signed steps first; containers and seals as they were read at the desk; who brought, who took over.

The packet's own seal numbers come in only once the seals on the table were read and signed.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from webapp.office.packet_checks import Report
from webapp.packet import contents
from webapp.packet.print_content import total
from webapp.paper.receipt_page import Asked, Goods, Hand, HeldAside, Receipt
from webapp.precinct.account.figures_of_day import plain
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.statement import ended
from webapp.precinct.day.day import Day
from webapp.precinct.day.hours import wall
from webapp.precinct.numbers import few
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
    place: Place, desk: Day, report: Report | None, officials: Sequence[Official], parties: Sequence[Party]
) -> Receipt:
    """The receipt as the desk stands; `officials` and `parties` are the office's, who took over."""
    kept = {name: desk.last(name) for name in ("carriers-in", "receivers", "containers-in", "ask-now", "receipt")}
    body = {name: k.body if k else {} for name, k in kept.items()}
    at = lambda moment: wall(place, moment) if moment else ""  # noqa: E731 - a word for a time, here only
    core = report.opened.core if report else None
    goods, held = _goods(place, desk, report), _held(place, desk, core)
    packet = (
        f"Summary packet {core['number']}, {report.opened.digest.hex()[:16]}"
        + ("." if report.opened.verified else ": accepted, not proven.")
        if report
        else "No packet was taken in: the figures come from paper."
    )
    return Receipt(
        tuple(_questions(place, desk, report, goods, held)),
        kept["ask-now"].word("answers") if kept["ask-now"] else "",
        packet,
        goods,
        body["containers-in"].get("on_slip"),
        held,
        at(body["carriers-in"].get("time")),
        _carriers(place, body["carriers-in"]),
        kept["carriers-in"].word("missing") if kept["carriers-in"] else "",
        tuple(
            _hand(s.person, officials, parties, wall(place, kept["receivers"].time)) for s in kept["receivers"].signers
        )
        if kept["receivers"]
        else (),
        at(body["receipt"].get("time")),
        body["receipt"].get("shelf", ""),
        body["receipt"].get("cage_seal", ""),
    )


def _hand(person: str, officials: Sequence[Official], parties: Sequence[Party], when: str = "") -> Hand:
    found = next((o for o in officials if o.id == person), None)
    party = next((p.name for p in parties if found and p.id == found.party), "no party")
    return Hand(found.name, f"{found.role}, {party}", when) if found else Hand(person, "not on the roll", when)


def _carriers(place: Place, body: Mapping[str, Any]) -> tuple[Hand, ...]:
    return tuple(
        _hand(body[key], place.officials, place.parties) for key in ("first_carrier", "second_carrier") if body.get(key)
    )


def _goods(place: Place, desk: Day, report: Report | None) -> tuple[Goods, ...]:
    """Every container of the place, then whatever else was sealed; both numbers once the desk has read its own. Bags are read with the memory."""
    came, read, memory = (desk.last(name) for name in ("containers-in", "seals-read", "memory-in"))
    here, unhurt = (came.body.get(name, {}) if came else {} for name in ("here", "unhurt"))
    bags = memory.body.get("seals", {}) if memory else {}
    found = (read.body.get("seals", {}) if read else {}) | {f"{at}-bag": number for at, number in bags.items()}
    said = {c["id"]: c["seal"] or "" for c in report.opened.core["containers"]} if report and read else {}
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


def _held(place: Place, desk: Day, core: Mapping[str, Any] | None) -> tuple[HeldAside, ...]:
    """Envelopes and counters: the packet's figure, and the desk's own."""
    envelopes = desk.last("envelopes-in")
    said, aside = envelopes.body if envelopes else {}, core["aside"] if core else {}
    spoiled = [total(aside[kind]) for kind in ("spoiled", "spoiled-not-reissued") if aside.get(kind) is not None]
    rows = [
        ("Provisional envelopes", total(aside.get("provisional")), said.get("provisional")),
        ("Absentee envelopes dropped off", total(core.get("drop_off")) if core else None, said.get("drop_off")),
        ("Spoiled ballots, by the label", sum(spoiled) if spoiled else None, said.get("spoiled")),
    ]
    for tabulator in place.tabulators:
        kept = desk.last(f"tape-to-packet:{tabulator.id}")
        rows.append(
            (
                f"Public counter on the tape of {tabulator.id}",
                _counter(core, tabulator.id),
                kept.body.get("public") if kept else None,
            )
        )
    return tuple(HeldAside(words, mine, None if found is None else plain(found)) for words, mine, found in rows)


def _counter(core: Mapping[str, Any] | None, tabulator: str) -> int | None:
    """The public counter at the close as the packet has it: of the last run of the memory that was in at the end."""
    row = next((t for t in core["tabulators"] if t["id"] == tabulator), None) if core else None
    return row["runs"][-1]["counter"][1] if row and row.get("runs") and row["runs"][-1].get("counter") else None


def _questions(
    place: Place, desk: Day, report: Report | None, goods: Sequence[Goods], held: Sequence[HeldAside]
) -> Iterator[Asked]:
    """Short-signed steps, gaps, what the goods say, what the desk found, what the packet's checks say."""
    if report:
        account = contents.account(report.opened.core, report.opened.remarks, place, report.opened.digest)
        yield from (Asked("Short-signed", sentence) for sentence in account.short_signed)
        said: set[str] = set()
        for gap in account.gaps:
            yield Asked(
                "Figures",
                f"{gap.sentence} "
                + (
                    "No remark was signed."
                    if not gap.remark
                    else "The remark above speaks of this too."
                    if gap.remark in said
                    else f"Remark: {gap.remark}"
                ),
            )
            said.add(gap.remark)
    yield from _of_the_goods(desk, goods)
    for row in held:
        if row.verdict not in ("", "agree"):
            yield Asked("Figures", f"{row.words}: {row.found:,} here, {row.said:,} in the packet: {row.verdict}.")
    yield from _of_the_memory(desk)
    if report:
        for _, kind, at, found, done in report.opened.remarks["not_so"]:
            yield Asked(
                "Not so", f"{checklist.title(kind, at or '', place)}. Found: {ended(found)} Done: {ended(done)}"
            )
        yield from (
            Asked("Packet", f"{check.name}: {ended(check.says)}")
            for check in report.questions
            if check.name not in ("Steps", "Balances, drawn again here")
        )
        yield from (
            Asked("Packet", f"{check.name}: {ended(check.says)}")
            for check in report.questions
            if check.name.startswith("Balances")
        )
    for kept in desk.entries:
        if kept.not_so and kept.taken_back is None:
            yield Asked(
                "Not so",
                f"At the desk, {checklist.title(kept.kind, kept.at, place)}. Found: {ended(kept.word('found') or 'words withheld')} Done: {ended(kept.word('done') or 'words withheld')}",
            )


def _of_the_goods(desk: Day, goods: Sequence[Goods]) -> Iterator[Asked]:
    """What is missing, hurt or sealed otherwise. The case of a tabulator may stay elsewhere, and the bags are read with the memory: they are asked about when they were."""
    waits = () if desk.last("memory-in") else tuple(one.id for one in goods if one.id.endswith("-bag"))
    for one in goods:
        if one.here is False:
            yield Asked("Containers", f"{one.id} ({one.holds}) is not here.")
        if one.unhurt is False:
            yield Asked("Containers", f"{one.id} ({one.holds}) is hurt.")
        if one.verdict == SEAL_VERDICTS["differs"]:
            yield Asked("Seals", f"{one.id}: {one.read} was read here, {one.said} stands in the packet.")
        elif one.verdict == SEAL_VERDICTS["only there"] and not one.id.endswith("-case") and one.id not in waits:
            yield Asked("Seals", f"{one.id}: {one.said} stands in the packet, and no seal was read here.")
        elif one.verdict == SEAL_VERDICTS["only here"]:
            yield Asked("Seals", f"{one.id}: {one.read} was read here, and the packet names none.")
    came = desk.last("containers-in")
    slip, here = (
        (came.body.get("on_slip"), sum(bool(v) for v in came.body.get("here", {}).values())) if came else (None, 0)
    )
    if slip is not None and slip != here:
        yield Asked(
            "Containers",
            f"{here} on the table, {slip} on the carry slip: {few(abs(here - slip), 'container')} {'more' if here > slip else 'fewer'}.",
        )


def _of_the_memory(desk: Day) -> Iterator[Asked]:
    kept = desk.last("memory-in")
    counts = [kept.body.get(name) for name in ("expected", "received", "loaded")] if kept else []
    if kept and None not in counts and len(set(counts)) > 1:
        yield Asked(
            "Memory",
            f"{counts[0]} expected, {counts[1]} received, {counts[2]} loaded: hold the totals of this place until they agree.",
        )
