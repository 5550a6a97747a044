"""The event log of a whole day and of the office: notes about one ballot are counts of the day, and no number of an entry is told."""

import json
import re

from webapp.canvass import event_log
from webapp.office.canvassing import logged_events
from webapp.precinct.place.ballot_kinds import BALLOT_KINDS
from webapp.precinct.place.default_steps import defaults

NUMBERED = re.compile(r"\bentry \d|\bentries \d|#\d", re.IGNORECASE)


def test_r20_no_ballot_is_a_line_of_the_log_and_no_entry_s_number_is_in_it(night):
    """Holes among numbers, or a minute beside one ballot, would tell how somebody voted (common practice)."""
    night.hold()
    night.take_in("W3")
    night.take_in("W5")
    room = night.room
    people = {official.id: official for official in room.people.everybody}
    entries = list(room.ledger.entries())
    found = logged_events.devices(room.roster, room.tray, entries, people, room.place)
    log = event_log.log(found, "tarn-2026-11-03", "2026-11-12T16:05:00-06:00", "1")
    of_one_ballot = {step.id for step in defaults() if step.ballot} | BALLOT_KINDS
    assert len(of_one_ballot) > 4
    core = room.reports.of("W3").opened.core
    for device in log["Device"]:
        ids = [event["Id"] for event in device["Event"]]
        assert not of_one_ballot & set(ids), device["Id"]
        aside = [id for id in ids if id.startswith("set-aside-")]
        assert len(aside) == len(set(aside)), "one line a kind and day"
        if device["Id"] == "place-W3":
            assert {id.removeprefix("set-aside-") for id in aside} <= set(core["aside"]) and aside
            assert len(ids) == len(core["steps"]) + len(aside), "the notes that the packet has not are not here either"
        assert {key for event in device["Event"] for key in event} == {
            "@type", "Id", "Sequence", "TimeStamp", "Type", "Disposition", "Severity", "UserId", "Description"
        }  # fmt: skip
    assert not NUMBERED.search(json.dumps(log))
    numbers = sorted(int(event["Sequence"]) for device in log["Device"] for event in device["Event"])
    assert numbers == list(range(1, len(numbers) + 1)), "by time over the whole file, without holes"
    names = {official.name for official in people.values()}
    assert not [name for name in names if name in json.dumps(log)]
