"""How much of a matrix a run takes: a few cases that differ most, or with `python3 tests --all` every one."""

import os
from collections.abc import Sequence
from typing import TypeVar

ALL = os.environ.get("TAPESEAL_ALL") == "1"
Case = TypeVar("Case")


def some(few: Sequence[Case], full: Sequence[Case]) -> Sequence[Case]:
    """`few` of the cases, which must all be among them; with --all the `full` list."""
    assert all(case in full for case in few), "a case that the full list lacks"
    return full if ALL else few
