"""The bytes of an office's report: what it posted as one edition, in one file that another office takes in.

A COSE_Sign1 of the office, context "tapeseal/report/1/live" or ".../practice", over one map in deterministic CBOR (README). It holds what the edition
made public and nothing else: sums of each contest over the whole office. The same edition gives the same bytes each time.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from hashlib import sha256
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp.canvass.edition import DRAFT, STATUSES
from webapp.merging.refusals import BundleRefused
from webapp.packet import cose
from webapp.precinct.place.plain_words import readable
from webapp.precinct.place.toml_table import ID, MANY
from webapp.record import cbor

VERSION = 1
LARGEST = 4 * 1024 * 1024  # bytes of a report
LONGEST = 400  # letters of a title, a name or a label
LINES = ("write_in", "under", "over")
OVERVOTES = ("ballots", "votes")
_SHAPE: Mapping[str, type] = {
    "v": int, "office": str, "name": str, "mode": str, "election": list, "number": int, "status": str, "made": str,
    "digest": bytes, "places": list, "files": dict, "contests": dict,
}  # fmt: skip
_CONTEST: Mapping[str, type] = {
    "title": str, "group": str, "n": int, "overvotes": str, "choices": list, "votes": dict, "ballots": int, "waiting": int,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReportedContest:
    """A contest over the whole office, as published. `votes` by choice id and by write_in, under, over, where they are printed; `ballots` that
    carried it; `waiting`: counted, and in none of these figures yet."""

    title: str
    group: str
    n: int
    overvotes: str
    choices: tuple[tuple[str, str], ...]
    votes: Mapping[str, int]
    ballots: int
    waiting: int


@dataclass(frozen=True, slots=True)
class OfficeReport:
    """One edition of one office. `made`: date and time with zone; `digest`: SHA-256 of its edition.json; `places`: in, awaited; `files`: SHA-256 of
    every place file of each place; `contests` by id, in ballot order."""

    office: str
    name: str
    mode: str
    election: tuple[str, str]
    number: int
    status: str
    made: str
    digest: bytes
    places: tuple[int, int]
    files: Mapping[str, Sequence[bytes]]
    contests: Mapping[str, ReportedContest]
    kid: bytes = field(default=b"", compare=False)
    facts: bytes = b""  # SHA-256 of what was signed

    @property
    def called(self) -> str:
        """ "Edition 3 of Sable County election office"."""
        return f"Edition {self.number} of {self.name}"

    @property
    def time_words(self) -> str:
        """When it was made, by that office's clock: "12 November 2026, 16:05 UTC-06:00"."""
        made = datetime.fromisoformat(self.made)
        return f"{made.day} {made:%B %Y, %H:%M} {made.tzname()}"


def packed(report: OfficeReport, key: Ed25519PrivateKey) -> bytes:
    """The bytes of the report, signed with this key."""
    told = {
        "v": VERSION,
        "office": report.office,
        "name": report.name,
        "mode": report.mode,
        "election": list(report.election),
        "number": report.number,
        "status": report.status,
        "made": report.made,
        "digest": report.digest,
        "places": list(report.places),
        "files": {place: list(digests) for place, digests in report.files.items()},
        "contests": {id: _told(one, rank) for rank, (id, one) in enumerate(report.contests.items(), 1)},
    }
    return cose.sign(cbor.encode(told), key, context(report.mode))


def _told(one: ReportedContest, rank: int) -> dict[str, Any]:
    """A contest as it is stored; `rank` is its place on the ballot, as a map in deterministic CBOR has an order of its own."""
    return {
        "rank": rank,
        "title": one.title,
        "group": one.group,
        "n": one.n,
        "overvotes": one.overvotes,
        "choices": [list(choice) for choice in one.choices],
        "votes": dict(one.votes),
        "ballots": one.ballots,
        "waiting": one.waiting,
    }


def context(mode: str) -> str:
    """The text that the signature covers in addition to the bytes."""
    return f"tapeseal/report/1/{mode}"


def is_report(data: bytes) -> bool:
    """Whether these bytes begin as a signed envelope does, and no bundle of a desk."""
    return data[:1] == b"\xd2"


def unproven(data: bytes, name: str) -> OfficeReport:
    """What a report says of itself, its signature unchecked. name: of its file, for the sentences. Raises BundleRefused."""
    return _taken_apart(data, name)[1]


def opened(data: bytes, name: str, public: Ed25519PublicKey) -> OfficeReport:
    """The report in these bytes, signed by this key. Raises BundleRefused."""
    envelope, report = _taken_apart(data, name)
    if report.kid != cose.key_id(public) or not cose.holds(envelope, public, context(report.mode)):
        raise BundleRefused(
            f"{name} is not what {report.office} signed: it was changed. Ask that office for the file again; nothing of it was taken."
        )
    return report


def _taken_apart(data: bytes, name: str) -> tuple[cose.Sign1, OfficeReport]:
    if len(data) > LARGEST:
        raise BundleRefused(
            f"{name} has {len(data) // 1048576:,} MB, and an edition for other offices has at most {LARGEST // 1048576}. Nothing of it was taken."
        )
    try:
        envelope = cose.taken_apart(data)
        kid, told = cose.named_key(envelope), cbor.decode(envelope.payload)
    except (cose.PacketRefused, cbor.Malformed):
        raise BundleRefused(
            f"{name} is no edition of an office, or it is cut off or changed. Ask that office for the file again; nothing of it was taken."
        ) from None
    if type(told) is dict and type(told.get("v")) is int and told["v"] != VERSION:
        raise BundleRefused(
            f"{name} is an edition of form {told['v']}; this version reads {VERSION}. Use the newer program."
        )
    if not _is_report(told):
        raise BundleRefused(
            f"{name} is signed, and is no edition that this version can read. Ask that office what it is; nothing of it was taken."
        )
    return envelope, _report(told, kid, sha256(envelope.payload).digest())


def _report(told: Mapping[str, Any], kid: bytes, facts: bytes) -> OfficeReport:
    order = sorted(told["contests"], key=lambda id: told["contests"][id]["rank"])
    return OfficeReport(
        told["office"], told["name"], told["mode"], (told["election"][0], told["election"][1]), told["number"],
        told["status"], told["made"], told["digest"], (told["places"][0], told["places"][1]), told["files"],
        {id: _contest(told["contests"][id]) for id in order}, kid, facts,
    )  # fmt: skip


def _contest(told: Mapping[str, Any]) -> ReportedContest:
    choices = tuple((id, label) for id, label in told["choices"])
    return ReportedContest(
        told["title"], told["group"], told["n"], told["overvotes"], choices, told["votes"], told["ballots"], told["waiting"]
    )  # fmt: skip


def _is_report(told: Any) -> bool:
    return (
        _shaped(told, _SHAPE)
        and bool(ID.fullmatch(told["office"]))
        and told["mode"] in ("live", "practice")
        and told["status"] in STATUSES.keys() - {DRAFT}
        and told["number"] >= 1
        and len(told["digest"]) == 32
        and list(map(type, told["election"])) == [str, str]
        and all(map(_text, (told["name"], told["election"][0])))
        and _is_day(told["election"][1])
        and _is_time(told["made"])
        and list(map(type, told["places"])) == [int, int]
        and 0 <= told["places"][0] <= told["places"][1]
        and all(_is_files(id, rows) for id, rows in told["files"].items())
        and all(_is_contest(id, one) for id, one in told["contests"].items())
        and sorted(one["rank"] for one in told["contests"].values()) == list(range(1, len(told["contests"]) + 1))
    )


def _shaped(told: Any, shape: Mapping[str, type]) -> bool:
    return type(told) is dict and {name: type(value) for name, value in told.items()} == dict(shape)


def _is_files(place: Any, rows: Any) -> bool:
    return (
        type(place) is str
        and type(rows) is list
        and all(type(one) is bytes and len(one) == 32 for one in rows)
        and bool(ID.fullmatch(place))
    )


def _is_contest(id: Any, told: Any) -> bool:
    return (
        type(id) is str
        and bool(ID.fullmatch(id))
        and _shaped(told, {**_CONTEST, "rank": int})
        and all(map(_text, (told["title"], told["group"] or " ")))
        and 1 <= told["n"] <= 1000
        and told["overvotes"] in OVERVOTES
        and all(type(row) is list and len(row) == 2 and _text(row[0]) and _text(row[1]) for row in told["choices"])
        and _are_lines(told)
        and all(map(_is_count, (told["ballots"], told["waiting"], *told["votes"].values())))
    )


def _are_lines(told: Mapping[str, Any]) -> bool:
    """No choice is there twice, by id or by name, and every figure is one of a choice or a line that the ballot has."""
    ids, labels = [row[0] for row in told["choices"]], [row[1] for row in told["choices"]]
    apart = len(set(ids)) == len(ids) and len(set(labels)) == len(labels) and not set(ids) & set(LINES)
    return apart and set(told["votes"]) <= {*ids, *LINES}


def _is_count(n: Any) -> bool:
    return type(n) is int and 0 <= n <= MANY


def _text(text: Any) -> bool:
    return type(text) is str and 0 < len(text) <= LONGEST and readable(text)


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _is_time(text: str) -> bool:
    """Date and time with zone, whole seconds."""
    try:
        return len(text) <= 25 and datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False
