"""The pages of the central office."""

from webapp.pages import canvass, clock, desk_papers, findings, intake, people, places, ready, record, sign, steps, tablet, totals


PAGES = tuple(module.page for module in (intake, places, findings, totals, canvass, desk_papers, ready, people, tablet, record, sign, steps, clock))

LIMITS = intake.LIMITS | totals.LIMITS
