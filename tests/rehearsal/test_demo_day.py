"""The demo's day and night through the real pages: all kept, all read back, all adding up, with the one gap that the story planted."""

import json

from webapp.commands import main
from webapp.gate.signed_place_file import load_place
from webapp.precinct.account.balanced_day import fold
from webapp.precinct.checklist import checklist
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.record.ledger import Ledger

QUARTER = 15 * 60_000


def day_of(folder):
    place = load_place(folder / "places" / "W3")
    record = Ledger.read_only(folder / "places" / "W3" / "record.db")
    return place, fold(place, ((entry, record.texts(entry.number)) for entry in record.entries()))


def test_everything_was_kept_read_back_and_adds_up(demo):
    report, _ = demo
    assert report["ok"] is True
    assert report["packets"] == {"built": 1, "read": 1, "accepted": 1}
    assert report["totals"]["equal"] == report["totals"]["contests"] > 0


def test_the_day_has_an_exception_a_short_signed_step_a_correction_and_a_remark(demo):
    report, _ = demo
    assert report["steps"]["exceptions"] >= 1
    assert report["steps"]["short_signed"] >= 1
    assert report["corrections"] >= 1
    assert report["remarks"] >= 1


def test_every_step_from_opening_to_hand_over_was_kept(demo):
    place, day = day_of(demo[1])
    wanted = {t.key for t in checklist.tasks(place, day, day.entries[-1].kept) if not t.step.optional}
    lacking = {
        t.key
        for t in checklist.tasks(place, day, day.entries[-1].kept)
        if t.state not in ("done", "missed") and not t.step.optional
    }
    assert wanted and lacking == set()


def test_every_kind_of_note_was_written_at_least_once(demo):
    place, day = day_of(demo[1])
    notes = {step.id for step in checklist.steps(place) if step.note}
    assert notes - {k.kind for k in day.entries} == set()


def test_every_desk_step_to_the_receipt_was_kept_at_the_office(demo):
    record = Ledger.read_only(demo[1] / "office" / "office.db")
    kept = {entry.kind for entry in record.entries()}
    wanted = {step.id for step in checklist.defaults() if step.list == "office" and not step.optional}
    assert wanted - kept == set()
    assert "packet-received" in kept


def test_the_gap_is_the_one_ballot_that_was_carried_off_and_the_explanations_name_it(demo):
    _, day = day_of(demo[1])
    assert {(line.id, line.gap) for line in day.balance.gaps} == {("stock", 1), ("poll-book", 1)}
    assert day.unremarked == ()
    codes = [
        (item.family.code, dict(item.family.keys))
        for answer in day.explained.explanations[:3]
        for item in answer.because
    ]
    assert ("unrecorded", {"disposition": "taken"}) in codes


def test_no_note_of_a_ballot_has_a_finer_time_than_its_quarter_hour(demo):
    _, folder = demo
    for entry in Ledger.read_only(folder / "places" / "W3" / "record.db").entries():
        if entry.kind in BALLOT_KINDS:
            assert entry.made % QUARTER == entry.happened % QUARTER == entry.kept % QUARTER == entry.offset == 0
            assert not {"public", "counters", "lifetime"} & set(entry.body)


def test_handed_back_ballots_stand_only_in_tallies_of_the_hour(demo):
    _, day = day_of(demo[1])
    tallies = day.of("handed-back")
    assert tallies and all(set(k.body) == {"hour", "tally"} and k.body["hour"] % QUARTER == 0 for k in tallies)


def told(capsys, *words) -> tuple[int, dict]:
    """(exit code, what the command says as JSON), in this process, where check words cost what they cost the day that was played."""
    code = main([*map(str, words), "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_the_place_verifies_against_its_own_packet_and_the_packet_against_the_office(demo, capsys):
    _, folder = demo
    place = folder / "places" / "W3"
    packet = place / "packet" / "1.cose"
    code, said = told(capsys, "record", "verify", place / "record.db", "--packet", packet)
    assert said["ok"] is True and code == 0
    code, found = told(capsys, "packet", "read", packet, "--office", folder / "office")
    assert (found["complete"], found["verified"], found["place"], code) == (True, True, "W3", 0)


def test_packet_build_draws_what_was_signed_and_the_pictures_read_back(demo, tmp_path, capsys):
    _, folder = demo
    out = tmp_path / "out"
    code, said = told(capsys, "packet", "build", folder / "places" / "W3", "--out", out)
    assert code == 0 and said["frames"] == len(list(out.glob("frame-*.png")))
    assert (out / "packet.cose").read_bytes() == (folder / "places" / "W3" / "packet" / "1.cose").read_bytes()
    _, read = told(capsys, "packet", "read", out / "packet.pdf", "--office", folder / "office")
    assert read["digest"] == said["digest"]
