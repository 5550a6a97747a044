"""The pages of the central office."""

from webapp.pages.desk.canvass import (
    canvass,
    certify,
    certify_board,
    corrected,
    count_keying,
    counts,
    credited,
    reconciliation,
    recount,
    recount_keying,
)
from webapp.pages.desk.intake import board, bundle_codes, from_paper, histories, intake, merging, offices, refused
from webapp.pages.desk.places import desk_papers, findings, goods, late, packets, places, questions, wall, withdrawing
from webapp.pages.desk.totals import posting, totals, totals_precincts, totals_since
from webapp.pages.shared import clock, people, ready, record, record_export, second_code, sign, steps, stick
from webapp.pages.tablets import pairing, tablet

PAGES = tuple(
    module.page
    for module in (
        intake,
        places,
        late,
        merging,
        bundle_codes,
        histories,
        offices,
        wall,
        refused,
        board,
        packets,
        questions,
        goods,
        from_paper,
        findings,
        withdrawing,
        corrected,
        totals,
        totals_precincts,
        totals_since,
        canvass,
        counts,
        count_keying,
        recount,
        recount_keying,
        certify,
        certify_board,
        credited,
        reconciliation,
        posting,
        desk_papers,
        ready,
        people,
        second_code,
        stick,
        tablet,
        pairing,
        record,
        record_export,
        sign,
        steps,
        clock,
    )
)

LIMITS = (
    pairing.LIMITS
    | merging.LIMITS
    | bundle_codes.LIMITS
    | offices.LIMITS
    | intake.LIMITS
    | totals.LIMITS
    | board.LIMITS
)
