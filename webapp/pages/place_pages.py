"""The pages of a polling place."""

from webapp.pages import balance, clock, count, countersign, note, now, packet, people, record, seals, sign, steps, tablet, tape

PAGES = tuple(module.page for module in (now, steps, sign, note, count, seals, people, tablet, record, countersign, tape, balance, packet, clock))
LIMITS: dict[str, int] = {}
