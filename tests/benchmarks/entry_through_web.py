"""What a durable entry through the web costs, beside the same server doing the same insert without an app.

    python tests/benchmarks/entry_through_web.py [--seconds 10] [--rounds 5] [--rate 40]

Open loop: 20 clients, `rate` posts a second in all, each post due at its own moment whether or not the ones before are answered; A B A B, the first round
thrown away, medians of the rounds' p95; each server is a process of its own. Prints ratios (goal of the design: at most 2 for an unsigned entry; for a
signed one at most 2 argon2 alone more), whether any entry was lost or kept twice, and the most memory that the server's process ever took (Linux).
Nothing is asserted.
"""

import argparse
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import webapp  # noqa: E402 - the folder above must be found first
from demo_precinct import rehearsed_county, story  # noqa: E402
from demo_precinct.http_window import Window  # noqa: E402
from demo_precinct.rehearsed_day import Day  # noqa: E402
from demo_precinct.true_figures import invented  # noqa: E402
from tests.browser.laptop import Laptop  # noqa: E402
from webapp.gate import verifier  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402
from webapp.record.entry import Act, Claim  # noqa: E402
from webapp.record.ledger import Ledger  # noqa: E402
from webapp.serving.server import serve_in_thread  # noqa: E402
from webapp.settings import Settings  # noqa: E402

CLIENTS = 20
MINUTE = 60_000


def p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def open_loop(send, seconds: float, rate: float) -> list[float]:
    """Seconds from the moment each post was due to its answer; `send(client, i)`."""
    times: list[float] = []
    guard = threading.Lock()
    begin = time.monotonic() + 0.2

    def client(number: int) -> None:
        for i in range(number, int(seconds * rate), CLIENTS):
            due = begin + i / rate
            time.sleep(max(0.0, due - time.monotonic()))
            send(number, i)
            with guard:
                times.append(time.monotonic() - due)

    with ThreadPoolExecutor(CLIENTS) as pool:
        for done in [pool.submit(client, n) for n in range(CLIENTS)]:
            done.result()
    return times


def bare(path: Path):
    """The same server, the same durable insert, no app."""
    ledger = Ledger.create(path)
    guard, seq = threading.Lock(), [0]

    def app(environ, start_response):
        environ["wsgi.input"].read()
        with guard:
            seq[0] += 1
            claim = Claim(
                uuid.uuid4().bytes,
                "spoiled",
                {"ballots": 1, "style": "3A", "sheet": 1, "origin": "paper", "reissued": True, "book_marked": True},
                1_793_700_000_000,
                "L1",
                seq[0],
            )
            ledger.append(Act(claim, made=1_793_700_000_000), now=1_793_700_000_000)
        start_response("303 See Other", [("Location", "/note")])
        return [b""]

    return app, ledger


def serve_bare(path: Path) -> None:
    """That server in this process, until its standard input ends; its port is printed first."""
    app, ledger = bare(path)
    running = serve_in_thread(app)
    print(running.port, flush=True)
    sys.stdin.read()
    running.stop()
    ledger.close()


def opened_place(folder: Path):
    """The demo's place, its polls open, served by a process of its own; 20 windows each held by somebody."""
    toml = (rehearsed_county.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    slips = rehearsed_county.prepare(folder, (rehearsed_county.HERE / "office.toml").read_bytes(), [toml])
    app = webapp.create_app(
        Settings("place", folder / "places" / place.id, clock="scripted", start=place.at(place.opens) - 120 * MINUTE)
    )
    running = serve_in_thread(app)
    day = Day(place, invented(place, 1), running.port, slips[place.id], story.told(), "hourly")
    day.play()
    running.stop()
    app.extensions["room"].close()
    laptop, windows = Laptop(folder / "places" / place.id, day.now).start(), []
    for i in range(CLIENTS):
        day.crew.window = Window(laptop.port)
        day.crew.hold(place.officials[i % 6].id)
        form = day.crew.window.get("/note/spoiled").form("/note/spoiled")
        signed = day.crew.window.get("/note/incident").form("/note/incident")
        windows.append((day.crew.window, form, signed))
    return laptop, day, windows


def length(laptop: Laptop) -> int:
    """Entries on the disk."""
    reader = Ledger.read_only(laptop.folder / "record.db")
    try:
        return reader.length
    finally:
        reader.close()


def most_memory(laptop: Laptop) -> str:
    """The most that the server's process ever held, MB; "not told" where the system does not say."""
    status = Path(f"/proc/{laptop.child.pid}/status")
    told = re.search(r"VmHWM:\s+(\d+)", status.read_text()) if status.exists() else None
    return f"{int(told[1]) // 1024} MB" if told else "not told"


def fresh(form, values) -> list[tuple[str, str]]:
    """The form filled in once more under a new id."""
    sent = dict(form.filled(form.choices_made() | values))
    return list((sent | {"entry_id": uuid.uuid4().hex, "salt": uuid.uuid4().hex}).items())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--rate", type=float, default=40)
    parser.add_argument("--bare", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.bare:
        return serve_bare(options.bare)
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch)
        plain = subprocess.Popen(
            [sys.executable, __file__, "--bare", str(root / "bare.db")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        port = int(plain.stdout.readline())
        plain_windows = [Window(port) for _ in range(CLIENTS)]
        laptop, day, windows = opened_place(root / "demo")
        crew, lost = day.crew, []

        def to_bare(client: int, i: int) -> None:
            plain_windows[client]._once("POST", "/", b"x=1", {})

        def to_app(client: int, i: int) -> None:
            window, form, _ = windows[client]
            if window._once("POST", form.action, _encoded(fresh(form, {})), _heads(window)).status != 303:
                lost.append(i)

        def to_app_signed(client: int, i: int) -> None:
            window, _, form = windows[client]
            who = day.place.officials[client % 6].id
            values = {"where": "booths", "what": "A pen ran dry.", "signer": who, "pin": crew.pins[who]}
            if window._once("POST", form.action, _encoded(fresh(form, values)), _heads(window)).status != 303:
                lost.append(i)

        before, posts, rows = length(laptop), 0, []
        for _ in range(options.rounds + 1):
            a = p95(open_loop(to_bare, options.seconds, options.rate))
            b = p95(open_loop(to_app, options.seconds, options.rate))
            posts += int(options.seconds * options.rate)
            rows.append((a, b))
        unsigned = statistics.median(b / a for a, b in rows[1:])
        base = statistics.median(a for a, _ in rows[1:])
        secret = verifier.make(b"p" * 32, "294817")
        began = time.monotonic()
        for _ in range(10):
            verifier.holds(b"p" * 32, "294817", secret)
        argon = (time.monotonic() - began) / 10
        signed = [p95(open_loop(to_app_signed, options.seconds, options.rate / 4)) for _ in range(options.rounds + 1)][
            1:
        ]
        posts += int(options.seconds * options.rate / 4) * (options.rounds + 1)
        at_once = [_burst(to_app) for _ in range(options.rounds)]
        posts += CLIENTS * options.rounds
        kept = length(laptop) - before
        print(
            f"unsigned entry, p95 app / p95 bare server with the same insert: {unsigned:.2f} (goal <= 2; bare {base * 1000:.1f} ms)"
        )
        print(
            f"signed entry, p95: {statistics.median(signed) * 1000:.0f} ms = {statistics.median(signed) / (2 * argon + 2 * base):.2f} of 2 argon2 ({argon * 1000:.0f} ms each) and 2 bare entries (goal <= 1)"
        )
        print(
            f"20 at one instant, slowest: {statistics.median(at_once) * 1000:.0f} ms = {statistics.median(at_once) / base:.1f} bare p95"
        )
        print(
            f"posts {posts}, kept {kept}, refused {len(lost)}: {'none lost, none twice' if kept == posts else 'LOOK: they differ'}"
        )
        print(f"memory of the server's process, at the most: {most_memory(laptop)} (goal < 300 MB)")
        laptop.kill()
        plain.communicate()


def _burst(send) -> float:
    """Seconds until the last of 20 posts at one instant is answered."""
    gate = threading.Barrier(CLIENTS)

    def one(client: int) -> float:
        gate.wait()
        began = time.monotonic()
        send(client, 0)
        return time.monotonic() - began

    with ThreadPoolExecutor(CLIENTS) as pool:
        return max(pool.map(one, range(CLIENTS)))


def _encoded(fields) -> bytes:
    from urllib.parse import urlencode

    return urlencode(fields).encode()


def _heads(window: Window) -> dict[str, str]:
    return {"Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://{window.host}:{window.port}"}


if __name__ == "__main__":
    main()
