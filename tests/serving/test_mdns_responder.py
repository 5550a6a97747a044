"""The laptop's name on the local network: a question in the form of RFC 6762 and RFC 1035, put together here byte by byte, is answered with its number."""

import socket
import struct
from concurrent.futures import ThreadPoolExecutor

import pytest

from webapp.commands.server import mdns_responder
from webapp.commands.server.mdns_responder import MdnsResponder, addresses, answered

GROUP, PORT = "224.0.0.251", 5353  # RFC 6762, section 3
A, IN, ONE_TO_ONE = 1, 1, 0x8000  # RFC 1035, 3.2.2 and 3.2.4; RFC 6762, 5.4: an answer to the asker alone


def asked(name: str, here: str) -> list[str]:
    """The numbers that somebody on this network gives for a name, as a plain asker hears them; none after two seconds."""
    labels = b"".join(bytes([len(part)]) + part.encode() for part in name.split(".")) + b"\0"
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
        one.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(here))
        one.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 1)
        one.settimeout(2)
        try:
            one.sendto(
                struct.pack(">6H", 7, 0, 1, 0, 0, 0) + labels + struct.pack(">2H", A, IN | ONE_TO_ONE), (GROUP, PORT)
            )
            answer = one.recv(4096)
        except OSError:
            return []
    count = struct.unpack(">6H", answer[:12])[3]
    at, found = 12 + len(labels) + 4, []
    for _ in range(count):
        at += 2 if answer[at] >= 0xC0 else len(labels)  # a name, perhaps as a pointer (RFC 1035, 4.1.4)
        kind, _, _, length = struct.unpack(">2HIH", answer[at : at + 10])
        if kind == A:
            found.append(socket.inet_ntoa(answer[at + 10 : at + 10 + length]))
        at += 10 + length
    return found


@pytest.fixture
def here():
    found = addresses()
    if not found:
        pytest.skip("this computer is on no network: a name cannot be asked for")
    return found


@pytest.fixture
def put_up():
    """A function: host -> its plate, put up from a thread of its own, as the server does (a browser test may have left an event loop running in this one)."""
    up = []

    with ThreadPoolExecutor(1) as beside:

        def at(host: str, title: str = "Lantern Street School", bound: str = "0.0.0.0") -> tuple[MdnsResponder, str]:
            plate = MdnsResponder(host, title, 8611, bound)
            up.append(plate)
            return plate, beside.submit(plate.tick).result()

        yield at
        for plate in up:
            beside.submit(plate.take_down).result()


def test_a_local_name_is_answered_with_this_laptops_number_until_it_is_taken_down(put_up, here):
    plate, said = put_up("lantern-w3.local")
    found = asked("lantern-w3.local", here[0])
    if said.startswith("The name") or not found:
        pytest.skip("this network carries no multicast")
    assert said == "" and set(found) <= set(here)

    assert plate.tick() == "", "nothing changed, nothing is done"
    plate.take_down()
    assert asked("lantern-w3.local", here[0]) == []


def test_any_other_name_is_left_to_the_router(put_up, monkeypatch):
    monkeypatch.setattr(mdns_responder, "Zeroconf", lambda **how: pytest.fail("nothing is said on the network"))

    assert put_up("w3.tarn.example")[1] == ""


def test_another_computer_with_the_name_is_said(put_up, monkeypatch, here):
    monkeypatch.setattr(mdns_responder, "_others", lambda plate, host, own: ["192.168.1.99"])
    said = put_up("lantern-w5.local")[1]
    if said.startswith("The name"):
        pytest.skip("this network carries no multicast")

    assert (
        said
        == "Another computer here (192.168.1.99) answers to lantern-w5.local as well: find it and stop it before tablets are paired."
    )


def test_a_laptop_that_joins_or_leaves_a_network_puts_its_plate_up_anew(monkeypatch):
    networks, put = iter([(), ("192.168.1.20",), ("192.168.1.20",), ("10.0.0.7",), ()]), []

    class Network:
        def __init__(self, interfaces):
            put.append(("up", *interfaces))

        def register_service(self, info, allow_name_change):
            assert info.server == "lantern.local." and info.parsed_addresses() == list(put[-1][1:])

        def close(self):
            put.append("down")

    monkeypatch.setattr(mdns_responder, "addresses", lambda bound: next(networks))
    monkeypatch.setattr(mdns_responder, "Zeroconf", Network)
    monkeypatch.setattr(mdns_responder, "_others", lambda *words: [])
    plate = MdnsResponder("lantern.local", "Lantern Street School", 8611)

    assert [plate.tick() for _ in range(5)] == [""] * 5
    assert put == [("up", "192.168.1.20"), "down", ("up", "10.0.0.7"), "down"]


def test_a_network_that_refuses_is_said_with_what_to_do(monkeypatch):
    def refuse(**how):
        raise OSError("No such device")

    monkeypatch.setattr(mdns_responder, "addresses", lambda bound: ("192.168.1.20",))
    monkeypatch.setattr(mdns_responder, "Zeroconf", refuse)

    assert MdnsResponder("lantern.local", "x", 1).tick() == (
        "The name lantern.local cannot be given on this network (No such device): enter it in the router's list of names with 192.168.1.20."
    )


def test_numbers_of_this_laptop_are_never_loopback_and_a_bound_one_stands_alone():
    assert all(not number.startswith(("127.", "169.254.")) for number in addresses())
    assert addresses("192.168.1.20") == ("192.168.1.20",)


def test_a_name_that_the_system_knows_is_answered_and_one_that_cannot_be_is_not():
    """RFC 6761, 6.3 and 6.4: localhost leads to loopback, names under .invalid to nowhere."""
    assert "127.0.0.1" in answered("localhost")
    assert answered("no-such-place.invalid") == ()
