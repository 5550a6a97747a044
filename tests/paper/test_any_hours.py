"""The paper for when all else fails prints for any hours that a place file may have."""

from dataclasses import replace
from datetime import time

import pytest

from tests.matrix import some
from webapp.commands.place import PAPERS


@pytest.mark.parametrize(
    ("opens", "closes", "clock"),
    some([(time(0), time(23, 59), 12)], [(time(0, 5), time(23, 55), 24), (time(0), time(23, 59), 12)]),
    ids=str,
)
def test_every_form_prints_for_any_hours(school, opens, closes, clock):
    """At one time "not enough horizontal space to render a single character"."""
    place = replace(school, opens=opens, closes=closes, rules=replace(school.rules, clock=clock))

    assert PAPERS["forms"](place).startswith(b"%PDF-")
