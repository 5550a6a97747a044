"""The kinds of entry that speak of one ballot or one voter: their times are kept to the quarter hour and they carry no counter value.

Whoever could lay the minute of a spoiled ballot beside the order of check-ins would learn whose it was.
"""

BALLOT_KINDS = frozenset(
    {"spoiled", "provisional", "left", "taken", "found", "emergency-plus", "jam", "absentee-handed-in"}
)

# Kept to the quarter hour as well: what takes such a note back, since that happens within a minute of it.
COARSE_KINDS = BALLOT_KINDS | {"taken-back"}
