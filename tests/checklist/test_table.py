"""Every step of the design's table ships, as the table has it: signer, order, pages, and words that a tired person can use.

The table is restated in `table.py`; where the folder of design pages lies beside the clone, its ids are read from there too.
"""

import re

import pytest

from checklist import table
from checklist.cast import LINDEN
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.day import seats
from webapp.precinct.place import default_steps, step_places
from webapp.precinct.place.ballot_kinds import VOTER_KINDS
from webapp.precinct.place.step import FORMS, KINDS, NEVER_NAMES, PER_STEP

STEPS = {step.id: step for step in checklist.defaults()}
EVERY = [(name, *row) for name, text in table.LISTS.items() for row in table.rows(text)]
NEVER_SAID = ("invalid", "error", "oops", "successful", "adjudicat", "please", "fail ", "helper", "etc.")
ASKED = ("number", "counts", "numbers", "seal", "code", "time", "votes")


@pytest.mark.parametrize(("name", "step", "signs", "after"), EVERY, ids=[row[1] for row in EVERY])
def test_a_row_of_the_table_ships_as_it_stands(name, step, signs, after):
    found = STEPS[step]

    assert found.list == name
    assert found.signs == ("1" if signs == "any" else signs)
    if signs != "any":
        assert set(after) <= set(found.after) | ({"remark"} if step == "dissent" else set())
        assert set(found.after) - set(after) <= table.ALSO_WAITS.get(step, set())
    assert found.note == (step in {row[0] for row in table.rows(table.NOTES)})


AFTER_THE_DESIGN = {"wrong-style", "unmarked-back"}
"""Steps and notes that came after the page of the design; name a new one here."""


def test_nothing_ships_that_the_table_does_not_have():
    assert set(STEPS) == {row[1] for row in EVERY}
    assert checklist.default_ids() == set(STEPS)


def test_steps_stand_in_the_order_of_the_table():
    """All but the clocks, which the table has among the room and which wait for the power: they stand with what is switched on."""
    listed = [row[1] for row in EVERY if not STEPS[row[1]].note and row[1] != "clocks"]

    assert [step.id for step in checklist.defaults() if not step.note and step.id != "clocks"] == listed


def test_the_table_restated_here_is_that_of_the_design(shared):
    text = shared("steps.md").read_text(encoding="utf-8")
    cells = [re.sub(r"\*\*.*?\*\*", "", line.split("|")[1]) for line in text.splitlines() if line.startswith("| ")]
    ids = {name.strip() for cell in cells for name in cell.split(",")} - {"id"}

    unknown = set(STEPS) - ids - AFTER_THE_DESIGN
    assert not unknown, f"new ids {sorted(unknown)}: add them to AFTER_THE_DESIGN"
    assert ids - set(STEPS) == set() and not ids & AFTER_THE_DESIGN


def test_pages_are_those_of_the_design():
    found = {}
    for step in STEPS.values():
        if step.page:
            found.setdefault(step.page, []).append(step.id)

    assert {page: tuple(ids) for page, ids in found.items()} == table.PAGES


def test_a_page_is_signed_by_the_heaviest_of_its_seats_and_no_step_by_fewer_than_the_table_asks():
    from checklist.cast import LINDEN

    weighed = {step.id: step.signs for step in checklist.steps(LINDEN)}
    for ids in table.PAGES.values():
        assert len({weighed[step] for step in ids}) == 1
        assert {STEPS[step].signs for step in ids} in ({weighed[ids[0]]}, {weighed[ids[0]], "2"})
    assert {weighed[step] for step in ("search", "seals-accounted")} == {"P"}


def test_every_page_has_a_title_of_its_own():
    titles = {
        page: checklist.page_title(page.removesuffix("T") + "T1" if page.endswith(":T") else page, "")
        for page in table.PAGES
    }

    assert all(titles.values()) and len(set(titles.values())) == len(titles)
    assert checklist.page_title("our-own", "Look at the clock") == "Look at the clock"


def test_kinds_that_speak_of_one_ballot_are_those_whose_times_are_coarse():
    assert {step.id for step in STEPS.values() if step.ballot} == VOTER_KINDS


def test_every_after_names_a_step_and_none_waits_for_itself():
    for step in STEPS.values():
        for name in step.after + step.after_results_first:
            assert name == "*" or (name in STEPS and name != step.id), f"{step.id} after {name}"


def test_no_steps_wait_for_one_another_in_either_order():
    for way in ("after", "after_results_first"):
        waiting = {s.id: {a for a in (getattr(s, way) or s.after) if a != "*"} for s in STEPS.values()}
        while waiting:
            free = {name for name, after in waiting.items() if not after & waiting.keys()}
            assert free, f"a circle among {sorted(waiting)}"
            waiting = {name: after for name, after in waiting.items() if name not in free}


@pytest.mark.parametrize("step", STEPS.values(), ids=STEPS)
def test_a_step_has_a_short_title_a_reason_instructions_and_a_source(step):
    assert 0 < len(step.title.replace("{at}", "box X").replace("{hour}", "hourly").replace("{place}", "L7")) <= 60
    assert step.why and step.do and step.source
    assert all(line.endswith((".", "?")) for line in step.do)
    assert (
        max(len(sentence.split()) for line in (*step.do, step.why) for sentence in re.split(r"(?<=[.?!:])\s", line))
        <= 25
    )
    assert step.form in FORMS and step.per in PER_STEP
    assert seats.seats(step.signs) or step.signs in ("T", "all")


@pytest.mark.parametrize("step", STEPS.values(), ids=STEPS)
def test_no_step_is_a_dead_end(step):
    """What must be so can be kept as a signed exception instead, and the step says what to do then."""
    must = [f.name for f in step.fields if f.kind == "yes" or f.most is not None or f.must]
    if not step.note or must:
        assert step.not_so, f"{step.id} has no way out of {must}"


@pytest.mark.parametrize("step", STEPS.values(), ids=STEPS)
def test_each_field_has_a_name_for_ever_a_label_and_a_sentence(step):
    names = [f.name for f in step.fields]

    assert len(set(names)) == len(names)
    for f in step.fields:
        assert re.fullmatch(r"[a-z][a-z0-9_]{0,31}", f.name) and f.name not in NEVER_NAMES
        assert f.kind in KINDS and f.label
        if f.kind in ASKED:
            assert f.ask.startswith(("Enter ", "Select ")) and f.ask.endswith("."), f"{step.id}.{f.name}: {f.ask!r}"
        if f.kind in ("number", "counts") and not f.optional:
            assert "digits" in f.ask
        if f.kind in ("number", "time", "seal", "code"):
            assert f.hint or f.default or step.id == "paper-typed", f"{step.id}.{f.name}"
        if f.kind == "choice":
            assert bool(f.choices) != bool(f.of)


@pytest.mark.parametrize("step", STEPS.values(), ids=STEPS)
def test_no_word_blames_or_cheers(step):
    said = " ".join(
        (
            step.title,
            step.why,
            *step.do,
            step.not_so,
            step.caution,
            *(" ".join((f.label, f.hint, f.ask, *(w for _, w in f.choices))) for f in step.fields),
        )
    )

    assert not [word for word in NEVER_SAID if word in said.lower()]
    assert not re.search(r"\{(?!at\}|place\}|hour\}|battery\}|rule\})", said)


def test_every_thing_a_field_is_asked_for_is_known():
    from checklist.cast import LINDEN

    for step in STEPS.values():
        for f in step.fields:
            for kind in filter(None, (f.per, f.of)):
                for at in step_places.ats(step, LINDEN):
                    for thing, words in field_options.things(kind, LINDEN, checklist.NoDay(), at):
                        assert thing and words


CAUTIONS = {  # common practice, and trade.md 12: NIOSH for lifting, CT-174a-14 for cords and exits, CT-16 for marks
    "two people lift": (
        "goods",
        "bin-emptied",
        "bins-out",
        "containers-filled",
        "tabulator-away",
        "room-left",
        "containers-in",
    ),
    "cord": ("room-view", "power", "noon-look", "power-lost"),
    "exit": ("roles", "room-view", "noon-look", "power-lost"),
    "never look at": (
        "bins-empty",
        "spoiled",
        "jam",
        "found",
        "emergency-opened",
        "aside-counts",
        "bins-out",
        "search",
        "handed-back",
    ),
    "out of sight": ("room-view", "bins-locked", "seal-broken", "tabulator-out", "tabulator-away", "emergency-on"),
    "local law": ("oath", "line-end", "instruction", "found", "receivers"),
}


@pytest.mark.parametrize(("words", "where"), CAUTIONS.items(), ids=CAUTIONS)
def test_cautions_stand_where_they_belong(words, where):
    for step in where:
        assert words in STEPS[step].caution.lower(), f"{step}: {STEPS[step].caution!r}"


def test_the_place_of_these_tests_has_whatever_a_step_is_done_at():
    """Else no day walks through that step here."""
    nowhere = [step.id for step in checklist.steps(LINDEN) if not step_places.ats(step, LINDEN)]
    assert nowhere == [], "give LINDEN in cast.py what it lacks"


def test_a_step_is_done_where_the_place_has_it_and_a_word_that_no_place_knows_is_refused():
    table = {"id": "generator", "title": "Generator", "signs": "1", "where": "genertor"}
    with pytest.raises(ValueError, match="'genertor' is not one of emergency, write-ins"):
        default_steps._step("opening", table, 24)
