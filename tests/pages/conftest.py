"""The day, played once; `scene("voting")` is a server on a copy of it."""

import copy
import shutil

import pytest

from tests.pages.scene import Playbook, Scene


@pytest.fixture(scope="session")
def playbook(tmp_path_factory):
    book = Playbook(tmp_path_factory.mktemp("day"))
    yield book
    book.close()


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
