"""The stored example: a place file and its signed form, which every later version reads. Its bytes never change."""

import hashlib
from datetime import UTC, date, datetime, time

import cbor2
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from tests.place.conftest import HERE
from webapp.gate import signed_place_file
from webapp.precinct.place import place_file
from webapp.precinct.place.place import Choice, Kind, Stations

PLACE_DIGEST = "1ec7589c7042f5b36634d4f312a8906ba64b9cec3c95d4c6f1a84648a90ebbe7"
COSE_DIGEST = "4d6fc0089a40f1d38e8aa1c2e4a1ca5037c1566d25dc5adb1db3156b4d73298d"
QUEUE_DIGEST = "47ad56547994ef3038e37cba274bcfa39acbd2e4564be7cdf781228d0d101aaa"
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))


def test_the_stored_place_says_what_it_said(stored):
    place = place_file.read(stored("place.toml"))

    assert place.digest.hex() == PLACE_DIGEST == hashlib.sha256(stored("place.toml")).hexdigest()
    assert (place.mode, place.edition, place.id, place.date, place.opens, place.closes) == (
        "live",
        "2026-11-03 b",
        "R7",
        date(2026, 11, 3),
        time(6, 30),
        time(21),
    )
    assert (
        place.rules.different == (("A", "B"), ("U", "U"))
        and place.rules.typed == ("MAYOR",)
        and place.rules.clock == 12
    )
    assert [o.name for o in place.officials] == [
        'Zoë "Bo" Ångström',
        "Imre Vadász",
        "Łucja O'Dell",
    ] and place.officials[0].initials == "ZBÅ"
    assert place.seals == ("0096", "0097", "0098", "0099", "0100", "0101", "0102", "0103", "B-7", "B-9", "spare")
    assert (
        place.contests[1].choices[3] == Choice("N", "Dora Fen")
        and place.contests[1].group == "north"
        and place.styles[0].sheets == 2
    )
    assert place.kinds[1] == Kind("spoiled-not-reissued", True, False, False, False)
    assert place.steps[1]["why"] == "The yard is dark by five.\nVoters come in from there." and place.steps[0] == {
        "id": "accessible-device",
        "drop": True,
    }


def test_the_stored_place_with_a_queue_says_what_it_said_and_one_without_still_reads(stored):
    place, before = place_file.read(stored("queue.toml")), place_file.read(stored("place.toml"))

    assert QUEUE_DIGEST == place.digest.hex()
    assert place.queue == Stations(
        check_in_stations=2, check_in_seconds=90, booths=10, booth_minutes=6, tabulator_seconds=45
    ) and [p.registered for p in place.precincts] == [1120]
    assert before.queue == Stations() and {p.registered for p in before.precincts} == {None}
    assert "[queue]" not in place_file.write(before) and "registered" not in place_file.write(before)


def test_the_stored_envelope_holds_by_the_standard_alone(stored):
    """RFC 9052 section 4.4 written out here, with cbor2 and Ed25519 (RFC 8032) and nothing of the product."""
    data = stored("place.cose")
    assert hashlib.sha256(data).hexdigest() == COSE_DIGEST
    tagged = cbor2.loads(data)
    protected, unprotected, payload, signature = tagged.value
    public = KEY.public_key().public_bytes_raw()

    assert tagged.tag == 18 and unprotected == {} and payload == stored("place.toml")
    assert cbor2.loads(protected) == {1: -8, 4: hashlib.sha256(public).digest()[:8]}
    covered = cbor2.dumps(["Signature1", protected, b"tapeseal/place/1/live", payload])
    Ed25519PublicKey.from_public_bytes(public).verify(signature, covered)


def test_the_stored_envelope_is_opened_and_made_again_byte_for_byte(stored):
    assert signed_place_file.opened(stored("place.cose"), KEY.public_key()).digest.hex() == PLACE_DIGEST
    assert signed_place_file.seal(stored("place.toml"), KEY) == stored("place.cose")


def test_hours_are_those_of_the_zone_on_that_day(stored):
    """15 U.S.C. 260a: summer time ends on the first Sunday of November, in 2026 on the 1st; on the 3rd New York is five hours behind UTC."""
    place = place_file.read(stored("place.toml"))

    assert datetime.fromtimestamp(place.at(place.opens) / 1000, UTC) == datetime(2026, 11, 3, 11, 30, tzinfo=UTC)


def test_the_demo_votes_on_election_day():
    """2 U.S.C. 7: the Tuesday next after the first Monday in November, in every even numbered year."""
    place = place_file.read((HERE.parents[1] / "demo_precinct" / "place.toml").read_bytes())
    first_monday = next(day for day in range(1, 8) if date(2026, 11, day).isoweekday() == 1)

    assert place.date == date(2026, 11, first_monday + 1) and place.mode == "practice"
    assert (
        len(place.officials) == 8 and {o.party for o in place.officials} == {"M", "P", "N"} and len(place.seals) == 40
    )
    assert {t.box for t in place.tabulators} == {"B1", "B2"} and any(c.n == 2 for c in place.contests)


def test_the_stored_place_with_telephone_numbers_says_what_it_said_and_one_without_still_reads(stored):
    place, before = place_file.read(stored("phones.toml")), place_file.read(stored("place.toml"))

    assert [(p.who, p.number) for p in place.phones] == [
        ("Election office", "555-0142"),
        ("Police or fire service", "555-0199 ext. 3"),
    ]
    assert [box.holds for box in place.boxes] == [400]
    assert place_file.read(place_file.write(place).encode()) == place
    assert before.phones == () and {box.holds for box in before.boxes} == {None}
    assert (
        "phones" not in place_file.write(before)
        and "holds = " not in place_file.write(before).partition("containers")[0]
    )


def test_a_telephone_number_is_one_that_can_be_dialed(stored):
    wrong = stored("phones.toml").decode().replace("555-0142", "ask Ada")
    with pytest.raises(place_file.Mistakes) as told:
        place_file.read(wrong.encode())
    assert [says for _, says in told.value.found] == [
        'number of [[phones]] is "ask Ada": write it as it is dialed, in digits, spaces, dashes and parentheses, such as '
        '"555-0142" or "555-0142 ext. 7".'
    ]
