"""The pages of the central office."""

from webapp.pages import clock, intake, people, places, record, sign, steps, tablet, totals


PAGES = tuple(module.page for module in (intake, places, totals, people, tablet, record, sign, steps, clock))

LIMITS = intake.LIMITS | totals.LIMITS
