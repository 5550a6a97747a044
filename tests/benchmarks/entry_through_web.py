"""What a durable entry through the web costs, beside the same server doing the same insert without an app.

    python tests/benchmarks/entry_through_web.py [--seconds 10] [--rounds 5] [--rate 40]

Open loop: 20 clients, `rate` posts a second in all, each post due at its own moment whether or not the ones before are answered; A B A B, the first round
thrown away, medians of the rounds' p95. Prints ratios (goal of the design: at most 2 for an unsigned entry; for a signed one at most 2 argon2 alone
more), whether any entry was lost or kept twice, and the memory of the process. Nothing is asserted.
"""

import argparse
import resource
import statistics
import tempfile
import threading
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import webapp
from demo_precinct import rehearsal, story
from demo_precinct.browser import Window
from demo_precinct.rehearsed_day import Day
from demo_precinct.truth import invented
from webapp.gate import verifier
from webapp.precinct import place_file
from webapp.record.entry import Act, Claim
from webapp.record.ledger import Ledger
from webapp.serving import serve_in_thread
from webapp.settings import Settings

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
            claim = Claim(uuid.uuid4().bytes, "spoiled", {"ballots": 1, "style": "3A", "sheet": 1, "origin": "paper", "reissued": True, "book_marked": True}, 1_793_700_000_000, "L1", seq[0])
            ledger.append(Act(claim, made=1_793_700_000_000), now=1_793_700_000_000)
        start_response("303 See Other", [("Location", "/note")])
        return [b""]

    return app, ledger


def opened_place(folder: Path):
    """The demo's place, its polls open, 20 windows each held by somebody."""
    toml = (rehearsal.HERE / "place.toml").read_bytes()
    place = place_file.read(toml)
    slips = rehearsal.prepare(folder, (rehearsal.HERE / "office.toml").read_bytes(), [toml])
    app = webapp.create_app(Settings("place", folder / "places" / place.id, clock="scripted", start=place.at(place.opens) - 120 * MINUTE))
    running = serve_in_thread(app)
    day = Day(place, invented(place, 1), running.port, slips[place.id], story.told(), "hourly")
    day.play()
    windows = []
    for i in range(CLIENTS):
        day.crew.window = Window(running.port)
        day.crew.hold(place.officials[i % 6].id)
        form = day.crew.window.get("/note/spoiled").form("/note/spoiled")
        signed = day.crew.window.get("/note/incident").form("/note/incident")
        windows.append((day.crew.window, form, signed))
    return app, running, day, windows


def fresh(form, values) -> list[tuple[str, str]]:
    """The form filled in once more under a new id."""
    sent = dict(form.filled(values))
    return list((sent | {"entry_id": uuid.uuid4().hex, "salt": uuid.uuid4().hex}).items())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--rate", type=float, default=40)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch)
        plain, plain_ledger = bare(root / "bare.db")
        plain_run = serve_in_thread(plain)
        plain_windows = [Window(plain_run.port) for _ in range(CLIENTS)]
        app, running, day, windows = opened_place(root / "demo")
        room, crew = app.extensions["room"], day.crew
        lost = []

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

        before, posts, rows = room.ledger.length, 0, []
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
        signed = [p95(open_loop(to_app_signed, options.seconds, options.rate / 4)) for _ in range(options.rounds + 1)][1:]
        posts += int(options.seconds * options.rate / 4) * (options.rounds + 1)
        at_once = [_burst(to_app) for _ in range(options.rounds)]
        posts += CLIENTS * options.rounds
        kept = room.ledger.length - before
        print(f"unsigned entry, p95 app / p95 bare server with the same insert: {unsigned:.2f} (goal <= 2; bare {base * 1000:.1f} ms)")
        print(f"signed entry, p95: {statistics.median(signed) * 1000:.0f} ms = {statistics.median(signed) / (2 * argon + 2 * base):.2f} of 2 argon2 ({argon * 1000:.0f} ms each) and 2 bare entries (goal <= 1)")
        print(f"20 at one instant, slowest: {statistics.median(at_once) * 1000:.0f} ms = {statistics.median(at_once) / base:.1f} bare p95")
        print(f"posts {posts}, kept {kept}, refused {len(lost)}: {'none lost, none twice' if kept == posts else 'LOOK: they differ'}")
        print(f"memory of the process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB (goal < 300, clients and both servers included)")
        running.stop(), plain_run.stop()
        room.close(), plain_ledger.close()


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
