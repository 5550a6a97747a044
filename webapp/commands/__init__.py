"""The command `tapeseal`: each command is a module of this folder with `NAME`, `HELP`, `arguments(parser)` and `run(options) -> int`.

A refusal is one sentence on stderr with what to do. Exit 0: all is well; 1: a check failed; 2: the input could not be used.
"""

import argparse
import importlib
import io
import pkgutil
import sys
from collections.abc import Sequence
from types import ModuleType


class Stop(Exception):
    """A command cannot go on: one sentence for the person, and the exit code (2 for bad input, 1 for a failed check)."""

    def __init__(self, sentence: str, code: int = 2):
        super().__init__(sentence)
        self.code = code


def main(argv: Sequence[str] | None = None) -> int:
    """Run `tapeseal` with these words (default: the shell's) and give its exit code."""
    parser = argparse.ArgumentParser(
        prog="tapeseal", description="The checklist, the tape and the seal of one polling place."
    )
    names = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    words = sys.argv[1:] if argv is None else argv
    for module in _commands(words[0] if words else ""):
        command = names.add_parser(module.NAME, help=module.HELP, description=module.__doc__)
        module.arguments(command)
        command.set_defaults(run=module.run)
    _let_every_letter_through()
    options = parser.parse_args(words)
    try:
        return options.run(options)
    except Stop as stop:
        print(f"tapeseal {options.command}: {stop}", file=sys.stderr)
        return stop.code
    except BrokenPipeError:
        return 0


def _commands(name: str) -> list[ModuleType]:
    """The module of the command of this name alone, so that it starts without reading all others; where there is none, every command, by name."""
    there = sorted(found.name for found in pkgutil.iter_modules(__path__))
    modules = [importlib.import_module(f"{__name__}.{one}") for one in ([name] if name in there else there)]
    found = [module for module in modules if hasattr(module, "NAME")]
    return found if found or name not in there else _commands("")


def _let_every_letter_through() -> None:
    """Show a letter that the window or file behind the output cannot write (Windows code pages) as its number, instead of stopping there."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
