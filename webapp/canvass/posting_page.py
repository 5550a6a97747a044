"""The page for the public, `posting.html`: one edition in plain HTML, no script, nothing from elsewhere, made to be printed too."""

import base64
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from webapp.canvass import changes
from webapp.canvass.certifying import OFFICIAL
from webapp.canvass.changes import ContestChange
from webapp.canvass.edition import STATUSES, Edition, Row, lines, lists_of, rows, total, used_ways
from webapp.canvass.nist_results import BY_PRECINCT
from webapp.canvass.results_csv import name_of
from webapp.precinct.place.place import Contest

STYLE = """
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; margin: 0 auto; max-width: 64rem; padding: 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-top: 1px solid; padding-top: .75rem; }
.status { display: inline-block; border: 2px solid; padding: 0 .5rem; font-weight: 700; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; width: 100%; }
th, td { text-align: right; padding: .25rem .5rem; border-bottom: 1px solid; vertical-align: top; }
th:first-child, td:first-child { text-align: left; overflow-wrap: anywhere; }
tfoot th, tfoot td { border-top: 1px solid; border-bottom: 3px double; font-weight: 700; }
caption { text-align: left; }
@media print { body { max-width: none; padding: 0; font-size: 10pt; } h2 { break-after: avoid; } tr { break-inside: avoid; } }
"""


def policy(style: str) -> str:
    """What a browser may load for a page with this style: the style, and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def policy_of(page: bytes) -> str:
    """The same of a page as it was written, perhaps by an earlier version with another style."""
    _, _, rest = page.decode().partition("<style>")
    return policy(rest.partition("</style>")[0])


POLICY = policy(STYLE)
WORDS = {"write_in": "Write-ins", "under": "Undervotes", "over": "Overvotes"}


def written(edition: Edition, made: str, changed: Sequence[ContestChange], before: str = "") -> bytes:
    """The page. `made`: the time as people read it; `changed` since the edition before, which was of the time `before` ("": there was none)."""
    title = f"{edition.office}: {STATUSES[edition.status]}"
    title += f", edition {edition.number}" if edition.number else ""
    parts = [
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head><body><main>",
        *_head(edition, made),
        *_changed(edition, changed, before),
        *_ballots(edition),
        *(part for contest in edition.contests for part in _contest(edition, contest)),
        "</main></body></html>\n",
    ]
    return "\n".join(parts).encode()


def _head(edition: Edition, made: str) -> Iterator[str]:
    practice = "Practice, no election. " if edition.practice else ""
    yield f'<p class="status">{practice}{escape(STATUSES[edition.status])}</p>'
    yield f"<h1>{escape(edition.election)}</h1>"
    yield f"<p>{escape(edition.office)}. {edition.called}, {escape(made)}. {edition.inn:,} of {edition.awaited:,} places are in.</p>"
    if edition.because:
        yield f"<p>{escape(edition.because)}</p>"
    certified = (
        "The canvass board certified these figures."
        if edition.status in OFFICIAL
        else "These figures are not certified."
    )
    yield f"<p>{certified} Places where fewer than {edition.small} ballots carried a contest are shown together with others.</p>"
    if edition.precincts:
        yield f"<p>{BY_PRECINCT}</p>"
    if waits := _waiting(edition):
        yield f"<p>{waits}</p>"


def _waiting(edition: Edition) -> str:
    """What is counted and in no figure here, as numbers of ballots."""
    most = max((one.ballots_waiting for one in edition.figures.values()), default=0)
    if not most:
        return ""
    units = {atom.unit for one in edition.figures.values() for atom, figures in one.waiting if figures.carried}
    where = "1 place" if len(units) == 1 else f"{len(units):,} places"
    return f"Up to {most:,} ballots of {where} are counted and will be shown with a later edition: alone they would show how a few people voted."


def _changed(edition: Edition, changed: Sequence[ContestChange], before: str) -> Iterator[str]:
    if not before:
        return
    yield f"<h2>What changed since edition {edition.supersedes}, {escape(before)}</h2>"
    if not changed:
        yield "<p>No figure changed.</p>"
        return
    said = dict.fromkeys(words for one in changed for words in changes.in_words(one.came, edition))
    fixed = dict.fromkeys(name for one in changed for name in _names(one, edition))
    yield "<ul>" + "".join(f"<li>Came in. {escape(words)}</li>" for words in said)
    yield "".join(f"<li>Corrected, over the same ballots: {escape(name)}</li>" for name in fixed) + "</ul>"
    for one in changed:
        head = "<tr><th scope=col>Line</th><th scope=col>Before</th><th scope=col>Now</th><th scope=col>More or fewer</th></tr>"
        body = "".join(
            f"<tr><th scope=row>{escape(line.words)}</th><td>{_figure(line.before)}</td><td>{_figure(line.after)}</td><td>{line.apart:+,}</td></tr>"
            for line in one.lines
        )
        start = _wide(f"{_named(one.contest)}: what changed")
        yield f"{start}<table><caption>{escape(one.contest.title)}</caption><thead>{head}</thead><tbody>{body}</tbody></table></div>"


def _named(contest: Contest) -> str:
    return contest.title + (f", {contest.group}" if contest.group else "")


def _wide(name: str) -> str:
    """The start of a part that scrolls sideways on a small screen: keys reach it, and it has a name (WCAG 2.1.1)."""
    return f'<div class="wide" tabindex="0" role="region" aria-label="{escape(name)}">'


def _names(one: ContestChange, edition: Edition) -> Iterator[str]:
    names = edition.names
    yield from dict.fromkeys(names.get(atom.unit, atom.unit) for atom in one.corrected)


def _ballots(edition: Edition) -> Iterator[str]:
    ways = used_ways(edition)
    head = "".join(f"<th scope=col>{escape(way.name)}</th>" for way in ways)
    yield "<h2>Ballots by place and way</h2>"
    yield f"{_wide('Ballots by place and way')}<table><thead><tr><th scope=col>Place</th>{head}<th scope=col>Together</th></tr></thead><tbody>"
    for unit in edition.units:
        cells = "".join(f"<td>{_figure(unit.ballots.get(way.id))}</td>" for way in ways)
        yield f"<tr><th scope=row>{escape(unit.name)}</th>{cells}<td>{sum(unit.ballots.values()):,}</td></tr>"
    sums = "".join(f"<td>{sum(unit.ballots.get(way.id, 0) for unit in edition.units):,}</td>" for way in ways)
    whole = sum(sum(unit.ballots.values()) for unit in edition.units)
    yield f"</tbody><tfoot><tr><th scope=row>Together</th>{sums}<td>{whole:,}</td></tr></tfoot></table></div>"


def _contest(edition: Edition, contest: Contest) -> Iterator[str]:
    one, names = edition.figures[contest.id], edition.names
    cells, whole = rows(one, lists_of(edition)), total(one)
    shown = [row for row in lines(contest) if row[0] in whole.votes]
    group = f", {escape(contest.group)}" if contest.group else ""
    yield f"<h2>{escape(contest.title)}{group}{f', vote for {contest.n}' if contest.n > 1 else ''}</h2>"
    if not cells:
        yield "<p>No figures yet.</p>"
        return
    head = "".join(f"<th scope=col>{escape(label or WORDS[line])}</th>" for line, label, _ in shown)
    start = _wide(f"{_named(contest)}: votes by place")
    yield f"{start}<table><thead><tr><th scope=col>Place</th>{head}<th scope=col>Ballots</th></tr></thead><tbody>"
    for cell in cells:
        yield _cell_row(cell, shown, names)
    sums = "".join(f"<td>{whole.votes[line]:,}</td>" for line, _, _ in shown)
    yield f"</tbody><tfoot><tr><th scope=row>Together</th>{sums}<td>{whole.carried:,}</td></tr></tfoot></table></div>"


def _cell_row(cell: Row, shown: Sequence[tuple[str, str, str]], names: Mapping[str, str]) -> str:
    cells = "".join(f"<td>{_figure(cell.figures.votes.get(line))}</td>" for line, _, _ in shown)
    return f"<tr><th scope=row>{escape(name_of(cell, names))}</th>{cells}<td>{cell.figures.carried:,}</td></tr>"


def _figure(n: int | None) -> str:
    return "" if n is None else f"{n:,}"
