"""Names each source and each end of the flow, and says what does not add up."""

from collections.abc import Mapping

from webapp.precinct.balance.ballot_flow import (
    BIN,
    BINS_GAP,
    ELSEWHERE,
    EMPTIED,
    GAP,
    OPEN,
    SENT,
    TAPE,
    End,
    Flow,
    Source,
)
from webapp.precinct.balance.figure_words import FIGURES, PILES
from webapp.precinct.balance.line_sentences import scope_words
from webapp.precinct.balance.line_sentences import way as gap_words
from webapp.precinct.numbers import few

BINS = {"main": "Main bin", "write-in": "Write-in bin"}


def source(one: Source) -> str:
    """A source in words: "Received, style 3A", "Delivered later", "Copies made here"."""
    style = f", style {one.style}" if one.style else ""
    if one.what == ELSEWHERE:
        return {
            "copy": "Copies made here",
            "card": "Printed by the accessible device",
            "absentee": "Absentee ballots fed here",
        }.get(one.name, _plain(one.name))
    if one.what == "packs":
        return ("More" if one.n > 0 else "Fewer") + f" in opened packs than printed on them{style}"
    return {"received": "Received", "resupply": "Delivered later"}[one.what] + style


def end(one: End) -> str:
    """An end in words: "Unused", "Main bin of T1", "Spoiled", "Not accounted for"."""
    match one.what:
        case "aside":
            return _plain(FIGURES.get(one.name, one.name))
        case "unused":
            return f"Unused {PILES.get(one.name, one.name)}" if one.name else "Unused"
        case "bin":
            return f"{BINS.get(one.name, f'Bin {one.name}')} of {one.of}"
        case "emptied":
            return f"Emptied out of {one.of} during the day"
        case "tape":
            return f"On the tape of {unit(one.of)}"
        case "bins-gap":
            return (
                f"On the tape of {one.of}, not in its bins"
                if one.n > 0
                else f"In the bins of {one.of}, not on its tape"
            )
        case "gap":
            return "Not accounted for" if one.n > 0 else "Accounted for, and never came in"
    return {SENT: "Sent elsewhere", OPEN: "On tapes that are not typed yet"}[one.what]


def through(flow: Flow, of: str) -> str:
    """What is on the tapes of one box, for the table: "Counted by T1 (main bin 486, write-in bin 55)"."""
    mine = [one for one in flow.ends if one.of == of]
    if mine[0].what == TAPE:
        return f"Counted by {unit(of)}"
    parts = [f"{_part(one)} {one.n:,}" for one in mine if one.what in (BIN, EMPTIED)]
    return f"Counted by {of} ({', '.join(parts)})"


def _part(one: End) -> str:
    if one.what == EMPTIED:
        return f"emptied into {one.name}" if one.name else "emptied"
    return BINS.get(one.name, f"bin {one.name}").lower()


def unit(of: str) -> str:
    """A tabulator in words, or a memory that was taken out of one: "T1, memory 1"."""
    tabulator, _, memory = of.partition("/")
    return f"{tabulator}, memory {memory} taken out" if memory else tabulator


def heading(flow: Flow) -> str:
    """ "1,400 ballots came in. 1,399 are accounted for." """
    first = f"{few(flow.came, 'ballot')} came in."
    if flow.open:
        return f"{first} {flow.accounted:,} are accounted for so far."
    if not flow.gap and gaps(flow):
        return f"{first} As many are accounted for, but not pile by pile."
    return f"{first} {'All' if not flow.gap else f'{flow.accounted:,}'} are accounted for."


def gaps(flow: Flow) -> tuple[tuple[int, str], ...]:
    """(gap, sentence) of all that does not add up: the stock, single styles whose gaps cancel, bins against tape."""
    styles = [line for line in flow.lines if line.gap and line.scope and "style" in line.scope]
    alone = [line.gap for line in styles] == [
        sum(line.gap for line in flow.lines if not line.scope)
    ]  # the sum says no more than the one style
    told = [
        (line.gap, f"{_scope(line.scope)}{gap_words('stock', line.gap)}.")
        for line in flow.lines
        if line.gap and (line.scope or not alone)
    ]
    told = told or [(one.n, f"{gap_words('stock', one.n)}.") for one in flow.ends if one.what == GAP]
    return (*told, *((-one.n, f"{one.of}: {gap_words('bins', -one.n)}.") for one in flow.ends if one.what == BINS_GAP))


def _scope(scope: Mapping[str, str] | None) -> str:
    """The scope before a sentence: "Style 3A: ", "Copies: "."""
    told = ", ".join(scope_words(scope))
    return f"{told[:1].upper()}{told[1:]}: " if told else ""


def _plain(words: str) -> str:
    words = words.replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]
