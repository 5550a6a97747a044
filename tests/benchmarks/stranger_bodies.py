"""What a stranger's form bodies cost the laptop's own door: eight connections at the tablets' door, each posting one hostile body after the other.

    python tests/benchmarks/stranger_bodies.py [--seconds 6] [--kinds none,fields,percent,parts,boundary,json]

`tapeseal precinct DIR --tablets` in a process of its own, the stranger in another. The honest one asks the laptop's own door for a page 30 times a
second, each due at its own moment. Printed a kind: the honest p95, what the stranger was answered, the most memory
the server held (VmHWM, Linux), and the processor time it used, which a busy computer changes least.
Goals: p95 at most twice that without a stranger, and 300 MB. Nothing is asserted here; `tests/serving` holds a short form of it.
"""

import argparse
import collections
import http.client
import json
import re
import ssl
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from demo_precinct import rehearsed_county  # noqa: E402

HOST = "w3.tarn.example"
CONNECTIONS, RATE, CLIENTS = 8, 30, 6
TOML = (ROOT / "demo_precinct" / "place.toml").read_bytes()
FORM = "application/x-www-form-urlencoded"
SIZE = 2 * 1024 * 1024 - 1024


def parts() -> bytes:
    return (
        b"".join(b'--b\r\nContent-Disposition: form-data; name="a%d"\r\n\r\nx\r\n' % i for i in range(4900))
        + b"--b--\r\n"
    )


BODIES = {
    "fields": (FORM, lambda: b"a&" * (SIZE // 2)),
    "percent": (FORM, lambda: b"a=" + b"%41" * (SIZE // 3)),
    "parts": ("multipart/form-data; boundary=b", parts),
    "boundary": ("multipart/form-data; boundary=b", lambda: b"\r\n--" * (SIZE // 4)),
    "json": ("application/json", lambda: b"[" * 900_000),
}


def stranger(port: int, kind: str, seconds: float) -> None:
    """Post this kind of body from eight connections until the time is over; print how often each answer came."""
    content, make = BODIES[kind]
    body, until, seen, guard = make(), time.monotonic() + seconds, collections.Counter(), threading.Lock()
    blind = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    blind.check_hostname, blind.verify_mode = False, ssl.CERT_NONE

    def one() -> None:
        while time.monotonic() < until:
            line = http.client.HTTPSConnection("127.0.0.1", port, timeout=30, context=blind)
            try:
                line.request("POST", "/note/incident", body, {"Host": f"{HOST}:{port}", "Content-Type": content})
                status = str(line.getresponse().status)
            except (OSError, http.client.HTTPException) as wrong:
                status = type(wrong).__name__
            line.close()
            with guard:
                seen[status] += 1

    threads = [threading.Thread(target=one) for _ in range(CONNECTIONS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    print(json.dumps(seen))


def honest(port: int, seconds: float) -> list[float]:
    """Seconds from the moment each page was due to its answer."""
    times, begin, guard = [], time.monotonic() + 0.2, threading.Lock()

    def client(number: int) -> None:
        line = http.client.HTTPConnection("localhost", port, timeout=60)
        cookie = {}
        for i in range(number, int(seconds * RATE), CLIENTS):
            due = begin + i / RATE
            time.sleep(max(0.0, due - time.monotonic()))
            line.request("GET", "/people", headers={"Host": f"localhost:{port}", **cookie})
            answer = line.getresponse()
            answer.read()
            cookie = cookie or {"Cookie": (answer.headers["Set-Cookie"] or "").partition(";")[0]}
            with guard:
                times.append(time.monotonic() - due)

    threads = [threading.Thread(target=client, args=(n,)) for n in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times


def most_memory(pid: int) -> float:
    found = re.search(r"VmHWM:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) / 1024 if found else 0.0


def processor(pid: int) -> float:
    """Seconds of processor time that this process has used (Linux)."""
    return sum(map(int, Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13])) / 100


def measured(kind: str, seconds: float) -> tuple[float, str, float, float]:
    """p95 in ms, the stranger's answers, MB, the server's processor time in s: each kind at a server of its own."""
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch) / "prepared"
        rehearsed_county.prepare(root, (ROOT / "demo_precinct" / "office.toml").read_bytes(), [TOML])
        child = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "webapp",
                "precinct",
                str(root / "places" / "W3"),
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
            cwd=ROOT,
        )
        first, second = (child.stdout.readline() for _ in range(2))
        laptop, tablets = int(re.search(r"localhost:(\d+)", first)[1]), int(re.search(r":(\d+)/", second)[1])
        try:
            honest(laptop, 1)
            posts = kind != "none" and subprocess.Popen(
                [sys.executable, __file__, "--stranger", f"{tablets},{kind},{seconds + 1}"],
                stdout=subprocess.PIPE,
                text=True,
            )
            time.sleep(1 if posts else 0)
            used = processor(child.pid)
            times = honest(laptop, seconds)
            used = processor(child.pid) - used
            answers = posts.communicate()[0].strip() if posts else ""
            return statistics.quantiles(times, n=20)[-1] * 1000, answers, most_memory(child.pid), used
        finally:
            child.terminate()
            child.communicate()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=6)
    parser.add_argument("--kinds", default="none,fields,percent,parts,boundary,json")
    parser.add_argument("--stranger", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.stranger:
        port, kind, seconds = options.stranger.split(",")
        return stranger(int(port), kind, float(seconds))
    for kind in options.kinds.split(","):
        p95, answers, memory, used = measured(kind, options.seconds)
        print(
            f"{kind}: honest p95 {p95:.0f} ms, {memory:.0f} MB at the most, {used:.2f} s of the processor; the stranger got {answers or 'nothing'}",
            flush=True,
        )
    return None


if __name__ == "__main__":
    main()
