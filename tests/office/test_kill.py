"""No child outlives a kill of the desk: a picture that takes long is being read when the desk's process is killed with SIGKILL, and its child is gone with it."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from webapp.office.reading import code_reading

PATIENCE = 20
DESK = textwrap.dedent("""
    import sys, threading
    from webapp.office.reading import code_reading
    code_reading.DECODER = sys.argv[1]
    threading.Thread(target=lambda: code_reading.read_codes(b"\\x89PNG\\r\\n", "photo.png"), daemon=True).start()
    print("reading", flush=True)
    threading.Event().wait()
""")
SLOW = textwrap.dedent("""
    import runpy, time
    decoder = runpy.run_path({decoder!r})
    decoder["main"].__globals__["answer"] = {answer}
    decoder["main"]()
""")


def children(of: int) -> list[int]:
    return [
        int(pid)
        for pid in subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(of)], capture_output=True, text=True
        ).stdout.split()
    ]


def alive(pid: int) -> bool:
    state = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True).stdout.strip()
    return bool(state) and not state.startswith("Z")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
@pytest.mark.parametrize(
    "answer",
    ["lambda kind, data: time.sleep(120)", "lambda kind, data: sum(i * i for i in range(10**11))"],
    ids=["waits", "works"],
)
def test_the_child_that_reads_a_picture_ends_with_a_desk_that_is_killed(tmp_path, answer):
    decoder = tmp_path / "decoder.py"
    decoder.write_text(
        SLOW.format(decoder=str(Path(code_reading.__file__).with_name("decoder_process.py")), answer=answer)
    )
    desk = subprocess.Popen([sys.executable, "-c", DESK, str(decoder)], stdout=subprocess.PIPE)
    try:
        assert desk.stdout.readline() == b"reading\n"
        until = time.monotonic() + PATIENCE
        while not (found := children(desk.pid)) and time.monotonic() < until:
            time.sleep(0.05)
        time.sleep(1.5)  # until the child has begun
        assert found and alive(found[0])
    finally:
        desk.send_signal(signal.SIGKILL)
        desk.wait()
    until = time.monotonic() + PATIENCE
    while alive(found[0]) and time.monotonic() < until:
        time.sleep(0.05)

    assert not alive(found[0])
