"""The tables of a place file, one function each: from what is written to the facts of `place.py`, or to mistakes with their lines.

Here each table is looked at by itself; `cross_checks.py` then compares them.
"""

import re
from dataclasses import fields
from zoneinfo import ZoneInfo, available_timezones

from webapp.precinct.place.place import (
    AccuracyTest,
    Choice,
    Contest,
    Kind,
    Official,
    Party,
    Phone,
    Precinct,
    Rules,
    Stations,
    Style,
)
from webapp.precinct.place.toml_table import TomlTable, finished, near

FOUND = ("spoiled-not-reissued", "set-apart", "emergency")
KINDS = (
    "spoiled",
    "spoiled-not-reissued",
    "provisional",
    "emergency",
    "hand-counted",
    "taken",
    "left",
    "found",
    "set-apart",
    "card",
    "copy",
    "absentee",
)  # the table of balance.md 1, but `cast` and `paper`, which are what they are
VOTES = ("sum", "by-precinct", "both")
ROLE = re.compile(r"[^\W\d_][\w' -]{0,23}")
RESERVED = ("any", "other", "second", "third", "fourth", "self", "each", "all")
DIALED = re.compile(r"\+?[0-9(][0-9 ().-]{1,22}[0-9]( ?(x|ext\.?) ?[0-9]{1,6})?")
HOST = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(\.(?!-)[a-z0-9-]{1,63}(?<!-))*")

Rows = tuple[TomlTable, ...]


def zone(table: TomlTable) -> str:
    """A time zone by its name in the IANA list."""
    name = table.text("zone", "America/Chicago")
    try:
        ZoneInfo(name or "UTC")
    except (OSError, ValueError, KeyError):
        hint = near(name, sorted(available_timezones()), 0.8) or ', such as "America/Chicago"'
        table.wrong(
            f'zone of {table.name} is "{name}", which the list of time zones does not hold: write the name of a zone{hint}'
            f"{'' if hint.endswith('?') else '.'}",
            "zone",
        )
        return "UTC"
    return name or "UTC"


def host(table: TomlTable, live: bool) -> str:
    """The name under which tablets reach the laptop; an address changes, a name does not."""
    name = table.text("host", "w3.precinct.example", default="", most=253)
    if not name and live and "host" not in table.values:
        table.wrong(
            f'{table.name} has no host: write the name under which tablets reach the laptop, such as host = "w3.precinct.example".'
        )
    elif name and (not HOST.fullmatch(name) or re.fullmatch(r"[\d.]+", name)):
        table.wrong(
            f'host of {table.name} is "{name}": write a name in small letters, digits, dashes and points, never an address.',
            "host",
        )
    elif live and name == "localhost":
        table.wrong(
            "host of [place] is localhost, which every tablet takes for itself: write the name of the laptop.", "host"
        )
    return name


def parties(rows: Rows) -> tuple[Party, ...]:
    """Reads the table [[parties]]; mistakes are noted in the rows."""
    read = []
    for row in rows:
        word = row.text("word", "Maple", most=8)
        if word and not word.isalpha():
            row.wrong(
                f'word of {row.name} is "{word}": write 1 to 8 letters, as they are printed under the initials.', "word"
            )
        read.append(Party(row.code("id", "M"), row.text("name", "Maple Party"), word))
        row.done()
    return tuple(read)


def officials(rows: Rows) -> tuple[Official, ...]:
    """Reads the table [[officials]]; mistakes are noted in the rows."""
    read = []
    for row in rows:
        role = row.text("role", "witness", most=24)
        if role and not ROLE.fullmatch(role):
            row.wrong(f'role of {row.name} is "{role}": write letters, spaces and dashes, such as "witness".', "role")
        if role in RESERVED:
            row.wrong(
                f'role of {row.name} is "{role}", a word that names a seat on every step: write what this person does, such as "witness".',
                "role",
            )
        read.append(
            Official(row.code("id", "o1"), row.text("name", "Ada Lindqvist", most=60), row.code("party", "M"), role)
        )
        row.done()
    return tuple(read)


def rules(table: TomlTable) -> Rules:
    """Reads the table [rules]; mistakes are noted in the table, and a field that is missing gets its default."""
    read = Rules(
        different=_different(table),
        provisional_in_poll_book=table.yes(
            "provisional_in_poll_book", why=" (a provisional voter is checked in in the poll book, or is not)"
        ),
        found=table.one_of("found", FOUND, why=" (what a ballot found in a booth or at the tabulator becomes here)"),
        overvotes=table.one_of("overvotes", ("votes", "ballots"), "ballots"),
        bins_counted=table.one_of("bins_counted", ("never", "if-off", "always"), "if-off"),
        first=table.one_of("first", ("counts", "results"), "counts"),
        typed=table.codes("typed", "SEN")
        if isinstance(table.raw("typed"), list)
        else table.one_of("typed", ("counters", "all"), "counters", " or a list of contest ids"),
        keying=table.one_of("keying", ("blind", "called"), "blind"),
        battery_hours=table.whole("battery_hours", 6, 6, least=1, most=48),
        clock=table.one_of("clock", (24, 12), 24),
        votes=table.one_of("votes", VOTES, "sum"),
    )
    if table.one_of("primary", ("styles", "sections"), "styles") == "sections":
        table.wrong(
            "primary of [rules] says that a ballot has sections of several parties, which is not handled: make a style "
            "for each party's section.",
            "primary",
        )
    table.done()
    return read


def queue(table: TomlTable) -> Stations:
    """Stations and the time of one voter at each, for the hints on waiting. Whatever is left out is reckoned with the trade's usual figures."""
    read = Stations(
        check_in_stations=table.whole("check_in_stations", 2, None, least=1, most=100),
        check_in_seconds=table.whole("check_in_seconds", 90, None, least=5, most=3600),
        booths=table.whole("booths", 10, None, least=1, most=500),
        booth_minutes=table.whole("booth_minutes", 6, None, least=1, most=120),
        tabulator_seconds=table.whole("tabulator_seconds", 45, None, least=5, most=3600),
    )
    table.done()
    return read


def _different(table: TomlTable) -> str | tuple[tuple[str, str], ...]:
    pairs = table.raw("different")
    if not isinstance(pairs, list):
        return table.one_of("different", ("party",), "party", ' or a list of pairs such as [["M", "P"]]')
    right = []
    for i, pair in enumerate(pairs):
        if isinstance(pair, list) and len(pair) == 2 and all(isinstance(party, str) for party in pair):
            right.append((pair[0], pair[1]))
        else:
            table.wrong(
                'Each pair in different of [rules] is two ids of parties that count as different: write ["M", "P"].',
                "different",
                i,
            )
    if not pairs:
        table.wrong(
            'different of [rules] lists no pair: write "party", or pairs of parties such as [["M", "P"]].', "different"
        )
    return tuple(right)


def precincts(rows: Rows) -> tuple[Precinct, ...]:
    return tuple(
        finished(
            row,
            Precinct(
                row.code("id", "P3"), row.text("name", "Third precinct"), row.whole("registered", 1200, None, least=1)
            ),
        )
        for row in rows
    )


def styles(rows: Rows) -> tuple[Style, ...]:
    return tuple(
        finished(
            row,
            Style(
                row.code("id", "3A"),
                row.codes("precincts", "P3"),
                row.codes("contests", "SEN"),
                row.whole("sheets", 1, 1, least=1, most=20),
                row.codes("breaks", "JUDGE", ()),
                _order(row),
            ),
        )
        for row in rows
    )


def _order(row: TomlTable) -> dict[str, tuple[str, ...]]:
    """Choices as printed on this style, by contest; {} where candidates do not rotate."""
    value = row.raw("order")
    if value is None:
        return {}
    if not isinstance(value, dict):
        row.wrong(
            f'order of {row.name} lists the printed order by contest: write order = {{ GOV = ["B", "A"] }}.', "order"
        )
        return {}
    table = TomlTable(row.form, (*row.path, "order"), value, f"order of {row.name}")
    return {contest: table.codes(contest, "A") for contest in value}


def test(table: TomlTable) -> AccuracyTest:
    """How the accuracy test is held."""
    read = AccuracyTest(
        folded=table.yes("folded", False),
        every=table.one_of("every", ("style", "precinct"), "style"),
        straight=table.code("straight", "SP", ""),
        public_from=table.moment("public_from"),
        retain_days=table.whole("retain_days", 60, None, least=1, most=3650),
    )
    table.done()
    return read


def contests(rows: Rows) -> tuple[Contest, ...]:
    read = []
    for row in rows:
        write_in = row.yes("write_in", False)
        choices = tuple(
            finished(c, Choice(c.code("id", "A"), c.text("label", "Name as on the ballot"), c.code("party", "M", "")))
            for c in row.tables("choices", '{ id = "A", label = "Name as on the ballot" }', least=0 if write_in else 1)
        )
        read.append(
            Contest(
                row.code("id", "SEN"),
                row.text("title", "Senator", most=200),
                row.whole("n", 1, least=1, most=200),
                choices,
                row.code("group", "green", "") if row.raw("group") != "" else "",
                write_in,
                row.whole("write_in_lines", 2, None, least=1, most=20),
            )
        )
        if row.yes("ranked", False):
            row.wrong(
                f"{row.name} is ranked: a tape of rounds cannot be balanced or tested here. Take ranked out, and follow "
                "the office's own instructions for this contest.",
                "ranked",
            )
        if read[-1].write_in_lines is not None and not write_in:
            row.wrong(f"{row.name} has write_in_lines but no write-in: write write_in = true.", "write_in_lines")
        row.done()
    return tuple(read)


def phones(rows: Rows) -> tuple[Phone, ...]:
    """Whom the place calls. The number is kept as it is written, with spaces and dashes."""
    read = []
    for row in rows:
        one = Phone(row.text("who", "Election office", most=40), row.text("number", "555-0142", most=32))
        if one.number and not DIALED.fullmatch(one.number):
            row.wrong(
                f'number of {row.name} is "{one.number}": write it as it is dialed, in digits, spaces, dashes and parentheses, '
                'such as "555-0142" or "555-0142 ext. 7".',
                "number",
            )
        read.append(one)
        row.done()
    return tuple(read)


def kinds(rows: Rows) -> tuple[Kind, ...]:
    read = []
    for row in rows:
        name = row.raw("id")
        name = name if isinstance(name, str) and name in KINDS else row.code("id", "challenged")
        if name in ("cast", "paper"):
            row.wrong(
                f'The kind "{name}" is fixed: it is what the tapes count. Change another kind, or give yours another id.',
                "id",
            )
        why = ": a kind is known by all four flags, from_stock, in_poll_book, counted and in_bin"
        read.append(Kind(name, *(row.yes(flag.name, why=why) for flag in fields(Kind)[1:])))
        row.done()
    return tuple(read)
