"""Every number with votes that an edition publishes, in its CSV, its JSON, its page, its document and lists of changes: of which ballots it is the sum.

What a stranger knows: the names in the files, and the blocks in edition.json. Each number is (contest, line, value, {cell: 1}); sums over the county, and
on the page differences between two editions, too.
"""

import csv
import html.parser
import io
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

KINDS = {"writein": "write_in", "undervote": "under", "overvote": "over"}
OTHERS = {"WriteIns": "write_in", "Undervotes": "under", "Overvotes": "over"}
WORDS = {"Write-ins": "write_in", "Undervotes": "under", "Overvotes": "over"}


class Number(NamedTuple):
    contest: str
    line: str
    value: int
    of: dict[str, int]


class Known:
    """Blocks of an edition by contest (title and group as the JSON names them), and names of units."""

    def __init__(self, document: Mapping[str, Any], names: Mapping[str, str]):
        self.names = names
        self.blocks: dict[str, list[list[list[str]]]] = {}
        for (title, group), blocks in document["blocks"]:
            self.blocks[title + (f" ({group})" if group else "")] = blocks

    def cell(self, contest: str, name: str, ways: Iterable[str] = ()) -> dict[str, int]:
        """The ballots of the cell of this name: all blocks of exactly these units, of some ways only."""
        wanted, some = name.split(" + "), set(ways)
        found = {}
        for block in self.blocks[contest]:
            if sorted({self.names[atom[0]] for atom in block}) == sorted(wanted):
                found |= {plain(atom): 1 for atom in block if not some or atom[1] in some}
        return found

    def county(self, contest: str) -> dict[str, int]:
        return {plain(atom): 1 for block in self.blocks[contest] for atom in block}


def plain(atom: list[Any]) -> str:
    unit, way, part, change = [*atom, 1, 0][:4] if len(atom) == 2 else [*atom, 0][:4]
    return f"{unit}/{way}" + (f".{part}" if part > 1 else "") + (f"+{change}" if change else "")


def way(cell: str) -> str:
    """The way of a cell, whatever part or change of it: "W3/election_day+1" is election_day."""
    return cell.partition("/")[2].partition("+")[0].partition(".")[0]


def of_csv(data: bytes, known: Known) -> Iterable[Number]:
    for row in csv.DictReader(io.StringIO(data.decode(), newline="")):
        if row["cell"]:
            contest = row["contest"] + (f" ({row['ballot_group']})" if row["ballot_group"] else "")
            line = KINDS.get(row["kind"], row["choice"])
            yield Number(contest, line, int(row["votes"]), known.cell(contest, row["precinct"]))
            for way in list(row)[8:]:
                if row[way] != "":
                    yield Number(contest, line, int(row[way]), known.cell(contest, row["precinct"], [way]))


def of_json(report: Mapping[str, Any], known: Known, types: Mapping[str, list[str]]) -> Iterable[Number]:
    """types: the standard's word for a way -> columns of that way."""
    units = {one["@id"]: one["Name"]["Text"][0]["Content"] for one in report["GpUnit"]}
    labels = {one["@id"]: one["BallotName"]["Text"][0]["Content"] for one in report["Election"][0]["Candidate"]}
    for contest in report["Election"][0]["Contest"]:
        name = contest["Name"]

        def ballots(unit: str, type: str, name=name) -> dict[str, int]:
            whole = known.county(name) if unit.startswith("county-") else known.cell(name, units[unit])
            return whole if type == "total" else {c: 1 for c in whole if way(c) in types[type]}

        for one in contest.get("ContestSelection", ()):
            for row in one.get("VoteCounts", ()):
                yield Number(name, labels[one["CandidateIds"][0]], row["Count"], ballots(row["GpUnitId"], row["Type"]))
        for row in contest.get("OtherCounts", ()):
            for field, line in OTHERS.items():
                if field in row:
                    yield Number(name, line, row[field], ballots(row["GpUnitId"], "total"))


def of_page(text: str, known: Known, before: Known | None) -> Iterable[Number]:
    """Rows of each contest's table, its sum, and what changed since the edition before."""
    page = Tables(text)
    for heading, caption, rows in page.found:
        contest = next((name for name in known.blocks if heading in spoken(name)), None)
        if contest and not caption:
            lines = [WORDS.get(word, word) for word in rows[0][1:]]
            for name, *figures in rows[1:]:
                of = known.county(contest) if name == "Together" else known.cell(contest, name)
                yield from (Number(contest, line, int(n.replace(",", "")), of) for line, n in zip(lines, figures, strict=True) if n)  # fmt: skip
        for contest in [
            name
            for name in known.blocks
            if before and caption and name.partition(" (")[0] == caption.partition(" (")[0]
        ]:
            gone = before.county(contest) if before and contest in before.blocks else {}
            new = {cell: 1 for cell in known.county(contest) if cell not in gone}
            yield Number(contest, "", 0, new)


def of_document(tables: Iterable[Any], known: Known) -> Iterable[Number]:
    """Rows and sums of the certified document, as its tables are drawn (`canvass/document.py: ContestTable`)."""
    for table in tables:
        contest = table.title + (f" ({table.group})" if table.group else "")
        lines = [WORDS.get(word, word) for word in table.lines]
        for name, figures in table.rows:
            yield from (Number(contest, line, n, known.cell(contest, name)) for line, n in zip(lines, figures, strict=True) if n is not None)  # fmt: skip
        yield from (Number(contest, line, n, known.county(contest)) for line, n in zip(lines, table.total, strict=True))


def of_changes(changed: Iterable[Any], before: Known, now: Known) -> Iterable[Number]:
    """What a list of changes between two editions, next to each other or not, tells of each contest: its sums before, after, and what came between."""
    for one in changed:
        contest = one.contest.title + (f" ({one.contest.group})" if one.contest.group else "")
        old = before.county(contest) if contest in before.blocks else {}
        for line in one.lines:
            name = WORDS.get(line.words, line.words)
            yield Number(contest, name, line.before or 0, old)
            yield Number(contest, name, line.after or 0, now.county(contest))
        yield Number(contest, "", 0, {cell: 1 for cell in now.county(contest) if cell not in old})


def spoken(name: str) -> set[str]:
    """A contest's heading on the page, for every N."""
    plain_name = name[:-1].replace(" (", ", ") if name.endswith(")") else name
    return {plain_name} | {f"{plain_name}, vote for {n}" for n in range(2, 20)}


class Tables(html.parser.HTMLParser):
    """(heading above, caption, rows of words) of each table of a page."""

    def __init__(self, text: str):
        super().__init__()
        self.found: list[tuple[str, str, list[list[str]]]] = []
        self.heading, self.words = "", ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.words = ""
        if tag == "table":
            self.found.append((self.heading, "", []))
        elif tag == "tr":
            self.found[-1][2].append([])

    def handle_endtag(self, tag):
        if tag == "h2":
            self.heading = self.words
        elif tag == "caption":
            self.found[-1] = (self.heading, self.words, self.found[-1][2])
        elif tag in ("th", "td"):
            self.found[-1][2][-1].append(self.words)

    def handle_data(self, data):
        self.words += data
