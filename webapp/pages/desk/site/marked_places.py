"""What Totals, Places and Canvass say of places whose packets are held, not proven, held out or contradict each other."""

from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.other_buildings import Row

MARKED = (
    (
        "held",
        "held",
        "Held and in no figure, 1 place with a packet that is not proven:",
        "Held and in no figure, {n} places with packets that are not proven:",
    ),
    (
        "unproven",
        "look",
        "Includes 1 packet that is not proven, by two signatures:",
        "Includes {n} packets that are not proven, by two signatures each:",
    ),
    (
        "paper",
        "look",
        "Includes 1 place keyed from paper:",
        "Includes {n} places keyed from paper:",
    ),
    (
        "out",
        "look",
        "Held out of the totals, 1 place whose memory or tape does not agree:",
        "Held out of the totals, {n} places whose memory or tape does not agree:",
    ),
    (
        "differs",
        "look",
        "Includes 1 place whose memory or tape does not agree:",
        "Includes {n} places whose memory or tape does not agree:",
    ),
    (
        "against",
        "look",
        "Two packets disagree at 1 place, and one of them counts until it is settled:",
        "Two packets disagree at {n} places, and one of them counts until it is settled:",
    ),
    (
        "apart",
        "look",
        "Paper and packet, or two keyings of the paper, disagree at 1 place:",
        "Paper and packet, or two keyings of the paper, disagree at {n} places:",
    ),
)
"""Mark of the tray, mark on the page, words for one place and for several."""


def marked_places(site: OfficeState) -> list[Row]:
    """What is held, not proven or contradicted at this minute: (mark, words, [(place, its name, page)])."""
    rows = []
    for name, sign, one, many in MARKED:
        places = [place for place in site.roster.places if place in site.tray.marks[name]]
        if places:
            words = one if len(places) == 1 else many.format(n=f"{len(places):,}")
            page = "questions" if name in ("out", "differs") else "packets"
            rows.append((sign, words, [(p, site.roster.places[p].name, f"/{page}/{p}") for p in places]))
    return rows
