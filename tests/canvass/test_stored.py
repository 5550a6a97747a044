"""Entries of the days after the night as they are stored: read by this version, and told in these words."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from webapp.canvass import counts, envelopes, recounts
from webapp.office.questions import withdrawn
from webapp.precinct.checklist import canvass_entries, certifying_entries

STORED = json.loads((Path(__file__).parent / "stored" / "entries.json").read_text(encoding="utf-8"))


class Elsewhere:
    id, name = "sable", "Sable County election office"


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_entry_is_told_in_the_same_words(kind):
    one = STORED[kind]
    body = {
        name: bytes.fromhex(v) if name in ("digest", "sealed", "entry", "bundle", "kid", "report") else v
        for name, v in one["body"].items()
    }
    if "refused" in body:
        body["refused"] = [bytes.fromhex(digest) for digest in body["refused"]]
    room = canvass_entries if kind in canvass_entries.TITLES else certifying_entries
    assert room.describe(kind, body, Elsewhere, one["words"]) == one["says"] and kind in room.TITLES


def test_every_kind_has_a_stored_entry():
    assert set(STORED) == set(canvass_entries.TITLES) | set(certifying_entries.TITLES)


def test_stored_envelopes_and_counts_are_read():
    one = envelopes.of_body(STORED["envelopes-decided"]["body"])
    assert (one.issued, one.to_count, one.not_counted, one.open) == (15, 12, 3, 0) and envelopes.mistakes(one) == {}
    count = counts.of_body(STORED["count-in"]["body"])
    assert count.atom == ("W3", "provisional", 1, 0) and count.contests["GOV"] == (7, 4, 0, 1, 0, 12)


def test_stored_recounts_are_read():
    order = recounts.order_of(STORED["recount-ordered"]["body"], 7)
    assert (order.units, order.contests, order.by, order.number) == (("W3",), ("GOV",), "petition", 7)
    assert recounts.opening_of(STORED["recount-opened"]["body"]).ballots == (212, 212)
    one = recounts.recounted_of(STORED["recounted"]["body"])
    assert one.atom == ("W3", "election-day", 1, 0) and one.contests["GOV"] == (102, 97, 4, 8, 1, 212)


def test_a_stored_withdrawal_is_read():
    body = STORED["finding-withdrawn"]["body"]
    rows = [row | {"finding": bytes.fromhex(row["finding"])} for row in body["findings"]]
    one = withdrawn.of_entry(SimpleNamespace(number=50, body=body | {"findings": rows}), "Misread.")
    assert (one.number, one.words, one.findings) == (50, "Misread.", frozenset(row["finding"] for row in rows))
