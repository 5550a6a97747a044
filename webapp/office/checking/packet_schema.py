"""The form of a packet's two parts, name by name: what a stranger's bytes must be before a rule looks at them.

A packet with an unknown key is taken in unproven, so nothing in it may be trusted to be of the kind that its name promises. Whatever is not,
ends here in one sentence; nothing behind this page meets a list where it expects a number.
"""

from collections.abc import Callable, Mapping
from typing import Any

from webapp.office.checking import packet_words
from webapp.packet.cose import PacketRefused

Form = Callable[[Any], bool]

MOST = 10**15  # no count, number or time (ms UTC) of a night is larger
LATEST = 253_402_300_799_000  # ms UTC: the last second of the year 9999


def text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= 20_000


def whole(value: Any) -> bool:
    """Whether a value is a whole number from 0 to `MOST`; True and False are none."""
    return type(value) is int and 0 <= value <= MOST


def number(value: Any) -> bool:
    """A whole number of either sign."""
    return type(value) is int and -MOST <= value <= MOST


def moment(value: Any) -> bool:
    return whole(value) and value <= LATEST


def digest(value: Any) -> bool:
    return isinstance(value, bytes) and len(value) == 32


def table(value: Any) -> bool:
    return isinstance(value, dict)


def maybe(form: Form) -> Form:
    """The form, or null."""
    return lambda value: value is None or form(value)


def each(form: Form) -> Form:
    """A list of it."""
    return lambda value: isinstance(value, list) and all(map(form, value))


def row(*forms: Form) -> Form:
    """A list of exactly these."""
    return lambda value: (
        isinstance(value, list)
        and len(value) == len(forms)
        and all(form(v) for form, v in zip(forms, value, strict=True))
    )


def empty_seat(value: Any) -> bool:
    """Seat, reason, when the office was notified; and how many at work could have taken it, where any could."""
    return row(text, text, maybe(moment))(value) or row(text, text, maybe(moment), whole)(value)


def named(**forms: Form) -> Form:
    """A table that holds at least these."""
    return lambda value: (
        isinstance(value, dict) and all(name in value and form(value[name]) for name, form in forms.items())
    )


def by_id(form: Form) -> Form:
    """A table whose every value is of this form."""
    return lambda value: isinstance(value, dict) and all(map(form, value.values()))


def votes(value: Any) -> bool:
    """Votes in ballot order, then write_in, under, over, ballots: the longest lists of a packet, so looked at without going through other forms."""
    return isinstance(value, list) and all(n is None or (type(n) is int and 0 <= n <= MOST) for n in value)


def signers(value: Any) -> bool:
    """Role, party, how, of each."""
    return isinstance(value, list) and all(
        isinstance(one, list) and len(one) == 3 and all(isinstance(part, str) and len(part) <= 20_000 for part in one)
        for one in value
    )


def step(value: Any) -> bool:
    """Id, where, when, who signed, flags."""
    return (
        isinstance(value, list)
        and len(value) == 5
        and text(value[0])
        and (value[1] is None or text(value[1]))
        and moment(value[2])
        and signers(value[3])
        and whole(value[4])
    )


SIGNERS, VOTES = signers, votes

CORE: Mapping[str, Form] = {
    "v": whole,
    "place": text,
    "place_digest": digest,
    "mode": text,
    "number": whole,
    "amends": maybe(digest),
    "made": moment,
    "hours": row(*[maybe(moment)] * 3),
    "run": whole,
    "length": whole,
    "head": digest,
    "marks": each(row(whole, text)),
    "steps": each(step),
    "readings": each(table),
    "stock": table,
    "aside": table,
    "emergency": each(named(id=text)),
    "people": each(named(id=text)),
    "tabulators": each(named(id=text)),
    "contests": by_id(VOTES),
    "seals": each(named(at=text, applied=maybe(text), found=maybe(text))),
    "containers": each(named(id=text, seal=maybe(text), ballots=lambda _: True)),
    "gaps": each(row(text, number)),
    "remarks": each(digest),
}

RESTORED: Mapping[str, Form] = {
    "runs": each(row(whole, whole, whole, digest)),
    "lost": each(row(whole, whole)),
    "given_back": row(whole, whole),
    "kit": text,
    "restored": moment,
}
"""What a packet says besides where its laptop was replaced: all of it, or nothing."""

SPLIT = by_id(by_id(VOTES))
"""Rows of contests by precinct, where tapes print them so: `contests_by_precinct`, of the place and of a tape."""

BOARD: Mapping[str, Form] = {
    "carriers": row(whole, whole),
    "envelopes": by_id(by_id(whole)),
    "batches": each(row(text, text, text, text, whole, whole, whole, number)),
    "problems": by_id(by_id(whole)),
    "open": each(row(text, each(row(text, number)), maybe(whole))),
}
"""What a count board's packet has besides, under `board`."""

BOARD_MORE: Mapping[str, Form] = {
    "list": by_id(whole),
    "unfolded": by_id(whole),
    "serials": row(whole, whole, whole),
    "moved": each(row(text, text, whole)),
    "mixed": each(row(text, text, text, by_id(whole))),
    "piles": by_id(whole),
    "days": each(named(id=text)),
    "table": digest,
    "votes": digest,
}
"""What it may have there."""

REMARKS: Mapping[str, Form] = {
    "v": whole,
    "remarks": each(row(whole, each(text), each(number), text, moment, SIGNERS)),
    "statements": each(row(whole, text, moment, SIGNERS)),
    "short": each(row(whole, text, maybe(text), each(empty_seat), maybe(text), SIGNERS)),
    "not_so": each(row(whole, text, maybe(text), maybe(text), maybe(text))),
}


def check(core: Mapping[str, Any], remarks: Mapping[str, Any]) -> None:
    """Both parts have every name, each of its form, and no number beyond those of a night. Raises `PacketRefused`, one sentence."""
    for part, forms, name in ((core, CORE, "packet"), (remarks, REMARKS, "packet's remarks part")):
        lacking = [key for key in forms if key not in part]
        if lacking:
            raise PacketRefused(f"This {name} lacks {packet_words.named(lacking)}. Ask the place for the packet again.")
        odd = [key for key, form in forms.items() if not form(part[key])]
        if odd:
            raise PacketRefused(
                f"In this {name}, these cannot be a night's: {packet_words.named(odd)}. Set it aside and ask the place for the packet again; until it comes, key the place from its paper."
            )
    if (said := [key for key in RESTORED if key in core]) and not (
        len(said) == len(RESTORED) and core["runs"] and all(form(core[key]) for key, form in RESTORED.items())
    ):
        raise PacketRefused(
            "What this packet says of a replaced laptop cannot be so. Key the place from its paper, and ask for the packet again."
        )
    apart = [one["contests_by_precinct"] for one in (core, *core["tabulators"]) if "contests_by_precinct" in one]
    if not all(map(SPLIT, apart)):
        raise PacketRefused(
            "The rows by precinct of this packet cannot be what a tape prints. Set it aside and ask the place for the packet again; until it comes, key the place from its paper."
        )
    if "board" in core and not board_part(core["board"]):
        raise PacketRefused(
            "What this packet says of envelopes and batches cannot be a board's. Set it aside and ask the board for the packet again."
        )
    if not bounded(core):
        raise PacketRefused(
            "A number in this packet is larger than any of a night. Set it aside and ask the place for the packet again; until it comes, key the place from its paper."
        )


def board_part(value: Any) -> bool:
    """Whether this is what a count board says: all of `BOARD`, and of `BOARD_MORE` whatever is there."""
    return named(**BOARD)(value) and all(form(value[name]) for name, form in BOARD_MORE.items() if name in value)


def bounded(value: Any) -> bool:
    """Whether every number in it, at any depth, is one that a night may have. Without recursion: this looks at every leaf of every packet."""
    waiting = [value]
    while waiting:
        one = waiting.pop()
        if type(one) is int:
            if not -MOST <= one <= MOST:
                return False
        elif isinstance(one, dict):
            waiting += one.values()
        elif isinstance(one, list):
            waiting += one
    return True
