"""The part of `office.toml` about the days after: ways of voting, reasons for rejecting an envelope, the election, contests that are measures."""

import re
from collections.abc import Iterator
from typing import Any

from webapp.canvass.edition import WAYS, Way
from webapp.canvass.envelopes import REASONS, Reason
from webapp.precinct.place.cross_checks import Finding, twice
from webapp.precinct.place.toml_table import TomlTable

WAY_TYPES = (
    "absentee",
    "absentee-fwab",
    "absentee-in-person",
    "absentee-mail",
    "early",
    "election-day",
    "provisional",
    "uocava",
    "other",
)
"""NIST SP 1500-100 revision 2, CountItemType; without total, seats and write-in, which are no ways of voting."""
ELECTION_TYPES = (
    "general",
    "primary",
    "partisan-primary-open",
    "partisan-primary-closed",
    "runoff",
    "special",
    "other",
)
TEXT = (
    "We certify that this is a full, true and correct statement of the votes cast in {places} places, with {registered} registered "
    "and {ballots} ballots cast."
)
"""The certificate of an office that has no wording of its own."""


def read(file: TomlTable) -> dict[str, Any]:
    """The fields of an `Office` that these tables give; what is left out keeps its default."""
    found: dict[str, Any] = {"ways": _ways(file) or WAYS, "reasons": _reasons(file) or REASONS}
    if file.has("election"):
        election = file.table("election", 'type = "general"')
        found["election_type"] = election.one_of("type", ELECTION_TYPES, "general")
        election.done()
    if file.has("certificate"):
        certificate = file.table("certificate", 'text = "We certify that ..."')
        found["certificate_text"] = certificate.text("text", TEXT, TEXT, most=1000)
        if wrong := _marks(found["certificate_text"]):
            certificate.wrong(wrong, "text")
        found["copies"] = _copies(certificate)
        certificate.done()
    found["measures"] = frozenset(_measures(file))
    return found


def _marks(text: str) -> str:
    """What is wrong with the marks of a certificate's text; "" where only figures that are known are named."""
    strange = [
        mark for mark in re.findall(r"\{[^{}]*\}?|\}", text) if mark not in ("{places}", "{registered}", "{ballots}")
    ]
    return f"text has {strange[0]}: only {{places}}, {{registered}} and {{ballots}} are put in." if strange else ""


def _copies(certificate: TomlTable) -> tuple[str, ...]:
    value = certificate.raw("copies")
    if value is None:
        return ()
    if (
        isinstance(value, list)
        and len(value) <= 12
        and all(isinstance(one, str) and 0 < len(one) <= 60 for one in value)
    ):
        return tuple(value)
    certificate.wrong('copies are up to 12 texts: copies = ["county clerk", "state"].', "copies")
    return ()


def _ways(file: TomlTable) -> tuple[Way, ...]:
    rows = []
    for row in file.tables("ways", 'id = "provisional", name = "Provisional, accepted", type = "provisional"'):
        rows.append(
            Way(
                row.code("id", "provisional"),
                row.text("name", "Provisional, accepted", most=40),
                row.one_of("type", WAY_TYPES),
            )
        )
        row.done()
    return tuple(rows)


def _reasons(file: TomlTable) -> tuple[Reason, ...]:
    rows = []
    for row in file.tables("reasons", 'id = "not-registered", name = "Not registered in the county"'):
        rows.append(Reason(row.code("id", "not-registered"), row.text("name", "Not registered in the county", most=60)))
        row.done()
    return tuple(rows)


def _measures(file: TomlTable) -> Iterator[str]:
    for row in file.tables("contests", 'id = "PROP1", what = "measure"'):
        id, what = row.code("id", "PROP1"), row.one_of("what", ("measure", "office"))
        row.done()
        if what == "measure":
            yield id


def findings(office: Any) -> tuple[Finding, ...]:
    """What is wrong in these tables: an id that comes twice, or no way of voting for the places' own returns."""
    found = [
        *twice("ways", "id", [way.id for way in office.ways]),
        *twice("reasons", "id", [reason.id for reason in office.reasons]),
    ]
    if not any(way.id == "election-day" for way in office.ways):
        found.append(
            (
                ("ways", 0),
                'No [[ways]] has id = "election-day": the places\' own returns are of that way. Add it, with type = "election-day".',
            )
        )
    return tuple(found)
