"""The pages of a polling place."""

from webapp.pages.place import (
    balance,
    coming_in,
    count,
    flow_page,
    leaving,
    live,
    look,
    note,
    now,
    packet,
    restored,
    seals,
    statement,
    tape,
)
from webapp.pages.shared import (
    clock,
    countersign,
    draft_pages,
    papers,
    people,
    ready,
    record,
    second_code,
    sign,
    steps,
    stick,
)
from webapp.pages.tablets import app_shell, giving_back, held, held_codes, pairing, tablet, tablet_report

PAGES = tuple(
    module.page
    for module in (
        now,
        live,
        look,
        steps,
        sign,
        draft_pages,
        note,
        count,
        seals,
        people,
        second_code,
        tablet,
        record,
        countersign,
        tape,
        balance,
        packet,
        statement,
        restored,
        stick,
        flow_page,
        coming_in,
        leaving,
        papers,
        ready,
        clock,
        tablet_report,
        giving_back,
        held,
        held_codes,
        app_shell,
        pairing,
    )
)
LIMITS: dict[str, int] = {
    **tablet_report.LIMITS,
    **giving_back.LIMITS,
    **held.LIMITS,
    **held_codes.LIMITS,
    **pairing.LIMITS,
}
