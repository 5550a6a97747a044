"""Two desks, or one hand twice, at one page: what is not kept is said, and nothing else is kept in its place."""

from tests.office.test_counts_page import decide, key, leaf
from tests.office.test_counts_page import sign as sign_count
from tests.office.test_desk import with_seals
from tests.office.test_goods_pages import brought as table
from tests.office.test_intake_stack import STRANGER, plain, sent
from tests.office.test_stale_desk import first, second


def test_what_another_desk_signed_of_the_goods_is_said_and_nothing_typed_is_lost(night):
    night.hold()
    night.take_in("W3", **with_seals(night))
    night.crew.answer = table(night)
    path = "/place/W3/goods"
    one, two = (night.window.get(path).form(path) for _ in "ab")
    values = night.crew.values(one, "", "")
    second(night, first(night, one, **values))
    page = first(night, two, **night.crew.values(two, "", ""))
    assert page.status == 422 and "Already entry" in page.said(), (page.status, page.path, page.said())
    page = first(night, one, **values)
    assert page.path == "/place/W3" and page.status == 200


def test_a_keying_of_a_count_that_was_signed_meanwhile_begins_no_other(night):
    night.hold()
    decide(night)
    key(night, "calloway", **leaf(night))
    form = night.window.get("/counts/W3/provisional/1?again=yes").form("/counts/W3/provisional/1/key")
    key(night, "durand", **leaf(night))
    page = first(night, form, "durand", **leaf(night))
    assert page.status == 422 and "Nothing of this keying was kept" in page.said(), (page.path, page.said())
    assert sign_count(night).path == "/counts/W3/provisional/1"
    before = night.kinds.count("keying")
    page = first(night, form, "durand", **leaf(night))
    assert page.status == 422 and night.kinds.count("keying") == before, (page.path, page.said())


def test_a_packet_accepted_twice_is_said_to_be_in(night):
    night.hold()
    page = night.upload(("packet.cose", b"".join(night.seal["W3"]())))
    form = page.form("/intake/take")
    assert night.window.send(form).path == "/place/W3"
    page = night.window.send(form)
    assert page.status == 200, (page.status, page.path, page.said())


def test_the_packet_that_is_accepted_is_the_one_on_the_page(night):
    night.hold()
    form = night.upload(("packet.cose", b"".join(night.seal["W3"]()))).form("/intake/take")
    clear = night.window.get("/intake").form("/intake/clear")
    night.window.send(clear)
    night.upload(("packet.cose", b"".join(night.seal["W5"]())))
    page = night.window.send(form)
    assert "packet-received" not in night.kinds, (page.status, page.path, page.said())


def test_one_packet_taken_out_of_the_stack_twice_leaves_the_others(night):
    night.hold()
    files = [("packet.cose", b"".join(night.seal[place](number=n))) for place, n in (("W3", 1), ("W5", 1), ("W5", 2))]
    night.upload(*files)
    stack = next(iter(night.room.stacks.values()))
    form = night.window.get(f"/intake?packet={next(iter(stack.packets)).hex()}").form("/intake/clear")
    for _ in "ab":
        night.window.send(form)
        assert len(next(iter(night.room.stacks.values())).packets) == 2


def test_only_the_packets_that_the_page_names_are_accepted_together(night, desk):
    night.hold()
    page = sent(night, night.seal["W3"](**plain(desk)), night.seal["W5"](by=STRANGER, **plain(desk)))
    form = page.form("/intake/accept")
    sent(night, night.seal["W5"](**plain(desk)))
    for _ in "ab":
        assert night.window.send(form).status == 200
        assert list(night.room.board.places) == ["W3"] and night.kinds.count("packet-received") == 1
