"""What the paper receipt of a bundle says, out of the bundle itself."""

from datetime import datetime

from webapp.merging import bundle, desk_apart
from webapp.merging.bundle import Contents
from webapp.office.setup.roster import Roster
from webapp.paper.bundle_receipt import CarriedBundle
from webapp.record.check_words import compare
from webapp.record.entry import Entry

LONGEST = 40  # letters of check words as they are typed


def of_bundle(data: bytes, told: Contents, found: Roster, file: str, words: str) -> CarriedBundle:
    """The facts of these bytes. `found`: the desk's roster; `file`: the name of the file; `words`: check words of its digest. Raises BundleRefused."""
    opened = bundle.opened(data, file, desk_apart.unproven(told.desk))
    place = next(iter(found.places.values()), None)
    made = datetime.fromtimestamp(told.made // 1000, place.tz if place else None)
    packets = [
        entry.body
        for one in opened.segment.entries
        if (entry := Entry.unpack(one.stored.data)).kind == "packet-received"
    ]
    return CarriedBundle(
        found.office.name,
        opened.desk.id,
        ", ".join(filter(None, told.election)),
        file,
        told.after + 1,
        told.to,
        tuple(f"{body['place']} number {body['number']}" for body in packets),
        len(data),
        opened.digest.hex(),
        words,
        f"{made:%A} {made.day} {made:%B %Y}, {made:%H:%M}",
        opened.desk.mode == "practice",
    )


def not_that_one(name: str, typed: str, words: str) -> str:
    """Why a file is not the one that a receipt names; "" where it is, or where nobody typed the words. `typed`: as on the paper; `words`: those of the file."""
    if not typed.strip() or compare(typed, words) == "same":
        return ""
    if compare(typed, words) == "slip":
        return f"The check words {typed.strip()[:LONGEST]} contradict their own last symbol: a slip in reading. Read the receipt again; nothing of {name} was taken."
    return f"{name} is not the bundle that the receipt names: its check words are {words}. Look for the other file, and ask at the desk; nothing of this one was taken."
