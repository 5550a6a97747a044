"""Which packet of a place counts: a function of the set of its packets and of what two parties signed about them, never of the order they came in.

A proven packet is signed by a key that the office enrolled for the place and that nobody may have taken. An unproven one amends nothing and
outranks nothing: it is held until two receivers of two parties sign that it counts, after they compared its tape in full.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

COUNTS, REPLACED, HELD, AGAINST, ASIDE = "counts", "replaced", "held", "against", "aside"


@dataclass(frozen=True, slots=True)
class Received:
    """One packet of a place: digest (32 bytes), number, `made` in ms UTC, digest of the one it amends, whether its signature is proven."""

    digest: bytes
    number: int
    made: int
    amends: bytes | None
    proven: bool


@dataclass(frozen=True, slots=True)
class Ruling:
    """`place-counts`, signed by two parties: this packet counts. `against`: packets it was chosen over; `tape`: its tape was compared in full."""

    kept: int
    id: bytes
    digest: bytes
    against: tuple[bytes, ...] = ()
    tape: bool = False


@dataclass(frozen=True, slots=True)
class Aside:
    """`packet-set-aside`, signed by two parties: the packet is taken out of all this, or brought back."""

    kept: int
    id: bytes
    digest: bytes
    aside: bool


@dataclass(frozen=True, slots=True)
class PacketsInForce:
    """What counts for one place. `digest` None: nothing does. `ruling`: the entry that decided it, None where the rule alone did.

    `against`: proven packets that stand against the one that counts and that nobody has decided on; `held`: unproven ones that count for nothing;
    `states`: every packet -> counts | replaced | held | against | aside.
    """

    digest: bytes | None
    ruling: Ruling | None
    against: tuple[bytes, ...]
    held: tuple[bytes, ...]
    states: Mapping[bytes, str]
    proven: bool = True

    @property
    def contradicted(self) -> bool:
        return bool(self.against)


NOTHING = PacketsInForce(None, None, (), (), {})


def outcome(
    packets: Iterable[Received], rulings: Iterable[Ruling] = (), asides: Iterable[Aside] = ()
) -> PacketsInForce:
    """What counts for one place: the packet that the newest ruling names, or a proven one that amends it; else the best of the proven ones that
    no proven one amends: the higher number, then the later made, then the lower digest."""
    known = {one.digest: one for one in packets}
    out = set_aside(asides)
    present = {digest: one for digest, one in known.items() if digest not in out}
    ruling = _newest(one for one in rulings if one.digest in present and (present[one.digest].proven or one.tape))
    proven = [one for one in present.values() if one.proven]
    tips = _unamended(proven)
    chosen = _of_ruling(ruling, present, proven) if ruling else _best(tips)
    if chosen is None:
        return PacketsInForce(None, None, (), _held(present, None), _states(known, present, None, (), out))
    settled = _settled(ruling, chosen, present) if ruling else {chosen.digest}
    against = tuple(sorted(one.digest for one in tips if one.digest not in settled))
    return PacketsInForce(
        chosen.digest,
        ruling,
        against,
        _held(present, chosen),
        _states(known, present, chosen, against, out),
        chosen.proven,
    )


def set_aside(asides: Iterable[Aside]) -> frozenset[bytes]:
    """Digests that are set aside now: of two entries about one packet the later `kept` holds, then the higher id."""
    newest: dict[bytes, Aside] = {}
    for one in sorted(asides, key=lambda one: (one.kept, one.id)):
        newest[one.digest] = one
    return frozenset(digest for digest, one in newest.items() if one.aside)


def _newest(rulings: Iterable[Ruling]) -> Ruling | None:
    return max(rulings, key=lambda one: (one.kept, one.id), default=None)


def _unamended(proven: Sequence[Received]) -> list[Received]:
    amended = {one.amends for one in proven}
    return [one for one in proven if one.digest not in amended]


def _best(tips: Sequence[Received]) -> Received | None:
    """Higher number, then later made, then lower digest."""
    return min(tips, key=lambda one: (-one.number, -one.made, one.digest), default=None)


def _of_ruling(ruling: Ruling, present: Mapping[bytes, Received], proven: Sequence[Received]) -> Received:
    """The packet that the ruling names, or the best of the last proven ones that amend it."""
    line = _line({ruling.digest}, proven)
    last = _unamended([one for one in proven if one.digest in line])
    return _best([one for one in last if one.digest != ruling.digest]) or present[ruling.digest]


def _line(began: Collection[bytes], proven: Sequence[Received]) -> set[bytes]:
    """These packets and every proven one that amends one of them, however far."""
    line, grown = set(began), True
    while grown:
        more = {one.digest for one in proven if one.amends in line} - line
        line, grown = line | more, bool(more)
    return line


def _settled(ruling: Ruling, chosen: Received, present: Mapping[bytes, Received]) -> set[bytes]:
    """Packets that need no further decision: the one that counts, those it was chosen over, and what it amends itself."""
    settled = {chosen.digest, ruling.digest, *ruling.against}
    before = chosen.amends
    while before is not None and before in present and before not in settled:
        settled.add(before)
        before = present[before].amends
    return settled


def _held(present: Mapping[bytes, Received], chosen: Received | None) -> tuple[bytes, ...]:
    return tuple(sorted(digest for digest, one in present.items() if not one.proven and one is not chosen))


def _states(
    known: Mapping[bytes, Received],
    present: Mapping[bytes, Received],
    chosen: Received | None,
    against: Sequence[bytes],
    out: Collection[bytes],
) -> dict[bytes, str]:
    found = {}
    for digest, one in sorted(known.items()):
        state = (
            ASIDE
            if digest in out
            else COUNTS
            if one is chosen
            else HELD
            if not one.proven
            else AGAINST
            if digest in against
            else REPLACED
        )
        found[digest] = state
    return found
