"""What was kept a moment ago, for the strip at the head of Now: its name and the numbers of its entries, never a figure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.pages.shared.site import Site
from webapp.precinct.checklist import checklist
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.hours import wall
from webapp.record.entry import Entry

ASKED = re.compile(r"([0-9]{1,9})-([0-9]{1,9})")
MOST = 40  # entries of one signature


@dataclass(frozen=True, slots=True)
class KeptStrip:
    """`says`: what it is called; `numbers`: "entry 31", "entries 30 to 33"; `href`: the first of them."""

    says: str
    numbers: str
    href: str


def kept_address(entries: Sequence[Entry]) -> str:
    """The address of Now that names the entries just recorded."""
    numbers = [entry.number for entry in entries]
    return f"/now?kept={min(numbers)}-{max(numbers)}" if numbers else "/now"


def kept_strip(site: Site, asked: str) -> KeptStrip | None:
    """The strip for "30-33"; None where the record has no such entries of people."""
    found = ASKED.fullmatch(asked)
    first, last = (int(found[1]), int(found[2])) if found else (0, 0)
    if not 0 < first <= last < first + MOST:
        return None
    entries = [kept for n in range(first, last + 1) if (kept := site.day.entry(n)) and kept.kind != "check-words"]
    own = [kept for kept in entries if kept.tablet != "L"]
    if not own:
        return None
    numbers = f"entry {last}" if first == last else f"entries {first} to {last}"
    return KeptStrip(_called(site, own), numbers, f"/record/{own[0].number}")


def _called(site: Site, entries: Sequence[CurrentEntry]) -> str:
    """The name of the page that was signed once, or of the one step."""
    first = entries[0]
    if first.kind == "hourly":
        return f"the {wall(site.place, first.body.get('hour', first.time))} reading"
    step = checklist.step_of(first.kind, site.place)
    titles = list(dict.fromkeys(checklist.title(kept.kind, kept.at, site.place) for kept in entries))
    if len(titles) == 1 or not step or not step.page:
        return titles[0] + (f" and {len(titles) - 1} more" if len(titles) > 1 else "")
    return checklist.page_title(step.page.replace(":T", f":{first.at}"), titles[0])
