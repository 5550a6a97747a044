"""The code of a kit, as somebody types it: nothing shows meanwhile, and a wrong one is asked for again."""

import getpass
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from webapp.gate.refusals import WrongCode

CODE = "TAPESEAL_KIT_CODE"
TRIES = 3  # of somebody who types it
Opened = TypeVar("Opened")


def with_code(file: Path, opens: Callable[[str], Opened]) -> Opened:
    """What `opens` makes of the code of this kit. Raises what `opens` raises; WrongCode only after the third try of somebody who types it."""
    for _ in range(TRIES - 1 if _typed() else 0):
        try:
            return opens(_asked(file))
        except WrongCode as wrong:
            print(wrong, file=sys.stderr, flush=True)
    return opens(_asked(file))


def _typed() -> bool:
    return not os.environ.get(CODE) and sys.stdin.isatty()


def _asked(file: Path) -> str:
    """From the person or from the environment; never from an argument, which others could read."""
    if _typed():
        return getpass.getpass(f"Code of the kit {file.name}, from the spare sheet: ")
    return os.environ.get(CODE, "") or sys.stdin.readline().strip()
