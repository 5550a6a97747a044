"""What the answers of the test's steps must be to the deck: as many ballots as it has, the counter that it gives, every figure as expected.

Each check yields (input name, sentence). A signed exception lifts all of them; what differs is then in the record.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from webapp.deck import own_ballots
from webapp.deck.comparison import Comparison
from webapp.deck.rows import REFUSED
from webapp.deck.ticked_rows import ballots, listed, ticked
from webapp.deck.typed_tapes import Round, as_body
from webapp.precinct.plausibility.asked import NOT_SO, apart

Body = Mapping[str, Any]
Found = Iterator[tuple[str, str]]
NOT_TICKED = "If it stays so, say below what is wrong."


def wrong(now: Round, step: str, at: str, body: Body, faults: Callable[[], int]) -> dict[str, str]:
    """{input name: sentence} of everything in this body that is not as the deck has it; `faults` gives how many were played on it."""
    check = CHECKS.get(step)
    return {} if check is None or body.get("not_so") else dict(check(now, at, body, faults))


def worked_out(now: Round, step: str, at: str, body: Body) -> dict[str, Any]:
    """What the laptop writes into this body by itself."""
    if step == "deck-made":
        return {"edition": now.place.edition}
    if step == "compared":
        found = now.compared(at)
        return as_body(found) if found else {}
    if step == "own-ballots":
        return own_ballots.compared(now.deck.plan, body.get(own_ballots.BY_HAND, {}), body.get(own_ballots.ON_TAPE, {}))
    return as_body(now.sums(body)) if step == "sums" else {}


def _deck_made(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    for name, wanted in (("rows", len(now.deck.rows)), ("faults", faults())):
        if body.get(name, wanted) != wanted:
            yield (
                name,
                f"{body[name]:,} is not the number of this deck. Sheets of another edition have another: read edition and digest again; if it stays so, {NOT_SO}.",
            )


def _marked(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    yield from _all_ballots(now, body)
    yield from _all_ticked(now, "marked")


def _marks_checked(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    yield from _all_ballots(now, body)
    yield from _all_ticked(now, "checked")
    if body.get("differing", 0) > body.get("rows", 0):
        yield (
            "differing",
            f"{body['differing']:,} marked wrong, {body['rows']:,} checked: {apart(body['differing'], body['rows'])}. Count again.",
        )


def _all_ballots(now: Round, body: Body) -> Found:
    wanted = len(ballots(now.deck))
    if body.get("rows", wanted) != wanted:
        yield (
            "rows",
            f"{body['rows']:,} ballots; this deck has {wanted:,} without the three cards: {apart(body['rows'], wanted)}. Count again; if it stays so, {NOT_SO}.",
        )


def _all_ticked(now: Round, what: str) -> Found:
    """People who tick ballots one by one tick them all; people who work on paper tick none."""
    marks = ticked(now.day.kept.get("rows-ticked", ()))
    left = marks.left(what, ballots(now.deck)) if marks.marked else []
    if left:
        yield (
            "rows",
            f"Not ticked as {what} on the page Deck: {listed(left)}. Look for these ballots and tick them; if it stays so, {NOT_SO}.",
        )


def _device(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    rows, most = body.get("rows"), len(ballots(now.deck))
    if rows == 0:
        yield "rows", f"The device marked no row. Let it mark some; if it cannot, {NOT_SO}."
    elif rows is not None and rows > most:
        yield "rows", f"{rows:,} rows; the deck has {most:,} ballots that are marked. Count again."


def _fed(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    counted = now.deck.feeds[at].ballots
    for name, wanted, what in (
        ("rows", counted + len(REFUSED), "ballots and cards fed"),
        ("counter", counted, "on the public counter"),
    ):
        if body.get(name, wanted) != wanted:
            yield (
                name,
                f"{body[name]:,} {what}; the feeding list of {at} has {wanted:,}: {apart(body[name], wanted)}. Read it again; if it stays so, {NOT_SO}.",
            )


def _compared(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    found = now.compared(at)
    if found is None:
        yield "", f"The tape of {at} is not typed in this round. Type it first."
    elif found.differ or found.missing:
        yield "not_so", _off(found)


def _off(found: Comparison) -> str:
    parts = [
        f"{len(found.differ)} figure{'s differ' if len(found.differ) != 1 else ' differs'}" if found.differ else "",
        f"{len(found.missing)} figure{'s were' if len(found.missing) != 1 else ' was'} not typed"
        if found.missing
        else "",
    ]
    return f"{' and '.join(filter(None, parts))}. Read the tape again; correct what was mistyped. {NOT_TICKED}"


def _sums(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    if not now.tested():
        yield "", "No tabulator was tested: every one stays shut. The test cannot end so."
        return
    found = now.sums(body)
    if found.differ:
        yield "", " ".join(now.causes_of_sums(found))
    for one in found.differ:
        name = "ballots" if one.cell[0] in ("", "precinct") else _input(now, *one.cell)
        yield (
            name,
            f"{one.typed:,}; the tabulators tested make {one.expected:,}: {apart(one.typed, one.expected)}. Read the report again; if it stays so, {NOT_SO}.",
        )


def _input(now: Round, contest: str, cell: str) -> str:
    """The control of a cell of a contest."""
    choice = cell in now.deck.plan.contest[contest].choices
    return f"contests.{contest}.{'votes.' if choice else ''}{cell}"


def _zeroed(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    tape, found = now.last("tape-typed", at), body.get("lifetime")
    before = tape.body.get("lifetime") if tape else None
    if isinstance(found, int) and isinstance(before, int) and found < before:
        yield (
            "lifetime",
            f"Protective counter of {at}: {found:,}. The tape of the test printed {before:,}: {apart(found, before)} now. It never runs back. Read it again; if it stays so, {NOT_SO}.",
        )


def _own(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    yield from own_ballots.wrong(now.deck.plan, body)
    differ = len(body.get("differ", ()))
    if "differ" in body and body.get("differing", differ) < differ:
        yield (
            "differing",
            f"{differ} figure{'s differ' if differ != 1 else ' differs'} of those typed below. Read both again; if it stays so, {NOT_SO}.",
        )


def _away(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    wanted = len(now.deck.rows)
    if body.get("rows", wanted) != wanted:
        yield (
            "rows",
            f"{body['rows']:,} put away; the deck has {wanted:,} with its three cards: {apart(body['rows'], wanted)}. Search and count again; if it stays so, {NOT_SO}.",
        )
    text = body.get("until", "")
    try:
        until = date.fromisoformat(text) if text else None
    except ValueError:
        yield "until", "Enter the day until which the deck is kept, as 2028-11-03."
        return
    least = now.place.date + timedelta(days=now.place.test.retain_days or 0)
    if until and until < least:
        yield (
            "until",
            f"{until.isoformat()} is too early: the deck is kept at least until {least.isoformat()} by the place file. In a federal election 22 months.",
        )


def _certificate(now: Round, at: str, body: Body, faults: Callable[[], int]) -> Found:
    added = [k for k in now.day.kept.get("own-ballots", ()) if k.number > now.began and k.not_so]
    if added:
        yield (
            "not_so",
            f"Entry {added[-1].number}: ballots that observers added do not agree. Find the cause first; then correct that entry.",
        )


CHECKS: Mapping[str, Callable[[Round, str, Body, Callable[[], int]], Found]] = {
    "deck-made": _deck_made,
    "marked": _marked,
    "marks-checked": _marks_checked,
    "device-marked": _device,
    "deck-fed": _fed,
    "compared": _compared,
    "sums": _sums,
    "own-ballots": _own,
    "zeroed": _zeroed,
    "deck-away": _away,
    "certificate": _certificate,
}
