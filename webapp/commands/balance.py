"""Say whether nights add up: one JSON file of figures each, one answer each, in the order given."""

import argparse
import json
from pathlib import Path

from webapp.precinct.balance import Unreadable, balance

NAME = "balance"
HELP = "draw every line of the balance from files of figures"
LARGEST = 16 * 1024 * 1024


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE.json")
    parser.add_argument("--json", action="store_true", help="one object a file, one line each")


def run(options: argparse.Namespace) -> int:
    """0 all balanced, 1 some gap, 2 some file could not be read."""
    worst = 0
    for name in options.files:
        said, code = answer(Path(name))
        worst = max(worst, code)
        print(json.dumps(said, ensure_ascii=False, separators=(",", ":")) if options.json else in_words(name, said))
    return worst


def answer(path: Path) -> tuple[dict, int]:
    """The answer to one file, and the exit code it asks for."""
    try:
        if path.stat().st_size > LARGEST:
            return {"error": f"{path.name} is larger than {LARGEST:,} bytes: no night's figures are."}, 2
        figures = json.loads(path.read_bytes(), object_pairs_hook=_once, parse_constant=_no_such)
        said = balance(figures)
    except OSError as wrong:
        return {"error": f"{path.name} cannot be read ({wrong.strerror}): give the path of a JSON file."}, 2
    except Unreadable as wrong:
        return {"error": str(wrong)}, 2
    except (ValueError, RecursionError) as wrong:
        return {"error": f"{path.name} is no JSON file ({str(wrong)[:120]}): write it as in the handbook's example."}, 2
    return said.as_json(), 0 if said.balanced else 1


def _once(pairs):
    found = dict(pairs)
    if len(found) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise Unreadable(f"{key} stands twice in the file: keep one of them.")
            seen.add(key)
    return found


def _no_such(name: str):
    raise Unreadable(f"{name} is no figure: write a whole number from 0 up.")


def in_words(name: str, said: dict) -> str:
    """The same for people: the verdict, each line, what is unchecked."""
    if "error" in said:
        return f"{name}: {said['error']}"
    head = "balanced" if said["balanced"] else "not balanced"
    rows = [f"{name}: {head}{'' if said['complete'] else ', not complete'}"]
    rows += [f"  {'=' if line['gap'] == 0 else format(line['gap'], '+d'):>5}  {line['says']}" for line in said["lines"]]
    rows += [f"      ?  {lack['id']}: not checked, missing {', '.join(lack['missing'])}" for lack in said["unchecked"]]
    return "\n".join(rows)
