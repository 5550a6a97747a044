"""The day, played once; `scene("voting")` is a server on a copy of it."""

import copy
import os
import shutil

import pytest

from tests.once import once, once_a_run
from tests.pages.scene import Playbook, Scene, StoredDay


@pytest.fixture(scope="session")
def playbook(request, tmp_path_factory):
    """Where several processes run tests, one of them plays the whole day for all; else it is played as far as tests ask."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        return once(request.config, "day", lambda: once_a_run(tmp_path_factory, "day", StoredDay.played))
    return once(request.config, "day", lambda: Playbook(tmp_path_factory.mktemp("day")), Playbook.close)


@pytest.fixture
def scene(playbook, tmp_path):
    """A function: the moment -> a Scene that is being served. Stopped when the test is over."""
    made = []

    def at(moment: str) -> Scene:
        kept, answers, now = playbook.at(moment)
        folder = tmp_path / f"place{len(made)}"
        shutil.copytree(kept, folder)
        answers = copy.deepcopy(answers)
        made.append(
            Scene(
                folder, playbook.place, playbook.codes, answers.truth, answers, now, playbook.folder / "office"
            ).start()
        )
        return made[-1]

    yield at
    for one in made:
        one.stop()
