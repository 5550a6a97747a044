"""What slow callers cost the others: 30 silent sockets, 30 half-sent headers and 30 half-sent bodies, held open while pages are asked for.

    python tests/benchmarks/slow_sockets.py [--seconds 6] [--rounds 5] [--rate 30] [--door tablets]

`tapeseal precinct DIR --tablets` in a process of its own. Open loop: 12 clients, `rate` pages a second in all, each due at its own moment; A without the
slow ones, B with them, A B A B, the first round thrown away, medians of the rounds' p95 and of their ratios (goal of the design, R30: at most 2). The slow
ones come from addresses of their own (Linux gives a program all of 127.0.0.0/8) and are put back as the server shows them out.
`--door`: tablets (TLS; 30 more never begin the handshake) or laptop. Nothing is asserted; pages that got no answer are counted.
"""

import argparse
import http.client
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from demo_precinct import rehearsed_county  # noqa: E402
from tests.serving.conftest import trusting  # noqa: E402
from tests.serving.opened_place import HOST, Named  # noqa: E402
from webapp.gate import certificates  # noqa: E402

CLIENTS, EACH = 12, 30
TOML = (rehearsed_county.HERE / "place.toml").read_bytes()


@dataclass
class Served:
    """The ports of a place's doors, and what a prepared tablet believes."""

    ports: dict[str, int]
    shown: certificates.ServerCertificate

    def port(self, door: str) -> int:
        return self.ports[door]


class SlowOnes:
    """Held open until told to go; who was shown out comes back."""

    def __init__(self, place: Served, door: str):
        self._place, self._door, self._going = place, door, threading.Event()
        head = f"POST /pair HTTP/1.1\r\nHost: {HOST if door == 'tablets' else 'localhost'}\r\n".encode()
        kinds = [(b"", True), (head + b"X-Half", True), (head + b"Content-Length: 100\r\n\r\nhalf", True)] + [
            (b"", False)
        ] * (door == "tablets")
        self._held = [
            [sent, begun, None, f"127.0.0.{number}"]
            for number, (sent, begun) in enumerate(kinds, 2)
            for _ in range(EACH)
        ]
        for one in self._held:
            self._put(one)
        self._keeper = threading.Thread(target=self._keep, daemon=True)
        self._keeper.start()

    def _put(self, one: list) -> None:
        sent, begun, _, source = one
        line = socket.create_connection(
            ("127.0.0.1", self._place.port(self._door)), timeout=10, source_address=(source, 0)
        )
        if self._door == "tablets" and begun:
            line = trusting(self._place.shown).wrap_socket(line, server_hostname=HOST)
        line.sendall(sent)
        line.setblocking(False)
        one[2] = line

    def _keep(self) -> None:
        while not self._going.wait(0.2):
            for one in self._held:
                try:
                    if one[2].recv(1) == b"":
                        self._put(one)
                except (BlockingIOError, OSError) as wrong:
                    if (
                        not isinstance(wrong, BlockingIOError)
                        and "want" not in str(wrong).lower()
                        and "not complete" not in str(wrong).lower()
                    ):
                        self._put(one)

    def go(self) -> None:
        self._going.set()
        self._keeper.join()
        for one in self._held:
            one[2].close()


def asked(place: Served, door: str, seconds: float, rate: float) -> tuple[list[float], int]:
    """Seconds from the moment each page was due to its answer, and how many got none."""
    times, lost, guard, begin = [], [], threading.Lock(), time.monotonic() + 0.2

    def client(number: int) -> None:
        line = None
        for i in range(number, int(seconds * rate), CLIENTS):
            due = begin + i / rate
            time.sleep(max(0.0, due - time.monotonic()))
            try:
                line = line or (
                    Named(HOST, place.port(door), timeout=30, context=trusting(place.shown))
                    if door == "tablets"
                    else http.client.HTTPConnection("localhost", place.port(door), timeout=30)
                )
                line.request(
                    "GET",
                    "/pair" if door == "tablets" else "/people",
                    headers={"Host": f"{HOST if door == 'tablets' else 'localhost'}:{place.port(door)}"},
                )
                answer = line.getresponse()
                answer.read()
                with guard:
                    (times if answer.status == 200 else lost).append(time.monotonic() - due)
            except (OSError, http.client.HTTPException):
                line = None
                with guard:
                    lost.append(time.monotonic() - due)

    with ThreadPoolExecutor(CLIENTS) as pool:
        for done in [pool.submit(client, n) for n in range(CLIENTS)]:
            done.result()
    return times, len(lost)


def p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=6)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--rate", type=float, default=30)
    parser.add_argument("--door", choices=("tablets", "laptop"), default="tablets")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch) / "prepared"
        rehearsed_county.prepare(root, (rehearsed_county.HERE / "office.toml").read_bytes(), [TOML])
        folder = root / "places" / "W3"
        child = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "webapp",
                "precinct",
                str(folder),
                "--port",
                "0",
                "--tablets",
                "127.0.0.1",
                "--tablet-port",
                "0",
                "--trust-port",
                "0",
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        first, second = (child.stdout.readline() for _ in range(2))
        place = Served(
            {"laptop": int(re.search(r"localhost:(\d+)", first)[1]), "tablets": int(re.search(r":(\d+)/", second)[1])},
            certificates.enrolled(folder),
        )
        quiet, slow, lost = [], [], 0
        try:
            for number in range(options.rounds + 1):
                alone, gone = asked(place, options.door, options.seconds, options.rate)
                ones = SlowOnes(place, options.door)
                beside, more = asked(place, options.door, options.seconds, options.rate)
                ones.go()
                lost += gone + more
                if number:
                    quiet.append(p95(alone))
                    slow.append(p95(beside))
        finally:
            child.terminate()
            child.communicate()
    ratios = [b / a for a, b in zip(quiet, slow, strict=True)]
    held = EACH * (4 if options.door == "tablets" else 3)
    print(
        f"{options.door}: p95 {statistics.median(quiet) * 1000:.0f} ms alone, {statistics.median(slow) * 1000:.0f} ms beside {held} slow callers: "
        f"ratio {statistics.median(ratios):.2f} (goal 2), rounds {', '.join(f'{r:.2f}' for r in ratios)}; without an answer: {lost}"
    )


if __name__ == "__main__":
    main()
