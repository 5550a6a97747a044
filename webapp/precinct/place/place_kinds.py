"""What a place file can be for, and what goes by it: the checklists, the end of the day, whether a summary packet leaves.

A kind is added here, with its lists in `precinct/steps/` and their titles in `step.LISTS`; its pages are named in `pages/place/site/kind_pages.py`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class PlaceKind:
    """One kind of place. `lists`: its checklists in the order of its day; `desk`: those that the office works through for it.

    `ends`: the step with which its day is over, and `over` what Now says from then on. `never_dropped`: steps that a place file cannot leave out, each with what would be lost.
    """

    id: str
    lists: tuple[str, ...]
    desk: tuple[str, ...]
    packet: bool  # whether a summary packet leaves it for the office
    ends: str
    over: str
    never_dropped: Mapping[str, str] = field(default_factory=dict)


SIGNERS = {"arrivals": "nobody could sign", "oath": "nobody could sign"}
KINDS = {
    kind.id: kind
    for kind in (
        PlaceKind(
            "place",
            ("opening", "voting", "closing", "hand-over"),
            ("office",),
            packet=True,
            ends="depart",
            over="Keep the laptop closed and in sight until the office has it.",
            never_dropped={
                **SIGNERS,
                "zero-tape": "no tabulator would be proven",
                "polls-open": "the day would not begin",
                "polls-closed": "the count would stay hidden",
                "packet": "nothing would reach the office",
            },
        ),
        PlaceKind(
            "board",
            ("board-opening", "board-work", "board-close", "hand-over"),
            ("office",),
            packet=True,
            ends="depart",
            over="Keep the laptop closed and in sight until the office has it.",
            never_dropped={
                **SIGNERS,
                "zero-tape": "no tabulator would be proven",
                "counting-begins": "nothing could be fed",
                "all-in": "the board would never close",
                "packet": "nothing would reach the office",
            },
        ),
        PlaceKind(
            "test",
            ("test-deck", "test-run", "test-seals"),
            (),
            packet=False,
            ends="certificate",
            over="The test is over. Counters and seals go into the place file of the day: tapeseal place build --after.",
            never_dropped={
                **SIGNERS,
                "marks-checked": "a wrong mark would look like a fault",
                "zero-tape": "no tabulator would be proven",
                "deck-fed": "nothing would be tested",
                "tape-typed": "nothing would be compared",
                "compared": "nothing would be compared",
                "zeroed": "test votes would stay inside",
                "certificate": "the test would not end",
            },
        ),
    )
}
