"""What a place file may change in the default checklists, and how a slip in it is told. The keys are those of formats.md."""

import pytest

from tests.place.conftest import SMALL
from webapp.precinct.checklist.checklist import default_ids, steps
from webapp.precinct.place import place_file

LAMP = 'id = "lamp"\ntitle = "Light the lamp"\nsigns = "chair+other"\nafter = ["access"]\n'


def read(rows):
    return place_file.read((SMALL + "".join(f"\n[[steps]]\n{row}" for row in rows)).encode())


def test_a_new_step_stands_after_the_one_it_names():
    place = read(
        [
            LAMP
            + 'record = ["number: Lamps lit", { name = "oil", kind = "choice", label = "Oil", choices = [["full", "Full"], ["low", "Low"]] }]\n'
        ]
    )

    order = [step.id for step in steps(place)]
    lamp = steps(place)[order.index("lamp")]

    assert order.index("lamp") == order.index("access") + 1
    assert (lamp.title, lamp.signs, lamp.list) == ("Light the lamp", "chair+other", "opening")
    assert [(field.name, field.kind) for field in lamp.fields] == [("lamps_lit", "number"), ("oil", "choice")]


def test_a_step_that_ships_is_changed_and_another_dropped():
    place = read(
        ['id = "notices"\ntitle = "Hang up the notices"\nby = "opens-15"\n', 'id = "accessible-device"\ndrop = true\n']
    )

    changed = {step.id: step for step in steps(place)}

    assert changed["notices"].title == "Hang up the notices" and changed["notices"].by == "opens-15"
    assert set(changed) == default_ids() - {"accessible-device"}


def test_the_rows_are_kept_as_written():
    assert read(['id = "access"\nafter = ["oath"]\n']).steps == ({"id": "access", "after": ("oath",)},)


CASES = {
    "no id": (
        ['title = "x"\n'],
        'A [[steps]] begins with the id of a step in small letters, digits and dashes: write id = "room-view".',
    ),
    "nothing changed": (
        ['id = "access"\n'],
        "The step access is named and nothing about it is changed: write drop = true or one of title, why, record, signs, after, by, "
        "not_so, page.",
    ),
    "dropped and changed": (
        ['id = "access"\ndrop = true\ntitle = "x"\n'],
        "The step access is dropped and changed at once: keep drop = true, or title.",
    ),
    "drop = false": (
        ['id = "access"\ndrop = false\n'],
        "drop of the step access can only be true: write drop = true, or take the key out.",
    ),
    "an unknown step dropped": (
        ['id = "acess"\ndrop = true\n'],
        'There is no step acess to drop: write the id of a step of the default checklists. Do you mean "access"?',
    ),
    "the zero tape dropped": (
        ['id = "zero-tape"\ndrop = true\n'],
        "The step zero-tape cannot be dropped, as no tabulator would be proven: change its words instead.",
    ),
    "a new step without a title": (
        ['id = "lamp"\nsigns = "1"\nafter = ["access"]\n'],
        "The step lamp is none that ships, and as a new step it has no title: write title = "
        '"Light the lamp over the door", or mend the id.',
    ),
    "changed twice": ([LAMP, LAMP], "The step lamp is changed twice: write all its changes in one [[steps]]."),
    "a key nobody knows": (
        ['id = "access"\ntitel = "x"\n'],
        'The step access has no key "titel": mend it or take it out. Do you mean "title"?',
    ),
    "a seat nobody has": (
        [LAMP.replace("chair+other", "clerk+other")],
        'signs of the step lamp is "clerk+other": write T, 1, 2, P or all, or seats joined by + such as '
        '"chair+other", from any, other and the roles of the officials here.',
    ),
    "a chair too many": (
        [LAMP.replace("chair+other", "chair+chair")],
        'signs of the step lamp is "chair+chair", and the officials here have the role chair 1 time: write any or '
        "other for the rest.",
    ),
    "five seats": (
        [LAMP.replace("chair+other", "any+any+any+any+other")],
        'signs of the step lamp is "any+any+any+any+other", 5 signatures: write at most 4, or all.',
    ),
    "after an unknown step": (
        ['id = "access"\nafter = ["oth"]\n'],
        'after of the step access names oth, and there is no such step: write the id of one. Do you mean "oath"?',
    ),
    "after itself": (
        ['id = "access"\nafter = ["access"]\n'],
        "The step access would wait for itself: take it out of its after.",
    ),
    "after as a text": (
        ['id = "access"\nafter = "oath"\n'],
        'after of the step access is a list of steps that come first: write after = ["oath"].',
    ),
    "two that wait for one another": (
        ['id = "oath"\nafter = ["roles"]\n'],
        "The steps oath, roles wait for one another and none of them would ever open: change their after.",
    ),
    "by a time": (
        ['id = "access"\nby = "6:30"\n'],
        'by of the step access is not of the form that is known: write "opens-30", "noon" or "closes", or "" for none.',
    ),
    "record as a text": (
        ['id = "access"\nrecord = "number: n"\n'],
        'record of the step access is a list: write record = ["number: Lamps lit"].',
    ),
    "a kind nobody knows": (
        ['id = "access"\nrecord = ["colour: Door"]\n'],
        'What the step access records is written as "kind: label", such as "number: Lamps lit"; kinds are yes, '
        "tick, yes-no, time, number, counts, numbers, seal, choice, words, code.",
    ),
    "two of one name": (
        ['id = "access"\nrecord = ["number: Steps", "tick: steps"]\n'],
        "The step access records two things called steps, or one whose name is taken: give it another label.",
    ),
    "a name that is taken": (
        ['id = "access"\nrecord = ["words: Found"]\n'],
        "The step access records two things called found, or one whose name is taken: give it another label.",
    ),
    "a choice of nothing": (
        ['id = "access"\nrecord = [{ name = "d", kind = "choice", label = "Door" }]\n'],
        "a field of the step access is a choice of nothing: write choices = "
        '[["lit", "All lit"], ["dark", "Some dark"]].',
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_in_a_step_is_told_with_its_line(case):
    rows, sentence = CASES[case]

    with pytest.raises(place_file.Mistakes) as caught:
        read(rows)

    line = next(line for line, says in caught.value.found if says == sentence)
    assert line > SMALL.count("\n")
