"""R30 for those who send: a stranger's form bodies cost the laptop's own door nothing.

The bodies are those with which every door was starved once: a million fields, percent signs without end, thousands of parts. How much each
costs, and the memory, is printed by `tests/benchmarks/stranger_bodies.py`; here it is held that none is taken apart, and that the others wait no longer.
"""

import statistics
import threading
import time

import pytest

from tests.benchmarks.stranger_bodies import BODIES
from tests.matrix import some
from tests.serving.opened_place import place, prepared  # noqa: F401 - fixtures

PAGES = 60


def waits(place) -> list[float]:  # noqa: F811
    """Seconds from asking to answer, page by page, at the laptop's own door."""
    found = []
    for _ in range(PAGES):
        begun = time.monotonic()
        assert place.ask("laptop", "/people", headers={"Sec-Fetch-Site": "none"})[0] == 200
        found.append(time.monotonic() - begun)
    return found


@pytest.mark.parametrize("kind", some(["fields", "parts"], list(BODIES)))
def test_a_strangers_bodies_leave_the_laptops_own_door_answering(place, kind):  # noqa: F811
    content, make = BODIES[kind]
    body, over, answers = make(), threading.Event(), []

    def post() -> None:
        while not over.is_set():
            try:
                answers.append(place.ask("tablets", "/note/incident", "POST", body, {"Content-Type": content})[0])
            except OSError:  # refused while it was still sending
                answers.append(413)

    before = statistics.median(waits(place))
    threads = [threading.Thread(target=post) for _ in range(4)]
    for thread in threads:
        thread.start()
    during = waits(place)
    over.set()
    for thread in threads:
        thread.join()

    assert answers and set(answers) == {413}, "each is refused by its length"
    # The client shares this process, and its own sending is counted in: a body that was taken apart cost seconds.
    assert statistics.quantiles(during, n=20)[-1] < before + 0.5
