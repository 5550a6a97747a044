"""Which packet of a place counts: a function of the set of its packets and of what two parties signed about them, never of the order they came in.

A proven packet is signed by a key that the office enrolled for the place and that was not reported lost. An unproven
one amends nothing and outranks nothing: it is held until two receivers of two parties sign that it counts, after they
compared its tape in full. A place that two parties keyed from its paper comes before its packets; a proven packet
with the same figures is taken for it.
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
class KeyedFromPaper:
    """`place-keyed`, signed by two parties: `digest` of its figures, ids of the entries it replaces, digests of the packets that say the same
    wherever the paper says anything."""

    kept: int
    id: bytes
    digest: bytes
    amends: tuple[bytes, ...] = ()
    same: frozenset[bytes] = frozenset()


@dataclass(frozen=True, slots=True)
class PacketsInForce:
    """What counts for one place. digest: None where nothing does. ruling: the entry that decided it, None where the rule alone did. paper: what counts was keyed from paper.

    against: proven packets that contradict the one that counts and that nobody has decided on. held: unproven ones
    that count for nothing. states: every packet -> counts | replaced | held | against | aside.
    """

    digest: bytes | None
    ruling: Ruling | None
    against: tuple[bytes, ...]
    held: tuple[bytes, ...]
    states: Mapping[bytes, str]
    proven: bool = True
    paper: bool = False

    @property
    def contradicted(self) -> bool:
        return bool(self.against)


NOTHING = PacketsInForce(None, None, (), (), {})


def outcome(
    packets: Iterable[Received],
    rulings: Iterable[Ruling] = (),
    asides: Iterable[Aside] = (),
    keyed: Iterable[KeyedFromPaper] = (),
) -> PacketsInForce:
    """What counts for one place: what the newest ruling names, or whatever replaces that; else the place as it was keyed from paper, or a proven
    packet that says the same; else the best of the proven ones that no proven one amends: the higher number, then the later made, then the lower
    digest."""
    known = {one.digest: one for one in packets}
    papers, out = tuple(keyed), set_aside(asides)
    present = {digest: one for digest, one in known.items() if digest not in out}
    sheets = [one for one in papers if one.digest not in out]
    named = {one.digest for one in sheets}
    ruling = _newest(
        one
        for one in rulings
        if one.digest in named or (one.digest in present and (present[one.digest].proven or one.tape))
    )
    proven = [one for one in present.values() if one.proven]
    tips, leaves = _unamended(proven), _newest_papers(sheets)
    chosen, paper = _chosen(ruling, present, proven, tips, sheets, leaves)
    counts = chosen.digest if chosen else paper.digest if paper else None
    settled = _settled(ruling, counts, present) | (paper.same if paper else frozenset()) if counts else set()
    against = tuple(
        sorted(
            {one.digest for one in tips if one.digest not in settled}
            | {one.digest for one in leaves if one.digest not in settled and counts not in one.same}
        )
    )
    return PacketsInForce(
        counts,
        ruling,
        against,
        _held(present, chosen),
        _states({*known, *(one.digest for one in papers)}, present, counts, against, out),
        chosen.proven if chosen else True,
        paper is not None,
    )


def _chosen(
    ruling: Ruling | None,
    present: Mapping[bytes, Received],
    proven: Sequence[Received],
    tips: Sequence[Received],
    sheets: Sequence[KeyedFromPaper],
    leaves: Sequence[KeyedFromPaper],
) -> tuple[Received | None, KeyedFromPaper | None]:
    """(the packet that counts, None) or (None, the paper that does); both None where nothing counts."""
    if ruling and ruling.digest in present:
        return _of_ruling(ruling, present, proven), None
    if ruling:
        return None, _replacing(ruling.digest, sheets, leaves)
    if len({one.digest for one in leaves}) == 1:
        stand_in = _best([one for one in tips if one.digest in leaves[0].same])
        return (stand_in, None) if stand_in else (None, leaves[0])
    return _best(tips), None


def _newest_papers(sheets: Sequence[KeyedFromPaper]) -> list[KeyedFromPaper]:
    """Those that no other one replaces."""
    amended = {old for one in sheets for old in one.amends}
    return sorted((one for one in sheets if one.id not in amended), key=lambda one: (one.digest, one.kept, one.id))


def _replacing(digest: bytes, sheets: Sequence[KeyedFromPaper], leaves: Sequence[KeyedFromPaper]) -> KeyedFromPaper:
    """The paper of this digest; or the one that replaced it, however far, where that is one alone."""
    line, grown = {one.id for one in sheets if one.digest == digest}, True
    while grown:
        more = {one.id for one in sheets if line.intersection(one.amends)} - line
        line, grown = line | more, bool(more)
    last = [one for one in leaves if one.id in line]
    if len({one.digest for one in last}) == 1:
        return last[0]
    return min((one for one in sheets if one.digest == digest), key=lambda one: (one.kept, one.id))


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


def _settled(ruling: Ruling | None, counts: bytes, present: Mapping[bytes, Received]) -> set[bytes]:
    """What needs no further decision: what counts; by a ruling also those it was chosen over, and what it amends itself."""
    settled = {counts}
    if ruling is None:
        return settled
    settled |= {ruling.digest, *ruling.against}
    before = present[counts].amends if counts in present else None
    while before is not None and before in present and before not in settled:
        settled.add(before)
        before = present[before].amends
    return settled


def _held(present: Mapping[bytes, Received], chosen: Received | None) -> tuple[bytes, ...]:
    return tuple(sorted(digest for digest, one in present.items() if not one.proven and one is not chosen))


def _states(
    known: Collection[bytes],
    present: Mapping[bytes, Received],
    counts: bytes | None,
    against: Sequence[bytes],
    out: Collection[bytes],
) -> dict[bytes, str]:
    """What is so of every packet and of every paper that was keyed, by digest."""
    found = {}
    for digest in sorted(known):
        state = (
            ASIDE
            if digest in out
            else COUNTS
            if digest == counts
            else HELD
            if digest in present and not present[digest].proven
            else AGAINST
            if digest in against
            else REPLACED
        )
        found[digest] = state
    return found
