"""The part of `office.toml` that names other offices, by their keys, and the contests that several offices count."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from webapp.packet import cose
from webapp.precinct.place.cross_checks import Finding, twice
from webapp.precinct.place.toml_table import ID, TomlTable

KEY = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class OtherOffice:
    """An office whose editions are received here. key: its public key, 32 bytes. places: ids of its places, as far as they are named."""

    id: str
    name: str
    key: bytes
    places: tuple[str, ...] = ()

    @property
    def kid(self) -> bytes:
        """The key's name, 8 bytes."""
        return cose.key_id(self.public)

    @property
    def public(self) -> Ed25519PublicKey:
        return Ed25519PublicKey.from_public_bytes(self.key)


@dataclass(frozen=True, slots=True)
class SharedContest:
    """A contest of this office, by its id, that others count too. `there`: office -> the contest's id at that office."""

    here: str
    there: Mapping[str, str] = field(default_factory=dict)


def head_of(key: bytes) -> bytes:
    """What the check words of an office's key are made of, 32 bytes. `key`: the public key, 32 bytes."""
    return sha256(b"tapeseal/office-key/1" + key).digest()


def as_toml(office: str, name: str, key: bytes) -> str:
    """What another office writes into its office.toml to know this one."""
    return f'[[offices]]\nid = "{office}"\nname = {json.dumps(name, ensure_ascii=False)}\nkey = "{key.hex()}"'


def read(file: TomlTable) -> dict[str, Any]:
    """The fields of an `Office` that these tables give."""
    return {"others": _others(file), "shared": _shared(file)}


def _others(file: TomlTable) -> tuple[OtherOffice, ...]:
    rows = []
    for row in file.tables("offices", 'id = "sable", name = "Sable County election office", key = "64 digits"'):
        key = row.text("key", "the 64 digits that that office's page shows", most=64)
        if key and not KEY.fullmatch(key):
            row.wrong(
                "key is 64 digits 0 to 9 and letters a to f: copy it from the page Contests of several offices of that office.",
                "key",
            )
            key = ""
        name = row.text("name", "Sable County election office")
        rows.append(OtherOffice(row.code("id", "sable"), name, bytes.fromhex(key), row.codes("places", "S1", ())))
        row.done()
    return tuple(rows)


def _shared(file: TomlTable) -> tuple[SharedContest, ...]:
    rows = []
    for row in file.tables("shared", 'here = "GOV", there = {sable = "GOV-1"}'):
        rows.append(SharedContest(row.code("here", "GOV"), _there(row)))
        row.done()
    return tuple(rows)


def _there(row: TomlTable) -> dict[str, str]:
    """Office -> contest, as the braces name them."""
    value = row.raw("there")
    if not isinstance(value, dict) or not value:
        row.wrong(
            'there of [[shared]] names the contest at each other office: there = {sable = "GOV-1"}.',
            *(["there"] if value is not None else []),
        )
        return {}
    for office, contest in value.items():
        if not isinstance(contest, str) or not ID.fullmatch(contest):
            row.wrong(
                f'there.{office} of [[shared]] is the id of a contest at that office, such as "GOV-1".', "there", office
            )
            return {}
    return dict(value)


def findings(office: Any) -> Iterator[Finding]:
    """Each office and each contest is named once, and `there` names offices that are known."""
    yield from twice("offices", "id", [one.id for one in office.others])
    yield from twice("offices", "key", [one.key.hex() for one in office.others])
    yield from twice("shared", "here", [one.here for one in office.shared])
    taken, ids = dict[tuple[str, str], str](), {one.id for one in office.others}
    for i, other in enumerate(office.others):
        if other.id == office.id:
            yield ("offices", i, "id"), f"{other.id} is this office itself: [[offices]] names others."
        for n, place in enumerate(other.places):
            if office.place(place):
                yield (
                    ("offices", i, "places", n),
                    f"{place} is a place of this office too: a packet could not be told apart by it. Take it out.",
                )
    for i, one in enumerate(office.shared):
        for other, contest in one.there.items():
            if other not in ids:
                sentence = f"there names the office {other}, and no [[offices]] has this id: add it with its key."
                yield ("shared", i, "there", other), sentence
            if (other, contest) in taken:
                first = taken[other, contest]
                sentence = f"{contest} of {other} is shared with {first} already: a contest is added up once."
                yield ("shared", i, "there", other), sentence
            taken.setdefault((other, contest), one.here)
