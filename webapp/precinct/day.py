"""The day: every entry of one record folded into what is true now.

One pass, entry by entry, and each entry costs the same whether the record holds ten or ten thousand: a page on the warm laptop folds
only what came since. Nothing here decides what is right; the checklists, the counts and the custody of seals read from it.
A blind first keying is left out of everything until the second stands: only who has keyed which step is told.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from webapp.precinct import balance, checklist, counts
from webapp.precinct.custody import Custody
from webapp.precinct.keyings import Keyings
from webapp.precinct.kept import NOTHING, Kept, corrected, countersigned, kept_from
from webapp.precinct.notes import Notes
from webapp.precinct.people import KINDS as PEOPLE_KINDS
from webapp.precinct.people import People
from webapp.precinct.place import Place

COUNTED_BLIND = ("unused", "aside-counts", "book-count", "emergency-opened", "counter-read")
