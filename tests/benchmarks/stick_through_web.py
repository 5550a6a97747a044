"""What a stick costs an entry through the web: without one, with one, with one whose fsync takes 300 ms, with one that never answers.

    python tests/benchmarks/stick_through_web.py [--entries 120]

Four servers, each a process of its own on a copy of one place; a note is sent to each in turn, so that whatever else the computer does falls on
each alike. Prints medians, p95 and the median of the ratios to the server without a stick (goal 1.1).
"""

import argparse
import os
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from demo_precinct.http_window import Window  # noqa: E402 - the folder above must be found first
from tests.pages.scene import Playbook, Scene  # noqa: E402

PROGRAM = """
import sys
from pathlib import Path
import webapp
from webapp.commands.recovery import saved_folder
from webapp.gate.signed_place_file import load_place
from webapp.serving import server
from webapp.settings import Settings
from webapp.stick.backup_process import BackupProcess
folder, stick, delay, start = Path(sys.argv[1]), sys.argv[2], float(sys.argv[3]), int(sys.argv[4])
app = webapp.create_app(Settings("place", folder, port=0, clock="scripted", start=start))
room = app.extensions["room"]
room.clock.go()
if stick:
    room.backup = BackupProcess(saved_folder.task_for(folder, load_place(folder), Path(stick)), delay=delay)
server.serve(app, "127.0.0.1", 0, lambda port: print(port, room.backup.pid if room.backup else 0, flush=True))
room.close()
if room.backup:
    room.backup.close()
"""
DELAYS = {"none": None, "stick": 0.0, "slow": 0.3, "hung": 0.0}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=120)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        book = Playbook(Path(name) / "day")
        try:
            kept, answers, now = book.at("voting")
        finally:
            book.close()
        measured(Path(name), kept, Scene(kept, book.place, book.codes, answers.truth, answers, now), options.entries)
    return 0


def measured(folder: Path, kept: Path, scene: Scene, entries: int) -> None:
    children, windows, copying = {}, {}, {}
    try:
        for name, delay in DELAYS.items():
            shutil.copytree(kept, folder / name / "place")
            stick = "" if delay is None else str(folder / name / "stick")
            os.makedirs(folder / name / "stick")
            words = [str(folder / name / "place"), stick, str(delay or 0), str(scene.now)]
            children[name] = subprocess.Popen(
                [sys.executable, "-c", PROGRAM, *words], stdout=subprocess.PIPE, text=True, cwd=ROOT
            )
            port, copying[name] = map(int, children[name].stdout.readline().split())
            windows[name] = held(Window(port), scene)
        os.kill(copying["hung"], signal.SIGSTOP)
        times = {name: [] for name in DELAYS}
        for _ in range(entries):
            for name, window in windows.items():
                form = window.get("/note/left").form("/note/left")
                sent = form.filled(form.choices_made())
                began = time.perf_counter()
                page = window.post("/note/left", sent)
                times[name].append(time.perf_counter() - began)
                assert page.status == 200, page.said()
        for name, found in times.items():
            ratio = statistics.median(one / base for one, base in zip(found, times["none"], strict=True))
            print(
                f"{name}: median {1000 * statistics.median(found):.1f} ms, p95 {1000 * statistics.quantiles(found, n=20)[-1]:.1f} ms, median of ratios {ratio:.2f}"
            )
    finally:
        if copying.get("hung"):
            os.kill(copying["hung"], signal.SIGCONT)
        for child in children.values():
            child.terminate()
            child.communicate()


def held(window: Window, scene: Scene) -> Window:
    """A window that somebody holds."""
    person = scene.place.officials[0].id
    window.send(window.get("/tablet").form("/tablet/take"), {"signer": person, "pin": scene.pins[person]})
    return window


if __name__ == "__main__":
    raise SystemExit(main())
