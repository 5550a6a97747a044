"""Which entries of the office bear on figures and are signed by two parties or not at all, and what such an entry decides."""

from webapp.office.canvassing import added_ballots, certifying
from webapp.office.checking.what_counts import Aside, Ruling
from webapp.record.entry import Entry

TWO_PARTIES = (
    frozenset(
        {
            "place-counts",
            "packet-set-aside",
            "place-keyed",
            "answered",
            "edition-posted",
            "desk-finding",
            "finding-withdrawn",
            "office-compared",
            "history-settled",
        }
    )
    | added_ballots.KINDS
    | certifying.TWO
)


def by_two_parties(entry: Entry) -> bool:
    """Whether two people of two parties signed it."""
    return len({signer.party for signer in entry.signers}) > 1 and not entry.body.get("short")


def ruling_of(entry: Entry) -> Ruling:
    """A `place-counts` entry as what it decides."""
    body = entry.body
    against = tuple(bytes(one) for one in body.get("against", ()))
    return Ruling(entry.kept, entry.id, bytes(body["digest"]), against, bool(body.get("tape")))


def aside_of(entry: Entry) -> Aside:
    """Returns which packet an entry sets aside or takes back in."""
    return Aside(entry.kept, entry.id, bytes(entry.body["digest"]), bool(entry.body["aside"]))
