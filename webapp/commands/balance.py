"""Draw the balance of one place or many from their figures (JSON), and say what a gap is consistent with.

One file, one answer, in the order given. With --json each answer is one object on one line. Exit 0: all balanced; 1:
some gap; 2: some file could not be read (its object is then {"error": ...} and says what to correct).
"""

import argparse
import json
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from webapp import plain_file
from webapp.board import answer as board
from webapp.board import batch_words
from webapp.precinct.balance.balance import Balance, Unreadable

NAME = "balance"
SHOWN = 5
LARGEST = 4 * 1024 * 1024  # bytes; the figures of one place have some thousands
HELP = "draw the balance from figures in JSON files"


def arguments(parser: argparse.ArgumentParser) -> None:
    """FILE.json ... [--json]"""
    parser.add_argument("files", nargs="+", metavar="FILE.json", help="the figures of one place")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, nothing else")


def run(options: argparse.Namespace) -> int:
    """Answer each file in turn; the worst of them is the exit code."""
    code = 0
    for file in options.files:
        try:
            found = answer(Path(file))
        except Unreadable as refusal:
            print(f"{file}: {refusal}", file=sys.stderr)
            if options.json:
                print(json.dumps({"error": str(refusal)}, ensure_ascii=False, separators=(",", ":")), flush=True)
            code = 2
            continue
        code = max(code, 0 if found.balanced else 1)
        told = (
            [json.dumps(found.as_json(), ensure_ascii=False, separators=(",", ":"))]
            if options.json
            else in_words(file, found)
        )
        print(*told, sep="\n", flush=True)
    return code


def answer(file: Path) -> Balance:
    """The balance of one file, with the time it took."""
    figures = figures_in(file)
    start = time.perf_counter()
    found = board.answer(figures)
    return replace(found, ms=round((time.perf_counter() - start) * 1000, 1))


def figures_in(file: Path) -> Any:
    """The JSON of a file; raises `Unreadable` for anything that is none."""
    try:
        return json.loads(
            plain_file.read(file, LARGEST).decode("utf-8-sig"),
            object_pairs_hook=each_key_once,
            parse_constant=no_such_number,
        )
    except OSError as failure:
        raise Unreadable("", f"This file cannot be opened ({failure.strerror}); check its name.") from None
    except UnicodeDecodeError:
        raise Unreadable("", "This file is not UTF-8 text; save it as UTF-8 JSON.") from None
    except json.JSONDecodeError as failure:
        raise Unreadable(
            "", f"This is not JSON at line {failure.lineno}, column {failure.colno}: {failure.msg}; correct it there."
        ) from None
    except (RecursionError, ValueError) as failure:
        if isinstance(failure, Unreadable):
            raise
        raise Unreadable(
            "", "This JSON is nested too deep or holds a number with too many digits; write plain figures."
        ) from None


def each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise Unreadable(key, "this key is in one object twice; write it once.")
        found[key] = value
    return found


def no_such_number(word: str) -> None:
    raise Unreadable("", f"{word} is not a number of ballots; write a whole number.")


def in_words(file: str, found: Balance) -> Iterator[str]:
    """The answer for people: each line, then what is not checked, then what the gaps are consistent with."""
    state = "balanced" if found.balanced else "there is a gap"
    yield f"{file}: {state}{'' if found.complete else '; not all figures are in'}"
    for line in found.lines:
        yield f"  {'  ' if line.gap == 0 else '! '}{line.id}: {line.says}"
    for member in found.unchecked:
        yield f"    {member.id}: not checked yet, missing {', '.join(member.missing)}"
    for n, explanation in enumerate(found.explanations, 1):
        yield f"  {n}. {explanation.says} {explanation.look}"
    for group in found.batches:
        yield f"  {' and '.join(group.ids)}:{'' if group.explanations else f' {batch_words.NONE}'}"
        for n, explanation in enumerate(group.explanations, 1):
            yield f"    {n}. {explanation.says} {explanation.look}"
    for excluded in found.ruled_out[:SHOWN]:
        yield f"  ruled out: {excluded.says}"
    if len(found.ruled_out) > SHOWN:
        yield f"  and {len(found.ruled_out) - SHOWN} more ruled out; --json gives them all"
