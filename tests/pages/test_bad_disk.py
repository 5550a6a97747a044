"""A short night on a disk that fills, fails and comes back (`tests/drills/bad_disk.py`; the long one is `tests/benchmarks/bad_disk.py`)."""

import copy
import shutil
import sys
from contextlib import ExitStack

import pytest

from tests.drills import bad_disk
from tests.drills.small_disk import CannotMount, small_disk
from tests.matrix import some
from tests.pages.scene import Scene


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="disks are made and limits set as Linux has them")
def test_r11_on_a_bad_disk_what_was_answered_is_there_and_each_refusal_is_true(playbook, tmp_path):
    kept, answers, now = playbook.at("voting")
    answers = copy.deepcopy(answers)
    with ExitStack() as until_the_end:
        try:
            disk = until_the_end.enter_context(small_disk(tmp_path / "disk", 12))
        except CannotMount:
            disk = None  # it fails, and is never full or write-protected
        home = (disk.folder if disk else tmp_path) / "place"
        shutil.copytree(kept, home)
        scene = Scene(home, playbook.place, playbook.codes, answers.truth, answers, now)
        counts = bad_disk.night(scene, disk, events=some((3,), (3, 5))[-1], seed=3, pause=0.2)

    assert counts["answered"] and counts["refused"] and counts["pages looked at"], counts
