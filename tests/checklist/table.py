"""The table of the default steps as it was designed, restated apart from the TOML: id, who signs, what comes first.

Sources of the practices stand in the third part of that page and in the field `source` of each step. Who signs: T, 1, 2, P, all, each; the
list of T's above the table goes before the table's own letter. After: "*" = all above; "-" = nothing.
"""

OPENING = """
arrivals T -
oath each arrivals
roles 1 oath
goods 2 arrivals
room-view T oath
access T oath
notices T oath
clocks T power
case-seals P oath
tabulator-seals P oath
seals-cut P tabulator-seals
bins-empty P tabulator-seals
bins-locked P bins-empty
aside-empty P oath
key-code P bins-locked
power 1 key-code
self-check P power
zero-tape P self-check
zero-signed P zero-tape
ballots-right 2 goods
packs 2 ballots-right
first-stub T packs
poll-book 2 oath
accessible-device T power
polls-open P *
"""
VOTING = """
hourly 1 polls-open
noon-look P hourly
"""
NOTES = """
spoiled T -
wrong-style T -
unmarked-back T -
provisional T -
handed-back T -
jam P -
bin-emptied P -
emergency-on P -
emergency-off P -
emergency-plus T -
tabulator-out P -
tabulator-in P tabulator-out
pack-opened 2 -
resupply 2 -
sent 2 -
found P -
absentee-handed-in T -
relief 2 oath
power-lost P -
power-back P -
evacuation P -
instruction P -
left T -
taken T -
seal-broken P -
seal-applied P -
incident 1 -
observers 1 -
"""
CLOSING = """
line-end 2 -
polls-closed P line-end
search 2 polls-closed
closing-seals P polls-closed
unused P polls-closed
aside-counts P polls-closed
book-count P polls-closed
emergency-opened P polls-closed
counter-read P unused,aside-counts,book-count,emergency-opened
first-look P counter-read
tabulator-closed P first-look
tape-prints P tabulator-closed
tape-typed P tape-prints
tape-signed P tape-typed
bins-out P tape-prints
bins-shown-empty P bins-out
write-in-tally P bins-out
remark P bins-shown-empty
dissent any remark
statement all remark
"""
HAND_OVER = """
containers-filled P statement
containers-sealed P containers-filled
memory P tape-signed
tabulator-away P bins-shown-empty
seals-accounted 2 containers-sealed
tablets-back 2 statement
packet P remark,containers-sealed,tablets-back
copies 2 packet
room-left 2 packet
depart P room-left
"""
OFFICE = """
carriers-in 2 -
receivers P carriers-in
containers-in P receivers
seals-read P containers-in
packet-read T receivers
paper-typed P receivers
tape-to-packet P receivers
memory-in P receivers
envelopes-in P receivers
ask-now P seals-read
receipt P *
boxes-opened P receipt
"""
LISTS = {"opening": OPENING, "voting": VOTING + NOTES, "closing": CLOSING, "hand-over": HAND_OVER, "office": OFFICE}

PAGES = {
    "seals-in": ("case-seals", "tabulator-seals", "seals-cut"),
    "bins-in": ("bins-empty", "bins-locked", "aside-empty"),
    "zero:T": ("self-check", "zero-tape", "zero-signed"),
    "closing-counts": ("unused", "aside-counts", "book-count", "emergency-opened"),
    "tapes:T": ("tape-prints", "tape-typed", "tape-signed"),
    "bins-out": ("bins-out", "bins-shown-empty"),
    "sealing": ("containers-filled", "containers-sealed", "memory", "tabulator-away"),
    # and what two people do in one go, so that they sign it once: each tabulator's step on one page, the room and its seals, the last seals and what is left of them
    "keys": ("key-code",),
    "power": ("power",),
    "room-searched": ("search", "closing-seals"),
    "counters": ("counter-read",),
    "tabulators-closed": ("tabulator-closed",),
    "leaving": ("copies", "room-left"),
    "stock": ("ballots-right", "packs", "poll-book"),
}
PAGES["sealing"] += ("seals-accounted",)

ALSO_WAITS = {  # beyond the table, and why
    "line-end": {"polls-open"},  # the close of a day that was opened
    "dissent": {"polls-closed"},  # open from the close on: whoever disagrees need not wait for the remark
    "statement": {"write-in-tally", "tape-signed"},  # the paper holds these figures
    "depart": {"copies"},  # carriers take copies with them
}


def rows(table: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """(id, signs, after) of each line."""
    lines = (line.split() for line in table.split("\n") if line)
    return [(step, signs, () if after == "-" else tuple(after.split(","))) for step, signs, after in lines]
