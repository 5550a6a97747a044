"""The demo's command as a newcomer starts it: a process of its own that prints its links, answers at each of them, and stops."""

import subprocess
import sys
import threading
from pathlib import Path
from urllib.request import urlopen

from tests.browser.commanded import free_port

ROOT = Path(__file__).resolve().parents[2]


def test_the_demo_starts_by_its_command_answers_and_stops():
    place, office = free_port(), free_port()
    words = [sys.executable, "-u", "-m", "webapp", "demo", "--place-port", str(place), "--office-port", str(office)]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as demo:
        late = threading.Timer(120, demo.kill)
        late.start()
        try:
            said = ""
            for line in demo.stdout or ():
                said += line
                if f":{place}" in said and f":{office}" in said:
                    break
            for port in (place, office):
                assert f":{port}" in said, said
                assert urlopen(f"http://localhost:{port}/", timeout=60).status == 200
        finally:
            demo.terminate()
            demo.wait(timeout=60)
            late.cancel()
