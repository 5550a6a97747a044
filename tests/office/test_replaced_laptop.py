"""A packet made on a spare laptop: the kit's key proves it, the desk says what happened, and an older desk's packets read as ever."""

from dataclasses import replace

import pytest

from tests.stick.enrolled import enrolled, prepared, tapeseal  # noqa: F401
from webapp.gate import keys, kit, spare
from webapp.office.checking import packet_schema, single_checks
from webapp.office.checking.single_checks import Known, is_proven
from webapp.office.setup import roster
from webapp.packet.cose import PacketRefused, key_id
from webapp.packet.print_content import restored_words

CORE = {
    "runs": [[1, 1, 412, bytes(32)], [2, 10_001, 10_077, bytes(32)]],
    "lost": [[414, 414], [416, 419]],
    "given_back": [3, 3],
    "kit": "spare",
    "restored": 1_793_705_400_000,
}


def test_the_key_of_the_kit_is_known_at_the_desk_beside_the_first(enrolled):
    known = roster.load(enrolled.office)
    opened = kit.opened(enrolled.kit.read_bytes(), enrolled.code)
    second, first = key_id(opened.own.public_key()), key_id(keys.place_key(enrolled.place).public_key())

    assert {first, second} <= set(known.keys)
    assert known.spares == {second}
    assert {known.enrolments[one].place for one in (first, second)} == {"W3"}
    assert [one.kid for one in spare.spares(enrolled.office)] == [second]


def test_a_packet_under_it_is_proven(enrolled):
    known = roster.load(enrolled.office)
    second = next(iter(known.spares))

    class Opened:
        kid, verified, core = second, True, {"made": 1_793_705_400_000}

    assert is_proven(Opened(), known)
    closed = replace(known.enrolments[second], to_ms=1)
    assert not is_proven(Opened(), replace(known, enrolments={**known.enrolments, second: closed}))


def test_the_desk_says_the_worked_example(enrolled):
    place = roster.load(enrolled.office).places["W3"]
    said = restored_words(CORE, place)

    assert said.endswith(
        "on a spare laptop after entry 412. Given back: 3, 3 of them read and signed by two parties. Lost: 414, 416 to 419."
    )
    assert "without a kit" in restored_words(CORE | {"kit": "fresh"}, place)
    assert restored_words({}, place) == ""


@pytest.mark.parametrize(
    "change",
    [
        {"runs": []},
        {"runs": [[1, 1, 412]]},
        {"lost": [[1]]},
        {"given_back": [3]},
        {"kit": 5},
        {"restored": -1},
        {"lost": None},
    ],
)
def test_what_cannot_be_so_is_refused(change, monkeypatch):
    monkeypatch.setattr(packet_schema, "CORE", {})
    monkeypatch.setattr(packet_schema, "REMARKS", {})
    rest = {"tabulators": []}
    packet_schema.check(CORE | rest, {})
    packet_schema.check(rest, {})
    with pytest.raises(PacketRefused, match="replaced laptop"):
        packet_schema.check(CORE | rest | change, {})
    with pytest.raises(PacketRefused, match="replaced laptop"):
        packet_schema.check({name: CORE[name] for name in ("runs", "lost")} | rest, {})


def test_a_packet_that_the_old_laptop_made_after_it_was_replaced_is_looked_at(enrolled):
    place = roster.load(enrolled.office).places["W3"]
    replaced = 1_793_705_400_000
    spares = [Known(2, b"2" * 32, None, True, replaced)]

    class Old:
        digest, core = b"1" * 32, {"made": replaced + 60_000}

    class Before(Old):
        core = {"made": replaced}

    (found,) = single_checks._record(Old(), place, spares)
    assert (found.name, found.state) == ("Record", "look")
    assert "on the old laptop, which another packet of this place says was replaced at" in found.says
    assert single_checks._record(Before(), place, spares) == ()
    assert single_checks._record(Old(), place, [spares[0]._replace(proven=False)]) == ()
    assert single_checks._record(Old(), place, [Known(1, b"3" * 32, None)]) == ()
