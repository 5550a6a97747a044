"""`tapeseal precinct` as people type it, in a process of its own that a test may kill; its clock goes on from a moment of a practice day."""

import os
import re
import socket
import subprocess
import sys
from types import SimpleNamespace

PROGRAM = """
import sys
from types import SimpleNamespace
from webapp import settings
from webapp.commands import main, precinct
from webapp.commands.recovery import restore
from webapp.gate import verifier
start, of = int(sys.argv[1]), settings.Clock.of
verifier.MEMORY_KIB, verifier.PASSES = 64, 1
def going(told):
    clock = of(told)
    clock.go()
    return clock
settings.Clock.of = staticmethod(going)
restore.time = SimpleNamespace(time_ns=lambda: start * 1_000_000)
precinct.Settings = lambda *told: settings.Settings(*told, clock="scripted", start=start)
sys.exit(main(["precinct", *sys.argv[2:]]))
"""


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


class CommandedLaptop:
    """Laptops of one place under one name: the ports stay, so that a spare one is found where the old one was."""

    def __init__(self, host: str):
        self.port, self.tablet_port, trust_port = free_port(), free_port(), free_port()
        self.root = f"https://{host}:{self.tablet_port}"
        self.running = SimpleNamespace(port=self.port)
        self.ports = ("--port", self.port, "--tablets", "127.0.0.1", "--tablet-port", self.tablet_port)
        self.ports = (*self.ports, "--trust-port", trust_port)
        self.child = None

    def start(self, now: int, *words, **env: str) -> str:
        """Start it at this moment (ms UTC); what it says before it is open."""
        command = [sys.executable, "-c", PROGRAM, str(now), *map(str, (*words, *self.ports))]
        self.child = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=os.environ | env
        )
        said = ""
        while not re.search(r"http://localhost:\d+/", said):
            line = self.child.stdout.readline()
            assert line, said
            said += line
        return said

    def kill(self) -> None:
        """SIGKILL: no goodbye, no flush."""
        if self.child:
            self.child.kill()
            self.child.communicate()
            self.child = None
