"""The pages of the central office."""

from webapp.pages import clock, desk_papers, intake, people, places, ready, record, sign, steps, tablet, totals


PAGES = tuple(module.page for module in (intake, places, totals, desk_papers, ready, people, tablet, record, sign, steps, clock))

LIMITS = intake.LIMITS | totals.LIMITS
