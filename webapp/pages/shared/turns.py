"""Each line that a tablet keeps has its own number there: what is signed on it takes the next one, what it held brings its own."""

from collections.abc import Sequence
from dataclasses import replace

from webapp.record.entry import Act, Claim, Signer
from webapp.record.ledger import Ledger, RecordRefused
from webapp.record.looking import LookingRecord


class OutOfTurn(RecordRefused):
    """A line of a tablet comes with a number that is not the tablet's next one."""


def acts_of(
    ledger: Ledger | LookingRecord,
    claims: Sequence[Claim],
    signers: Sequence[Signer],
    holder: str | None,
    now: int,
    made: int | None,
    offset: int,
) -> list[Act]:
    """These claims as the record takes them, those of the laptop itself ("L") signed by nobody. The last one says whose tablet it is.

    Times in ms UTC: `made` where they were held, `offset` the tablet's clock less the laptop's. Raises `OutOfTurn`.
    """
    seq, acts = ledger.last_seq(claims[-1].tablet), []
    for claim in claims:
        if claim.tablet == "L":
            acts.append(Act(claim, (), now, 0, None))
            continue
        known = ledger.find(claim.id)
        seq += known is None
        if known is None and claim.seq not in (0, seq):
            raise OutOfTurn(
                f"Something else was kept on tablet {claim.tablet} meanwhile: its next line is {seq}, this one says {claim.seq}. "
                "Read the list again and sign once more."
            )
        mine = replace(claim, seq=known.seq if known else seq)
        acts.append(Act(mine, tuple(signers), now if made is None else made, offset, holder))
    return acts
