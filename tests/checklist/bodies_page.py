"""The tables of `webapp/precinct/steps/BODIES.md`, made from the checklists and the stored bodies: `python tests/checklist/bodies_page.py`."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from webapp.precinct.place.default_steps import defaults  # noqa: E402 - the folder above must be found first
from webapp.precinct.place.place_kinds import KINDS  # noqa: E402
from webapp.precinct.place.step import LISTS, Field, Step  # noqa: E402

PAGE = ROOT / "webapp" / "precinct" / "steps" / "BODIES.md"
STORED = Path(__file__).parent / "stored"
BODIES = {
    kind: one
    for path in sorted(STORED.glob("*bodies.json"))
    for kind, one in json.loads(path.read_text(encoding="utf-8")).items()
}
BEGIN, END = "<!-- made by tests/checklist/bodies_page.py -->", "<!-- end of what is made -->"
VALUES = {
    "yes": "",
    "tick": "",
    "yes-no": "y/n",
    "time": "ms",
    "number": "n",
    "counts": "counts",
    "numbers": "[n]",
    "seal": "seal",
    "code": "code",
    "votes": "votes",
    "tally": "{code: n}",
    "worked-out": "worked out",
}


def value(field: Field) -> str:
    """How the value of a field is written: `n`, `ms`, one of the ids it chooses from; "" for true or false."""
    if field.kind == "several":
        return f"[{field.of}]"
    if field.kind == "choice":
        return "/".join(id for id, _ in field.choices) or field.of or "id"
    return VALUES[field.kind]


def named(field: Field) -> str:
    """One field: its name, what it is asked for in braces, its value, a question mark where it may be absent."""
    held = value(field)
    held = f"{{{field.per}: {held or 'true'}}}" if field.per else held
    held = f"{{precinct: {held}}}" if field.only == "by-precinct" else held
    return f"{field.name}{'?' if field.optional else ''}{f' {held}' if held else ''}"


def row(step: Step) -> str:
    """The row of one kind: where it is done, its fields, its free words, a whole body."""
    where = f" at {'T' if step.per == 'tabulator' else 'box'}" if step.per else ""
    fields = [named(field) for field in step.fields if field.kind != "words"]
    words = [f"{field.name}{'?' if field.optional else ''}" for field in step.fields if field.kind == "words"]
    said = "; ".join(part for part in (", ".join(fields), f"words: {', '.join(words)}" if words else "") if part)
    body = json.dumps(BODIES[step.id]["body"], ensure_ascii=False).replace("|", "\\|") if step.id in BODIES else ""
    return f"| {step.id}{' (ballot)' if step.ballot else ''}{where} | {said.replace('|', chr(92) + '|')} | {f'`{body}`' if body else ''} |"


def every_step() -> list[Step]:
    """Each step and note once, by the kind of place that has it first; what another kind shares is not told again."""
    found: dict[str, Step] = {}
    for kind in KINDS:
        for step in defaults(kind):
            found.setdefault(step.id, step)
    return list(found.values())


def tables() -> Iterator[str]:
    """A table a list, in the order of the day."""
    for list_, title in LISTS:
        yield f"### {title}"
        yield "| kind | body | a whole one |"
        yield "|---|---|---|"
        yield from (row(step) for step in every_step() if step.list == list_)
        yield ""


def made(page: str) -> str:
    """The page with its tables written anew; what people wrote before and after them stays."""
    before, after = page.split(BEGIN)[0], page.split(END)[1]
    return f"{before}{BEGIN}\n" + "\n".join(tables()) + f"{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(made(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)}: {PAGE.stat().st_size:,} bytes")
