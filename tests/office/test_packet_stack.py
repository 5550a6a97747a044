"""Codes of several packets in one stack: each finds its packet, in any order, and one that is damaged stops no other."""

import random

from webapp.office.reading.packet_stack import PacketStack
from webapp.packet import frames


def test_codes_of_two_packets_in_any_order_give_both(desk):
    one, two = desk.parts, desk.sealed(number=2)
    codes = [*frames.split(one), *frames.split(two)]
    random.Random(4).shuffle(codes)
    stack = PacketStack()
    assert {stack.add(code) for code in codes} == {"new"}
    assert sorted(packet.parts() for packet in stack.complete) == sorted([tuple(one), tuple(two)])
    assert stack.read == len(codes) and stack.partial == []


def test_a_damaged_code_and_a_foreign_one_stop_no_other(desk):
    codes = list(frames.split(desk.parts))
    stack = PacketStack()
    assert stack.add("https://example.org") == "foreign"
    assert stack.add(codes[0][:-9] + codes[1][-9:]) not in ("new", "again", "foreign")
    assert {stack.add(code) for code in codes} == {"new"} and stack.add(codes[0]) == "again"
    assert len(stack.complete) == 1


def test_a_packet_of_which_codes_are_wanted_is_said_and_one_that_was_accepted_leaves_the_stack(desk):
    one, two = frames.split(desk.parts), frames.split(desk.sealed(number=2))
    stack = PacketStack()
    for code in (*one, two[0]):
        stack.add(code)
    assert stack.says == "1 packet is whole; of 1 more codes are wanted."
    stack.drop(stack.complete[0].digest)
    assert stack.complete == [] and len(stack.packets) == 1 and "still wanted" in stack.says


def test_no_more_packets_than_one_stack_holds(desk, monkeypatch):
    monkeypatch.setattr("webapp.office.reading.packet_stack.MOST", 1)
    stack = PacketStack()
    stack.add(frames.split(desk.parts)[0])
    assert "are here already" in stack.add(frames.split(desk.sealed(number=2))[0])
