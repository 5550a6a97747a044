"""Findings of the desk: what was found in the warehouse, or on the signed tape, lies over the packet's figures; the packet stays, and both are shown.

Suffolk County NY 2010 (27east): 161 emergency ballots were found after the count, never fed. Antrim County 2020: the tape and the report differed.
"""

from dataclasses import replace

import pytest

from tests.office.conftest import tiny
from webapp.office.questions import withdrawn
from webapp.office.questions.findings import Finding, fits, overlaid, spot, spots
from webapp.office.questions.found_explained import SLIPS, after_findings
from webapp.office.totals import totals
from webapp.packet import contents
from webapp.precinct.balance.balance import balance
from webapp.precinct.explain.explain import explained
from webapp.record.entry import Claim


def gaps(core, place):
    return {(line.id, str(dict(line.scope or {}))): line.gap for line in balance(contents.figures(core, place)).gaps}


@pytest.fixture
def sent(desk):
    return desk.opened.core, desk.roster.places["W3"]


def find(night, figure, n, what="Found on the shelf at the warehouse, by both parties."):
    page = night.window.get(f"/finding/W3/{figure}")
    form = page.form("/finding/W3/")
    people = form.controls["signer"].options
    page = night.window.send(form, {"is": str(n), "what": what, "signer": people[0], "pin": night.crew.pins[people[0]]})
    if page.path.startswith("/sign/"):
        form = page.form(page.path)
        person = form.controls["signer"].options[0]
        page = night.window.send(form, {"signer": person, "pin": night.crew.pins[person]})
    return page


def test_every_figure_of_the_account_may_be_found_otherwise(sent):
    names = {one.id for one in spots(*sent)}
    assert {
        "tape/T1/W3/3A",
        "counter/T1",
        "people/poll_book/W3",
        "unused/3A",
        "received/4A",
        "aside/spoiled/W3/3A",
        "emergency/B1",
        "bins/B1/main",
        "containers/C1",
        "votes/T1/GOV/A",
    } <= names
    assert len(names) == len(spots(*sent))


def test_ballots_found_in_the_emergency_bin_move_stock_book_and_the_bins_own_line_together(sent):
    core, place = sent
    before, after = gaps(core, place), gaps(overlaid(core, place, [Finding(1, "emergency/B1", 0, 161)]), place)
    moved = {key: after.get(key, 0) - before.get(key, 0) for key in {*before, *after}}
    assert {key[0]: n for key, n in moved.items() if key[1] == "{}"} == {"stock": -161, "poll-book": -161}


def test_a_tape_that_says_something_else_moves_the_totals_of_its_contest(sent):
    core, place = sent
    was = spot(core, place, "votes/T1/GOV/A").value
    found = overlaid(core, place, [Finding(1, "votes/T1/GOV/A", was, was + 9)])
    assert (
        found["contests"]["GOV"][0] == core["contests"]["GOV"][0] + 9
        and found["contests"]["GOV"][1:] == core["contests"]["GOV"][1:]
    )
    assert ("contest:GOV:T1", "{}") in gaps(found, place)


def test_the_packet_itself_is_never_changed(sent):
    core, place = sent
    before = repr(core)
    for one in spots(core, place):
        found = overlaid(core, place, [Finding(1, one.id, one.value, (one.value or 0) + 1)])
        assert spot(found, place, one.id).value == (one.value or 0) + 1
    assert repr(core) == before


def test_of_two_findings_of_one_figure_the_later_one_counts(sent):
    core, place = sent
    found = overlaid(core, place, [Finding(1, "unused/3A", 617, 618), Finding(2, "unused/3A", 617, 616)])
    assert spot(found, place, "unused/3A").value == 616


def test_a_finding_about_another_packets_figure_is_not_laid_on(sent):
    core, place = sent
    old = Finding(1, "unused/3A", 500, 501)
    assert not fits(core, place, old) and overlaid(core, place, [old]) is core


def test_both_figures_and_both_balances_stand_on_the_places_page(night):
    night.hold()
    night.take_in("W3")
    page = find(night, "emergency/B1", 6)
    assert page.status == 200 and page.path == "/place/W3", page.said()
    text = page.text
    assert (
        "the packet says 0, found 6" in text
        and "Includes figures the desk corrected" in text
        and "As the place sent it" in text
    )
    assert "5 more ballots accounted for than drawn" in text and "1 more ballot drawn than accounted for" in text
    assert "Found on the shelf at the warehouse" in text
    assert night.kinds[-1] == "desk-finding"


def test_totals_and_the_canvass_go_by_what_was_found_and_say_so(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W5")
    before = night.window.get("/totals").text
    sent = night.room.tray.sent("W3")
    was = spot(sent.core, sent.place, "votes/T1/GOV/A").value
    find(night, "votes/T1/GOV/A", was + 9)
    after = night.window.get("/totals").text
    one = totals.totals([p for _, p in night.room.tray.current()])[0].figures["A"]
    assert f"<td>{one:,}</td>" in after and f"<td>{one - 9:,}</td>" in before
    assert "Includes figures the desk corrected at" in after
    assert "Includes figures the desk corrected" in night.window.get("/canvass").text


def test_a_finding_survives_a_restart_and_dropped_tables(night):
    night.hold()
    night.take_in("W3")
    find(night, "unused/3A", 620)
    gaps_before = night.room.board.places["W3"].gaps
    night.restart()
    assert night.room.board.places["W3"].gaps == gaps_before
    night.stop()
    (night.folder / "desk.db").unlink()
    night.start()
    assert night.room.board.places["W3"].gaps == gaps_before


def test_a_finding_needs_a_number_and_what_was_found(night):
    night.hold()
    night.take_in("W3")
    before = night.room.ledger.length
    for is_, what in (("six", "Seen."), ("6", " ")):
        page = find(night, "emergency/B1", is_, what)
        assert page.status == 422 and "Enter" in page.text
    assert night.room.ledger.length == before
    assert night.window.get("/finding/W3/tape/T9").status == 404 and night.window.get("/finding/W5").status == 404


@pytest.mark.parametrize("n", ["-3", "1234567890", "6.5", "", "1e3"])
def test_what_is_no_whole_number_of_at_most_nine_digits_is_asked_for_again_and_kept_as_typed(night, n):
    night.hold()
    night.take_in("W3")
    before = night.room.ledger.length
    page = find(night, "emergency/B1", n)
    assert page.status == 422 and "Enter in digits" in page.said() and night.room.ledger.length == before
    assert page.form("/finding/W3/").controls["is"].value == n


def test_a_large_figure_is_kept_and_the_board_bears_it(night):
    night.hold()
    night.take_in("W3")
    assert find(night, "emergency/B1", "999 999 999").status == 200
    for path in ("/place/W3", "/canvass", "/places", "/totals"):
        assert night.window.get(path).status == 200
    assert "999,999," in night.window.get("/canvass").text


def test_the_figure_of_the_packet_itself_is_no_finding_but_takes_one_back(night):
    night.hold()
    night.take_in("W3")
    sent = night.room.tray.sent("W3")
    was, before = spot(sent.core, sent.place, "unused/3A").value, night.room.ledger.length
    page = find(night, "unused/3A", was)
    assert page.status == 422 and "nothing is different" in page.said() and night.room.ledger.length == before
    assert find(night, "unused/3A", was + 2).status == 200 and find(night, "unused/3A", was).status == 200
    assert night.kinds[-2:] == ["desk-finding", "desk-finding"]


def test_a_finding_for_a_packet_that_was_replaced_meanwhile_is_looked_at_again(night):
    night.hold()
    night.take_in("W3")
    sent, page = night.room.tray.sent("W3"), night.window.get("/finding/W3/unused/3A")
    stock, seven_more = (
        sent.core["stock"],
        overlaid(
            sent.core,
            sent.place,
            [Finding(1, "unused/3A", (was := spot(sent.core, sent.place, "unused/3A").value), was + 7)],
        ),
    )
    assert stock != seven_more["stock"]
    answer = night.take_in(
        "W3", stock=seven_more["stock"], number=sent.core["number"] + 1, amends=night.room.tray.counts("W3")[0]
    )
    assert answer.status == 200, answer.said()
    before, form = night.room.ledger.length, page.form("/finding/W3/")
    people = form.controls["signer"].options
    answer = night.window.send(
        form, {"is": "5", "what": "Seen.", "signer": people[0], "pin": night.crew.pins[people[0]]}
    )
    assert (
        answer.status == 422
        and "Another packet of this place counts" in answer.said()
        and night.room.ledger.length == before
    )


def test_two_receivers_of_one_party_cannot_sign_a_finding_and_one_sent_twice_is_one(night):
    night.hold()
    night.take_in("W3")
    form = night.window.get("/finding/W3/unused/3A").form("/finding/W3/")
    people = form.controls["signer"].options
    party = {o.id: o.party for o in night.office.officials}
    values = {"is": "5", "what": "Seen.", "signer": people[0], "pin": night.crew.pins[people[0]]}
    page = night.window.send(form, values)
    second = page.form(page.path)
    assert all(party[one] != party[people[0]] for one in second.controls["signer"].options)
    same = next((o.id for o in night.office.officials if o.party == party[people[0]] and o.id != people[0]), people[0])
    before = night.room.ledger.length
    refused = night.window.post(
        page.path,
        [(n, c.value) for n, c in second.controls.items() if n not in ("signer", "pin")]
        + [("signer", same), ("pin", night.crew.pins[same])],
    )
    assert refused.status == 422 and night.kinds.count("desk-finding") == 0
    person = second.controls["signer"].options[0]
    assert night.window.send(second, {"signer": person, "pin": night.crew.pins[person]}).status == 200
    night.window.send(form, values)
    assert night.kinds.count("desk-finding") == 1 and night.room.ledger.length >= before


@pytest.mark.parametrize(
    "path",
    [
        "/finding/NO",
        "/finding/W3/nothing",
        "/finding/W3/unused/9Z",
        "/finding/W3/tape/%00",
        "/canvass?page=-1",
        "/canvass?page=99999999",
        "/canvass?show=%ff",
        "/place/NO",
        "/receipt/NO",
        "/totals?contest=NO",
    ],
)
def test_an_address_that_names_nothing_is_told_in_one_sentence(night, path):
    night.hold()
    night.take_in("W3")
    page = night.window.get(path)
    assert page.status in (200, 404) and "Traceback" not in page.text
    assert page.status == 404 or path.startswith(("/canvass", "/totals"))


def test_votes_of_a_small_place_are_offered_to_nobody(night):
    night.hold()
    night.take_in("W3", **tiny(night.room.roster.places["W3"]))
    assert "votes/" not in night.window.get("/finding/W3").text
    assert night.window.get("/finding/W3/votes/GOV/A").status == 404


def test_nothing_says_that_a_found_figure_was_typed_or_counted_wrong(sent):
    core, place = sent
    for figure, by in (("unused/3A", 3), ("emergency/B1", 3), ("tape/T1/W3/3A", 3)):
        one = Finding(1, figure, spot(core, place, figure).value, spot(core, place, figure).value + by)
        drawn = explained(contents.figures(overlaid(core, place, [one]), place))
        left = after_findings(drawn, [one])
        facts = [mistake.as_json() for found in left.explanations for mistake in found.because]
        assert not [
            f
            for f in facts
            if f["code"] in SLIPS
            and f.get("figure") == figure.split("/")[0]
            and f.get("scope") in (None, {"style": "3A"})
        ]
        assert all(len(found.because) < 3 for found in left.explanations)
        assert len({found.says for found in left.explanations}) == len(left.explanations)
        if figure == "unused/3A":
            assert drawn.explanations and 0 < len(left.explanations) < len(drawn.explanations)
        assert left.gaps == drawn.gaps


def withdraw(night, number: int, why: str = "The tape of another place was read."):
    form = night.window.get(f"/withdraw/W3/{number}").form("/withdraw/W3/")
    return signed_by_two(night, form, why)


def signed_by_two(night, form, why: str):
    people = form.controls["signer"].options
    page = night.window.send(form, {"why": why, "signer": people[0], "pin": night.crew.pins[people[0]]})
    if page.path.startswith("/sign/"):
        form = page.form(page.path)
        person = form.controls["signer"].options[0]
        page = night.window.send(form, {"signer": person, "pin": night.crew.pins[person]})
    return page


def newest(night) -> int:
    return list(night.room.ledger.entries())[-1].number


def test_a_finding_is_withdrawn_by_two_parties_and_counts_no_longer(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W5")
    gaps_before, totals_before = night.room.board.places["W3"].off, night.window.get("/totals").text
    sent = night.room.tray.sent("W3")
    was = spot(sent.core, sent.place, "votes/T1/GOV/A").value
    find(night, "emergency/B1", 6)
    find(night, "votes/T1/GOV/A", was + 9)
    number = newest(night)
    assert night.room.board.places["W3"].off != gaps_before
    page = night.window.get(f"/withdraw/W3/{number}")
    assert f"<td>{was}</td><td>{was + 9}</td><td><b>{was}</b></td>" in page.text
    assert withdraw(night, number, " ").status == 422 and "finding-withdrawn" not in night.kinds
    page = withdraw(night, number)
    assert page.path == "/place/W3" and night.kinds[-1] == "finding-withdrawn", page.said()
    for words in ("Withdrawn", "Counts no longer", f"the packet says {was}, found {was + 9}", "another place was read"):
        assert words in page.text
    assert "Includes figures the desk corrected" in page.text, "the other finding counts"
    row = list(night.room.ledger.entries())[-1].body["findings"][0]
    assert (row["entry"], row["figure"], row["was"], row["is"]) == (number, "votes/T1/GOV/A", was, was + 9)
    assert withdraw(night, number - 1).status == 200
    assert night.room.board.places["W3"].off == gaps_before and not night.room.tray.findings
    after = night.window.get("/totals").text
    one = totals.totals([p for _, p in night.room.tray.current()])[0].figures["A"]
    assert f"<td>{one:,}</td>" in after and f"<td>{one:,}</td>" in totals_before
    assert "Includes figures the desk corrected" not in after and "was withdrawn at" in after
    for path in ("/canvass?show=all", "/reconciliation"):
        said = night.window.get(path).text
        assert "had corrected was withdrawn, and is not counted" in said and "Includes figures" not in said, path
    assert f"Withdrawn with entry {number + 1}" in night.window.get(f"/record/{number}").text
    assert "A finding of the desk was withdrawn" in night.window.get(f"/record/{number + 1}").text
    stamp = night.room.tray.stamp("W3")
    night.restart()
    assert night.room.tray.stamp("W3") == stamp and night.room.board.places["W3"].off == gaps_before


def test_of_two_findings_of_one_figure_the_earlier_counts_again_once_the_later_is_withdrawn(night):
    night.hold()
    night.take_in("W3")
    find(night, "unused/3A", 620)
    find(night, "unused/3A", 630)
    number = newest(night)
    assert "<td>630</td><td><b>620</b></td>" in night.window.get(f"/withdraw/W3/{number}").text
    withdraw(night, number)
    counts = night.room.tray.counts("W3")[1]
    assert spot(counts.core, counts.place, "unused/3A").value == 620
    assert "Entry" in night.window.get(f"/withdraw/W3/{number}").text
    for path in (f"/withdraw/W3/{number + 1}", "/withdraw/W3/1", "/withdraw/W5/1", "/withdraw/NO/1"):
        assert night.window.get(path).status == 404, path


def test_a_withdrawal_needs_two_parties_is_kept_once_and_is_told_at_the_other_desk(night):
    night.hold()
    night.take_in("W3")
    find(night, "unused/3A", 620)
    number = newest(night)
    here, there = (night.window.get(f"/withdraw/W3/{number}").form("/withdraw/W3/") for _ in range(2))
    people, party = here.controls["signer"].options, {o.id: o.party for o in night.office.officials}
    values = {"why": "Misread.", "signer": people[0], "pin": night.crew.pins[people[0]]}
    page = night.window.send(here, values)
    second = page.form(page.path)
    assert second.controls["signer"].options and all(
        party[one] != party[people[0]] for one in second.controls["signer"].options
    ), "as for the finding: another party"
    person = second.controls["signer"].options[0]
    assert night.window.send(second, {"signer": person, "pin": night.crew.pins[person]}).path == "/place/W3"
    night.window.send(here, values)
    assert night.kinds.count("finding-withdrawn") == 1
    page = signed_by_two(night, there, "Misread.")
    assert "withdrew this already" in page.text and night.kinds.count("finding-withdrawn") == 1


def test_no_finding_and_no_withdrawal_is_short_signed(night):
    """What bears on figures is signed by two parties or not at all."""
    night.hold()
    night.take_in("W3")
    for kind in ("desk-finding", "finding-withdrawn"):
        body = {"place": "W3", "findings": [], "short": [{"seat": "P", "why": "alone"}]}
        assert "two parties, or not at all" in night.room.settled([Claim(b"x" * 16, kind, body, 0, "A", 0)], 0)


def test_a_withdrawal_by_one_party_decides_nothing(night):
    night.hold()
    night.take_in("W3")
    find(night, "unused/3A", 620)
    entry = list(night.room.ledger.entries())[-1]
    body = withdrawn.body_of("W3", [(night.room.tray.findings["W3"][0], "Unused")])
    alone = replace(entry, kind="finding-withdrawn", body=body, signers=entry.signers[:1])
    night.room.desk_findings.fold("W3", alone, {})
    assert night.room.tray.findings["W3"] and not night.room.tray.withdrawals
