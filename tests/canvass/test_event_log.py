"""The event log in the form of NIST SP 1500-101 version 1.0: valid under the published schema, every code documented, in order of time, no names.

Source: NIST SP 1500-101 (usnistgov/ElectionEventLogging), JSON Schema draft-04.
"""

import json
from pathlib import Path

import jsonschema
import pytest

from webapp.canvass import event_log
from webapp.canvass.event_log import CLASSES, LoggedDevice, LoggedEvent, class_of

STORED = Path(__file__).parent / "stored"
SIX, TEN = 1793709060000, 1793765040000


@pytest.fixture
def log_schema(shared):
    found = json.loads(shared("standards/nist/NIST_V1_election_event_logging.json").read_text(encoding="utf-8"))
    return jsonschema.Draft4Validator(found, format_checker=jsonschema.FormatChecker())


def night() -> list[LoggedDevice]:
    signed = (("chair", "A"), ("witness", "B"))
    place = [
        LoggedEvent(
            TEN + 1,
            "2026-11-03T22:05:00-06:00",
            "containers-sealed",
            "Containers sealed",
            "Short-signed: Containers sealed",
            signed[:1],
            "failure",
        ),
        LoggedEvent(
            SIX, "2026-11-03T06:31:00-06:00", "zero-tape", "Zero tape read and signed", "Zero tape of T1", signed
        ),
        LoggedEvent(
            TEN + 2,
            "2026-11-03T22:06:00-06:00",
            "set-aside-spoiled",
            "How many spoiled ballots the day had",
            "14 spoiled ballots on the day",
            (),
            "na",
        ),
    ]
    office = [
        LoggedEvent(
            TEN,
            "2026-11-03T22:04:00-06:00",
            "packet-received",
            "Summary packet taken in",
            "Packet taken in, place W3",
            (("receiver", "A"),),
        )
    ]
    return [LoggedDevice("place-W3", "precinct-checklist", place), LoggedDevice("office-sable", "office-desk", office)]


def written():
    log = event_log.log(night(), "sable-2026-11-03", "2026-11-12T16:05:00-06:00", "1.2.0")
    return log, event_log.documentation(night(), "Sable County election office", "2026-11-12", "1.2.0")


def test_r19_log_and_documentation_are_valid_and_the_check_can_fail(log_schema):
    log, told = written()
    assert list(log_schema.iter_errors(log)) == [] and list(log_schema.iter_errors(told)) == []
    for spoil in (
        lambda one: one["Device"][0]["Event"][0].update(Sequence=1),
        lambda one: one["Device"][0]["Event"][0].pop("Disposition"),
        lambda one: one["Device"][0]["Event"][0].update(TimeStamp="06:31"),
        lambda one: one["Device"][0].update(Type="precinct-checklist"),
    ):
        wrong = json.loads(json.dumps(log))
        spoil(wrong)
        assert list(log_schema.iter_errors(wrong)), "nothing was found"


@pytest.mark.parametrize("name", ("log-1500-101.json", "log-documentation-1500-101.json"))
def test_the_form_is_that_of_the_stored_example(name, log_schema):
    stored = json.loads((STORED / name).read_text(encoding="utf-8"))
    assert list(log_schema.iter_errors(stored)) == []
    mine = written()[0 if name == "log-1500-101.json" else 1]
    assert set(mine) == set(stored) or set(mine) < set(stored)


def test_sequence_runs_over_the_whole_file_by_time_without_holes():
    log, _ = written()
    events = {event["Sequence"]: event["Id"] for device in log["Device"] for event in device["Event"]}
    assert [events[str(n)] for n in range(1, 5)] == [
        "zero-tape",
        "packet-received",
        "containers-sealed",
        "set-aside-spoiled",
    ]
    for device in log["Device"]:
        assert [int(event["Sequence"]) for event in device["Event"]] == sorted(
            int(e["Sequence"]) for e in device["Event"]
        )


def test_r19_every_code_is_documented_and_every_class_is_known():
    log, told = written()
    ids = {event["Id"] for device in log["Device"] for event in device["Event"]}
    assert ids == {one["Id"] for one in told["EventIdDescription"]}
    types = {event["Type"] for device in log["Device"] for event in device["Event"]}
    assert types == {one["Type"] for one in told["EventTypeDescription"]} <= set(CLASSES)
    assert (
        class_of("zero-tape") == "tape" and class_of("nothing-known") == "checklist" and class_of("count-in") == "count"
    )


def test_what_was_short_signed_or_not_so_is_a_failure_with_a_warning():
    log, _ = written()
    event = next(e for d in log["Device"] for e in d["Event"] if e["Id"] == "containers-sealed")
    assert (event["Disposition"], event["Severity"], event["UserId"]) == ("failure", "warning", "chair/A")
