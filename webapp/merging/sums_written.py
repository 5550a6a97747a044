"""Sums over several offices as a CSV and as a page for the public: one file, no script, nothing from elsewhere, made to be printed too."""

import csv
import io
from collections.abc import Iterator, Sequence
from html import escape

from webapp.canvass import posting_page
from webapp.canvass.edition import STATUSES
from webapp.merging.sums_over_offices import OfficeColumn, SharedSum

STYLE = f"{posting_page.STYLE}th:first-child, td:first-child {{ min-width: 7rem; }}\n"
"""As the page of an edition, and a name of an office keeps its words whole where many columns stand beside it."""
POLICY = posting_page.policy(STYLE)


def together(one: SharedSum) -> str:
    """The heading of a contest's sums: how many offices are in them, where that is not all."""
    return "Together, as reported" if one.whole else f"Together, {one.inn:,} of {len(one.columns):,} offices"


COLUMNS = (
    "contest",
    "vote_for",
    "choice",
    "kind",
    "office",
    "edition",
    "status",
    "made",
    "places_in",
    "places",
    "votes",
)


def as_csv(sums: Sequence[SharedSum]) -> bytes:
    """UTF-8, commas, LF, quotes where they are needed. A row a contest, line and office; then one of all, without an edition."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write(COLUMNS)
    for one in sums:
        for line in one.lines:
            head = (one.title, one.n, line.label, line.kind)
            for column, votes in zip(one.columns, line.votes, strict=True):
                if votes is not None:
                    write((*head, column.name, *_edition(column), votes))
            if line.together is not None:
                write((*head, together(one), "", "", "", "", "", line.together))
    return out.getvalue().encode()


def _edition(column: OfficeColumn) -> tuple[str | int, ...]:
    one = column.report
    return (one.number, one.status, one.made, *one.places) if one else ("", "", "", "", "")


def page(sums: Sequence[SharedSum], election: str, practice: bool) -> bytes:
    """The page for the public. It names no hour of its own: each figure has the time of the edition that it is from."""
    title = "Contests of several offices, as each reported"
    stamp = "Practice, no election. As reported" if practice else "As reported"
    parts = [
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{title}</title><style>{STYLE}</style></head><body><main>",
        f'<p class="status">{stamp}</p><h1>{escape(election)}: {title.lower()}</h1>',
        "<p>Each office counts and certifies its own ballots. These are its own figures, from the edition named beside it. Nobody has certified the sums.</p>",
        *(part for one in sums for part in _contest(one)),
        "</main></body></html>\n",
    ]
    return "\n".join(parts).encode()


def _contest(one: SharedSum) -> Iterator[str]:
    yield f"<h2>{escape(one.title)}{f', vote for {one.n}' if one.n > 1 else ''}</h2>"
    yield f"<p>These sums hold the figures of {one.inn:,} of {len(one.columns):,} offices.</p>"
    yield f'<div class="wide" tabindex="0" role="region" aria-label="{escape(one.title)}: offices"><table><thead><tr><th scope=col>Office</th><th scope=col>Edition</th><th scope=col>Status</th><th scope=col>Made</th><th scope=col>Places in</th></tr></thead><tbody>'
    yield from map(_office, one.columns)
    yield "</tbody></table></div>"
    if one.lines:
        head = "".join(f"<th scope=col>{escape(column.name)}</th>" for column in one.columns)
        yield f'<div class="wide" tabindex="0" role="region" aria-label="{escape(one.title)}: votes"><table><thead><tr><th scope=col>Line</th>{head}<th scope=col>{together(one)}</th></tr></thead><tbody>'
        for line in one.lines:
            cells = "".join(f"<td>{figure(n)}</td>" for n in (*line.votes, line.together))
            yield f"<tr><th scope=row>{escape(line.words)}</th>{cells}</tr>"
        yield "</tbody></table></div>"
    if one.notes:
        yield "<ul>" + "".join(f"<li>{escape(note)}</li>" for note in one.notes) + "</ul>"


def _office(column: OfficeColumn) -> str:
    one = column.report
    cells = (
        (str(one.number), STATUSES[one.status], one.time_words, f"{one.places[0]:,} of {one.places[1]:,}")
        if one
        else ("",) * 4
    )
    return f"<tr><th scope=row>{escape(column.name)}</th>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"


def figure(n: int | None) -> str:
    return "" if n is None else f"{n:,}"
