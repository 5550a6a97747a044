"""How much a run takes: of a matrix a few cases that differ most, of what another test holds nothing; with `python3 tests --all` everything."""

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest

ALL = os.environ.get("TAPESEAL_ALL") == "1"
Case = TypeVar("Case")


def some(few: Sequence[Case], full: Sequence[Case]) -> Sequence[Case]:
    """`few` of the cases, which must all be among them; with --all the `full` list."""
    assert all(case in full for case in few), "a case that the full list lacks"
    return full if ALL else few


def examples(full: int) -> int:
    """How many random cases a property is asked for: other ones in every run, so a quarter of `full` a day; with --all `full`."""
    return full if ALL else max(full // 4, 15)


def nightly(held_by: str | list[str]) -> pytest.MarkDecorator:
    """A mark for a test, or for one `pytest.param`, that runs with --all only.

    held_by: the daily test that holds the same claim with less work, `tests/FOLDER/test_FILE.py::test_NAME`, or a list where several hold it
    together. `tests/conftest.py` leaves marked tests out of the daily run; `tests/house/test_nightly.py` looks that the named ones run daily.
    """
    return pytest.mark.nightly(held_by=held_by)
