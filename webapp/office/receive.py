"""A packet at the desk: checked in one order, each check with its own sentence, before anything of it is believed.

Key, place, mode, place file, then every balance drawn again, then stock, seals, copies and steps against what was issued. A packet whose key
is not enrolled is accepted and marked as not proven; what is foreign, altered or of the wrong mode is refused with one sentence.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.roster import Roster
from webapp.packet import contents
from webapp.packet.envelope import Opened, Refused, UnknownKey, open_packet
from webapp.precinct import says
from webapp.precinct.balance import Balance, Unreadable, balance
from webapp.precinct.figure_rows import figure
from webapp.precinct.place import Place

WANTED = ("v", "place", "place_digest", "mode", "number", "amends", "made", "hours", "run", "length", "head", "marks", "steps", "readings", "stock", "aside",
          "emergency", "people", "tabulators", "contests", "seals", "containers", "gaps", "remarks")


@dataclass(frozen=True, slots=True)
class Check:
    """One check: `state` = agrees | look | refused, in words what was compared, and what it says."""

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


def check(parts: Sequence[bytes], roster: Roster, known: Mapping[str, Sequence[tuple[int, bytes]]] = {}) -> Report:
    """Take a packet's two parts through every check. `known`: packets accepted before, (number, digest) by place. Raises `Refused`, one sentence."""
    opened, proven = _opened(parts, roster)
    _shape(opened.core)
    try:
        return _checked(opened, proven, roster, known)
    except (Unreadable, ValueError, KeyError, TypeError, AttributeError, IndexError, OverflowError) as wrong:
        raise Refused(f"The figures of this packet cannot be a night's ({str(wrong)[:160]}). Key the place from its paper statement and ask for the packet again.") from None


def _checked(opened: Opened, proven: bool, roster: Roster, known: Mapping[str, Sequence[tuple[int, bytes]]]) -> Report:
    """Every check in its order; a core of other shapes than a packet's ends in an error of the kinds that `check` turns into one refusal."""
    core = opened.core
    place = _place(core, opened, roster)
    checks = [Check("Signature of the place", "agrees" if proven else "look", "signed by the key enrolled for this place" if proven else
                    "the key is not enrolled here: accepted, not proven. Ask the place which laptop made it"),
              Check("Place file", "agrees", f"the one issued, edition {place.edition}"), _number(core, opened, known.get(place.id, ()))]
    drawn = balance(contents.figures(core, place))
    contents.account(core, opened.remarks, place, opened.digest)        # what will be shown of it can be shown
    checks += [_balances(core, drawn), _stock(core, place), _seals(core, place), _short(core)]
    return Report(opened, place, tuple(checks), drawn)


def _opened(parts: Sequence[bytes], roster: Roster) -> tuple[Opened, bool]:
    """The packet, and whether a key that this office enrolled proves it. The mode is that of the office's places."""
    modes = {place.mode for place in roster.issued.values()} or {"live", "practice"}
    last: Refused | None = None
    for mode in sorted(modes):
        try:
            opened = open_packet(parts, roster.keys, mode)
            return opened, bool(opened.verified)
        except UnknownKey as unknown:
            last = unknown
        except Refused as refused:
            last = refused if last is None or not isinstance(last, UnknownKey) else last
    other = next(iter({"live", "practice"} - modes), None)
    if other is not None and _holds(parts, roster, other):
        raise Refused(f"This is a {other} packet, and this office takes in {' and '.join(sorted(modes))}. Practice and live are never mixed: set it aside.")
    raise last or Refused("This packet cannot be read.")


def _holds(parts: Sequence[bytes], roster: Roster, mode: str) -> bool:
    try:
        return bool(open_packet(parts, roster.keys, mode).verified)
    except Refused:
        return False


def _shape(core: Mapping[str, Any]) -> None:
    """Every key is there and of a newer version nothing is guessed."""
    if core.get("v") != contents.VERSION:
        raise Refused(f"This packet is of form {core.get('v')!r}; this desk reads form {contents.VERSION}. Read it with the newer Tape & Seal.")
    lacking = [key for key in WANTED if key not in core]
    if lacking:
        raise Refused(f"This packet lacks {', '.join(lacking)}. Ask the place for the packet again.")


def _place(core: Mapping[str, Any], opened: Opened, roster: Roster) -> Place:
    """The place file that this packet was made with. An own key speaks for its own place only."""
    owner = roster.owners.get(opened.kid)
    if owner and owner[0] != core["place"]:
        raise Refused(f"This packet names the place {core['place']}, and its key was enrolled for {owner[0]}. Set it aside and ask both places.")
    if core["place"] not in roster.places:
        raise Refused(f"The place {core['place']} is not one of this office's. Ask the carriers which office it is for.")
    place = roster.issued.get(bytes(core["place_digest"]))
    if place is None or place.id != core["place"]:
        raise Refused(f"This packet was made with a place file that this office never issued for {core['place']}. Key the place from paper, and keep the packet.")
    if core["mode"] != place.mode or opened.mode != place.mode:
        raise Refused(f"This packet is for {core['mode']}, and the place file for {place.mode}. Practice and live are never mixed: set it aside.")
    return place


def _number(core: Mapping[str, Any], opened: Opened, known: Sequence[tuple[int, bytes]]) -> Check:
    if any(digest == opened.digest for _, digest in known):
        return Check("Packet", "agrees", f"number {core['number']}, read before: the same packet")
    if not known:
        return Check("Packet", "agrees", f"number {core['number']}, not seen before")
    if core["amends"] is not None and any(digest == bytes(core["amends"]) for _, digest in known):
        return Check("Packet", "agrees", f"number {core['number']}, replaces the one before")
    return Check("Packet", "look", f"number {core['number']} replaces none of the {len(known)} packets read before: two stand against each other")


def _balances(core: Mapping[str, Any], drawn: Balance) -> Check:
    said = {(name, gap) for name, gap in core["gaps"]}
    own = {(_name(line), line.gap) for line in drawn.gaps}
    if said != own:
        more = ", ".join(sorted(f"{name} {gap:+d}" for name, gap in said ^ own))
        return Check("Balances, drawn again here", "look", f"the packet and this desk differ on {more}")
    if not own:
        return Check("Balances, drawn again here", "agrees", f"{says.few(len(drawn.lines), 'line')}, each agrees")
    silent = len(own) - sum(1 for name, gap in own if core["remarks"])
    return Check("Balances, drawn again here", "look" if silent else "agrees", f"{says.few(len(own), 'gap')} of {len(drawn.lines)} lines, " + ("without a remark" if silent else "with a signed remark"))


def _name(line) -> str:
    return f"{line.id}@{','.join(line.scope.values())}" if line.scope else line.id


def _stock(core: Mapping[str, Any], place: Place) -> Check:
    said = figure(core["stock"].get("received", []), "stock.received").total if core["stock"].get("received") else 0
    issued = sum(s.received for s in place.stock)
    if said == issued:
        return Check("Stock", "agrees", f"{issued:,} ballots issued and received")
    return Check("Stock", "look", f"{issued:,} ballots were issued, the place says {said:,} came")


def _seals(core: Mapping[str, Any], place: Place) -> Check:
    foreign = [c["seal"] for c in core["containers"] if c.get("seal") and place.seals and c["seal"] not in place.seals]
    differ = [s["at"] for s in core["seals"] if s["found"] != s["applied"]]
    if foreign or differ:
        words = ([f"{', '.join(foreign)} never issued"] if foreign else []) + ([f"another seal found at {', '.join(differ)}"] if differ else [])
        return Check("Seals", "look", "; ".join(words))
    return Check("Seals", "agrees", f"{says.few(len(core['containers']), 'container')} sealed with numbers of the issued list")


def _short(core: Mapping[str, Any]) -> Check:
    flags = [(step[0], step[4]) for step in core["steps"]]
    short = [name for name, flag in flags if flag & contents.SHORT]
    odd = [name for name, flag in flags if flag & contents.NOT_SO]
    if not short and not odd:
        return Check("Steps", "agrees", f"{says.few(len(flags), 'step')} kept, none short-signed, no exception")
    words = ([f"short-signed: {', '.join(short)}"] if short else []) + ([f"exceptions: {', '.join(odd)}"] if odd else [])
    return Check("Steps", "look", "; ".join(words))
