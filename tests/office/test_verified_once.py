"""A packet is verified once, when it is read; what is accepted are the very bytes that were verified, and no others."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.office.test_intake_stack import plain, sent
from webapp.office.checking import packet_checks
from webapp.office.received.packets_being_read import PacketsBeingRead
from webapp.office.received.received_packets import ReceivedPackets
from webapp.packet import cose, envelope


@pytest.fixture
def done(monkeypatch):
    """How often a signature was checked and the lines of a packet were drawn."""
    counts = {"signatures": 0, "lines": 0}

    def counted(name, inner):
        def outer(*words):
            counts[name] += 1
            return inner(*words)

        return outer

    holds = counted("signatures", cose.holds)
    monkeypatch.setattr(cose, "holds", holds)
    monkeypatch.setattr(envelope, "holds", holds)
    monkeypatch.setattr(packet_checks, "balance", counted("lines", packet_checks.balance))
    return counts


def changed(data: bytes, at: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]


def test_from_the_file_to_the_totals_each_of_the_two_signatures_is_checked_once_and_the_lines_are_drawn_once(
    night, desk, done
):
    night.hold()
    night.take_in("W3", **plain(desk))
    assert done == {"signatures": 2, "lines": 1} and night.room.tray.in_totals("W3")
    first = night.room.tray.counts("W3")[0]
    done.update(signatures=0, lines=0)
    sent(night, night.seal["W3"](number=2, amends=first, **plain(desk)), night.seal["W5"](**plain(desk)))
    page = night.window.send(night.window.get("/intake").form("/intake/accept"))
    assert page.path == "/places" and night.kinds.count("packet-received") == 3
    assert done == {"signatures": 4, "lines": 2}


def test_a_file_that_is_changed_before_its_entry_is_in_no_figure(night, desk, monkeypatch):
    """A byte of the figures, one of the remarks' signature, which the packet's digest does not cover, and another whole packet of the place."""
    night.hold()
    tray, lay = night.room.tray, night.room.tray.lay
    data = b"".join(night.seal["W3"](**plain(desk)))
    other = b"".join(night.seal["W3"](number=2, **plain(desk)))
    for n, bad in enumerate((changed(data, 40), changed(data, len(data) - 1), other), 1):

        def changed_at_once(opened, parts, bad=bad):
            lay(opened, parts)
            tray.path(opened.digest).write_bytes(bad)

        monkeypatch.setattr(tray, "lay", changed_at_once)
        night.upload((f"{n}.cose", data))
        night.window.send(night.window.get("/intake").form("/intake/take"))
        assert not tray.packets and not tray.in_totals("W3")
    assert len(tray.lost["W3"]) == 2 and all("is not what was taken in" in said for said in tray.lost["W3"])
    monkeypatch.setattr(tray, "lay", lay)
    night.upload(("again.cose", data))
    night.window.send(night.window.get("/intake").form("/intake/take"))
    assert tray.in_totals("W3")


def test_only_the_bytes_that_were_verified_are_laid_down_and_others_are_verified_anew(desk, tmp_path):
    tray = ReceivedPackets(tmp_path, desk.roster)
    reading = PacketsBeingRead(tray)
    report = reading.check(desk.parts)
    assert reading.check(list(desk.parts)) is report
    for part in (0, 1):
        bad = [changed(one, len(one) - 1) if n == part else one for n, one in enumerate(desk.parts)]
        with pytest.raises(envelope.PacketRefused, match="does not hold"):
            reading.check(bad)
        with pytest.raises(ValueError, match="the bytes that were verified"):
            tray.lay(report.opened, bad)
    assert not list((tmp_path / "in").iterdir())


def test_what_is_said_of_a_packet_that_is_being_read_moves_with_the_others_of_its_place(desk, tmp_path):
    tray = ReceivedPackets(tmp_path, desk.roster)
    reading = PacketsBeingRead(tray)
    first = reading.check(desk.parts)
    tray.count_in("W3", first.opened.digest, first.opened)
    again = reading.check(desk.parts)
    assert again is not first and again.opened is first.opened
    assert "already accepted" in str(again.checks) and "already accepted" not in str(first.checks)


def test_a_packet_by_a_key_that_nobody_knows_is_not_kept_at_hand(desk, tmp_path):
    """Anybody can make a thousand of them: they would fill the computer's memory and push out those that are proven."""
    reading = PacketsBeingRead(ReceivedPackets(tmp_path, desk.roster))
    proven = reading.check(desk.parts)
    strange = desk.sealed(by=Ed25519PrivateKey.generate())
    first, again = reading.check(strange), reading.check(strange)
    assert not first.proven and first.opened is not again.opened
    assert reading.check(desk.parts) is proven
