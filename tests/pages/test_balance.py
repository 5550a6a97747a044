"""The balance on the tablet: what a line that is off says and offers, a count made again by another pair, the remark that is never filled in."""

import re

import pytest

from tests.pages.test_flow_picture import words
from tests.pages.test_record_pages import correct


def counted_again(here, where, n):
    """Another pair's count, signed by both; the page that follows."""
    form = here.form(f"/balance/again/{where}")
    page = here.window.send(form, here.signed({"n": str(n)}, form.controls["signer"].options[0]))
    return (
        here.second(page, page.form(page.path).controls["signer"].options[0])
        if page.path.startswith("/sign/")
        else page
    )


def newest(here, kind):
    return here.room.day.last(kind)


@pytest.fixture
def off(scene):
    """After the blind counts; another pair has counted one unused ballot fewer than the first."""
    here = scene("first-look")
    style, kept = here.place.stock[0].style, newest(here, "unused")
    here.where = f"{kept.number}/unused/{style}"
    here.n = kept.body["unused"][style]
    page = counted_again(here, here.where, here.n - 1)
    assert page.status == 200 and page.path == "/balance", page.said()
    return here


def test_one_tap_from_a_line_leads_to_the_form_of_that_count(off):
    page = off.window.get("/balance")

    assert f'href="/balance/again/{off.where}"' in page.text
    assert off.window.get(f"/balance/again/{off.where}").status == 200


def test_the_form_shows_no_count_that_was_made_before(off):
    page = off.window.get(f"/balance/again/{off.where}")

    assert not re.search(
        rf"(?<!\d)({off.n}|{off.n - 1}|{off.n:,}|{off.n - 1:,})(?!\d)",
        re.sub(r'name="(csrf_token|entry_id|salt)" value="[^"]*"', "", page.text),
    )


def test_the_first_count_is_kept_and_the_second_is_an_entry_of_its_own(off):
    number, _, style = off.where.split("/")
    kept = off.room.day.entry(int(number))

    assert [off.n, off.n - 1] == kept.body["unused"][style]
    again = off.room.day.entries[-1]
    assert ("counted-again", {"of": int(number), "field": "unused", "thing": style, "n": off.n - 1}) == (
        again.kind,
        dict(again.body),
    )
    assert len(again.signers) == 2 and len({s.party for s in again.signers}) == 2
    assert {s.person for s in again.signers} != {s.person for s in kept.signers}


def test_a_line_says_that_two_counts_differ_and_two_equal_in_a_row_settle_it(off):
    assert f"({off.n}, {off.n - 1})" in off.window.get("/balance").text
    counted_again(off, off.where, off.n - 1)

    assert f"({off.n}, {off.n - 1})" not in off.window.get("/balance").text


def test_whoever_signed_a_count_of_this_figure_does_not_sign_the_next_one_first(off):
    form, before = off.form(f"/balance/again/{off.where}"), off.room.day.entries[-1].signers
    (first, *_) = (s.person for s in off.room.day.entry(int(off.where.split("/")[0])).signers)
    assert {first, *(s.person for s in before)}.isdisjoint(form.controls["signer"].options)

    page = off.window.send(form, {"n": "5", "signer": first, "pin": off.pins[first]})
    assert page.status == 422 and "Another pair counts it now" in page.text


def test_a_count_that_is_no_number_is_met_with_what_to_write(off):
    before = off.length
    page = counted_again(off, off.where, "ten")

    assert page.status == 422 and "in digits" in page.text and off.length == before


def test_nothing_but_a_hand_count_that_stands_in_the_record_can_be_counted_again(off):
    number = off.where.split("/")[0]
    for where in (f"{number}/unused/none-such", f"{number}/next", "9999/unused", "1/present"):
        assert off.window.get(f"/balance/again/{where}").status == 404


def test_no_count_is_made_again_before_the_blind_figures_are_signed(scene):
    here = scene("unused")
    page = here.window.get("/balance/again/1/unused/3A")

    assert page.status == 409 and "count first, then look" in page.text


def test_each_line_that_is_off_shows_both_figures_and_the_difference_in_words(off):
    line = next(line for line in off.room.day.balance.gaps if not line.scope)
    text = off.window.get("/balance").text

    assert f"<dd>{line.left:,}</dd>" in text and f"<dd>{line.right:,}</dd>" in text
    assert "1 more ballot drawn than accounted for" in text or "1 more" in text


def test_the_wording_is_offered_beside_the_box_and_never_filled_in(scene):
    here = scene("remark")
    style, kept = here.place.stock[0].style, newest(here, "unused")
    n = kept.body["unused"][style]
    counted_again(here, f"{kept.number}/unused/{style}", n - 1)
    page = here.window.get("/balance")

    assert page.form("/balance/remark").controls["remark"].value == ""
    offered = re.search(r'id="offered".*?<blockquote[^>]*><p>(.*?)</p>', page.text, re.DOTALL)[1]
    assert (
        offered.startswith("Consistent with ") and offered not in page.form("/balance/remark").controls["remark"].value
    )
    assert "Look:" in page.text and "prove nothing" in page.text


def test_lines_that_agree_are_told_in_groups_and_in_full_when_unfolded(scene):
    text = scene("remark").window.get("/balance").text

    assert "as last applied" in text and "add up" in text and "Each of them in full" in text


def test_whoever_signs_a_packet_second_reads_what_it_says_out_of_its_own_bytes(scene):
    here = scene("packet")
    form = here.window.get("/packet").form("/packet/make")
    first = here.window.send(form, here.signed({}, "lindqvist"))
    assert (
        first.path.startswith("/sign/")
        and re.search(r"\d+ lines agree, \d+ not checked\.", first.text)
        and "Lines that agree:" in first.text
    )
    book = newest(here, "book-count")
    name, there = next(
        (n, c.value)
        for n, c in here.form(f"/record/{book.number}/correct").controls.items()
        if n.startswith("check_ins.")
    )
    form = here.form(f"/record/{book.number}/correct", f"/record/{book.number}/correct")
    page = here.window.send(form, here.signed({name: str(int(there) + 2), "reason": "Read again."}, "lindqvist"))
    assert here.second(page, page.form(page.path).controls["signer"].options[0]).status == 200
    assert {line.id for line in here.room.day.balance.gaps} == {"poll-book"}
    assert re.search(
        r"\d+ lines agree, \d+ not checked\.", here.window.get(first.path).text
    )  # of the packet that waits, not of the record by now


def test_after_the_close_an_alarm_of_the_last_reading_is_told_as_of_then(scene):
    here = scene("line-end")
    here.hold()
    reading = here.room.day.of("hourly")[-1]
    form = here.form(f"/record/{reading.number}/correct", f"/record/{reading.number}/correct")
    book, n = next(iter(reading.body["check_ins"].items()))
    assert (
        here.window.send(
            form, here.signed({f"check_ins.{book}": str(n - 20), "reason": "Read again."}, "lindqvist")
        ).status
        == 200
    )  # fewer check-ins than ballots
    assert 'role="alert"' in here.window.get("/count").text and "Look now" in here.window.get("/count").text
    for key in ("line-end", "polls-closed", "search"):
        here.crew.do(key)
    while here.room.day.folded_away:
        here.crew.do(here.crew.next_key())
    text = here.window.get("/count").text
    assert "At the last reading:" in text and '<h1 id="heading">Look now' not in text and 'role="alert"' not in text


def type_tape(here, at):
    """Keyed by two, then prints, figures and ink signed once."""
    for person in ("lindqvist", "okafor"):
        form = here.form(f"/tape/{at}", f"/tape/{at}/key")
        here.crew.sent(form, here.signed(here.filled(form, "tape-typed", at), person))
    page = here.window.get(f"/tape/{at}")
    form = page.form(f"/tape/{at}")
    here.crew.signed(page, form, here.filled(form, "tape-prints", at))


def test_between_the_first_tape_and_the_last_no_page_says_that_ballots_are_missing(scene):
    """A sum over some of the tapes is no sum: the counters of the others stand in for them, and say so."""
    here = scene("tape-prints")
    here.hold()
    first, last = (t.id for t in here.place.tabulators)
    type_tape(here, first)
    said, where = words(here.window.get("/balance")), words(here.window.get("/where"))

    assert "lines agree" in said and "more ballots drawn" not in said and "Count again" not in said
    assert f"By the signed public counters of {last}; the tapes are still to come." in said
    on, counter = here.truth.on_tape(first), here.truth.on_tape(last)
    assert f"{on} on the tape, {counter} by the public counters, tape to come" in said
    assert f"{counter} should be on the tapes, which are not typed yet." in where
    assert "needs a remark" not in where and "Not accounted for" not in where

    type_tape(here, last)
    assert "still to come" not in words(here.window.get("/balance"))
    assert "Every ballot is accounted for" in words(here.window.get("/where"))


def test_both_sign_the_gaps_that_their_page_showed(off):
    """Another pair counts while the page is open: neither the look nor the remark is about figures that nobody read there."""
    form = off.window.get("/balance").form("/balance/look")
    counted_again(off, off.where, off.n - 2)
    before = off.length
    page = off.window.send(form, off.signed({"seen": "yes"}, "lindqvist"))
    assert page.status == 422 and "since this page was opened" in page.said() and off.length == before
    page = off.second(off.window.send(page.form("/balance/look"), off.signed({"seen": "yes"}, "lindqvist")))
    assert off.kinds(before) == ["first-look"], page.said()


def test_a_remark_is_about_the_gap_that_its_page_showed(scene):
    here = scene("remark")
    name = next(f"unused.{stock.style}" for stock in here.place.stock)
    number = newest(here, "unused").number
    n = int(here.form(f"/record/{number}/correct").controls[name].value)
    assert correct(here, number, {name: str(n - 1)}).status == 200
    form = here.window.get("/balance").form("/balance/remark")
    line = form.controls["lines"].options[0]
    assert correct(here, number, {name: str(n - 2)}).status == 200
    before = here.length
    said = here.signed({"lines": [line], "remark": "Cause unknown."}, "lindqvist")
    page = here.window.send(form, said)
    assert page.status == 422 and "since this page was opened" in page.said() and here.length == before
    assert "Cause unknown." in page.text, "nothing typed is lost"
    assert here.second(here.window.send(page.form("/balance/remark"), said)).status == 200
    assert here.room.day.last("remark").body["gaps"] == [
        dict((one.name, one.gap) for one in here.room.day.balance.gaps)[line]
    ]
