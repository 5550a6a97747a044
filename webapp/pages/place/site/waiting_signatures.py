"""What waits for a signature on this laptop, in words: which step, who signed it, whom it waits for, until when."""

from collections.abc import Sequence

from webapp.gate.pending_signatures import LASTS, Pending
from webapp.pages.place.site.place_site import PlaceSite
from webapp.pages.shared.awaiting import Draft
from webapp.precinct.checklist import checklist
from webapp.precinct.day import seats
from webapp.precinct.day.hours import clock
from webapp.precinct.reports.now_state import Waiting
from webapp.record.entry import Claim


def waiting(site: PlaceSite, now: int) -> tuple[Waiting, ...]:
    """Everything that waits now, in the order in which it was signed first. `site`: the `PlaceSite`.

    What is in the record waits no more: the same page was signed first by two people, or the program was cut off before it was taken away.
    """
    both = [(pending, Draft.unpack(pending.claims)) for pending in site.gate.pending.waiting(now)]
    found = [
        _one(site, pending, draft)
        for pending, draft in both
        if not all(site.ledger.find(claim.id) for claim in draft.claims)
    ]
    return tuple(_with_others(one, found) for one in found)


def _one(site: PlaceSite, pending: Pending, draft: Draft) -> Waiting:
    claims = [claim for claim in draft.claims if claim.kind != "check-words"]
    signed = [official for person in pending.people if (official := site.people.official(person))]
    working = site.people.working()
    taken = seats.filled(draft.weight, signed, site.rules, working)
    wanted = [seat.label for seat in seats.seats(draft.weight, working) if seat.name not in taken]
    return Waiting(
        pending.id,
        tuple(_key(site, claim) for claim in claims),
        _title(site, claims),
        tuple(site.person_name(person) for person in pending.people),
        pending.signers[0][1] + LASTS * 1000 * (2 if pending.coarse else 1),
        wanted[0] if wanted else "",
        pending.coarse,
    )


def _key(site: PlaceSite, claim: Claim) -> str:
    """The key of the task that this claim would keep."""
    at = clock(site.place, claim.body["hour"]) if claim.kind == "hourly" else claim.body.get("at") or ""
    return checklist.task_key(claim.kind, at)


def _title(site: PlaceSite, claims: Sequence[Claim]) -> str:
    """What it is: a step by its own name, the page where several are signed at once, the entry that a correction changes."""
    first = claims[0]
    if first.kind == "correction":
        return f"Correction of entry {first.body['of']}"
    step = checklist.step_of(first.kind, site.place)
    if step is None:
        return checklist.title(first.kind, "", site.place)
    key = _key(site, first)
    if len(claims) > 1:
        return checklist.page_title(step.page.replace(":T", f":{first.body.get('at', '')}"), step.title)
    return checklist.fill(step, site.place, key.partition(":")[2]).title


def _with_others(one: Waiting, found: Sequence[Waiting]) -> Waiting:
    """The same with who signed other figures for the same step."""
    steps = {key for key in one.keys if key}
    twins = [other for other in found if other.id != one.id and steps & set(other.keys) and other.title == one.title]
    names = tuple(name for other in twins for name in other.by)
    return Waiting(one.id, one.keys, one.title, one.by, one.until, one.wants, one.coarse, names)
