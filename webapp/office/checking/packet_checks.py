"""A packet at the desk: checked in one order, each check with its own sentence, before anything of it is believed.

Mode, form, key, place, place file, number; then every balance drawn again; then stock, seals and steps against what was issued. A packet whose
key is not enrolled is accepted and marked as not proven; what is foreign, altered or of the wrong mode is refused with one sentence.

No check says the number of a container's seal: the desk's own people read and type those before the packet's are shown.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.office.checking import packet_lacks, packet_schema, packet_words
from webapp.office.checking.packet_lacks import Lack
from webapp.office.checking.single_checks import (
    Check,
    Known,
    _balances,
    _belongs,
    _board,
    _number,
    _record,
    _seals,
    _short,
    _signature,
    _stock,
    _whole,
    is_proven,
    of_sums,
)
from webapp.office.setup.roster import Roster
from webapp.office.totals import totals
from webapp.packet import contents
from webapp.packet.envelope import Opened, PacketRefused, context, open_packet, verify
from webapp.precinct.balance.balance import Balance, Unreadable, balance
from webapp.precinct.place.place import Place


@dataclass(frozen=True)
class Report:
    """A packet that was accepted: what it holds, what each check said, the office's own balance of it."""

    opened: Opened
    place: Place
    checks: tuple[Check, ...]
    balance: Balance
    proven: bool = True
    lacks: tuple[Lack, ...] = ()

    @property
    def from_paper(self) -> bool:
        """Whether two parties keyed it from paper: no packet has the number 0."""
        return self.opened.core["number"] == 0 and self.opened.kid == b""

    @property
    def questions(self) -> tuple[Check, ...]:
        return tuple(check for check in self.checks if check.state == "look")


def check(parts: Sequence[bytes], roster: Roster, known: Mapping[str, Sequence[Known]] = {}) -> Report:
    """Take a packet's two parts through every check. `known`: packets accepted before, by place. Raises `PacketRefused`, one sentence."""
    return judged(opened_for(parts, roster), roster, known)


def judged(opened: Opened, roster: Roster, known: Mapping[str, Sequence[Known]] = {}) -> Report:
    """As `check`, for a packet that was opened already. Raises PacketRefused."""
    if test := roster.tests.get(opened.kid):
        raise PacketRefused(
            f"This is signed with the key of the accuracy test of {test.place}. A test makes no packet, and none of its figures may reach a total: set it aside, and ask who made it."
        )
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
            f"The figures of this packet cannot be a night's ({_brief(wrong)}). Set it aside and ask the place for the packet again; until it comes, key the place from its paper."
        ) from None


def _brief(wrong: Exception) -> str:
    """What is wrong, where the rules said it themselves; of an accident inside them only that a figure is of another kind."""
    if isinstance(wrong, Unreadable | ValueError):
        said = packet_words.of_the_balance(" ".join(str(wrong).split()))
        return said[:160].rstrip(".") or "one is missing"
    return "a figure is missing or of another kind"


def _checked(opened: Opened, place: Place, roster: Roster, known: Sequence[Known]) -> Report:
    """Every check in its order; figures of other shapes than a night's end in an error of the kinds that `check` turns into one refusal."""
    core = opened.core
    _belongs(core, place)
    drawn = of_sums(balance(contents.figures(core, place)), core)
    contents.account(core, opened.remarks, place, opened.digest, drawn)  # what will be shown of it can be shown
    if not packet_schema.whole(totals.ballots(core)):
        raise ValueError("more ballots were taken off the tapes than they count")
    proven, lacking = is_proven(opened, roster), packet_lacks.lacks(core, place)
    return Report(
        opened,
        place,
        (
            _signature(opened, place, roster),
            Check("Place file", "agrees", f"the one issued, edition {place.edition}"),
            _number(opened, known, proven),
            _whole(lacking, place),
            _balances(opened, place, drawn, lacking),
            _board(core) if "board" in core else _stock(core, place),
            _seals(core, place, lacking),
            _short(core, place, lacking),
            *_record(opened, place, known),
        ),
        drawn,
        proven,
        lacking,
    )


def opened_for(parts: Sequence[bytes], roster: Roster) -> Opened:
    """The packet, opened for the mode that it is signed for, which must be that of the office's places.

    An office has one mode nearly always, and then each signature is checked once; only a packet that is refused is
    tried again, for its sentence.
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
    ours = roster.issued.get(core["place_digest"])
    if not ours and (other := roster.other_office(core["place"], core["place_digest"])):
        raise PacketRefused(
            f"This packet is for {other}: {core['place'][:60]} is a place of that office, and is never counted here. Set it aside and let the carriers bring it there."
        )
    if core["place"] not in roster.places:
        raise PacketRefused(
            f"The place {core['place'][:60]} is not one of this office's. Ask the carriers which office it is for."
        )
    place = roster.issued.get(core["place_digest"])
    if place is None or place.id != core["place"]:
        raise PacketRefused(
            f"This packet was made with a place file that this office never issued for {core['place']}. Set it aside, keep it, and ask which edition of the place file the place used."
        )
    if opened.mode != place.mode:
        raise PacketRefused(
            f"This packet is for {opened.mode}, and the place file for {place.mode}. Practice and live are never mixed: set it aside."
        )
    return place
