"""The pages of a polling place."""

from webapp.pages import balance, clock, contact, count, countersign, held, held_codes, note, now, packet, pairing, papers, people, ready, record, seals, shell, sign, steps, tablet, tape, where_went

PAGES = tuple(module.page for module in (now, steps, sign, note, count, seals, people, tablet, record, countersign, tape, balance, packet, where_went, papers, ready, clock, contact, held, held_codes, shell, pairing))
LIMITS: dict[str, int] = {**contact.LIMITS, **held.LIMITS, **held_codes.LIMITS, **pairing.LIMITS}
