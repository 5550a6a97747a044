"""What of a bundle is new to the office: a rule over what the office has of that desk's record, and nothing else."""

from dataclasses import dataclass

from webapp.merging.brought import DeskChain
from webapp.merging.bundle import Bundle
from webapp.merging.refusals import OtherHistory
from webapp.stick.segment import LinkedEntry


@dataclass(frozen=True, slots=True)
class Continued:
    """Entries that the office has not got. `hole`: the numbers that are wanted before this bundle can be merged (first, last); None where it joins."""

    new: tuple[LinkedEntry, ...]
    hole: tuple[int, int] | None = None


def continued(bundle: Bundle, chain: DeskChain | None, name: str) -> Continued:
    """What `bundle` brings beyond `chain`. Raises OtherHistory where it is another history of the same desk."""
    desk, told = bundle.desk.id, bundle.contents
    if chain is None:
        return Continued((), (1, told.after)) if told.after else Continued(bundle.segment.entries)
    if told.record != chain.record:
        raise OtherHistory(
            desk,
            f"{name} is of another record of desk {desk} than the one that was merged before. "
            "Find out which of them is the desk's, and keep both files; nothing of this one counts.",
        )
    if told.after > chain.last:
        return Continued((), (chain.last + 1, told.after))
    differs = _first_difference(bundle, chain)
    if differs is not None:
        raise OtherHistory(
            desk,
            f"{name} does not continue what was merged from desk {desk}: entry {differs} there is another one. "
            "Two histories of one desk cannot both be true. Keep both files, and ask at the desk; nothing of this one counts.",
        )
    return Continued(tuple(one for one in bundle.segment.entries if one.stored.number > chain.last))


def _first_difference(bundle: Bundle, chain: DeskChain) -> int | None:
    """The number of the first entry that is another one than the office has; None where all that both have is the same."""
    if chain.heads.get(bundle.contents.after) != bundle.contents.before:
        return bundle.contents.after
    mine = {one.stored.number: one.stored.head for one in bundle.segment.entries}
    shared = sorted(
        n for n in {*mine, *chain.heads} if bundle.contents.after < n <= min(chain.last, bundle.contents.to)
    )
    return next((n for n in shared if mine.get(n) != chain.heads.get(n)), None)
