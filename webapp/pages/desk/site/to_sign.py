"""What the page of a second signature shows beside the words of what is signed: its figures, and what was kept since it was made."""

from collections.abc import Sequence

from webapp.office.canvassing import certifying
from webapp.office.keying import count_form, paper_core, paper_leaf, paper_values
from webapp.pages.desk.site.office_state import OfficeState
from webapp.record.entry import Claim


def figures(site: OfficeState, claims: Sequence[Claim]) -> list[tuple[str, list[tuple[str, int | None]]]]:
    """The rows of each count and each place keyed from paper: (heading, [(line, figure)])."""
    found = []
    for claim in claims:
        if claim.kind in ("count-in", "recounted"):
            found += count_form.rows(claim.body["contests"], site.added.contests(claim.body["unit"]))
        elif claim.kind == "place-keyed":
            file = site.file_of(claim.body)
            core = paper_core.whole(claim.body["core"], file, 0)
            found += paper_leaf.rows(paper_values.values_of(core, file), file)
    return found


def kept_meanwhile(site: OfficeState, claims: Sequence[Claim]) -> str:
    """What a partial edition lacks because it was kept after the edition was made; "" where it lacks nothing. Others are refused then: `MADE_AFTER`."""
    made = next((c.body for c in claims if c.kind == "edition-posted"), None)
    if made is None or made["status"] in certifying.MADE_AFTER:
        return ""
    kinds = certifying.MADE_AFTER[certifying.COMPLETE]
    later = [kept.number for kept in site.day.everything(kinds) if kept.number > made["cut"]]
    if not later:
        return ""
    if len(later) == 1:
        which = f"Entry {later[0]} was kept since this edition was made: it is not in it."
    else:
        which = f"{len(later)} entries were kept since this edition was made, {later[0]} to {later[-1]}: they are not in it."
    return f"{which} Sign, and post another edition after this one; or take the first signature back and make it ready again."
