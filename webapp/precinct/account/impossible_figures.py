"""Takes figures that cannot be a night's out of the balance, each with the sentence that says why.

What was typed stays in the record and is corrected there. Until then the lines that need it are unchecked, and all
others are drawn: one digit too many in the unused ballots must not cost the whole balance.
"""

import re
from typing import Any, NamedTuple

from webapp.precinct.balance.balance import Unreadable
from webapp.precinct.balance.night_figures import NightFigures, read

STEP = re.compile(r"\[(\d+)\]|([^.\[\]]+)")
MOST = 60  # figures taken out of one night before giving up


class PossibleFigures(NamedTuple):
    """Figures as the balance's JSON, one sentence for each that was refused and left out, and the figures as the balance reads them."""

    figures: dict[str, Any]
    said: tuple[str, ...]
    night: NightFigures


def possible(figures: dict[str, Any]) -> PossibleFigures:
    """The figures without those that the balance refuses and without empty parts. Changes the figures it is given."""
    said: list[str] = []
    for _ in range(MOST):
        try:
            night = read(figures)
            parts = {name: part for name, part in figures.items() if part}
            return PossibleFigures(parts, tuple(said), night if len(parts) == len(figures) else read(parts))
        except Unreadable as refused:
            _take_out(figures, [int(m[1]) if m[1] else m[2] for m in STEP.finditer(refused.path)])
            said.append(
                f"{refused.sentence[:1].upper()}{refused.sentence[1:]} It is left out of the balance until its entry is corrected."
            )
    raise Unreadable("", said[-1])


def _take_out(figures: dict[str, Any], path: list[str | int]) -> None:
    """Remove the value at this path; if there is none, the part that should have held it."""
    spots: list[Any] = [figures]
    for step in path:
        held = spots[-1]
        there = (
            step < len(held)
            if isinstance(step, int) and isinstance(held, list)
            else isinstance(held, dict) and step in held
        )
        if not there:
            break
        spots.append(held[step])
    if len(spots) < 2:
        raise Unreadable("", f"{'.'.join(map(str, path))} is refused, and no such figure is there.")
    del spots[-2][path[len(spots) - 2]]
