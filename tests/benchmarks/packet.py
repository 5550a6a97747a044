"""What a packet costs beside the drawing of its codes: seal + cut into frames + draw, against draw alone. Goal: at most 1.5 times.

Run with `python tests/benchmarks/packet.py [ROUNDS]`. Interleaved A B A B, the first round thrown away, medians of the ratios. Reading, restoring and the
PDF are shown beside it, without a goal. The core is invented and of the size of a night with 30 contests and 120 steps.
"""

import random
import statistics
import sys
import time
from collections.abc import Callable

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from webapp.packet import codes, envelope, frames
from webapp.packet.print_model import AccountPages, AccountRow
from webapp.paper.packet_pages import packet_pdf

KEY, CHANCE = Ed25519PrivateKey.generate(), random.Random(7)
CORE = {
    "v": 1,
    "place": "P001",
    "mode": "practice",
    "number": 1,
    "made": 1_793_757_240_000,
    "contests": {f"contest-{c}": [CHANCE.randrange(900) for _ in range(9)] for c in range(30)},
    "steps": [
        [
            f"step-{CHANCE.randrange(10**6)}",
            None,
            1_793_700_000_000 + CHANCE.randrange(10**8),
            [["chair", "elm", "pin"], ["witness", "heron", "pin"]],
            0,
        ]
        for _ in range(120)
    ],
    "seals": [
        {"at": f"door-{s}", "found": f"{CHANCE.randrange(10**7):07}", "applied": f"{CHANCE.randrange(10**7):07}"}
        for s in range(30)
    ],
}
REMARKS = {
    "remarks": [
        [
            n,
            ["stock"],
            [1],
            " ".join(f"word{CHANCE.randrange(999)}" for _ in range(60)),
            1_793_757_000_000,
            [["chair", "elm"]],
        ]
        for n in range(5)
    ]
}


def timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def drawn(texts) -> None:
    for text in texts:
        codes.modules(text)


def whole() -> None:
    drawn(frames.split(envelope.seal_packet(CORE, REMARKS, KEY, "practice").parts))


def read_back(texts) -> None:
    box = frames.Collector()
    for text in texts:
        box.add(text)
    envelope.open_packet(box.parts(), {envelope.key_id(KEY.public_key()): KEY.public_key()}, "practice")


def main(rounds: int = 7) -> None:
    packet = envelope.seal_packet(CORE, REMARKS, KEY, "practice")
    texts = frames.split(packet.parts)
    rows = [
        (timed(lambda: drawn(texts)), timed(whole), timed(lambda: read_back(texts[4:]))) for _ in range(rounds + 1)
    ][1:]
    ratio = statistics.median(b / a for a, b, _ in rows)
    account = AccountPages(
        "Harrow Mill",
        "Tarn County",
        "General election",
        "2026-11-03",
        1,
        "practice",
        packet.digest.hex(),
        "21:14",
        (AccountRow("Unused", 960),),
    )
    print(f"packet of {len(packet.data)} bytes, {len(texts)} codes, {rounds} rounds")
    print(f"draw the codes alone            {statistics.median(a for a, _, _ in rows) * 1000:7.1f} ms")
    print(
        f"seal + frames + draw            {statistics.median(b for _, b, _ in rows) * 1000:7.1f} ms   ratio {ratio:.2f}   goal 1.50 or less: {'met' if ratio <= 1.5 else 'missed'}"
    )
    print(f"collect, restore 4, verify      {statistics.median(c for _, _, c in rows) * 1000:7.1f} ms")
    print(f"packet.pdf with its codes       {timed(lambda: packet_pdf(account, texts)) * 1000:7.1f} ms")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
