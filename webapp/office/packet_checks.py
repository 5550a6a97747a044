"""A packet at the desk: checked in one order, each check with its own sentence, before anything of it is believed.

Mode, form, key, place, place file, number; then every balance drawn again; then stock, seals and steps against what was issued. A packet whose
key is not enrolled is accepted and marked as not proven; what is foreign, altered or of the wrong mode is refused with one sentence.

No check says the number of a container's seal: the desk's own people read and type those before the packet's are shown.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from webapp.office import packet_schema, totals
from webapp.office.roster import Roster
from webapp.packet import contents
from webapp.packet.envelope import Opened, PacketRefused, context, open_packet, verify
from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.balance import Balance, Unreadable, balance
from webapp.precinct.balance.figure_rows import figure
from webapp.precinct.day.day import line_name
from webapp.precinct.day.hours import clock
from webapp.precinct.place.place import Place

WANTED = tuple(packet_schema.CORE)


class Known(NamedTuple):
    """A packet of this place that the desk took in before: its number, its digest, and the digest of the one it replaces."""

    number: int
    digest: bytes
    amends: bytes | None


@dataclass(frozen=True, slots=True)
class Check:
    """One check: `state` = agrees | look, in words what was compared, and what it says."""

    name: str
    state: str
    says: str


@dataclass(frozen=True)
class Report:
    """A packet that was taken in: what it holds, what each check said, the office's own balance of it."""

    opened: Opened
    place: Place
    checks: tuple[Check, ...]
    balance: Balance

    @property
    def questions(self) -> tuple[Check, ...]:
        return tuple(check for check in self.checks if check.state == "look")


def check(parts: Sequence[bytes], roster: Roster, known: Mapping[str, Sequence[Known]] = {}) -> Report:
    """Take a packet's two parts through every check. `known`: packets accepted before, by place. Raises `PacketRefused`, one sentence."""
    return judged(_opened(parts, roster), roster, known)


def judged(opened: Opened, roster: Roster, known: Mapping[str, Sequence[Known]] = {}) -> Report:
    """As `check`, for a packet that was opened already."""
    if opened.core.get("v") != contents.VERSION:
        raise PacketRefused(
            f"This packet is of form {str(opened.core.get('v'))[:40]}; this desk reads form {contents.VERSION}. Read it with the newer Tape & Seal."
        )
    packet_schema.check(opened.core, opened.remarks)
    place = _place(opened, roster)
    try:
        return _checked(opened, place, roster, known.get(place.id, ()))
    except (
        Unreadable,
        ValueError,
        LookupError,
        TypeError,
        AttributeError,
        ArithmeticError,
        OSError,
        RecursionError,
    ) as wrong:
        raise PacketRefused(
            f"The figures of this packet cannot be a night's ({_brief(wrong)}). Key the place from its paper statement and ask for the packet again."
        ) from None


def _brief(wrong: Exception) -> str:
    return " ".join(str(wrong).split())[:160].rstrip(".") or "one is missing"


def _checked(opened: Opened, place: Place, roster: Roster, known: Sequence[Known]) -> Report:
    """Every check in its order; figures of other shapes than a night's end in an error of the kinds that `check` turns into one refusal."""
    core = opened.core
    _belongs(core, place)
    drawn = balance(contents.figures(core, place), explain=False)
    contents.account(core, opened.remarks, place, opened.digest, drawn)  # what will be shown of it can be shown
    if not packet_schema.whole(totals.ballots(core)):
        raise ValueError("more ballots were taken off the tapes than they count")
    return Report(
        opened,
        place,
        (
            _signature(opened, place, roster),
            Check("Place file", "agrees", f"the one issued, edition {place.edition}"),
            _number(opened, known),
            _balances(opened, drawn),
            _stock(core, place),
            _seals(core, place),
            _short(core),
        ),
        drawn,
    )


def _opened(parts: Sequence[bytes], roster: Roster) -> Opened:
    """The packet, opened for the mode that it is signed for, which must be that of the office's places.

    An office has one mode nearly always, and then each signature is held once; only what is refused so is looked at again, for its sentence.
    """
    modes = {place.mode for place in roster.issued.values()} or {"live", "practice"}
    if len(modes) == 1:
        try:
            return open_packet(parts, roster.keys, *modes)
        except PacketRefused:
            pass
    opened = open_packet(parts, roster.keys, None)
    if opened.mode not in modes:
        raise PacketRefused(
            f"This is a {opened.mode} packet, and this office takes in {' and '.join(sorted(modes))}. Practice and live are never mixed: set it aside."
        )
    for number, part in enumerate(parts if opened.verified else ()):  # what says practice is signed for practice
        verify(part, roster.keys, context(opened.mode, number))
    return opened


def _place(opened: Opened, roster: Roster) -> Place:
    """The place file that this packet was made with. An own key speaks for its own place and mode only."""
    core, owner = opened.core, roster.enrolments.get(opened.kid)
    if owner and owner.place != core["place"]:
        raise PacketRefused(
            f"This packet names the place {core['place'][:60]}, and its key was enrolled for {owner.place}. Set it aside and ask both places."
        )
    if owner and owner.mode != opened.mode:
        raise PacketRefused(
            f"This is a {opened.mode} packet, and its key was enrolled for {owner.mode}. Practice and live are never mixed: set it aside."
        )
    if core["place"] not in roster.places:
        raise PacketRefused(
            f"The place {core['place'][:60]} is not one of this office's. Ask the carriers which office it is for."
        )
    place = roster.issued.get(core["place_digest"])
    if place is None or place.id != core["place"]:
        raise PacketRefused(
            f"This packet was made with a place file that this office never issued for {core['place']}. Key the place from paper, and keep the packet."
        )
    if opened.mode != place.mode:
        raise PacketRefused(
            f"This packet is for {opened.mode}, and the place file for {place.mode}. Practice and live are never mixed: set it aside."
        )
    return place


def _belongs(core: Mapping[str, Any], place: Place) -> None:
    """Contests, rows and tabulators are those of the place file. Raises ValueError."""
    rows = {contest.id: len(contest.choices) + len(contents.ROW) for contest in place.typed_contests()}
    machines = {t.id for t in place.tabulators}
    for found in (core["contests"], *(t["contests"] for t in core["tabulators"] if "contests" in t)):
        if not packet_schema.by_id(packet_schema.VOTES)(found):
            raise ValueError("the contests of a tape are not rows of figures")
        for contest, row in found.items():
            if contest not in rows:
                raise ValueError(f"{contest[:40]} is no contest of this place")
            if len(row) != rows[contest]:
                raise ValueError(f"{contest} has {len(row)} figures, and its ballot {rows[contest]}")
    if foreign := [t["id"] for t in core["tabulators"] if t["id"].partition("/")[0] not in machines]:
        raise ValueError(f"{foreign[0][:40]} is no tabulator of this place")


def _signature(opened: Opened, place: Place, roster: Roster) -> Check:
    """Proven by a key in force, by one that was replaced (until when counts, and whether it was lost), or not proven."""
    name = "Signature of the place"
    if not opened.verified:
        return Check(
            name, "look", "the key is not enrolled here: accepted, not proven. Ask the place which laptop made it"
        )
    row = roster.enrolments.get(opened.kid)
    if row is None or row.to_ms is None:
        return Check(name, "agrees", "signed by the key enrolled for this place")
    until = f"the key that was replaced at {clock(place, row.to_ms)}"
    if row.lost_at is not None:
        return Check(
            name, "look", f"signed by {until} because it may be in other hands. Ask the place which laptop made it"
        )
    if opened.core["made"] > row.to_ms:
        return Check(
            name,
            "look",
            f"signed at {clock(place, opened.core['made'])} by {until}. Ask the place which laptop made it",
        )
    return Check(name, "agrees", f"signed by {until}, before that")


def _number(opened: Opened, known: Sequence[Known]) -> Check:
    """How this packet stands to those of the place that were read before; packets come in any order."""
    core, digest = opened.core, opened.digest
    others = [k for k in known if k.digest != digest]
    again = ", read before: the same packet" if len(others) < len(known) else ""
    if later := next((k for k in others if k.amends == digest), None):
        return Check("Packet", "agrees", f"number {core['number']}, replaced by number {later.number}{again}")
    replaced = {k.amends for k in others} | {core["amends"]}
    if against := [k for k in others if k.digest not in replaced]:
        return Check(
            "Packet",
            "look",
            f"number {core['number']} and number {against[0].number} stand against each other: neither replaces the other{again}",
        )
    if core["amends"] is None:
        return Check("Packet", "agrees", f"number {core['number']}{again or ', not seen before'}")
    before = next((f"number {k.number}" for k in others if k.digest == core["amends"]), "one that was not read here")
    return Check("Packet", "agrees", f"number {core['number']}, replaces {before}{again}")


def _balances(opened: Opened, drawn: Balance) -> Check:
    name, said = "Balances, drawn again here", {(line, gap) for line, gap in opened.core["gaps"]}
    own = {(line_name(line), line.gap) for line in drawn.gaps}
    if said != own:
        more = ", ".join(
            sorted(
                f"{line} ({line_sentences.few(abs(gap), 'ballot')} {'more' if gap > 0 else 'fewer'} on the left, {'said by the packet only' if (line, gap) in said else 'seen by this desk only'})"
                for line, gap in said ^ own
            )
        )
        return Check(name, "look", f"the packet and this desk differ on {more}")
    if not own:
        return Check(name, "agrees", f"{line_sentences.few(len(drawn.lines), 'line')}, each agrees")
    remarked = {pair for row in opened.remarks["remarks"] for pair in zip(row[1], row[2], strict=False)}
    silent = sorted(line for line, gap in own if (line, gap) not in remarked)
    return Check(
        name,
        "look" if silent else "agrees",
        f"{line_sentences.few(len(own), 'gap')} in {len(drawn.lines)} lines, "
        + (f"without a remark on {', '.join(silent)}" if silent else "each with a signed remark"),
    )


def _stock(core: Mapping[str, Any], place: Place) -> Check:
    said = figure(core["stock"]["received"], "stock.received").total if core["stock"].get("received") else 0
    issued = sum(s.received for s in place.stock)
    if said == issued:
        return Check("Stock", "agrees", f"{issued:,} ballots issued and received")
    return Check(
        "Stock",
        "look",
        f"{issued:,} ballots were issued, the place says {said:,} came: {line_sentences.few(abs(said - issued), 'ballot')} {'more' if said > issued else 'fewer'}",
    )


def _seals(core: Mapping[str, Any], place: Place) -> Check:
    """Containers by name only: a number shown here would be the answer to what the desk is still to read."""
    foreign = [c["id"] for c in core["containers"] if c["seal"] and place.seals and c["seal"] not in place.seals]
    bare = [c["id"] for c in core["containers"] if not c["seal"]]
    differ = [s["at"] for s in core["seals"] if s["found"] != s["applied"]]
    words = [f"a number that was never issued on {', '.join(foreign)}"] if foreign else []
    words += [f"no seal on {', '.join(bare)}"] if bare else []
    words += [f"another seal found than applied at {', '.join(differ)}"] if differ else []
    return (
        Check("Seals", "look", "; ".join(words))
        if words
        else Check(
            "Seals",
            "agrees",
            f"{line_sentences.few(len(core['containers']), 'container')} sealed with numbers of the issued list",
        )
    )


def _short(core: Mapping[str, Any]) -> Check:
    flags = [(step[0], step[4]) for step in core["steps"]]
    short = [name for name, flag in flags if flag & contents.SHORT]
    odd = [name for name, flag in flags if flag & contents.NOT_SO]
    if not short and not odd:
        return Check(
            "Steps", "agrees", f"{line_sentences.few(len(flags), 'step')} kept, none short-signed, no exception"
        )
    words = ([f"short-signed: {', '.join(short)}"] if short else []) + (
        [f"exceptions: {', '.join(odd)}"] if odd else []
    )
    return Check("Steps", "look", "; ".join(words))
