"""What a fault is in a sentence, and where to look. A comparison says what figures are consistent with, never what happened."""

from webapp.deck.comparison import WORDS
from webapp.deck.oval_faults import Fault
from webapp.deck.positions import DeckPlan, DeckStyle

LAYOUT = "Look at the program's ballot layout of {where}."


def describe(plan: DeckPlan, found: Fault, styles: tuple[str, ...] = (), alike: bool = False) -> str:
    """One or two sentences. `styles`: several styles that the figures cannot tell apart; `alike`: other ballots would give the same figures."""
    facts = dict(found.facts)
    where = _where(styles or ((facts["style"],) if "style" in facts else ()))
    text = WORDS_OF[found.kind](plan, found, where)
    if len(styles) > 1:
        text += " These figures cannot tell which of the styles: feed each style's ballots alone."
    if alike:
        text = text.replace(f"Ballot {facts['row']} was", f"Ballot {facts['row']}, or one like it, was")
    return text


def where_to_look(plan: DeckPlan, found: Fault) -> str:
    """The words that say where to look first for this fault."""
    return LOOK[found.kind]


def _where(styles: tuple[str, ...]) -> str:
    if len(styles) < 2:
        return f"style {styles[0]}" if styles else "every style"
    return f"style {', '.join(styles[:-1])} or {styles[-1]}"


def _title(plan: DeckPlan, contest: str) -> str:
    return plan.contest[contest].title or contest if contest in plan.contest else contest


def _oval(plan: DeckPlan, position: tuple[str, str]) -> str:
    contest, name = position
    return f"{plan.contest[contest].name_of(name)} in {_title(plan, contest)}"


def _cell(plan: DeckPlan, contest: str, cell: str) -> str:
    return WORDS.get(cell) or plan.contest[contest].name_of(cell)


def _places(plan: DeckPlan, found: Fault) -> tuple[int, int] | None:
    """The places of two exchanged positions within one contest as printed, from 1; None where they are of two contests."""
    (a, x), (b, y) = found["positions"]
    if a != b:
        return None
    style: DeckStyle = next(s for s in plan.styles if s.id == found["style"])
    printed = [position for contest, position in style.printed if contest == a]
    first, second = sorted((printed.index(x) + 1, printed.index(y) + 1))
    return first, second


def _exchange(plan: DeckPlan, found: Fault, where: str) -> str:
    a, b = found["positions"]
    places = _places(plan, found)
    if places:
        return (
            f"Consistent with positions {places[0]} and {places[1]} of {_title(plan, a[0])} exchanged on {where}: "
            f"{plan.contest[a[0]].name_of(a[1])} and {plan.contest[a[0]].name_of(b[1])}."
        )
    return f"Consistent with two ovals exchanged on {where}: {_oval(plan, a)} and {_oval(plan, b)}."


def _keying(plan: DeckPlan, found: Fault, where: str) -> str:
    name = f"{_title(plan, found['contest'])}, {_cell(plan, found['contest'], found['cell'])}"
    return f"{name}: this one figure does not fit the others of its contest. Typed as on the tape, {found['likely']} would be expected."


def _wrong_n(plan: DeckPlan, found: Fault, where: str) -> str:
    right = plan.contest[found["contest"]].n
    return f"Consistent with {_title(plan, found['contest'])} programmed as vote for {found['n']} on {where}; the ballot says vote for {right}."


def _labels(plan: DeckPlan, found: Fault, where: str) -> str:
    a, b = (_cell(plan, found["contest"], cell) for cell in found["cells"])
    return f"Consistent with {a} and {b} in each other's place on the report of {_title(plan, found['contest'])}, on every style."


def _memory(plan: DeckPlan, found: Fault, where: str) -> str:
    twice, instead = found["tabulator"], found["instead"]
    if twice and instead:
        return f"Consistent with the memory of {twice} loaded twice and that of {instead} not at all."
    return (
        f"Consistent with the memory of {twice} loaded twice."
        if twice
        else f"Consistent with the memory of {instead} not loaded."
    )


def _shift(plan: DeckPlan, found: Fault, where: str) -> str:
    return (
        f"Consistent with every choice of {_title(plan, found['contest'])} read as the {'next' if found['by'] > 0 else 'one before'} on {where}, "
        f"the {'last as the first' if found['by'] > 0 else 'first as the last'}."
    )


def _rearranged(plan: DeckPlan, found: Fault, where: str) -> str:
    contest = plan.contest[found["contest"]]
    moved = [
        f"{contest.name_of(a)} read as {contest.name_of(b)}"
        for a, b in zip(contest.choices, found["choices"], strict=True)
        if a != b
    ]
    return f"Consistent with the choices of {_title(plan, contest.id)} in another order on {where}: {'; '.join(moved)}."


def _both(plan: DeckPlan, found: Fault) -> str:
    return " and ".join(_title(plan, contest) for contest in found["contests"])


WORDS_OF = {
    "keying": _keying,
    "row-missed": lambda plan, found, where: f"Ballot {found['row']} was not fed, or not counted.",
    "row-twice": lambda plan, found, where: f"Ballot {found['row']} was counted twice.",
    "exchange": _exchange,
    "dead": lambda plan, found, where: f"The oval of {_oval(plan, found['position'])} is not read on {where}.",
    "stuck": lambda plan, found, where: (
        f"The oval of {_oval(plan, found['position'])} is read as marked on every ballot of {where}."
    ),
    "fold": lambda plan, found, where: (
        f"Every folded ballot of {where} carries a mark for {_oval(plan, found['position'])}."
    ),
    "read-as": lambda plan, found, where: (
        f"{_oval(plan, found['positions'][0])} is read as {plan.contest[found['positions'][1][0]].name_of(found['positions'][1][1])} on {where}.".replace(
            "the write-in", "The write-in", 1
        )
        .replace("write-in line", "Write-in line", 1)
        .replace("The Write-in", "The write-in")
    ),
    "shift": _shift,
    "reversed": lambda plan, found, where: (
        f"Consistent with the choices of {_title(plan, found['contest'])} in reversed order on {where}."
    ),
    "order": lambda plan, found, where: (
        f"Consistent with {_title(plan, found['contest'])} counted without its rotation on {where}: in the order of the place file."
    ),
    "rearranged": _rearranged,
    "shift-all": lambda plan, found, where: (
        f"Consistent with every oval of {where} read as the {'next' if found['by'] > 0 else 'one before'}."
    ),
    "wrong-n": _wrong_n,
    "contest-missing": lambda plan, found, where: (
        f"Consistent with {_title(plan, found['contest'])} not counted on {where}."
    ),
    "contests-exchanged": lambda plan, found, where: (
        f"Consistent with {_both(plan, found)} in each other's place on {where}."
    ),
    "labels": _labels,
    "report-contests": lambda plan, found, where: (
        f"Consistent with {_both(plan, found)} in each other's place on the report, on every style."
    ),
    "style": lambda plan, found, where: (
        f"Consistent with the ballots of style {found['style']} counted by the program of style {found['as']}."
    ),
    "precinct": lambda plan, found, where: (
        f"Consistent with the ballots of precinct {found['precinct']} filed under precinct {found['as']}."
    ),
    "precincts-exchanged": lambda plan, found, where: (
        "Consistent with precincts " + " and ".join(found["precincts"]) + " in each other's place."
    ),
    "edition": lambda plan, found, where: (
        "This is the tape of the edition before: the memory was made before the change."
    ),
    "memory": _memory,
}

PROGRAM, REPORT, FEEDING = (
    "Look at the program's ballot layout.",
    "Look at the report's labels in the program.",
    "Count the ballots fed against the feeding list.",
)
LOOK = {
    "keying": "Read this figure again from the tape, then type the tape a second time.",
    "row-missed": FEEDING,
    "row-twice": FEEDING,
    "exchange": PROGRAM,
    "dead": "Look at the oval's place in the program, then at the reader.",
    "stuck": "Look at the reader for dirt, then at the oval's place in the program.",
    "fold": "Look where the fold crosses the ballot.",
    "read-as": PROGRAM,
    "shift": PROGRAM,
    "reversed": PROGRAM,
    "order": PROGRAM,
    "rearranged": PROGRAM,
    "shift-all": PROGRAM,
    "wrong-n": "Look at the number of votes allowed in the program.",
    "contest-missing": "Look whether the program holds this contest for the style.",
    "contests-exchanged": PROGRAM,
    "labels": REPORT,
    "report-contests": REPORT,
    "style": "Look at the code that names the style on these ballots.",
    "precinct": "Look at the precincts in the program.",
    "precincts-exchanged": "Look at the precincts in the program.",
    "edition": "Make the memory again from the edition in force, and begin the whole test again.",
    "memory": "Read the list of memories loaded.",
}


def difference(name: str, expected: int, typed: int) -> str:
    """One differing cell as a bracket in words: both figures and the way."""
    more = typed - expected
    return f"{name}: tape {typed}, expected {expected} ({abs(more)} {'more' if more > 0 else 'fewer'})"
