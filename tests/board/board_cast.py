"""The standing cast: the worked board of one precinct, Ferry 2, and how to read an answer.

487 envelopes in 3 carriers: 6 rejected, 4 held, 2 empty, one with two ballots: 476 ballots in 19 batches, 9 set aside, 474 on the tape.
"""

import json
from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path
from typing import Any

from webapp.board.answer import answer

STORED = Path(__file__).parent / "stored"
FERRY_2: dict[str, Any] = json.loads((STORED / "ferry-2.json").read_text(encoding="utf-8"))


def ferry_2(**changes: Any) -> dict[str, Any]:
    """The worked board with other parts of `board`; `B012__aside` reaches into a batch, `envelopes__empty` into a part; None takes a part out."""
    figures = deepcopy(FERRY_2)
    batches = {batch["id"]: batch for batch in figures["board"]["batches"]}
    for key, value in changes.items():
        first, _, inner = key.partition("__")
        part = batches.get(first) or (figures["board"][first] if inner else figures["board"])
        part[inner or first] = value
    return figures


def board(*batches: Mapping[str, Any], **parts: Any) -> dict[str, Any]:
    """A board of these batches alone, all on A1 and of one day."""
    return {"board": {"batches": [{"tabulator": "A1", "day": "1", **batch} for batch in batches], **parts}}


def batch(id: str, ballots: int, counter: tuple[int, int] | None = None, **keys: Any) -> dict[str, Any]:
    return {"id": id, "ballots": ballots, **({"counter": list(counter)} if counter else {}), **keys}


def said(figures: Mapping[str, Any]) -> dict[str, str]:
    """Each line's sentence; a scope is written after the id, as in `envelopes@P1`."""
    return {named(line): line["says"] for line in answer(figures).as_json()["lines"]}


def lines(figures: Mapping[str, Any]) -> dict[str, tuple[int, int, int]]:
    """Each line's left, right and gap."""
    return {named(line): (line["left"], line["right"], line["gap"]) for line in answer(figures).as_json()["lines"]}


def open_lines(figures: Mapping[str, Any]) -> dict[str, int]:
    return {id: gap for id, (_, _, gap) in lines(figures).items() if gap}


def missing(figures: Mapping[str, Any]) -> dict[str, list[str]]:
    """What each line that is not drawn still needs, those aside that any place may lack."""
    found = answer(figures).as_json()["unchecked"]
    return {
        named(line): line["missing"]
        for line in found
        if line["id"].split(":")[0] not in ("bins", "lifetime", "containers", "counter")
    }


def named(line: Mapping[str, Any]) -> str:
    return "@".join([line["id"], *map(str, (line.get("scope") or {}).values())])


def groups(figures: Mapping[str, Any]) -> list[dict[str, Any]]:
    return answer(figures).as_json().get("batches", [])


def because(figures: Mapping[str, Any]) -> list[list[dict[str, Any]]]:
    """The answers on the only open group, in their order."""
    (group,) = groups(figures)
    return [found["because"] for found in group["explanations"]]


def mistake(code: str, batch: str, **keys: Any) -> dict[str, Any]:
    """One mistake as it stands in the JSON; `with_` is written `with`."""
    return {"code": code, "batch": batch, **{key.rstrip("_"): value for key, value in keys.items()}}
