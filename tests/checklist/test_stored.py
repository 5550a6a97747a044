"""Names for ever: a body of each kind as the first edition kept it, and the form it was typed into. Later editions must read both alike.

`stored/bodies.json` = {kind: {"at", "form", "body", "words"}}, made at Linden Hall. A field may be added to a kind; none is renamed, none
changes its kind, none goes.
"""

import json
from pathlib import Path

import pytest

from checklist.cast import LINDEN, Day
from webapp.precinct.checklist import checklist, form_values

STORED = json.loads((Path(__file__).parent / "stored" / "bodies.json").read_text(encoding="utf-8"))
FIELDS = json.loads((Path(__file__).parent / "stored" / "fields.json").read_text(encoding="utf-8"))
STEPS = {step.id: step for step in checklist.defaults()}
NIGHT = ("closing", "hand-over", "office")


def day_for(step):
    return Day(clock="20:40" if STEPS[step].list in NIGHT else "06:50")


def test_a_body_of_every_kind_is_stored():
    for name, stored in (("bodies.json", STORED), ("fields.json", FIELDS)):
        lacks, strange = checklist.default_ids() - set(stored), set(stored) - checklist.default_ids()
        assert not lacks, f"stored/{name} lacks {sorted(lacks)}: add each (checklist/README, How to add a step, 4)"
        assert not strange, f"stored/{name} has {sorted(strange)}, which no checklist has: what is stored never goes"


@pytest.mark.parametrize("kind", STORED)
def test_a_form_is_read_as_it_was(kind):
    one, day = STORED[kind], day_for(kind)
    read = checklist.read_form(
        checklist.fill(STEPS[kind], LINDEN, one["at"]), one["at"], LINDEN, day, one["form"], day.now
    )

    assert read.mistakes == read.stops, (
        "what a later rule of the day stops is read all the same; where a new field is asked for here, make it optional, and without `blank`"
    )
    assert {name: value for name, value in read.body.items() if name in one["body"]} == one["body"]
    assert dict(read.words) == one["words"]


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_body_fills_its_form_again_and_comes_back_the_same(kind):
    """A correction shows what was kept; sent unchanged it is the same body."""
    one, day = STORED[kind], day_for(kind)
    step = checklist.fill(STEPS[kind], LINDEN, one["at"])
    again = form_values.typed(step, one["body"], LINDEN.tz) | one["words"]

    assert dict(checklist.read_form(step, one["at"], LINDEN, day, again, day.now).body) == one["body"]


@pytest.mark.parametrize("kind", FIELDS)
def test_fields_keep_their_names_and_kinds(kind):
    now = {f.name: [f.kind, f.per] for f in STEPS[kind].fields}

    assert {name: now.get(name) for name in FIELDS[kind]} == FIELDS[kind]
    new = {name: found for name, found in now.items() if name not in FIELDS[kind]}
    assert not new, f"{kind} has new fields: add {json.dumps(new)} to stored/fields.json, they are stored for good"


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_body_is_told_without_its_words(kind):
    assert checklist.statement(kind, STORED[kind]["body"], LINDEN)
