"""The same as `interruptions.py` with a real browser, so fewer: the laptop killed while a button is pressed, the browser killed holding entries.

python tests/benchmarks/interruptions_in_browser.py [--interruptions 20] [--seed 1]
"""

import argparse
import random
import shutil
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from playwright.sync_api import sync_playwright

from tests.browser.laptop import Laptop
from tests.browser.test_alone import Tablet, killed, persistent, record, until
from tests.pages.scene import Playbook, Scene

NOTES = {"/note/left": {}, "/note/spoiled": {}, "/note/incident": {"where": "entrance", "what": "The lamp went out."}}


def drill(interruptions: int, seed: int, scene: Scene, playing, folder: Path) -> dict[str, int]:
    """So many interruptions of one tablet; raises AssertionError where an entry was lost or kept twice."""
    luck, laptop, ids, counts = random.Random(seed), Laptop(scene.folder, scene.now).start(), [], Counter()
    before, scene.running = len(record(scene)), laptop  # the hand asks the scene for its port
    context = persistent(playing, folder / "profile")
    tablet = Tablet(context.new_page(), scene, laptop)
    try:
        while sum(counts.values()) < interruptions:
            ids.append(pressed(tablet, luck, laptop))
            counts["laptop killed"] += 1
            path = luck.choice(list(NOTES))
            tablet.note_alone(path, **NOTES[path])
            ids.append(tablet.held()[-1]["id"])
            dies = luck.random() < 0.5
            if dies:
                killed(context, folder / "profile")
                counts["browser killed"] += 1
                context = persistent(playing, folder / "profile")
                tablet.page = context.new_page()
            laptop.start()
            if dies:
                tablet.hold(
                    tablet.person
                )  # a window on the laptop itself ends with its browser: it is a new one, with the old store
            tablet.keep()
            until(tablet.page, "document.querySelectorAll('[data-list] li').length === 0")
    finally:
        context.close()
        laptop.kill()
    kept = Counter(entry.id.hex() for entry in record(scene)[before:] if entry.seq)
    assert len(set(ids)) == len(ids), "a form opened anew was the same act as one before it"
    assert set(kept) == set(ids) and max(kept.values()) == 1, (set(ids) ^ set(kept), kept.most_common(1))
    return {"noted": len(ids), "kept": len(kept), "lost": 0, "twice": 0, **counts}


def pressed(tablet: Tablet, luck: random.Random, laptop: Laptop) -> str:
    """A form of the laptop's is sent while the laptop is killed at a random moment; the page then says kept, or held. The entry's id."""
    path = luck.choice(("/note/left", "/note/spoiled"))
    tablet.go(path)
    tablet.choose()
    name = tablet.page.locator("[name=entry_id]").input_value()
    killer = threading.Timer(luck.uniform(0, 0.15), lambda: laptop.child.kill())
    killer.start()
    tablet.page.locator("button.do").click()
    until(
        tablet.page,
        "location.search.startsWith('?kept=') || location.pathname === '/held' || document.querySelector('h1').textContent.includes('does not answer')",
    )
    killer.join()
    laptop.kill()
    return name


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--interruptions", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playing:
        book = Playbook(Path(name) / "day")
        try:
            kept, answers, now = book.at("voting")
        finally:
            book.close()
        shutil.copytree(kept, Path(name) / "place")
        scene = Scene(Path(name) / "place", book.place, book.codes, answers.truth, answers, now)
        began = time.monotonic()
        found = drill(options.interruptions, options.seed, scene, playing, Path(name))
        print(
            f"{options.interruptions} interruptions in a browser in {time.monotonic() - began:.0f} s: "
            + ", ".join(f"{what} {n}" for what, n in found.items())
        )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
