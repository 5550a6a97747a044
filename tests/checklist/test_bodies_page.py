"""BODIES.md says of each kind of entry what the checklists and the stored bodies say."""

from tests.checklist.bodies_page import BODIES, PAGE, made
from webapp.precinct.place.default_steps import defaults


def test_the_tables_are_those_of_the_checklists():
    page = PAGE.read_text(encoding="utf-8")
    assert page == made(page), "run: python tests/checklist/bodies_page.py"


def test_each_kind_has_a_whole_body():
    assert [step.id for step in defaults() if step.id not in BODIES] == []
