"""The pages of the central office."""

from webapp.pages.desk import (
    board,
    canvass,
    certify,
    certify_board,
    corrected,
    count_keying,
    counts,
    desk_papers,
    findings,
    from_paper,
    goods,
    intake,
    late,
    packets,
    places,
    posting,
    questions,
    reconciliation,
    recount,
    recount_keying,
    refused,
    totals,
    totals_since,
    wall,
)
from webapp.pages.shared import clock, people, ready, record, record_export, second_code, sign, steps, stick
from webapp.pages.tablets import pairing, tablet

PAGES = tuple(
    module.page
    for module in (
        intake,
        places,
        late,
        wall,
        refused,
        board,
        packets,
        questions,
        goods,
        from_paper,
        findings,
        corrected,
        totals,
        totals_since,
        canvass,
        counts,
        count_keying,
        recount,
        recount_keying,
        certify,
        certify_board,
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

LIMITS = pairing.LIMITS | intake.LIMITS | totals.LIMITS | board.LIMITS
