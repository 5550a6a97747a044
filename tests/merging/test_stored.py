"""A desk's certificate and a bundle as they were made once: every later version reads them."""

from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from webapp.merging import bundle as bundles
from webapp.merging import desk_apart, office_report
from webapp.merging.brought import Brought
from webapp.packet.envelope import parts_of
from webapp.record.entry import Entry

STORED = Path(__file__).parent / "stored"
OFFICE = Ed25519PublicKey.from_public_bytes(
    bytes.fromhex("8039d57999e65871c972b14952b03bfe067590d85977351c972c147e4e8cedc6")
)


def test_the_stored_certificate_and_bundle_are_read():
    certificate, data = (STORED / "desk.cose").read_bytes(), (STORED / "north.bundle").read_bytes()
    desk = desk_apart.opened(certificate, [OFFICE])
    assert (desk.id, desk.office, desk.mode, desk.since) == ("north", "tarn", "practice", 1795940580456)
    assert bundles.certificate_in(data, "north.bundle") == certificate
    found = bundles.opened(data, "north.bundle", desk)
    told = found.contents
    assert (told.after, told.to, told.election[1], sorted(told.places)) == (
        0,
        4,
        "2026-11-03",
        ["E1", "HM4", "W3", "W5"],
    )
    assert told.head.hex() == "5e6be54be766cb7ba7197ac26c6f67a2d961ed3a7514681642fc5950c8e36069"
    assert [one.kind for one in found.segment.entries] == [
        "record-opened",
        "packet-received",
        "count-in",
        "place-keyed",
    ]
    (packet,) = found.beside.values()
    assert len(parts_of(packet)) == 2


def test_the_stored_edition_of_an_office_is_read_and_written_again_byte_for_byte():
    data, key = (STORED / "sable-3.edition").read_bytes(), Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    report = office_report.opened(data, "sable-3.edition", key.public_key())
    assert (report.office, report.number, report.status, report.places) == ("sable", 3, "unofficial-complete", (3, 3))
    assert report.contests["GOV-1"].votes == {"A": 312, "B": 294, "write_in": 16, "under": 36, "over": 3}
    assert report.facts.hex() == "92fb39f885304a3125a606174b041d5be4c304dedc3e6363680cb7cd0c5c7a51"
    assert office_report.packed(report, key) == data


def test_a_stored_brought_entry_is_read_as_what_lies_inside():
    """The two entries of the office's record in the README, with an entry of a desk inside."""
    inner = Entry(bytes([9]) * 16, 1, 5, bytes(15) + b"5", "late-call", {"place": "W3"}, 1, 2, 3, 0, "A", 4, "fen", ())
    told = {"desk": "north", "kid": bytes(8), "record": bytes([9]) * 16, "from": 5, "to": 5, "before": bytes(32), "head": bytes(32), "packets": [], "bundle": bytes(32)}  # fmt: skip
    reader = Brought()
    for number, kind, body in ((230, "merged", told), (231, "brought", {"desk": "north", "entry": inner.pack()})):
        raw = Entry(bytes(16), 2, number, inner.id, kind, body, 7, 7, 7, 0, "L", 0, None, ())
        read = reader.read(Entry.unpack(raw.pack()))
    assert (read.number, read.run, read.kind, read.kept, read.tablet, read.holder) == (
        231,
        2,
        "late-call",
        3,
        "A",
        "fen",
    )
    assert reader.desk_of(231) == "north" and reader.from_desk[231].number == 5
