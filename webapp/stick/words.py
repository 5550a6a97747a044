"""What people read of the stick: a few words in the head of every page on the laptop, and a sentence on Now when it has been behind too long.

Never more than is known: "on the stick" is what was written and synced there, and how far behind it is counts from the record itself.
"""

from dataclasses import dataclass

MANY, LONG, VERY_LONG = 20, 2 * 60_000, 15 * 60_000  # entries, ms, ms


@dataclass(frozen=True, slots=True)
class StickLine:
    """How far the backup is. state: as the copying process says, "none" where no stick was asked for.

    on_stick, length: number of the last entry there and in the record. behind: how many entries are only on the
    laptop. age: ms since the oldest of them was kept, 0 when there is none. since: that moment in words.
    """

    state: str
    on_stick: int = 0
    length: int = 0
    behind: int = 0
    age: int = 0
    since: str = ""
    little: bool = False

    @property
    def ok(self) -> bool:
        return self.state == "on" and not self.late

    @property
    def late(self) -> bool:
        """More entries, or for longer, than goes without saying."""
        return self.state == "other-history" or self.behind > MANY or (self.behind > 0 and self.age > LONG)

    @property
    def very_late(self) -> bool:
        """So long that hand-over lists it."""
        return self.behind > 0 and self.age > VERY_LONG


def head_words(line: StickLine) -> str:
    """The words in the head of a page: `On the stick to 412`; "" where no stick was asked for and there is nothing to say."""
    only = f"{_entries(line.behind)} only on this laptop" if line.behind else "nothing new since"
    said = {
        "none": "",
        "looking": "Looking for the stick",
        "full": f"Stick full: {only}",
        "unwritable": f"Stick cannot be written: {only}",
        "gone": f"No stick: {only}",
        "other-history": f"Stick of another history: {only}",
    }
    if line.state != "on":
        return said[line.state]
    if not line.behind:
        return f"On the stick to {line.on_stick}"
    return f"{_entries(line.behind)} not on the stick" + (f", since {line.since}" if line.since and line.late else "")


def notice(line: StickLine) -> str:
    """The sentence on Now, with what to do; "" while all is well or only just behind."""
    if line.state == "none" or not (line.late or line.state == "full"):
        return ""
    if line.state == "other-history":
        return "The stick in the laptop holds another history of this record. Nothing is written on it. Take it out, keep it, put another stick in, and call the election office."
    do = {
        "gone": "Put the stick back into the laptop, or another one.",
        "full": "Put another stick in; keep the full one in the case.",
        "unwritable": "Take the write protection off the stick, or put another one in.",
        "looking": "See that the stick is in the laptop.",
        "on": "The stick answers slowly or not at all: put another one in.",
    }[line.state]
    since = f", since {line.since}" if line.since else ""
    return f"{_entries(line.behind)} {'is' if line.behind == 1 else 'are'} only on this laptop{since}. {do} Voting goes on meanwhile."


def tablet_words(line: StickLine) -> str:
    """One word for tablets, which can do nothing about it."""
    return (
        "" if line.state == "none" else "stick" if line.ok else "no stick" if line.state == "gone" else "stick behind"
    )


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"
