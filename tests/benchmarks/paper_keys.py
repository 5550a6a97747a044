"""What keying a place of 25 contests from its paper takes one person: keys and taps; and whether a figure that one of two typed wrong is always shown.

Goals: 150 figures in 450 keys and under 12 taps a person; each wrong figure shown. Run with `python tests/benchmarks/paper_keys.py`.
A key is a digit, or the Tab behind a line; a line that the paper does not show costs its Tab. The PIN's six keys are counted. Taps of one keying: the
place in the list, the link to its paper, the first field, the signer, the PIN's field, the button.
"""

import random
import sys
from dataclasses import replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from demo_precinct import rehearsal  # noqa: E402 - the folder above must be found first
from webapp.office.keying import paper_leaf  # noqa: E402
from webapp.precinct.place import place_file  # noqa: E402
from webapp.precinct.place.place import Choice, Contest, Place  # noqa: E402

TAPS, PIN = 6, 6


def small_place() -> Place:
    """The demo's place with one tabulator and 25 contests of two to four choices, 150 figures on its tape."""
    whole = place_file.read((rehearsal.HERE / "place.toml").read_bytes())
    contests = tuple(
        Contest(
            f"C{n:02}", f"Contest {n}", 1, tuple(Choice(f"c{i}", f"Choice {i}") for i in range(2 + n % 3)), "", False
        )
        for n in range(25)
    )
    ids = tuple(contest.id for contest in contests)
    styles = tuple(replace(style, contests=ids, order={}) for style in whole.styles)
    return replace(whole, contests=contests, styles=styles, tabulators=whole.tabulators[:1])


def typed(place: Place, dice: random.Random) -> dict[str, int]:
    """Figures of a night of some 400 ballots, for each line that such a paper has; hours are typed as 20:05, five keys."""
    found: dict[str, int] = {}
    for one in paper_leaf.controls(place):
        kind = one.name.partition(".")[0]
        if kind in ("votes", "counter", "tape", "stock", "book", "aside", "container", "seals", "hours", "drop_off"):
            small = one.name.rpartition(".")[2] in ("under", "over", "write_in") or kind in (
                "aside",
                "seals",
                "drop_off",
            )
            found[one.name] = dice.randint(0, 9) if small else dice.randint(40, 430)
    return found


def main() -> None:
    place = small_place()
    controls, values = paper_leaf.controls(place), typed(place, random.Random(1))
    times = {one.name for one in controls if one.kind == "time"}
    tape = [one for one in controls if one.name.startswith("votes.")]
    digits = {one.name: (5 if one.name in times else len(str(values[one.name]))) if one.name in values else 0 for one in controls}  # fmt: skip
    on_tape, whole = (sum(digits[one.name] + 1 for one in some) for some in (tape, controls))
    print(
        f"tape of 25 contests, {len(tape)} figures: {on_tape} keys; the whole leaf, {len(controls)} lines: {whole + PIN} keys, {TAPS} taps"
    )
    hidden = 0
    for one in controls:
        if one.name in values:
            for wrong in (
                values | {one.name: values[one.name] + 1},
                {n: v for n, v in values.items() if n != one.name},
            ):
                pairs = [pair.control.name for pair in paper_leaf.compared(values, wrong, place) if pair.differs]
                hidden += pairs != [one.name]
    print(f"{2 * len(values):,} figures typed wrong or left out by one of two: {hidden} not shown")


if __name__ == "__main__":
    main()
