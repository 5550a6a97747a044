"""A packet at the desk: taken in, or refused with its own sentence; nothing of it is believed before the checks."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from webapp.office import receive
from webapp.packet.envelope import Refused


def said(desk, parts, known=None) -> dict[str, tuple[str, str]]:
    report = receive.check(parts, desk.roster, known or {})
    return {check.name: (check.state, check.says) for check in report.checks}


def test_the_packet_of_the_day_passes_every_check_but_asks_about_the_short_signed_step(desk):
    checks = said(desk, desk.parts)
    assert checks["Signature of the place"][0] == checks["Place file"][0] == checks["Packet"][0] == checks["Stock"][0] == checks["Seals"][0] == "agrees"
    assert checks["Balances, drawn again here"] == ("agrees", checks["Balances, drawn again here"][1]) and "signed remark" in checks["Balances, drawn again here"][1]
    assert checks["Steps"][0] == "look" and "noon-look" in checks["Steps"][1] and "access" in checks["Steps"][1]


def test_an_unknown_key_is_accepted_and_marked_as_not_proven(desk):
    report = receive.check(desk.sealed(by=Ed25519PrivateKey.generate()), desk.roster)
    assert report.opened.verified is False
    assert report.checks[0].state == "look" and "accepted, not proven" in report.checks[0].says


@pytest.mark.parametrize(("changes", "sentence"), [
    ({"place": "W9"}, "its key was enrolled for W3"),
    ({"place_digest": bytes(32)}, "a place file that this office never issued"),
    ({"v": 2}, "This packet is of form 2; this desk reads form 1"),
    ({"steps": ...}, "This packet lacks steps"),
    ({"mode": "live"}, "for live, and practice is asked for here"),
])
def test_a_packet_that_is_not_this_places_is_refused_with_one_sentence(desk, changes, sentence):
    with pytest.raises(Refused, match=sentence):
        receive.check(desk.sealed(**changes), desk.roster)


def test_a_live_packet_is_refused_by_an_office_that_practises(desk):
    with pytest.raises(Refused, match="live"):
        receive.check(desk.sealed("live"), desk.roster)


def test_an_altered_byte_is_refused(desk):
    core = bytearray(desk.parts[0])
    core[len(core) // 2] ^= 1
    with pytest.raises(Refused):
        receive.check((bytes(core), desk.parts[1]), desk.roster)


def test_a_packet_that_counts_its_gaps_otherwise_than_this_desk_is_looked_at(desk):
    checks = said(desk, desk.sealed(gaps=[]))
    assert checks["Balances, drawn again here"][0] == "look" and "differ" in checks["Balances, drawn again here"][1]


def test_the_same_packet_twice_is_one_and_a_second_that_replaces_none_is_a_contradiction(desk):
    digest = desk.opened.digest
    assert "read before" in said(desk, desk.parts, {"W3": [(1, digest)]})["Packet"][1]
    second = desk.sealed(number=2, amends=digest)
    assert "replaces the one before" in said(desk, second, {"W3": [(1, digest)]})["Packet"][1]
    stranger = desk.sealed(number=2)
    assert said(desk, stranger, {"W3": [(1, digest)]})["Packet"][0] == "look"


def test_a_seal_that_was_never_issued_and_other_stock_are_looked_at(desk):
    containers = [dict(c) for c in desk.opened.core["containers"]]
    containers[0]["seal"] = "9999999"
    assert "never issued" in said(desk, desk.sealed(containers=containers))["Seals"][1]
    stock = {**desk.opened.core["stock"], "received": [{"style": "3A", "n": 900}, {"style": "4A", "n": 600}]}
    assert said(desk, desk.sealed(stock=stock))["Stock"][0] == "look"


ANY = st.recursive(st.none() | st.booleans() | st.integers(-3, 10**6) | st.text(max_size=4) | st.binary(max_size=3), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3), max_leaves=6)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(name=st.sampled_from(receive.WANTED), value=ANY)
def test_whatever_stands_in_a_core_ends_in_a_report_or_one_refusal(desk, name, value):
    try:
        report = receive.check(desk.sealed(**{name: value}), desk.roster)
    except Refused as refused:
        assert str(refused).endswith(".")
    else:
        assert report.place.id == "W3"
