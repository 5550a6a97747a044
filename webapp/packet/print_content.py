"""Fills the printed packet: ballot account, gaps with their remarks, check words, rows for ink, remarks in full, contest figures."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from webapp.packet import board_words
from webapp.packet import print_model as paper
from webapp.packet.figures_from_core import figures
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.checklist import checklist
from webapp.precinct.day.hours import wall
from webapp.precinct.day.restores import in_words
from webapp.precinct.day.short_signed import at_work
from webapp.precinct.place.place import Contest, Place

SEAT_EMPTY = {
    "absent": "absent",
    "declined": "declined to sign",
    "pin-lost": "PIN lost",
    "none-here": "nobody of that seat here",
}
ASIDE = (
    ("spoiled", "Spoiled"),
    ("spoiled-not-reissued", "Spoiled, no other given"),
    ("provisional", "Provisional"),
    ("emergency", "Left in emergency bins"),
    ("hand-counted", "Counted by hand"),
    ("taken", "Carried off"),
    ("left", "Left without a ballot"),
    ("set-apart", "Set apart"),
)
ALWAYS = ("spoiled", "provisional")  # printed even when there are none
AT_A_BOARD = {"night-close": "night", "all-in": "close"}  # packets of the first edition have no words of these
MARKED = {"zero-signed": "zero tape", "noon-look": "noon", "polls-closed": "close", "packet": "hand-over", **AT_A_BOARD}


def account(
    core: Mapping[str, Any], notes: Mapping[str, Any], place: Place, digest: bytes, drawn: Balance | None = None
) -> paper.AccountPages:
    """Everything the paper shows, from a packet's two parts and the place file.

    `digest` is the packet's; `drawn` its balance, where the caller has it already.
    """
    drawn = drawn or balance(figures(core, place))
    texts = {line: text for _, lines, _, text, _, _ in notes["remarks"] for line in lines}
    full = [
        paper.Remark(", ".join(lines), text, _signed(signers, when, place))
        for _, lines, _, text, when, signers in notes["remarks"]
    ]
    full += [
        paper.Remark("Separate statement", text, _signed(signers, when, place))
        for _, text, when, signers in notes["statements"]
    ]
    full += [
        paper.Remark(checklist.title(kind, at or "", place), f"Found: {found} Done: {done}")
        for _, kind, at, found, done in notes["not_so"]
    ]
    return paper.AccountPages(
        place=place.name,
        county=place.county,
        election=place.election,
        date=place.date.isoformat(),
        number=core["number"],
        mode=core["mode"],
        digest=digest.hex(),
        made=_clock(core["made"], place),
        rows=board_words.account_rows(core) if "board" in core else rows(core, place),
        gaps=tuple(paper.Gap(line.says, texts.get(line.name, "")) for line in drawn.gaps),
        marks=_marks(core),
        signers=tuple(paper.PrintedSigner(o.role, _party(o.party, place)) for o in place.officials),
        short_signed=tuple(_short(row, place) for row in notes["short"]),
        remarks=tuple(full),
        contests=tuple(_contest(c, core["contests"][c.id]) for c in place.typed_contests() if c.id in core["contests"]),
        amends=core["amends"].hex() if core["amends"] else "",
        restored=restored_words(core, place),
        parts=board_words.by_precinct(core, place) if "board" in core else (),
    )


def restored_words(core: Mapping[str, Any], place: Place) -> str:
    """What happened to the laptop, in a sentence or two; "" where nothing was restored."""
    if "runs" not in core:
        return ""
    last = core["runs"][-2][2] if len(core["runs"]) > 1 else 0
    on = "on a spare laptop" if core["kit"] == "spare" else "on a spare laptop without a kit"
    count, counted = core["given_back"]
    back = f" Given back: {count}" + (f", {counted} of them read and signed by two parties" if count else "") + "."
    return (
        f"Restored at {_clock(core['restored'], place)} {on} after entry {last}.{back} Lost: {in_words(core['lost'])}."
    )


def rows(core: Mapping[str, Any], place: Place) -> tuple[paper.AccountRow, ...]:
    """The ballot account: received, left, set aside, on the tapes, in the poll book."""
    stock, aside = core["stock"], core["aside"]
    found = [paper.AccountRow("Ballots received", total(stock.get("received")))]
    found += [
        paper.AccountRow(label, total(stock[name]))
        for name, label in (("resupply", "Resupply"), ("sent", "Sent to other places"))
        if stock.get(name)
    ]
    if stock.get("packs"):
        less = sum(pack["nominal"] - pack["counted"] for pack in stock["packs"])
        found += (
            [
                paper.AccountRow(
                    "Packs held fewer than printed" if less > 0 else "Packs held more than printed", abs(less)
                )
            ]
            if less
            else []
        )
    found.append(paper.AccountRow("Unused", total(stock.get("unused")), True))
    own = tuple((k.id, k.id.replace("-", " ").capitalize()) for k in place.kinds if k.id not in dict(ASIDE))
    found += [
        paper.AccountRow(label, total(aside.get(kind)))
        for kind, label in (*ASIDE, *own)
        if total(aside.get(kind)) or kind in ALWAYS
    ]
    found += [paper.AccountRow(f"Ballots on the tape of {t['id']}", total(t.get("tape"))) for t in core["tabulators"]]
    off = sum(
        t.get("subtract", {}).get("n", 0) + t.get("fed_again", {}).get("n", 0)
        for t in core["tabulators"]
        if "tape" in t
    )
    found += [paper.AccountRow("Less fed again, or taken off for a failed machine", off)] if off else []
    tapes = [total(t["tape"]) or 0 for t in core["tabulators"] if "tape" in t]
    whole = not tapes or len(tapes) == len(core["tabulators"])
    counted = "Ballots counted by the tabulators" if whole else "Ballots on the tapes that were typed, not all of them"
    found.append(paper.AccountRow(counted, sum(tapes) - off if tapes else None, True))
    book = next((v for v in core["people"] if v["id"] == "poll_book"), None)
    gone = total(book.get("cancelled")) or 0 if book else 0
    found += [paper.AccountRow("Check-ins cancelled", gone)] if gone else []
    found.append(paper.AccountRow("Check-ins in the poll book", (total(book["n"]) or 0) - gone if book else None, True))
    return tuple(found)


def total(figure: Any) -> int | None:
    """One number out of a figure in any of its shapes (number, hand counts, rows); None for none.

    Of rows by sheet the first sheet alone counts: later ones are no ballots.
    """
    if figure is None or isinstance(figure, int):
        return figure
    if isinstance(figure, Mapping):
        return figure["counts"][-1] if figure.get("counts") else figure.get("logged")
    return sum(total(part["n"]) or 0 for part in figure if part.get("sheet", 1) == 1)


def _marks(core: Mapping[str, Any]) -> tuple[paper.Mark, ...]:
    """Check words with the step at which they were copied; named only where as many steps as words are known."""
    whens = [MARKED[step[0]] for step in core["steps"] if step[0] in MARKED]
    if len(whens) > len(core["marks"]):
        whens = [MARKED[step[0]] for step in core["steps"] if step[0] in MARKED.keys() - AT_A_BOARD.keys()]
    over = len(core["marks"]) - len(whens)
    whens = [*whens, *["hand-over"] * over] if over in (0, 1) else [""] * len(core["marks"])
    return tuple(paper.Mark(n, words, when) for (n, words), when in zip(core["marks"], whens, strict=True))


def _clock(ms: int, place: Place) -> str:
    moment = datetime.fromtimestamp(ms / 1000, place.tz)
    return wall(place, ms) if moment.date() == place.date else f"{moment:%Y-%m-%d} {wall(place, ms)}"


def _party(party: str, place: Place) -> str:
    found = place.party(party)
    return found.name if found else "no party"


def _signed(signers: Sequence[Sequence[str]], when: int, place: Place) -> str:
    return ", ".join([*(f"{role}, {_party(party, place)}" for role, party, *_ in signers), _clock(when, place)])


def _short(row: Sequence[Any], place: Place) -> str:
    """A short-signed step in words: which, who signed, which seat is empty and why, that the office was notified."""
    _, kind, at, seats, told, signers = row
    empty = "; ".join(
        f"seat {seat} empty, {SEAT_EMPTY.get(why, why)}{at_work({'able': sum(able)})}" for seat, why, _, *able in seats
    )
    when = next((f" at {_clock(told_at, place)}" for _, _, told_at, *_ in seats if told_at), "")
    by = " and ".join(f"{role}, {_party(party, place)}" for role, party, *_ in signers) or "nobody"
    return f"{checklist.title(kind, at or '', place)}: signed by {by}; {empty}" + (
        f"; office told{when}: {told}." if told or when else "."
    )


def _contest(contest: Contest, figures: Sequence[int | None]) -> paper.PrintedContest:
    """The rows of a contest as the tape prints them; no write-in row for a contest without write-ins."""
    labels = [*(choice.label for choice in contest.choices), "Write-ins", "Undervotes", "Overvotes", "Ballots"]
    shown = zip(labels, figures, strict=True)
    return paper.PrintedContest(
        contest.title,
        contest.n,
        tuple(
            paper.AccountRow(label, n, label == "Ballots")
            for label, n in shown
            if label != "Write-ins" or contest.write_in or n is not None
        ),
    )
