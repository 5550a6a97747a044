"""The kinds of entry about one ballot or one voter: their times are kept to the quarter hour and they carry no counter value.

Anyone who could compare the minute of a spoiled ballot with the order of check-ins would learn whose it was; at a
count board, the minute of a ballot set aside with the order of trays.
"""

VOTER_KINDS = frozenset(
    {
        "spoiled",
        "provisional",
        "left",
        "taken",
        "found",
        "emergency-plus",
        "jam",
        "absentee-handed-in",
        "wrong-style",
        "unmarked-back",
    }
)
SET_ASIDE_KINDS = frozenset(
    {"problem", "settled", "duplicate-made", "duplicate-checked", "hand-count", "moved", "void-serial"}
)
BALLOT_KINDS = VOTER_KINDS | SET_ASIDE_KINDS

# Kept to the quarter hour as well: what takes such a note back, since that happens within a minute of it.
COARSE_KINDS = BALLOT_KINDS | {"taken-back"}
