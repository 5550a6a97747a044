"""The rows of a results file as contests of precincts, the way counties write them: ballots once a precinct, once a group, or once a contest.

A line that comes twice may be several contests run together under one heading ("Proposal", five times Yes and No), or
the same rows written twice. If the rows follow each other contest by contest they are kept apart by position; else
they are refused by name. None is dropped.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from webapp.office.totals.official_results import KIND_WORDS, UnusableResults

Key = tuple[str, str]  # (contest, ballot group)
Row = Mapping[str, str]
BALLOTS = "ballots"  # how a contest's own ballots_cast stands among its lines
LINE_WORDS = {"write_in": "write-ins", "under": "undervotes", "over": "overvotes", BALLOTS: "ballots_cast"}


@dataclass
class PrecinctRows:
    """One precinct: ballots by group ("" for all), ballots of each contest where the file gives them so, each contest's figures by line."""

    name: str
    cast: dict[str, int] = field(default_factory=dict)
    carried: dict[Key, int] = field(default_factory=dict)
    lines: dict[Key, dict[str, int]] = field(default_factory=dict)

    @property
    def ballots(self) -> int | None:
        """ballots_cast of the precinct, else the sum over its groups, else the greatest of its contests; None where the file has no such row."""
        return self.cast.get("", sum(self.cast.values()) if self.cast else max(self.carried.values(), default=None))

    def ballots_of(self, key: Key) -> int | None:
        """Ballots that carried one contest: its own row, else its group's, else all."""
        if key in self.carried:
            return self.carried[key]
        return self.cast.get(key[1]) if key[1] else self.ballots


@dataclass
class _Block:
    """Rows of one contest in one precinct, in the order of the file: (row number, line, figure)."""

    rows: list[tuple[int, str, int]] = field(default_factory=list)

    @property
    def totals(self) -> frozenset[str]:
        return frozenset(line for _, line, _ in self.rows if line in LINE_WORDS)

    @property
    def labels(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(line for _, line, _ in self.rows if line not in LINE_WORDS))

    def twice(self) -> tuple[int, str] | None:
        """The first (row, line) that comes a second time; write-ins listed one by one are one line."""
        seen: set[str] = set()
        for number, line, _ in self.rows:
            if line in seen and line != "write_in":
                return number, line
            seen.add(line)
        return None

    def figures(self) -> dict[str, int]:
        """Returns the votes by line; rows of the same line are added up."""
        found: dict[str, int] = {}
        for _, line, votes in self.rows:
            found[line] = found.get(line, 0) + votes
        return found


def line_of(row: Row) -> str:
    """The line a row belongs to: a choice by its label, write_in, under, over, or the contest's ballots."""
    return row["choice"] if row["kind"] == "choice" else KIND_WORDS.get(row["kind"], BALLOTS)


def precincts(
    rows: Iterable[tuple[int, Row]], strict: Callable[[str], bool] = lambda name: True
) -> dict[str, PrecinctRows]:
    """Each precinct by name, in order of first appearance. Raises UnusableResults with the row.

    Of a precinct that is not looked at strictly, what cannot be read is left out.
    """
    found: dict[str, PrecinctRows] = {}
    blocks: dict[str, dict[Key, _Block]] = {}
    for number, row in rows:
        precinct = found.setdefault(row["precinct"], PrecinctRows(row["precinct"]))
        group = row["ballot_group"].strip()
        if row["kind"] == "ballots_cast" and not row["contest"].strip():
            if group in precinct.cast and strict(precinct.name):
                raise UnusableResults(
                    f"Row {number} of the results file gives ballots_cast of {precinct.name} twice. Delete the row that is wrong."
                )
            precinct.cast[group] = int(row["votes"])
        elif row["kind"] in ("choice", "ballots_cast", *KIND_WORDS):
            if row["kind"] == "choice" and row["choice"] in LINE_WORDS and strict(precinct.name):
                raise UnusableResults(
                    f"Row {number} of the results file names a choice {row['choice']!r}, which is the name of a total. Rename it."
                )
            block = blocks.setdefault(precinct.name, {}).setdefault((row["contest"], group), _Block())
            block.rows.append((number, line_of(row), int(row["votes"])))
    for name, contests in blocks.items():
        for key, block in contests.items():
            try:
                _put(found[name], key, block)
            except UnusableResults:
                if strict(name):
                    raise
    _same_parts([one for one in found.values() if strict(one.name)])
    return found


def _put(precinct: PrecinctRows, key: Key, block: _Block) -> None:
    """Adds a contest's figures; several of them where several are under one heading."""
    for n, part in enumerate(_parts(precinct.name, key[0], block), 1):
        mine = key if n == 1 else (f"{key[0]} ({n})", key[1])
        figures = part.figures()
        if BALLOTS in figures:
            precinct.carried[mine] = figures.pop(BALLOTS)
        if figures:
            precinct.lines[mine] = figures


def _parts(precinct: str, contest: str, block: _Block) -> Sequence[_Block]:
    """The contests under one heading: one, if no line comes twice; else those that follow each other. Raises UnusableResults where they cannot be told apart."""
    again = block.twice()
    if again is None:
        return (block,)
    parts = _by_position(block)
    if len(parts) > 1 and _alike(parts):
        figures = [part.figures() for part in parts]
        if all(one != other for i, one in enumerate(figures) for other in figures[:i]):
            return parts
        raise UnusableResults(
            f"Row {parts[-1].rows[0][0]} of the results file and those after it give {contest} in {precinct} a second time, with the same figures. "
            "If it is one contest, delete these rows; if these are two contests, name them apart in the column contest."
        )
    number, line = again
    one, other = [votes for _, name, votes in block.rows if name == line][:2]
    raise UnusableResults(
        f"Row {number} of the results file lists {LINE_WORDS.get(line, line)} of {contest} in {precinct} twice, {one:,} and {other:,}. If several contests run together "
        "under this heading, name them apart in the column contest; if a row was written twice, delete one."
    )


def _alike(parts: Sequence[_Block]) -> bool:
    """Whether these may be contests of their own: each has choices and the same totals, and no line twice."""
    totals = parts[0].totals
    return bool(totals) and all(part.labels and part.totals == totals and part.twice() is None for part in parts)


def _by_position(block: _Block) -> list[_Block]:
    """The rows cut where choices begin again after totals (or totals after choices, in a file that writes these first)."""
    totals_first = block.rows[0][1] in LINE_WORDS
    parts, before = [_Block()], None
    for row in block.rows:
        total = row[1] in LINE_WORDS
        if before is not None and total == totals_first and before != total:
            parts.append(_Block())
        parts[-1].rows.append(row)
        before = total
    return parts


def _same_parts(found: Sequence[PrecinctRows]) -> None:
    """Contests kept apart by position are the same ones everywhere: as many, with the same choices. Raises UnusableResults."""
    known: dict[Key, tuple[str, set[str]]] = {}
    split = {key for one in found for key in one.lines if key[0].endswith(")") and (_whole(key) in one.lines)}
    heads = {_whole(key) for key in split}
    for one in found:
        for key in [key for key in one.lines if key in heads or key in split]:
            labels = set(one.lines[key]) - set(LINE_WORDS)
            where, before = known.setdefault(key, (one.name, labels))
            if not labels & before:
                raise UnusableResults(
                    f"Under the heading {_whole(key)[0]} several contests run together, and in {one.name} they are in another order than in {where}. "
                    "Name them apart in the column contest."
                )


def _whole(key: Key) -> Key:
    """The heading that a contest kept apart by position came from."""
    head, _, tail = key[0].rpartition(" (")
    return (head, key[1]) if head and tail[:-1].isdigit() else key
